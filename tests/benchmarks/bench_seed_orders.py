"""How long a large seed order takes, and how it grows: python bench_seed_orders.py.

Each size is run once; the ratio column is time over the size before, beside that of the work
(areas times mix lines), so that growth faster than the work shows.
"""

import sys
import time

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.core.units import M2_PER_AC
from pipeline.ground.geometry import working_crs
from pipeline.intake.settings import table_names
from pipeline.runner import step_layer
from pipeline.seed.settings import SeedSettings
from pipeline.steps import STEPS

SIZES = ((50, 20, 200), (500, 100, 1000), (5000, 200, 2000))
"""Mix lines, areas and lots."""


def frame(name, columns):
    layer = LAYERS[name]
    rows = pd.DataFrame(columns)
    return conform(rows.reindex(columns=layer.column_names), layer)


def tables(lines, areas, lots, *, lines_in_a_mix):
    """Frames of a made-up order: every area is one unit of 10 acres with a mix of its own turn."""
    crs = working_crs(gpd.GeoSeries([shapely.box(-96.01, 39.99, -95.99, 40.01)], crs=4326))
    mixes, species = lines // lines_in_a_mix, max(lines_in_a_mix, 400)
    frames = {name: empty(LAYERS[name]) for name in table_names()}
    frames["exclusions"] = empty(LAYERS["exclusions"], crs)
    frames["property"] = frame("property", {"name": ["Made Place"], "season": 2027})
    names = [f"Planta n{n}" for n in range(species)]
    counts = [10000.0 + 7 * n for n in range(species)]
    columns = {"species": names, "seeds_per_lb": counts, "box": "small", "seed_unit": "seed"}
    frames["species"] = frame("species", columns)
    columns = {
        "mix": [f"M{n // lines_in_a_mix}" for n in range(lines)],
        "species": [names[n % species] for n in range(lines)],
        "seeds_sqft": [0.1 + n % 9 / 10 for n in range(lines)],
    }
    frames["mixes"] = frame("mixes", columns)
    columns = {
        "lot": [f"L{n:05}" for n in range(lots)],
        "species": [names[n % species] for n in range(lots)],
        "purity_pct": [60.0 + n % 39 for n in range(lots)],
        "total_viable_pct": 90.0,
        "on_hand_bulk_lb": [1.0 + n % 50 for n in range(lots)],
        "tested": pd.Series(["2026-09-01"] * lots, dtype="datetime64[s]"),
    }
    frames["seed_lots"] = frame("seed_lots", columns)
    units = [f"U{n:04}" for n in range(areas)]
    columns = {
        "area": [f"A{n:04}" for n in range(areas)],
        "unit_id": units,
        "mix": [f"M{n % mixes}" for n in range(areas)],
        "method": "drill",
    }
    frames["seedings"] = frame("seedings", columns)
    side = (10 * M2_PER_AC) ** 0.5
    shapes = [shapely.box(300 * n, 0, 300 * n + side, side) for n in range(areas)]
    columns = {c.name: 0.0 for c in LAYERS["units"].columns}
    columns |= {"unit_id": units, "name": None, "cover": None}
    columns |= {"gross_ac": 10.0, "seedable_ac": 9.0}
    made = gpd.GeoDataFrame(pd.DataFrame(columns), geometry=shapes, crs=crs)
    frames["units"] = conform(made, LAYERS["units"], crs)
    return frames, crs


def walk(frames, crs):
    """Run the seed steps; seconds of each."""
    seconds = {}
    for step in STEPS:
        ready = step.writes not in frames and all(name in frames for name in step.reads)
        if ready and {*step.sections.values()} <= {SeedSettings}:
            start = time.perf_counter()
            frames[step.writes] = step_layer(step, frames, {SeedSettings: SeedSettings()}, crs)
            seconds[step.writes] = time.perf_counter() - start
    return seconds


def main():
    before = None
    for lines, areas, lots in SIZES:
        frames, crs = tables(lines, areas, lots, lines_in_a_mix=50)
        seconds = walk(frames, crs)
        work, total = len(frames["seed_rates"]) + lots, sum(seconds.values())
        growth = f", time ×{total / before[1]:.1f}, work ×{work / before[0]:.1f}" if before else ""
        print(f"{lines} lines, {areas} areas, {lots} lots: {total:.2f} s{growth}")
        before = (work, total)
    for name, spent in sorted(seconds.items(), key=lambda item: -item[1]):
        print(f"  {name:<16} {spent:6.2f} s, {len(frames[name])} rows")
    if "--one-mix" in sys.argv:
        frames, crs = tables(5000, 200, 2000, lines_in_a_mix=5000)
        seconds = walk(frames, crs)
        rates, total = len(frames["seed_rates"]), sum(seconds.values())
        print(f"one mix of 5000 lines on 200 areas: {total:.1f} s, {rates} rates")
        print(seconds)


if __name__ == "__main__":
    main()
