"""The edge graph, against made properties with known perimeters."""

import importlib.util
import sys
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.ops
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from pipeline.core.units import M_PER_FT
from pipeline.ground.edge_graph import draw_edges, edge_graph, size_rank
from pipeline.ground.settings import AcreageSettings
from tests import made_properties as made
from tests.made_fire import DRAWN

HERE = Path(__file__).parents[1]


def loaded(path):
    spec = importlib.util.spec_from_file_location(path.stem, path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


LAYOUTS = {
    "grid": made.grid(),
    "waves": made.grid(wave_m=25.0),
    "mosaic 1": made.mosaic(seed=1),
    "mosaic 2": made.mosaic(seed=2),
}
# Worst error of a block's perimeter, in percent, beside what the drawing itself adds or takes
# away: vertices that scatter make an outline longer, units drawn too small make it shorter.
WORST_PCT = {0.5: 0.1, 2.0: 0.5, 5.0: 1.0, 10.0: 2.0, 15.0: 3.0}


def lengths(shapes, blocks, slop_m):
    """Perimeter of each block and length shared by each pair [m], from the graph."""
    order = np.argsort([-round(shape.area) for shape in shapes], kind="stable")
    graph = edge_graph(shapes[order], slop_m)
    label = np.array([*[blocks[i] for i in order], None], dtype=object)
    perimeter, shared = {}, {}
    for line, left, right in zip(graph.lines, label[graph.left], label[graph.right], strict=True):
        if left == right:
            continue
        for block in (left, right):
            if block is not None:
                perimeter[block] = perimeter.get(block, 0.0) + line.length
        if left and right:
            pair = tuple(sorted((left, right)))
            shared[pair] = shared.get(pair, 0.0) + line.length
    return perimeter, shared


def answers(cells, blocks):
    """The same from the undisturbed cells, by plain union and intersection."""
    whole = {
        block: shapely.union_all(cells[[b == block for b in blocks]])
        for block in sorted(set(blocks) - {None})
    }
    shared = {
        (a, b): shapely.intersection(whole[a].boundary, whole[b].boundary).length
        for a, b in combinations(sorted(whole), 2)
    }
    return {block: shape.length for block, shape in whole.items()}, shared


@pytest.mark.parametrize("slop_m", WORST_PCT)
@pytest.mark.parametrize("mode", ["jitter", "shift", "shrink", "grow"])
@pytest.mark.parametrize("layout", LAYOUTS)
def test_redrawn_units_keep_the_known_perimeters(layout, mode, slop_m):
    cells = LAYOUTS[layout]
    for seed in (0, 1, 2):
        random = np.random.default_rng(seed + 100)
        blocks = [["A", "B", "C", None][k] for k in random.integers(0, 4, len(cells))]
        drawn = np.array([made.redrawn(cell, slop_m, mode, random) for cell in cells])
        perimeter, shared = lengths(drawn, blocks, 1.5 * slop_m + 0.5)
        true_perimeter, true_shared = answers(cells, blocks)
        drawing = np.abs(shapely.length(drawn) / shapely.length(cells) - 1).max()
        share = WORST_PCT[slop_m] / 100 + drawing
        for block, length in true_perimeter.items():
            assert perimeter[block] == pytest.approx(length, rel=share)
        for pair, length in true_shared.items():
            # At each end of a shared edge the corner may have moved by the slop.
            assert shared.get(pair, 0.0) == pytest.approx(length, rel=share, abs=6 * slop_m)


# Plane geometry: adjoining 40-acre squares of 1,320 ft; their sum is 14.3 and 33.3 % too much.
@pytest.mark.parametrize(
    ("columns", "rows", "sum_ft", "unique_ft", "over_pct"),
    [(2, 1, 10560, 9240, 14.3), (2, 2, 21120, 15840, 33.3)],
)
@pytest.mark.parametrize("miss_m", [0.0, 0.9144], ids=["exact", "3 ft apart"])
def test_shared_edges_of_forties_count_once(columns, rows, sum_ft, unique_ft, over_pct, miss_m):
    cells = made.grid(columns, rows)
    moves = [(miss_m * (i % columns), miss_m * (i // columns)) for i in range(len(cells))]
    drawn = np.array([affinity.translate(c, *move) for c, move in zip(cells, moves, strict=True)])
    graph = edge_graph(drawn, 5.0)
    unique = made.feet(shapely.length(graph.lines).sum())
    assert made.feet(shapely.length(drawn).sum()) == pytest.approx(sum_ft)
    # Units drawn 3 ft off make six of the property's lines so much longer.
    assert unique == pytest.approx(unique_ft, abs=0.01 + 6 * made.feet(miss_m))
    if not miss_m:
        assert 100 * (sum_ft / unique - 1) == pytest.approx(over_pct, abs=0.05)


def test_units_3_ft_apart_share_nothing_in_a_plain_overlay():
    # The trap this module is for: 10,560 ft of outline, nothing shared, no message.
    west, east = made.grid(2, 1)
    east = affinity.translate(east, 0.9144, 0)
    assert shapely.intersection(west.boundary, east.boundary).length == 0
    assert made.feet(shapely.union_all([west.boundary, east.boundary]).length) == pytest.approx(
        10560
    )


def test_in_holding_drawn_inside_a_pasture_survives():
    pasture, station = shapely.box(0, 0, 800, 800), shapely.box(300, 300, 400, 400)
    graph = edge_graph(np.array([pasture, station]), 5.0)
    around = shapely.length(graph.lines[(graph.left == 0) & (graph.right == 1)]).sum()
    assert around == pytest.approx(400)
    assert shapely.length(graph.lines).sum() == pytest.approx(3600)


@pytest.mark.parametrize("turned", [False, True])
def test_overlap_goes_to_the_smaller_unit_whichever_row_comes_first(turned):
    pasture, station = shapely.box(0, 0, 800, 800), shapely.box(700, 300, 850, 400)
    units = made.units_frame([pasture, station], ["pasture", "station"])
    units = units.iloc[::-1] if turned else units
    frame = draw_edges(units, made.exclusions_frame(), AcreageSettings())
    touching = (frame["left_unit"] == "station") | (frame["right_unit"] == "station")
    around = shapely.length(frame.geometry.to_numpy()[touching.to_numpy()]).sum()
    assert around == pytest.approx(station.length, abs=0.01)


def test_closed_gap_wider_than_the_slop_keeps_its_outline():
    # A lane 12 m wide and 376 m long that a ring of four units closes in.
    frame = shapely.box(0, 0, 400, 400)
    lane = shapely.box(194, 12, 206, 388)
    quarters = [shapely.box(x, y, x + 200, y + 200) - lane for x in (0, 200) for y in (0, 200)]
    graph = edge_graph(np.array(quarters), 5.0)
    inner = (graph.right == -1) & shapely.within(graph.lines, frame.buffer(-1))
    assert shapely.length(graph.lines[inner]).sum() == pytest.approx(lane.length, abs=0.01)


def test_far_end_of_a_narrow_tail_stays_with_its_unit():
    # A tail 2 m wide runs through a pasture and comes out beyond it: thin, but on no one's ground.
    pasture = shapely.box(0, 0, 400, 400)
    tailed = shapely.box(500, 100, 600, 200) | shapely.box(-100, 149, 500, 151)
    graph = edge_graph(np.array([pasture, tailed]), 5.0)
    end = shapely.box(-101, 140, -50, 160)
    beyond = shapely.intersects(graph.lines, end)
    assert beyond.any()
    assert (graph.left[beyond] == 1).all()


def test_lane_open_at_both_ends_is_closed_when_narrower_than_the_slop_and_kept_when_wider():
    west, east = shapely.box(0, 0, 400, 400), shapely.box(404, 0, 804, 400)
    closed = edge_graph(np.array([west, east]), 5.0)
    assert shapely.length(closed.lines[closed.right == 1]).sum() == pytest.approx(400, abs=0.1)
    apart = edge_graph(np.array([west, east]), 3.0)
    assert not (apart.right == 1).any()
    assert shapely.length(apart.lines).sum() == pytest.approx(3200)


def test_a_unit_in_two_parts_and_one_with_a_hole_keep_all_outlines():
    two = shapely.MultiPolygon([shapely.box(0, 0, 100, 100), shapely.box(300, 0, 400, 100)])
    holed = shapely.box(0, 500, 400, 900) - shapely.box(100, 600, 200, 700)
    graph = edge_graph(np.array([holed, two]), 5.0)
    assert shapely.length(graph.lines).sum() == pytest.approx(800 + 1600 + 400)


LAYOUT = np.array(DRAWN)
BLOCKS = ["A", "A", "B", None, "B", "A", None, "B"]


def totals(shapes, blocks, slop_m=3.5):
    shapes = np.array(shapes, dtype=object)
    order = size_rank(made.units_frame(shapes).geometry)
    perimeter, shared = lengths(shapes[order], [blocks[i] for i in order], slop_m)
    return {**perimeter, **shared}


REFERENCE = totals(LAYOUT, BLOCKS)


@settings(max_examples=30, deadline=None)
@given(st.permutations(range(len(LAYOUT))))
def test_order_of_the_units_does_not_matter(order):
    assert totals(LAYOUT[order], [BLOCKS[i] for i in order]) == pytest.approx(REFERENCE, abs=1e-9)


WAY = st.tuples(st.integers(0, 500), st.booleans(), st.booleans())


@settings(max_examples=30, deadline=None)
@given(st.lists(WAY, min_size=len(LAYOUT), max_size=len(LAYOUT)))
def test_ring_start_direction_and_repeated_vertices_do_not_matter(ways):
    def redone(shape, start, turned, twice):
        points = shapely.get_coordinates(shape.exterior)[:-1]
        points = np.roll(points, start, axis=0)
        points = points[::-1] if turned else points
        return shapely.Polygon(np.repeat(points, 2, axis=0) if twice else points)

    shapes = [redone(shape, *way) for shape, way in zip(LAYOUT, ways, strict=True)]
    assert totals(shapes, BLOCKS) == pytest.approx(REFERENCE, abs=1e-4)


@settings(max_examples=20, deadline=None)
@given(st.floats(7.0, 300.0))
def test_vertices_on_straight_sides_do_not_matter(spacing_m):
    shapes = shapely.segmentize(LAYOUT, spacing_m)
    assert totals(shapes, BLOCKS) == pytest.approx(REFERENCE, abs=0.1)


@settings(max_examples=30, deadline=None)
@given(st.floats(-20000, 20000), st.floats(-20000, 20000), st.floats(0, 360))
def test_moving_and_turning_the_property_does_not_matter(east_m, north_m, angle_deg):
    shapes = [
        affinity.translate(affinity.rotate(shape, angle_deg, origin=(0, 0)), east_m, north_m)
        for shape in LAYOUT
    ]
    # Squares of equal area may change their rank by rounding: at most twice the slop a corner.
    assert totals(shapes, BLOCKS) == pytest.approx(REFERENCE, abs=7.0)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.15, 0.85), st.booleans())
def test_splitting_a_unit_inside_its_block_changes_nothing(share, across):
    shape = LAYOUT[0]
    west, south, east, north = shape.bounds
    x, y = west + share * (east - west), south + share * (north - south)
    ends = [(west - 9, y), (east + 9, y)] if across else [(x, south - 9), (x, north + 9)]
    cut = shapely.LineString(ends)
    parts = [p for p in shapely.get_parts(shapely.ops.split(shape, cut)) if p.area > 1]
    shapes = [*LAYOUT[1:], *parts]
    # The halves rank differently from the whole, so that each junction may move by twice the slop.
    assert totals(shapes, [*BLOCKS[1:], *["A"] * len(parts)]) == pytest.approx(REFERENCE, abs=14)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, len(LAYOUT) - 1))
def test_blocks_less_what_they_share_are_the_property(unburned):
    blocks = [None if i == unburned else f"B{i % 3}" for i in range(len(LAYOUT))]
    found = totals(LAYOUT, blocks)
    alone = [("X" if block else None) for block in blocks]
    perimeters = sum(v for k, v in found.items() if isinstance(k, str))
    shared = sum(v for k, v in found.items() if isinstance(k, tuple))
    assert perimeters - 2 * shared == pytest.approx(totals(LAYOUT, alone)["X"], abs=1e-6)


@settings(max_examples=20, deadline=None)
@given(st.floats(-40, 40), st.floats(-40, 40), st.floats(20, 60))
def test_exclusion_inside_adds_exactly_its_perimeter(east_m, north_m, radius_m):
    unit = shapely.box(-200, -200, 200, 200)
    pond = shapely.Point(east_m, north_m).buffer(radius_m, quad_segs=4)
    frame = draw_edges(made.units_frame([unit]), made.exclusions_frame([pond]), AcreageSettings())
    assert shapely.length(frame.geometry.to_numpy()).sum() == pytest.approx(
        1600 + pond.length, abs=0.01
    )


def test_exclusion_for_seeding_alone_is_no_edge():
    frame = draw_edges(
        made.units_frame([shapely.box(0, 0, 400, 400)]),
        made.exclusions_frame([shapely.box(100, 100, 200, 200)], "seed"),
        AcreageSettings(),
    )
    assert shapely.length(frame.geometry.to_numpy()).sum() == pytest.approx(1600)


def test_benchmark_runs_on_a_small_property(capsys):
    bench = loaded(HERE / "benchmarks" / "bench_edges.py")
    bench.main([8])
    assert "edge graph" in capsys.readouterr().out
    assert "bench_edges" not in sys.modules


@pytest.mark.parametrize(("apart_ft", "edges"), [(15.0, 3), (17.0, 2)])
def test_slop_is_in_feet(apart_ft, edges):
    # 16 ft by default: below it the two sides become one edge with a unit on either hand. Above
    # it, and without lanes, each has its own.
    apart_m = apart_ft * M_PER_FT
    shapes = [shapely.box(0, 0, 400, 400), shapely.box(400 + apart_m, 0, 800 + apart_m, 400)]
    frame = draw_edges(
        made.units_frame(shapes), made.exclusions_frame(), AcreageSettings(lane_ft=0.0)
    )
    assert len(frame) == edges
    assert frame["right_unit"].notna().sum() == edges - 2
