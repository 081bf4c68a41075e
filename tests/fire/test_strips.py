"""Strips on the left hand of a line, against exact formulas of plane geometry.

P perimeter, w width, theta the angle a line turns by: a strip inside a convex outline covers
P w - w2 sum(tan(theta / 2)), outside with round corners P w + pi w2, with pointed ones
P w + w2 sum(tan(theta / 2)).
"""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pipeline.fire.strips import ARC_SEGMENTS, left_ground, left_points, strip_along


def ring(shape, *, turned=False):
    """Outline of a shape with the shape on its left hand, or on its right."""
    points = shapely.get_coordinates(shapely.orient_polygons(shape).exterior)
    return shapely.LineString(points[::-1] if turned else points)


def regular(corners, radius_m=200.0):
    angle = 2 * np.pi * np.arange(corners) / corners
    return shapely.Polygon(radius_m * np.column_stack([np.cos(angle), np.sin(angle)]))


@pytest.mark.parametrize("corners", [3, 4, 6, 12, 64, 256])
@pytest.mark.parametrize("width_m", [1.0, 6.1, 20.0])
def test_strips_inside_and_outside_a_regular_outline(corners, width_m):
    field = regular(corners)
    tips = corners * np.tan(np.pi / corners) * width_m**2
    inside = strip_along(field, ring(field), width_m)
    assert inside.area == pytest.approx(field.length * width_m - tips, rel=2e-5)
    around = field.buffer(200) - field
    pointed = strip_along(around, ring(field, turned=True), width_m)
    assert pointed.area == pytest.approx(field.length * width_m + tips, rel=2e-5)


def test_round_corners_of_a_rectangle_make_a_circle():
    field, width_m = shapely.box(0, 0, 400, 250), 10.0
    strip = left_ground(ring(field, turned=True), width_m, rounded=True)
    corners = 4 * ARC_SEGMENTS
    circle_m2 = corners / 2 * np.sin(2 * np.pi / corners) * width_m**2
    assert strip.area == pytest.approx(1300 * width_m + circle_m2, rel=1e-5)
    assert circle_m2 == pytest.approx(np.pi * width_m**2, rel=2e-3)


def test_corner_that_is_too_sharp_is_cut_off_at_the_limit():
    # A line that turns back by 170 degrees: its tip would be 11.5 widths away. It is cut off square
    # at five widths, where the strip is still so wide to each hand: (1 - 5 sin 5) / cos 5 widths.
    back = np.radians(10)
    line = shapely.LineString([(0, 0), (100, 0), (100 - 100 * np.cos(back), -100 * np.sin(back))])
    corners = shapely.get_coordinates(left_ground(line, 10.0)) - [100, 0]
    beyond = corners[corners[:, 0] > 1]
    aside = (1 - 5 * np.sin(back / 2)) / np.cos(back / 2)
    assert np.hypot(*beyond.T).max() == pytest.approx(10 * np.hypot(5, aside), rel=1e-5)


def test_part_of_an_outline_has_square_ends_and_whole_corners():
    # 600 m with two corners: 600 w - 2 w2.
    field = shapely.box(0, 0, 200, 400)
    part = shapely.LineString([(0, 200), (0, 0), (200, 0), (200, 200)])
    assert strip_along(field, part, 10.0).area == pytest.approx(5800, rel=1e-5)


def test_nothing_is_mown_on_the_other_hand_nor_across_a_lane():
    # Two fields of one block with a lane of 4 m between: the strip of 10 m stays in its own.
    fields = shapely.MultiPolygon([shapely.box(0, 0, 100, 300), shapely.box(104, 0, 204, 300)])
    side = shapely.LineString([(100, 0), (100, 300)])
    assert strip_along(fields, side, 10.0).area == pytest.approx(3000, rel=1e-5)
    # The same lane closed at one end: the ground around its end lies at no line that is mown.
    joined = shapely.union_all([*fields.geoms, shapely.box(0, 300, 204, 400)])
    assert strip_along(joined, side, 10.0).area == pytest.approx(3000, rel=1e-5)


def test_closed_line_near_another_edge_mows_its_own_strip_alone():
    # A pond 8 m from the edge of its block, strip 10 m: P w + 4 w2 less what lies beyond the edge.
    pond = shapely.box(8, 150, 108, 250)
    block = shapely.box(0, 0, 400, 400) - pond
    strip = strip_along(block, ring(pond, turned=True), 10.0)
    assert strip.area == pytest.approx(4000 + 400 - 2 * 120, rel=1e-5)


def test_neck_is_covered_whole_and_no_more():
    fields = shapely.union_all([
        shapely.box(0, 0, 200, 200), shapely.box(200, 94, 300, 106), shapely.box(300, 0, 500, 200),
    ])  # fmt: skip
    strip = strip_along(fields, ring(fields), 6.1)
    assert shapely.box(205, 95, 295, 105).difference(strip).area == pytest.approx(0, abs=1e-6)
    assert strip.area < fields.length * 6.1
    assert strip.difference(fields).area == pytest.approx(0, abs=1e-6)


def star(seed, count=60):
    """An outline that bends in and out at random."""
    random = np.random.default_rng(seed)
    angle = np.sort(random.uniform(0, 2 * np.pi, count))
    radius_m = random.uniform(120, 300, count)
    points = radius_m[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    return shapely.make_valid(shapely.Polygon(points), method="structure")


# A general-purpose library's buffer of the whole polygon is the reference: GEOS, mitre limit 5.
@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.floats(1, 15))
def test_closed_line_mows_what_the_inset_of_its_ground_leaves(seed, width_m):
    field = star(seed)
    assume(field.geom_type == "Polygon")
    inset = shapely.buffer(field, -width_m, join_style="mitre", mitre_limit=5.0)
    strip = strip_along(field, ring(field), width_m)
    assert strip.is_valid
    # Pointed corners that reach beyond the limit are cut a little differently.
    assert strip.area == pytest.approx(field.area - inset.area, rel=0.02)
    near = field - shapely.buffer(field, -width_m)
    assert shapely.difference(near, strip).area < 1e-4 * near.area


def test_union_that_floating_overlay_gets_wrong_is_whole():
    # On free coordinates a sixth of this strip was missing, with no message.
    field = star(38650)
    near = field - shapely.buffer(field, -9.0)
    assert shapely.difference(near, strip_along(field, ring(field), 9.0)).area < 1


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.floats(1, 15), st.integers(0, 59), st.integers(2, 50))
def test_part_of_an_outline_never_mows_more_than_lies_beside_it(seed, width_m, first, count):
    field = star(seed)
    assume(field.geom_type == "Polygon")
    points = shapely.get_coordinates(ring(field))[:-1]
    line = shapely.LineString(np.roll(points, -first, axis=0)[: count + 1])
    strip = strip_along(field, line, width_m)
    assert shapely.within(strip, shapely.buffer(line, 5.11 * width_m))
    assert shapely.difference(strip, field).area < 1e-5 * strip.area
    beside = shapely.intersects(shapely.buffer(strip, 1e-6), left_points(line))
    assert beside[shapely.covers(field, left_points(line))].all()
