"""Places along the breaks: where an edge goes over to the other side of a road."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.fire.tie_ins import crossings, interior_angles_deg
from tests import made_properties as made
from tests.made_fire import fire_layers, two_forties

EDGE = shapely.LineString([(0, 0), (400, 0)])


@settings(max_examples=30, deadline=None)
@given(st.floats(3, 9), st.floats(3, 9), st.floats(60, 340), st.booleans())
def test_road_that_goes_over_is_found_where_it_crosses(below_m, above_m, at_m, turned):
    slant = 30.0
    west, east = (at_m - slant, -below_m), (at_m + slant, above_m)
    road = shapely.LineString([(-50, -below_m), west, east, (450, above_m)])
    line = shapely.reverse(EDGE) if turned else EDGE
    (place,) = crossings(line, road, 2.4)
    assert shapely.distance(place, shapely.intersection(EDGE, road)) < 0.01


def test_wiggles_within_the_slop_are_no_change_of_side():
    x = np.linspace(0, 400, 81)
    road = shapely.LineString(np.column_stack([x, 1.5 * np.sin(x / 9)]))
    assert crossings(EDGE, road, 2.4) == []


def test_road_on_one_side_and_back_crosses_twice():
    road = shapely.LineString([(-9, -6), (100, -6), (150, 6), (250, 6), (300, -6), (409, -6)])
    assert [round(place.x) for place in crossings(EDGE, road, 2.4)] == [125, 275]


def test_road_beside_the_edge_all_along_does_not_cross():
    assert crossings(EDGE, shapely.LineString([(-9, -6), (409, -6)]), 2.4) == []


def test_change_of_side_is_a_place_to_look_at():
    units = made.units_frame([shapely.box(0, 0, 400, 400)], ["W"])
    road = shapely.LineString([(-50, -6), (170, -6), (230, 6), (450, 6)])
    breaks = made.breaks_frame([road])
    burns = made.burns_frame({"W": "west"})
    places = fire_layers(units, burns, breaks=breaks)["tie_ins"]
    change = places[places["kind"] == "side_change"]
    assert change[["block", "break_kind"]].to_numpy().tolist() == [["west", "lane"]]
    assert shapely.distance(change.geometry.iloc[0], shapely.Point(200, 0)) < 0.1


# Plane geometry: interior angles of a polygon with n corners sum to (n − 2) 180 degrees.
@pytest.mark.parametrize("seed", range(5))
def test_interior_angles_sum_as_in_any_polygon(seed):
    cell = shapely.orient_polygons(made.mosaic(8, seed)[0])
    points = shapely.get_coordinates(cell)[:-1]
    assert interior_angles_deg(points).sum() == pytest.approx((len(points) - 2) * 180)


def test_line_between_two_blocks_is_tied_to_the_road_it_meets():
    found = two_forties(roads=[shapely.LineString([(-50, -6), (900, -6)])])
    places = found["tie_ins"]
    corner = shapely.Point(made.QUARTER_M, 0)
    near = places[shapely.distance(places.geometry.to_numpy(), corner) < 0.1]
    assert set(near["kind"]) == {"tie_in"}
    assert set(near["block"]) == {"east", "west"}
    assert near["distance_ft"].to_numpy() == pytest.approx(made.feet(6.0))


def test_sharp_corner_is_marked():
    spike = shapely.Polygon([(0, 0), (400, 0), (400, 40)])
    found = fire_layers(made.units_frame([spike], ["s"]), made.burns_frame({"s": "S"}))
    corners = found["tie_ins"]
    assert corners["kind"].tolist() == ["sharp_corner"]
    assert shapely.distance(corners.geometry.iloc[0], shapely.Point(0, 0)) < 0.01
    # The corner whose tangent is 40 / 400.
    assert corners["corner_angle_deg"].item() == pytest.approx(np.degrees(np.arctan(0.1)), abs=0.1)


def test_hand_over_tells_both_breaks_and_the_feet_between_them():
    # The lane ends 3 m north of where the creek has begun: 9.84 ft.
    lane = shapely.LineString([(-50, -6), (200, -6)])
    creek = shapely.LineString([(190, -9), (900, -9)])
    breaks = made.breaks_frame([lane, creek], ["lane", "creek"])
    units = made.units_frame(made.grid(1, 1), ["W"])
    places = fire_layers(units, made.burns_frame({"W": "west"}), breaks=breaks)["tie_ins"]
    (row,) = places[places["kind"] == "hand_over"].to_dict("records")
    assert row["distance_ft"] == pytest.approx(3 / 0.3048, abs=0.01)
    # The block lies on the left hand, so its south edge is walked from the west.
    assert (row["break_kind"], row["next_break_kind"]) == ("lane", "creek")
