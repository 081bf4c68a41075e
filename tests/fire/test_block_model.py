"""Blocks walked in the edge graph: ground, rings and chains on maps known by construction."""

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.ops import substring

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.fire.block_model import BlockModel
from pipeline.ground.edge_graph import draw_edges
from pipeline.ground.settings import AcreageSettings
from tests import made_properties as made
from tests import made_unit_maps

FORTY_M2 = made.QUARTER_M**2


def model_of(shapes, block_of):
    """Block model of units named by their position."""
    names = [f"U{number}" for number in range(len(shapes))]
    units = made.units_frame(shapes, names)
    edges = draw_edges(units, made.exclusions_frame(), AcreageSettings())
    burns = made.burns_frame({f"U{number}": block for number, block in block_of.items()})
    return BlockModel.of(conform(edges, LAYERS["edges"], made.CRS), burns)


def in_system(shapes, system):
    return made_unit_maps.in_system(shapes, system) if system else np.array(shapes)


@pytest.mark.parametrize("system", [None, 26914, 4326])
@pytest.mark.parametrize("turn_deg", range(0, 90, 9))
def test_block_whose_units_touch_in_a_corner_has_a_ring_around_each(turn_deg, system):
    # A 2 x 2 grid of 40-acre squares, the southwest and the northeast one burned together.
    cells = [affinity.rotate(c, turn_deg, origin=(0, 0)) for c in made_unit_maps.grid(2, 2)]
    model = model_of(in_system(cells, system), {0: "diagonal", 3: "diagonal"})
    ground = model.ground("diagonal")
    assert ground.is_valid
    assert ground.area == pytest.approx(2 * FORTY_M2, rel=1e-3)
    lines = [model.chain_line(number) for number in range(len(model.chains))]
    assert [line.is_ring and shapely.is_ccw(line) for line in lines] == [True] * 2
    assert sum(line.length for line in lines) == pytest.approx(8 * made.QUARTER_M, rel=1e-3)


def test_chain_has_its_block_on_the_left_hand_and_the_other_one_on_the_right():
    # A row of three squares, burned as block b, block a, and not at all.
    model = model_of(made.grid(3, 1), {0: "b", 1: "a"})
    assert model.names == ["a", "b"]
    hands = [(chain.left, chain.right) for chain in model.chains]
    assert hands == [(0, -1), (0, 1), (1, -1)]
    for number, chain in enumerate(model.chains):
        line = model.chain_line(number)
        left = line.offset_curve(1.0)
        assert model.ground(model.names[chain.left]).covers(left)
        if chain.right >= 0:
            assert model.ground(model.names[chain.right]).covers(line.offset_curve(-1.0))


def test_what_adjoins_is_told_place_by_place():
    # The middle square of three in a row, from its southwest corner on: outside, east, outside.
    model = model_of(made.grid(3, 1), {1: "a"})
    (line,) = [model.chain_line(number) for number in range(len(model.chains))]
    side = made.QUARTER_M
    for at_m in (0.5 * side, 1.5 * side, 2.5 * side, 3.5 * side):
        x = line.interpolate(at_m).x
        there = "U0" if x < side + 1 else "U2" if x > 2 * side - 1 else "outside"
        assert model.adjoining(0, at_m - 9, at_m + 9) == there
    assert model.adjoining(0, 0.0, line.length) == "U0, U2, outside"


def test_stretch_shorter_than_rounding_still_adjoins_something():
    model = model_of(made.grid(2, 1), {0: "a"})
    assert model.adjoining(0, 100.0, 100.001) in ("U1", "outside")


def test_cuts_along_a_chain_give_the_line_of_the_stretch():
    units = made.units_frame(made.grid(2, 2), ["SW", "SE", "NW", "NE"])
    burns = made.burns_frame({"SW": "x", "NE": "x", "SE": "y"})
    found = made.stretches_of(units, burns)
    edges = draw_edges(units, made.exclusions_frame(), AcreageSettings())
    model = BlockModel.of(conform(edges, LAYERS["edges"], made.CRS), burns)
    for row in found.itertuples():
        line = model.chain_line(row.chain)
        assert row.geometry.length == pytest.approx(row.end_m - row.start_m, abs=1e-5)
        assert shapely.hausdorff_distance(
            row.geometry, substring(line, row.start_m, row.end_m)
        ) == pytest.approx(0, abs=1e-5)
    by_chain = found.groupby("chain")
    for number, rows in by_chain:
        assert rows["start_m"].iloc[0] == 0
        assert rows["end_m"].iloc[-1] == pytest.approx(model.chain_line(number).length)
        assert (rows["start_m"].to_numpy()[1:] == rows["end_m"].to_numpy()[:-1]).all()


def test_block_without_a_unit_on_the_map_has_no_ground():
    model = model_of(made.grid(1, 1), {0: "a", 7: "ghost"})
    assert model.ground("ghost").is_empty
    assert model.ground("a").area == pytest.approx(FORTY_M2)
