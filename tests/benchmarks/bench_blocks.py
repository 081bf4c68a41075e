"""Errors of block perimeters by slop, units and strips lost, and time, on made properties.

Run it: python -m tests.benchmarks.bench_blocks [properties] [units ...]
Every property is drawn by hand over a map that is known by construction, with vertices farther
apart than outlines miss each other by; in the rows of bent edges they are closer than that. The
error of the drawing itself stands beside: by how much the outlines that the block's edge is made of
are longer or shorter as drawn than the true ones. That of a field in a hole is drawn twice, by
both fields, and the worse of them counts: one of them is the edge, whichever is taken.
"""

import sys
import time
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import affinity

from pipeline.core.units import M_PER_FT
from pipeline.fire.block_model import BlockModel
from pipeline.fire.findings import STRIP_BOUND
from pipeline.fire.mowing.edge_runs import MadeWidths, Run, bands_of
from pipeline.fire.mowing.strips import GRID_M, strip_along
from pipeline.ground.ground_rings import Ring
from tests import made_fire, made_unit_maps
from tests import made_properties as made

MISSES_M = (0.0, 2.0, 5.0, 12.0)
STRIP_FT = 20.0
STRIP_M = STRIP_FT * M_PER_FT


BENT_EVERY = 10
"""Every so many properties one has bent edges, with a vertex about every 8 m."""


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
    plans: int = 0
    plans_off: int = 0
    worst: list[tuple[float, str]] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)
    off: list[str] = field(default_factory=list)


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


def measure(seed: int, miss_m: float, tally: Tally, *, bent: bool = False) -> None:
    """One property: its errors and losses added to the tally."""
    random = np.random.default_rng(seed)
    cells = made.grid(3, 3, wave_m=25.0) if bent else made_map(seed)
    blocks = [["A", "B", "C", None][n] for n in random.integers(0, 4, len(cells))]
    spacing_m = (8.0, 8.0) if bent else (max(20.0, 2.5 * miss_m), max(60.0, 5 * miss_m))
    drawn = np.array([made_unit_maps.redrawn(c, miss_m, random, spacing_m) for c in cells])
    if not miss_m:
        drawn = made_unit_maps.in_system(cells, made_unit_maps.SYSTEMS[seed % 10])
    tolerance_m = 16 * M_PER_FT if miss_m <= 3 else 1.5 * miss_m + 0.5
    found, model = made_unit_maps.walked_blocks(drawn, blocks, tolerance_m)
    truth = made_unit_maps.true_blocks(drawn if not miss_m else cells, blocks)
    for block, (around_m, _) in truth.items():
        mine = np.array([name == block for name in blocks])
        error = 100 * abs(found[block][0] / around_m - 1)
        own = _drawing_pct(cells, drawn, mine)
        tally.error_pct.append(error)
        tally.drawing_pct.append(own)
        tally.worst.append((error, f"property {seed}, block {block}: the drawing's own {own:.2f}"))
    tally.properties += 1
    _count_units(drawn, model, tally)
    _count_strips(model, tally, f"property {seed}")
    _count_plans(model, tally, f"property {seed}")


def _drawing_pct(cells: np.ndarray, drawn: np.ndarray, mine: np.ndarray) -> float:
    """Error [percent] of the outlines as drawn: of the units, or of holes that all of them fill."""
    errors = [shapely.length(drawn[mine]).sum() / shapely.length(cells[mine]).sum() - 1]
    inner = np.array([shapely.get_num_interior_rings(cell) == 1 for cell in cells])
    inner &= np.array([shapely.get_num_interior_rings(shape) == 1 for shape in drawn])
    around = np.append(inner[:-1], False) & ~mine & np.append(mine[1:], False)
    if around.sum() == mine.sum():
        holes = [shapely.get_interior_ring(shapes[around], 0) for shapes in (drawn, cells)]
        errors.append(shapely.length(holes[0]).sum() / shapely.length(holes[1]).sum() - 1)
    return 100 * max(map(abs, errors))


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


def _count_strips(model: BlockModel, tally: Tally, where: str) -> None:
    """Strips along every chain longer than they are wide, on either hand where there is a block."""
    for number, chain in enumerate(model.chains):
        line = model.chain_line(number)
        if line.length < STRIP_M:
            continue
        hands = [(chain.left, line)]
        hands += [(chain.right, line.reverse())] if chain.right >= 0 else []
        for label, along in hands:
            ground = model.ground(model.names[label])
            strip = strip_along(ground, along, STRIP_M)
            tally.strips += 1
            if strip.area < 0.5 * STRIP_M * line.length:
                there = shapely.intersection(shapely.buffer(line, STRIP_M), ground)
                tally.lost_strips += 1
                tally.lost.append(
                    f"{where}, chain {number}: {strip.area:.0f} m2 along {line.length:.1f} m, "
                    f"ground within a strip's width {there.area:.0f} m2"
                )


def _count_plans(model: BlockModel, tally: Tally, where: str) -> None:
    """Blocks with a strip all around, and those whose strips are off by more than the bound."""
    for label, name in enumerate(model.names):
        ground = model.ground(name)
        rings = [ring for ring in model.rings if ring.label == label]
        bands = [
            band
            for ring in rings
            for band in bands_of(_run_around(model, ring), ground, shapely.Polygon(), "inside")
        ]
        if not bands:
            continue
        made_m2 = shapely.union_all([band.shape() for band in bands], grid_size=GRID_M).area
        planned_m2 = sum(band.planned_m2() for band in bands)
        tally.plans += 1
        if abs(made_m2 - planned_m2) > STRIP_BOUND * planned_m2:
            tally.plans_off += 1
            tally.off.append(
                f"{where}, block {name}: {made_m2:.0f} m2 for {planned_m2:.0f} m2, "
                f"{len(rings)} rings"
            )


def _run_around(model: BlockModel, ring: Ring) -> Run:
    """A strip to be mown along a whole ring."""
    points = model.plane.points_m(ring.half_edges)
    line = shapely.LineString(np.vstack([points, points[:1]]))
    return Run(model.names[ring.label], ring.hole, line, MadeWidths(0.0, STRIP_FT, 0.0))


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


def _print_errors(tallies: dict[str, Tally]) -> None:
    """A line for each slop, and its worst block."""
    print("outlines miss by    properties  blocks  error %: median    p95  worst  "
          "the drawing's own: median  worst")  # fmt: skip
    for row, t in tallies.items():
        if not t.error_pct:
            continue
        error, own = np.array(t.error_pct), np.array(t.drawing_pct)
        print(
            f"{row:18}  {t.properties:10d}  {len(error):6d}  {np.median(error):15.3f}"
            f"  {np.percentile(error, 95):5.2f}  {error.max():5.2f}"
            f"  {np.median(own):25.3f}  {own.max():5.2f}"
        )
    for row, t in tallies.items():
        for error, where in sorted(t.worst, reverse=True)[:3]:
            print(f"worst at {row}: {error:.2f} % in {where}")


def _print_losses(tallies: dict[str, Tally]) -> None:
    """What was lost, and where."""
    for words, what, many in (
        ("units lost", "lost_units", "units"),
        ("strips lost", "lost_strips", "strips"),
        ("plans off", "plans_off", "plans"),
    ):
        count = sum(getattr(t, what) for t in tallies.values())
        print(f"{words}: {count} of {sum(getattr(t, many) for t in tallies.values())}")
    for row, t in tallies.items():
        for where in [*t.lost[:5], *t.off[:5]]:
            print(f"at {row}: {where}")
        if t.plans_off:
            print(f"at {row}: {t.plans_off} of {t.plans} plans are off by more than {STRIP_BOUND}")


def main(properties: int, sizes: list[int]) -> None:
    """Print a line for each slop, what was lost, and a line for each size."""
    tallies: dict[str, Tally] = {}
    for seed in range(properties):
        miss_m = MISSES_M[seed % len(MISSES_M)]
        bent = seed // len(MISSES_M) % BENT_EVERY == BENT_EVERY - 1
        row = f"{miss_m:.0f} m{', bent edges' if bent else ''}"
        measure(seed, miss_m, tallies.setdefault(row, Tally()), bent=bent)
    _print_errors(tallies)
    _print_losses(tallies)
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
