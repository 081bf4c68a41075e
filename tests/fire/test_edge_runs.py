"""Runs along the rings of a block, from made properties whose rings are known by construction."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.units import M_PER_FT
from pipeline.fire.block_model import BlockModel
from pipeline.fire.mowing.edge_runs import MadeWidths, runs_of
from pipeline.fire.mowing.settings import MowingSettings
from tests import made_properties as made
from tests.made_fire import fire_layers

WIDTH_M = 20 * M_PER_FT
SIDE_M = made.QUARTER_M
LEAST = MowingSettings(order=())
"""Strips of the least width alone, whatever the rules ask."""


def squares(pattern):
    """Layers of a chessboard of squares of 40 acres; a letter names the block, a dot none."""
    rows = pattern.split()
    cells = made.grid(len(rows[0]), len(rows))
    letters = "".join(reversed(rows))
    names = [f"U{number:02d}" for number in range(len(cells))]
    block_of = {n: None if c == "." else c for n, c in zip(names, letters, strict=True)}
    return fire_layers(made.units_frame(cells, names), made.burns_frame(block_of), mow=LEAST)


def runs(found):
    model = BlockModel.of(found["edges"], found["checked_burns"])
    return runs_of(model, found["stretches"], found["firebreaks"])


# Rings of each block: how many, how many of them around holes, and sides of 1,320 ft in all.
@pytest.mark.parametrize(
    ("pattern", "rings", "holes", "sides"),
    [
        ("A", 1, 0, 4),
        ("A. .A", 2, 0, 8),
        ("AAA A.A AAA", 2, 1, 16),
        ("A.A .A. A.A", 5, 0, 20),
        ("AAA A.A AA.", 2, 1, 16),
        ("AAAA A.AA AA.A AAAA", 3, 2, 24),
    ],
)
def test_every_ring_is_one_closed_run(pattern, rings, holes, sides):
    found = runs(squares(pattern))
    assert all(run.line.is_closed for run in found)
    assert (len(found), sum(run.hole for run in found)) == (rings, holes)
    assert sum(run.line.length for run in found) == pytest.approx(sides * SIDE_M)
    # The block is on the left hand: around it counterclockwise, around its holes clockwise.
    assert [shapely.is_ccw(run.line) for run in found] == [not run.hole for run in found]


def test_each_block_has_its_own_run_along_the_edge_between_two():
    found = runs(squares("AB"))
    assert sorted(run.block for run in found) == ["A", "B"]
    assert [run.line.length for run in found] == pytest.approx([4 * SIDE_M] * 2)
    assert all(shapely.is_ccw(run.line) for run in found)


def test_ring_of_one_block_along_a_neighbor_that_touches_itself():
    # B goes around A and touches itself in a corner of A: its ring is split there, A's is not.
    found = squares("BBB BAB .BB")
    by_block = {}
    for run in runs(found):
        by_block.setdefault(run.block, []).append(run)
    assert [run.line.length for run in by_block["A"]] == pytest.approx([4 * SIDE_M])
    assert sum(run.line.length for run in by_block["B"]) == pytest.approx(16 * SIDE_M)
    shapes = found["strip_shapes"]
    inner = shapes[shapes["block"] == "A"].geometry.area.sum()
    assert inner == pytest.approx(4 * SIDE_M * WIDTH_M - 4 * WIDTH_M**2, rel=1e-5)


def test_run_goes_on_where_the_neighbor_changes_and_ends_where_the_width_does():
    # A road along the west side alone: what is left is one run over three sides, whoever lies
    # beyond, and its widths are those of the stretches.
    units = made.units_frame(made.grid(2, 2), ["SW", "SE", "NW", "NE"])
    road = shapely.LineString([(0, -50), (0, SIDE_M + 50)])
    found = fire_layers(units, made.burns_frame({"SW": "A"}), roads=[road], mow=LEAST)
    (run,) = runs(found)
    assert run.line.length == pytest.approx(3 * SIDE_M, abs=0.1)
    assert run.widths == MadeWidths(0.0, 20.0, 0.0)
    ends = shapely.get_coordinates(run.line)[[0, -1]]
    assert ends == pytest.approx(np.array([(0, 0), (0, SIDE_M)]), abs=0.1)


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10**6))
def test_whatever_burns_has_its_strip_along_every_edge_to_be_mown(seed):
    random = np.random.default_rng(seed)
    cells = made.mosaic(7, seed, size_m=1500.0)
    names = [f"U{number}" for number in range(7)]
    block_of = dict(zip(names, random.choice(["A", "B", ""], 7), strict=True)) | {"U0": "A"}
    mow = MowingSettings(side=str(random.choice(["inside", "outside"])), order=())
    found = fire_layers(made.units_frame(cells, names), made.burns_frame(block_of), mow=mow)
    model = BlockModel.of(found["edges"], found["checked_burns"])
    strips, passes = found["mow_strips"], found["mow_passes"]
    for block in model.names:
        ground = model.ground(block)
        strip = shapely.union_all(strips.geometry[strips["block"] == block].to_numpy())
        off = strip.difference(ground) if mow.side == "inside" else strip.intersection(ground)
        inner = [run for run in runs(found) if run.block == block and run.hole]
        if mow.side == "inside" or not inner:
            assert off.area < 1e-3 * strip.area
        # A point 1 ft beside every edge, inside or outside, is mown.
        edge = shapely.segmentize(ground.boundary, 25.0)
        side = 1 if mow.side == "outside" else -1
        rim = shapely.buffer(ground, side * M_PER_FT, join_style="mitre").boundary
        places = shapely.points(shapely.get_coordinates(shapely.segmentize(rim, 25.0)))
        if not inner and edge.length:
            missed = ~shapely.intersects(shapely.buffer(strip, 0.02), places)
            assert missed.mean() < 0.02
    for row in passes.itertuples():
        own = strips.geometry[strips["strip_id"] == row.strip_id].item()
        assert shapely.within(row.geometry, shapely.buffer(own, 0.02))
    assert (found["mow_routes"]["least_moves_ft"] <= found["mow_routes"]["moves_ft"] + 0.5).all()
    order = passes.groupby("block")["drive_order"].agg(list)
    assert all(numbers == list(range(1, len(numbers) + 1)) for numbers in order)


def test_moves_join_pass_to_pass_from_the_gate_on():
    gate = gpd.GeoDataFrame(
        {"gate_id": [1], "name": ["west gate"]},
        geometry=[shapely.Point(-5, 200)],
        crs=made.CRS,
    )
    pond = made.exclusions_frame([shapely.box(150, 100, 250, 300)])
    units = made.units_frame(made.grid(1, 1), ["W"])
    found = fire_layers(units, made.burns_frame({"W": "A"}), exclusions=pond, gates=gate)
    at = (-5.0, 200.0)
    moves = found["mow_moves"].set_index("to_order")
    dry = shapely.buffer(made.grid(1, 1)[0] - pond.geometry.item(), 5.5)
    for row in found["mow_passes"].itertuples():
        first, *_, last = shapely.get_coordinates(row.geometry).tolist()
        way = moves.loc[row.drive_order]
        assert shapely.get_coordinates(way.geometry)[0] == pytest.approx(at)
        assert shapely.get_coordinates(way.geometry)[-1] == pytest.approx(first)
        assert way["on_ground"]
        assert shapely.covers(dry, way.geometry)
        at = tuple(last)
    assert found["mow_moves"]["length_ft"].sum() == pytest.approx(
        found["mow_routes"]["moves_ft"].sum()
    )
