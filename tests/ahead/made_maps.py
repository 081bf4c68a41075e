"""Made properties on made maps: squares on a rotated grid with gaps, planned under drawn limits.

So there are units that touch in a point alone, units without a neighbor, and every rule of the
plan in some mixture. All of it is invented.
"""

import geopandas as gpd
import numpy as np
import shapely
from shapely.affinity import rotate

from pipeline.ahead.settings import PlanSettings
from pipeline.ahead.shared_lines import measure_plan_edges
from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.fire.settings import FirebreakSettings
from pipeline.ground.edge_graph import draw_edges
from pipeline.ground.neighbors import list_neighbors
from pipeline.ground.settings import AcreageSettings
from tests.ahead.made_years import SEASON, made_units, plan_units, planned
from tests.literal_layers import literal_layer

CRS = "+proj=laea +lat_0=41 +lon_0=-99 +units=m"
SIDE_M = 400.0


def made_map(chance, count):
    """Squares on a rotated grid with gaps, and which of them share a side."""
    across = int(chance.integers(2, 6))
    cells = [divmod(n, across) for n in range(2 * count)]
    taken = sorted(chance.choice(len(cells), count, replace=False).tolist())
    place = {cells[n]: f"U{k:03d}" for k, n in enumerate(taken)}
    squares = [
        shapely.box(col * SIDE_M, row * SIDE_M, (col + 1) * SIDE_M, (row + 1) * SIDE_M)
        for row, col in place
    ]
    turn = float(chance.uniform(0, 90))
    shapes = [rotate(square, turn, origin=(0, 0)) for square in squares]
    drawn = gpd.GeoDataFrame(
        {"unit_id": list(place.values()), "name": None, "cover": "x"}, geometry=shapes, crs=CRS
    )
    beside = {
        frozenset((name, place[near]))
        for (row, col), name in place.items()
        for near in ((row + 1, col), (row, col + 1))
        if near in place
    }
    return drawn, beside


def map_edges(drawn):
    """Layer ``plan_edges`` of drawn units, by the real steps; nothing on the map stops a fire."""
    ground = AcreageSettings()
    no_ground = literal_layer("exclusions", (), [], CRS)
    edges = conform(draw_edges(drawn, no_ground, ground), LAYERS["edges"], CRS)
    return measure_plan_edges(
        drawn,
        edges,
        list_neighbors(edges, ground),
        literal_layer("breaks", (), [], CRS),
        literal_layer("break_credits"),
        FirebreakSettings(),
        PlanSettings(years=1),
    )


def fixed_rows(chance, names):
    """Fixed years: a burn, a unit that is locked for years, a grazing whoever's stock it is."""
    rows = []
    if chance.random() < 0.5:
        rows.append({"unit_id": names[0], "year": SEASON + 1, "treatment": "burn"})
    if chance.random() < 0.4:
        locked = [SEASON + n for n in range(int(chance.integers(2, 6)))]
        rows += [{"unit_id": names[1], "year": year, "treatment": "rest"} for year in locked]
    if chance.random() < 0.3:
        rows.append({"unit_id": names[2], "year": SEASON + 2, "treatment": "graze_late"})
    if chance.random() < 0.3:
        rows.append({"unit_id": names[-1], "year": SEASON, "treatment": "burn_fall"})
    return rows


def offered_rows(chance, names):
    """Days that made springs offered to each unit, some springs none."""
    rows = []
    for name in names:
        for code in ("burn_early_spring", "burn_late_spring"):
            for year in range(2015, 2027):
                told = {"unit_id": name, "treatment": code, "weather_year": year}
                month = "04" if "early" in code else "05"
                days = sorted(set(chance.integers(1, 29, chance.integers(0, 6)).tolist()))
                rows += [
                    told | {"day": f"{year}-{month}-{day:02d}", "smoke_free": True} for day in days
                ]
                rows += [] if days else [told | {"day": None, "smoke_free": False}]
    return rows


def mapped_property(seed):
    """Tables of a made property of 4 to 11 units on a map, and the units that share a side."""
    chance = np.random.default_rng(seed)
    count = int(chance.integers(4, 12))
    rows = made_units(chance, count)
    drawn, beside = made_map(chance, count)
    if chance.random() < 0.3:
        rows[0] |= {"years_since_burn": 0, "last_burn_time": "early_spring", "rested_seasons": 0}
        rows[0] |= {"last_burn": f"{SEASON}-04-12", "state": "waiting", "undecided_by": None}
    if chance.random() < 0.2:
        rows = [row | {"cover": "native"} for row in rows]
    names = [row["unit_id"] for row in rows]
    asked = {
        "years": int(chance.integers(4, 11)),
        "refuge": str(chance.choice(["neighbor", "apart", "none"])),
        "most_burned_pct": float(chance.choice([25, 33, 50, 100])),
        "most_cover_burned_pct": {"native": 40.0} if chance.random() < 0.5 else {},
        "crew_days": float(chance.choice([1, 2, 4])) if chance.random() < 0.5 else None,
        "money_usd": float(chance.choice([1500, 2500, 5000])) if chance.random() < 0.5 else None,
        "own_seed_ac": [None, 0.0, 10.0, 30.0][int(chance.integers(4))],
        "burned_rest_years": int(chance.integers(0, 3)),
        "vary_burn_time": bool(chance.random() < 0.7),
        "herd_met": bool(chance.random() < 0.3),
        "demand_aum": float(chance.choice([0.0, 30.0, 150.0])),
        "fixed": fixed_rows(chance, names),
        "offered": offered_rows(chance, names) if chance.random() < 0.5 else (),
        "harvests": [{"harvest": "H", "species": "A", "bulk_lb": 9.0, "low_ac": 15.0}],
    }
    return planned(plan_units(rows), map_edges(drawn), **asked), beside
