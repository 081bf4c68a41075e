"""Sides of a block in the wind, against plane geometry."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from pipeline.fire.wind_sides import SIDES, held_sides, off_downwind_deg, wind_sides

NORTH, EAST, SOUTH, WEST = 0.0, 90.0, 180.0, 270.0
COMPASS = np.array([NORTH, EAST, SOUTH, WEST])


# Rectangle with its sides to the compass; wind is where it comes FROM, half angle 60 degrees.
@pytest.mark.parametrize(
    ("wind_from_deg", "north_east_south_west"),
    [
        (200, ["downwind", "flank", "upwind", "flank"]),
        (225, ["downwind", "downwind", "upwind", "upwind"]),
        (270, ["flank", "downwind", "flank", "upwind"]),
        (0, ["upwind", "flank", "downwind", "flank"]),
        (360, ["upwind", "flank", "downwind", "flank"]),
    ],
)
def test_rectangle_in_the_wind(wind_from_deg, north_east_south_west):
    assert wind_sides(COMPASS, wind_from_deg, 60.0).tolist() == north_east_south_west


@pytest.mark.parametrize(("half_deg", "share_pct"), [(45.0, 25.0), (60.0, 100 / 3)])
def test_round_unit_has_a_quarter_or_a_third_downwind(half_deg, share_pct):
    outward = np.arange(0.05, 360, 0.1)
    sides = wind_sides(outward, 201.0, half_deg)
    for side in ("downwind", "upwind"):
        assert 100 * np.mean(sides == side) == pytest.approx(share_pct, abs=0.1)


@given(st.integers(3, 40), st.integers(0, 359), st.integers(0, 10**6))
def test_downwind_and_upwind_lengths_across_the_wind_are_equal(corners, wind_from_deg, seed):
    # Length times outward normal of a closed ring sums to zero.
    random = np.random.default_rng(seed)
    ring = shapely.orient_polygons(
        shapely.convex_hull(shapely.MultiPoint(random.uniform(0, 500, (corners, 2))))
    )
    step = np.diff(shapely.get_coordinates(ring.exterior), axis=0)
    outward = np.degrees(np.arctan2(step[:, 1], -step[:, 0])) % 360
    across = np.hypot(*step.T) * np.cos(np.radians(off_downwind_deg(outward, wind_from_deg)))
    # Angles are rounded to a tenth of a degree: less than 0.1 % of the length.
    assert across.sum() == pytest.approx(0.0, abs=1e-3 * ring.length)


@given(st.floats(0, 360), st.floats(0, 360), st.floats(1, 89))
def test_turning_the_wind_around_swaps_downwind_and_upwind(outward, wind_from_deg, half_deg):
    here = wind_sides(np.array([outward]), wind_from_deg, half_deg)[0]
    back = wind_sides(np.array([outward]), (wind_from_deg + 180) % 360, half_deg)[0]
    swapped = {"downwind": "upwind", "upwind": "downwind", "flank": "flank"}
    # On a limit the rounding to a tenth of a degree may differ by one step.
    off = off_downwind_deg(np.array([outward]), wind_from_deg)[0]
    if min(abs(off - half_deg), abs(off - 180 + half_deg)) > 0.2:
        assert back == swapped[here]


def test_no_wind_no_side():
    assert wind_sides(COMPASS, None, 60.0).tolist() == [None] * 4
    assert wind_sides(COMPASS, float("nan"), 60.0).tolist() == [None] * 4


@given(st.floats(0, 359), st.floats(0, 359), st.floats(0, 180))
def test_edge_is_held_as_the_most_exposed_side_of_single_winds(outward, wind_from_deg, arc_deg):
    held = held_sides(np.array([outward]), wind_from_deg, 60.0, arc_deg)[0]
    off = off_downwind_deg(np.array([outward]), wind_from_deg)[0]
    shifts = [*np.linspace(-arc_deg, arc_deg, 721), np.clip(off, -arc_deg, arc_deg)]
    shifts.append(-shifts[-1])
    reached = {wind_sides(np.array([outward]), wind_from_deg + shift, 60.0)[0] for shift in shifts}
    # On a limit the rounding to a tenth of a degree may differ by one step.
    if min(abs(off - arc_deg - 60), abs(off - arc_deg - 120)) > 0.3:
        assert held == min(reached, key=SIDES.index)


# Wind from 315: where it goes, 135, and 45 to either side are from 90 to 180; half angle 60.
@pytest.mark.parametrize(
    ("outward_deg", "arc_deg", "held"),
    [
        (100, 45, "downwind"),
        (240, 45, "downwind"),
        (241, 45, "flank"),
        (299, 45, "flank"),
        (315, 45, "upwind"),
        (196, 0, "flank"),
        (196, 10, "downwind"),
        (315, 180, "downwind"),
    ],
)
def test_arc_and_half_angle_add_up(outward_deg, arc_deg, held):
    assert held_sides(np.array([float(outward_deg)]), 315.0, 60.0, arc_deg)[0] == held


def test_no_wind_nothing_is_held():
    assert held_sides(COMPASS, None, 60.0, 45.0).tolist() == [None] * 4
