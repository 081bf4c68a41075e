"""Lanes between two units of one block: inside it, held at their ends alone. Plane geometry."""

import pytest
import shapely
from shapely import affinity

from pipeline.core.units import M_PER_FT
from pipeline.ground.settings import AcreageSettings
from tests import made_fire
from tests import made_properties as made

SIDE_M = 400.0
SIDE_FT = made.feet(SIDE_M)


def apart(gap_ft, columns=2, rows=1, turn_deg=0.0):
    """Squares of 400 m with lanes between them."""
    step = SIDE_M + gap_ft * M_PER_FT
    squares = [
        shapely.box(c * step, r * step, c * step + SIDE_M, r * step + SIDE_M)
        for r in range(rows) for c in range(columns)
    ]  # fmt: skip
    return [affinity.rotate(square, turn_deg, origin=(0, 0)) for square in squares]


def layers_of(shapes, block_of, **choices):
    names = [f"U{number}" for number in range(len(shapes))]
    burns = made.burns_frame({names[number]: block for number, block in block_of.items()})
    return made_fire.fire_layers(made.units_frame(shapes, names), burns, **choices)


def block(layers, name="a"):
    return layers["burn_blocks"].set_index("block").loc[name]


@pytest.mark.parametrize("turn_deg", [0, 17, 45, 90])
@pytest.mark.parametrize("gap_ft", [20.0, 30.0, 39.5])
def test_sides_of_a_lane_are_inside_and_its_ends_are_held(gap_ft, turn_deg):
    found = layers_of(apart(gap_ft, turn_deg=turn_deg), {0: "a", 1: "a"})
    assert block(found)["perimeter_ft"] == pytest.approx(6 * SIDE_FT + 2 * gap_ft, abs=0.05)
    assert block(found)["lane_ft"] == pytest.approx(2 * SIDE_FT, abs=0.05)
    codes = found["firebreak_findings"].set_index("code")
    assert codes.loc["lane_inside", "subject"] == "a"
    assert "block_refused" not in codes.index


def test_gap_wider_than_a_lane_has_two_edges():
    found = layers_of(apart(40.5), {0: "a", 1: "a"})
    assert block(found)["perimeter_ft"] == pytest.approx(8 * SIDE_FT, abs=0.05)
    assert block(found)["lane_ft"] == 0


@pytest.mark.parametrize("blocks", [{0: "a", 1: "b"}, {0: "a"}])
def test_lane_between_two_blocks_or_beside_a_unit_left_alone_is_held_on_both_sides(blocks):
    found = layers_of(apart(30.0), blocks)
    for name in blocks.values():
        assert block(found, name)["perimeter_ft"] == pytest.approx(4 * SIDE_FT, abs=0.05)
        assert block(found, name)["lane_ft"] == 0
    assert "lane" in ", ".join(found["firebreaks"]["adjoining"])


def test_lanes_that_cross_are_inside_with_their_crossing():
    found = layers_of(apart(30.0, 2, 2), dict.fromkeys(range(4), "a"))
    assert block(found)["perimeter_ft"] == pytest.approx(8 * SIDE_FT + 4 * 30, abs=0.05)
    assert block(found)["lane_ft"] == pytest.approx(8 * SIDE_FT, abs=0.05)
    assert set(found["firebreaks"]["ring"]) == {"outer"}


def test_lane_that_ends_at_another_unit_is_held_there():
    # A third unit across the north end of the lane, which does not burn with the two.
    gap_m = 30 * M_PER_FT
    across = shapely.box(0, SIDE_M, 2 * SIDE_M + gap_m, 2 * SIDE_M)
    found = layers_of([*apart(30.0), across], {0: "a", 1: "a"})
    assert block(found)["perimeter_ft"] == pytest.approx(6 * SIDE_FT + 2 * 30, abs=0.05)


def test_notch_in_one_unit_is_no_lane():
    notched = shapely.box(0, 0, 400, 400) - shapely.box(196, 200, 204, 400)
    found = layers_of([notched], {0: "a"})
    assert block(found)["perimeter_ft"] == pytest.approx(made.feet(1600 + 400), abs=0.05)
    assert block(found)["lane_ft"] == 0


def test_wide_ground_that_units_close_in_is_no_lane():
    # Four units around a square of 100 m that is nobody's: its outline is an inner ring.
    frame = shapely.box(0, 0, 400, 400) - shapely.box(150, 150, 250, 250)
    parts = [shapely.box(0, 0, 200, 200), shapely.box(200, 0, 400, 200),
             shapely.box(0, 200, 200, 400), shapely.box(200, 200, 400, 400)]  # fmt: skip
    found = layers_of([part & frame for part in parts], dict.fromkeys(range(4), "a"))
    assert block(found)["perimeter_ft"] == pytest.approx(made.feet(1600 + 400), abs=0.05)


def test_no_lanes_if_their_width_is_set_to_nothing():
    units = made.units_frame(apart(30.0))
    edges = made.draw_edges(units, made.exclusions_frame(), AcreageSettings(lane_ft=0.0))
    assert not edges["left_lane"].any()
    assert not edges["right_lane"].any()
