"""Errors of block perimeters by slop, units and strips lost, and time, on made properties.

Run it: python -m tests.benchmarks.bench_blocks [properties] [units ...]
Every property is drawn by hand over a map that is known by construction, with vertices farther
apart than outlines miss each other by. The error of the drawing itself stands beside: by how much
the outlines of the units as drawn are longer than the true ones.
"""

import sys
import time
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import affinity

from pipeline.core.units import M_PER_FT
from pipeline.fire.block_model import BlockModel
from pipeline.fire.mowing.strips import strip_along
from tests import made_fire, made_unit_maps
from tests import made_properties as made

MISSES_M = (0.0, 2.0, 5.0, 12.0)
STRIP_M = 20 * M_PER_FT


@dataclass
class Tally:
    """What was found at one slop: errors in percent, and what was lost."""

    error_pct: list[float] = field(default_factory=list)
    drawing_pct: list[float] = field(default_factory=list)
    properties: int = 0
    units: int = 0
    lost_units: int = 0
    strips: int = 0
    lost_strips: int = 0


def turned(shapes: np.ndarray, angle_deg: float) -> np.ndarray:
    """The shapes turned around a common point."""
    return np.array([affinity.rotate(shape, angle_deg, origin=(0, 0)) for shape in shapes])


def made_map(seed: int) -> np.ndarray:
    """Units [polygon, m] of one of eight kinds, that tile the ground and coincide exactly."""
    random = np.random.default_rng(seed)
    columns, rows = random.integers(2, 5, 2)
    makers = (
        lambda: made.grid(columns, rows),
        lambda: turned(made.grid(columns, rows), seed),
        lambda: made_unit_maps.hexes(columns, rows),
        lambda: made_unit_maps.polyominoes(seed, columns + 1, rows + 1, 5),
        lambda: made.mosaic(int(columns * rows) + 2, seed),
        lambda: made_unit_maps.donuts(2, 2),
        lambda: made_unit_maps.polyominoes(seed, 4, 4, 3),
        lambda: made_unit_maps.hexes(rows, columns),
    )  # fmt: skip
    return makers[seed // len(MISSES_M) % len(makers)]()


def measure(seed: int, miss_m: float, tally: Tally) -> None:
    """One property: its errors and losses added to the tally."""
    random = np.random.default_rng(seed)
    cells = made_map(seed)
    blocks = [["A", "B", "C", None][n] for n in random.integers(0, 4, len(cells))]
    spacing_m = (max(20.0, 2.5 * miss_m), max(60.0, 5 * miss_m))
    drawn = np.array([made_unit_maps.redrawn(c, miss_m, random, spacing_m) for c in cells])
    if not miss_m:
        drawn = made_unit_maps.in_system(cells, made_unit_maps.SYSTEMS[seed % 10])
    tolerance_m = 16 * M_PER_FT if miss_m <= 3 else 1.5 * miss_m + 0.5
    found, model = made_unit_maps.walked_blocks(drawn, blocks, tolerance_m)
    truth = made_unit_maps.true_blocks(drawn if not miss_m else cells, blocks)
    for block, (around_m, _) in truth.items():
        mine = [name == block for name in blocks]
        itself = shapely.length(drawn[mine]).sum() / shapely.length(cells[mine]).sum() - 1
        tally.error_pct.append(100 * abs(found[block][0] / around_m - 1))
        tally.drawing_pct.append(100 * abs(itself))
    tally.properties += 1
    _count_units(drawn, model, tally)
    _count_strips(model, tally)


def _count_units(drawn: np.ndarray, model: BlockModel, tally: Tally) -> None:
    """Units, and those that keep less than half of their ground."""
    inside = np.flatnonzero(model.plane.face >= 0)
    face, first = np.unique(model.plane.face[inside], return_index=True)
    kept = dict.fromkeys((f"U{number:02d}" for number in range(len(drawn))), 0.0)
    for name, area_m2 in zip(model.beyond[inside[first]], model.plane.area_m2[face], strict=True):
        if name in kept:
            kept[name] += area_m2
    tally.units += len(drawn)
    tally.lost_units += int((np.array([*kept.values()]) < 0.5 * shapely.area(drawn)).sum())


def _count_strips(model: BlockModel, tally: Tally) -> None:
    """Strips along every chain longer than they are wide, on either hand where there is a block."""
    for number, chain in enumerate(model.chains):
        line = model.chain_line(number)
        if line.length < STRIP_M:
            continue
        hands = [(chain.left, line)]
        hands += [(chain.right, line.reverse())] if chain.right >= 0 else []
        for label, along in hands:
            strip = strip_along(model.ground(model.names[label]), along, STRIP_M)
            tally.strips += 1
            tally.lost_strips += strip.area < 0.5 * STRIP_M * line.length


def time_units(units: int) -> tuple[float, float]:
    """Processor seconds of the edge graph, and of all steps up to the firebreaks' findings."""
    columns = int(np.ceil(np.sqrt(units)))
    cells = made.grid(columns, columns, wave_m=25.0)[:units]
    random = np.random.default_rng(1)
    drawn = [made.redrawn(cell, 2.0, "jitter", random, (25, 60)) for cell in cells]
    frame = made.units_frame(drawn, [f"U{n:05d}" for n in range(units)])
    burns = made.burns_frame(
        {name: f"B{n // 4:04d}" for n, name in enumerate(frame["unit_id"]) if n % 4 < 2}
    )
    start = time.process_time()
    made.draw_edges(frame, made.exclusions_frame(), made.AcreageSettings())
    middle = time.process_time()
    made_fire.fire_layers(frame, burns)
    return middle - start, time.process_time() - middle


def main(properties: int, sizes: list[int]) -> None:
    """Print a line for each slop, what was lost, and a line for each size."""
    tallies = {miss_m: Tally() for miss_m in MISSES_M}
    for seed in range(properties):
        miss_m = MISSES_M[seed % len(MISSES_M)]
        measure(seed, miss_m, tallies[miss_m])
    print("outlines miss by m  properties  blocks  error %: median    p95  worst  "
          "the drawing's own: median  worst")  # fmt: skip
    for miss_m, t in tallies.items():
        if not t.properties:
            continue
        error, own = np.array(t.error_pct), np.array(t.drawing_pct)
        print(
            f"{miss_m:18.0f}  {t.properties:10d}  {len(error):6d}  {np.median(error):15.3f}"
            f"  {np.percentile(error, 95):5.2f}  {error.max():5.2f}"
            f"  {np.median(own):25.3f}  {own.max():5.2f}"
        )
    for what in ("units", "strips"):
        lost = sum(getattr(t, f"lost_{what}") for t in tallies.values())
        print(f"{what} lost: {lost} of {sum(getattr(t, what) for t in tallies.values())}")
    seconds = []
    for units in sizes:
        edges, steps = time_units(units)
        seconds.append(steps)
        print(f"{units} units: edge graph {edges:.1f} s, ground and fire steps {steps:.1f} s")
    if len(sizes) > 1:
        exponent = np.log(seconds[-1] / seconds[0]) / np.log(sizes[-1] / sizes[0])
        print(f"exponent of the time {exponent:.2f}")


if __name__ == "__main__":
    given = [int(number) for number in sys.argv[1:]]
    main(given[0] if given else 2000, given[1:] or [1000, 4000])
