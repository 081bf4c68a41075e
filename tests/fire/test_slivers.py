"""Slivers between units of one block, against figures of plane geometry."""

import pytest
import shapely
from shapely import affinity

from pipeline.core.units import M2_PER_AC
from tests import made_properties as made
from tests.made_fire import fire_layers

SIDE_M = 400.0
SQUARE, BESIDE = shapely.box(0, 0, 400, 400), shapely.box(400, 0, 800, 400)


def pair(gap_m, *, shut=False):
    """Two squares of 400 m side by side, a gap between them open at both ends or shut there."""
    west = shapely.box(0, 0, SIDE_M, SIDE_M)
    east = shapely.box(SIDE_M + gap_m, 0, 2 * SIDE_M + gap_m, SIDE_M)
    if shut:
        ends = [shapely.box(SIDE_M, y, SIDE_M + gap_m, y + 50) for y in (0, SIDE_M - 50)]
        west = shapely.union_all([west, *ends])
    return [west, east]


def layers_of(shapes, block_of, **choices):
    names = [f"U{number}" for number in range(len(shapes))]
    burns = made.burns_frame({name: block_of.get(n) for n, name in enumerate(names)})
    return fire_layers(made.units_frame(shapes, names), burns, **choices)


def block(found, name="a"):
    return found["burn_blocks"].set_index("block").loc[name]


@pytest.mark.parametrize("turn_deg", [0, 33])
@pytest.mark.parametrize(("shut", "long_m"), [(False, 400.0), (True, 300.0)])
def test_gap_narrower_than_the_slop_is_ground_of_the_block_and_told(shut, long_m, turn_deg):
    shapes = [affinity.rotate(s, turn_deg, origin=(0, 0)) for s in pair(3.0, shut=shut)]
    found = layers_of(shapes, {0: "a", 1: "a"})
    told = block(found)
    assert shapely.get_parts(told.geometry).size == 1
    assert shapely.get_num_interior_rings(told.geometry.geoms[0]) == 0
    assert told.slivers == 1
    assert told.sliver_ac == pytest.approx(3.0 * long_m / M2_PER_AC, rel=1e-4)
    assert told.gross_ac == pytest.approx(told.units_ac - told.overlap_ac + told.sliver_ac)
    assert told.gross_ac == pytest.approx(told.excluded_ac + told.break_ac + told.burnable_ac)
    note = found["firebreak_findings"].set_index("code").loc["slivers_closed"]
    assert note["amount"] == pytest.approx(told.sliver_ac)


@pytest.mark.parametrize(
    ("shapes", "block_of"),
    [
        (pair(6.0), {0: "a", 1: "a"}),  # 19.7 ft: a lane, which is wider than the slop of 16
        (pair(6.0, shut=True), {0: "a", 1: "a"}),
        (pair(3.0), {0: "a", 1: "b"}),
        (pair(3.0), {0: "a"}),
        (made.grid(2, 2), {0: "a", 3: "a"}),  # they touch in a point
        ([SQUARE - shapely.box(199, 100, 200, 400), BESIDE], {0: "a", 1: "a"}),
        ([SQUARE - shapely.box(199, 100, 203, 300), BESIDE], {0: "a", 1: "a"}),
    ],
)
def test_lanes_other_blocks_corners_bays_and_held_holes_stay_open(shapes, block_of):
    found = layers_of(shapes, block_of)
    for name in set(block_of.values()):
        told, own = block(found, name), [n for n, b in block_of.items() if b == name]
        assert (told.slivers, told.sliver_ac) == (0, pytest.approx(0, abs=1e-9))
        drawn = shapely.union_all([shapes[number] for number in own])
        assert told.geometry.symmetric_difference(drawn).area < 1e-6


def test_hole_of_one_unit_that_no_edge_runs_around_is_closed():
    found = layers_of([SQUARE - shapely.box(199, 100, 200, 300)], {0: "a"})
    assert set(found["firebreaks"]["ring"]) == {"outer"}
    assert block(found).slivers == 1
    assert block(found).sliver_ac == pytest.approx(200 / M2_PER_AC, rel=1e-4)


def test_narrow_unit_of_another_between_two_keeps_its_ground():
    road = shapely.box(SIDE_M, 0, SIDE_M + 3, 200)
    found = layers_of([*pair(3.0), road], {0: "a", 1: "a"})
    assert shapely.intersection(block(found).geometry, road).area == pytest.approx(0, abs=1e-6)


def test_what_is_left_out_of_burning_is_left_out_of_a_sliver_too():
    pond = shapely.box(300, 100, 500, 200)
    names = ["W", "E"]
    burns = made.burns_frame(dict.fromkeys(names, "a"))
    units = made.units_frame(pair(3.0), names)
    told = block(fire_layers(units, burns, exclusions=made.exclusions_frame([pond])))
    assert told.gross_ac == pytest.approx(told.excluded_ac + told.break_ac + told.burnable_ac)
    assert told.sliver_ac <= 3.0 * 400 / M2_PER_AC * 1.0001
