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

from pipeline.fire.mowing.strips import (
    ARC_SEGMENTS,
    band_along,
    band_m2,
    center_lines,
    left_ground,
    left_points,
    lines_within,
    middle_lines,
    strip_along,
    uncovered,
)


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


def test_ground_beyond_a_ditch_is_not_mown():
    # A ditch 4 m from the edge, 2 m wide and as long as the field: the strip of 10 m ends at it.
    fields = shapely.MultiPolygon([shapely.box(0, 0, 4, 300), shapely.box(6, 0, 100, 300)])
    side = shapely.LineString([(0, 300), (0, 0)])
    assert strip_along(fields, side, 10.0).area == pytest.approx(4 * 300, rel=1e-5)


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


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("corners", [3, 4, 6, 64])
def test_band_by_length_and_corners_is_the_band_that_is_drawn(corners, turned):
    field = regular(corners)
    ground = field.buffer(100) - field if turned else field
    line = ring(field, turned=turned)
    drawn = band_along(ground, line, 2.0, 8.0).area
    assert band_m2(line, 2.0, 8.0) == pytest.approx(drawn, rel=2e-5)
    # P (b - a) -+ (b2 - a2) sum(tan(theta / 2)).
    tips = corners * np.tan(np.pi / corners) * (64 - 4) * (1 if turned else -1)
    assert drawn == pytest.approx(6 * field.length + tips, rel=2e-5)


def test_bands_beside_each_other_share_no_ground_and_leave_none():
    field = star(3)
    line = ring(field)
    bands = [band_along(field, line, near, far) for near, far in ((0, 2), (2, 8), (8, 11))]
    together = sum(band.area for band in bands)
    assert together == pytest.approx(strip_along(field, line, 11.0).area, rel=1e-6)
    assert shapely.union_all(bands).area == pytest.approx(together, rel=1e-6)


FOUR_PASSES_M = [offset * 0.3048 for offset in (3.0, 8.5, 14.0, 17.0)]


def test_center_lines_of_the_worked_example_inside():
    # 400 x 250 m, 20 ft strip, 6 ft mower, 0.5 ft overlap: P - 8 d, d at 3, 8.5, 14 and 17 ft.
    field = shapely.box(0, 0, 400, 250)
    lengths_m = [center_lines(ring(field), d)[0].length for d in FOUR_PASSES_M]
    assert lengths_m == pytest.approx([1292.68, 1279.27, 1265.86, 1258.55], abs=0.01)


def test_center_lines_around_a_hole_and_around_a_circle():
    pond = shapely.box(0, 0, 100, 60)
    around = center_lines(ring(pond, turned=True), 5.0)
    assert [line.length for line in around] == pytest.approx([320 + 8 * 5])
    rounded = center_lines(ring(pond, turned=True), 5.0, rounded=True)
    assert rounded[0].length == pytest.approx(320 + 2 * np.pi * 5, rel=1e-3)


def test_center_lines_of_a_part_run_straight_to_its_ends():
    # Two corners to the left: 600 m less 4 d, no hook at either end.
    part = shapely.LineString([(0, 200), (0, 0), (200, 0), (200, 200)])
    for offset_m in FOUR_PASSES_M:
        (line,) = center_lines(part, offset_m)
        assert line.length == pytest.approx(600 - 4 * offset_m)
        ends = shapely.get_coordinates(line)[[0, -1]]
        assert ends == pytest.approx(np.array([(offset_m, 200), (200 - offset_m, 200)]))


@pytest.mark.parametrize("neck_m", [1.5, 3.0, 5.0, 7.0, 9.0, 11.0, 13.0])
def test_necks_are_covered_by_a_middle_line(neck_m):
    half = neck_m / 2
    fields = shapely.union_all([
        shapely.box(0, 0, 200, 200),
        shapely.box(200, 100 - half, 300, 100 + half),
        shapely.box(300, 0, 500, 200),
    ])  # fmt: skip
    strip = strip_along(fields, ring(fields), 6.096)
    laps = [line for d in FOUR_PASSES_M for line in center_lines(ring(fields), d)]
    laps = lines_within(laps, strip, 0.5)
    more = middle_lines(strip, laps, 1.8288)
    left = uncovered(strip, laps + more, 1.8288)
    assert shapely.area(left).sum() < 1.0
    assert sum(line.length for line in more) < 250


def chain_of(seed, count=12):
    """A line that wanders, neither touching itself nor coming near itself."""
    random = np.random.default_rng(seed)
    way = np.cumsum(random.uniform(-0.9, 0.9, count))
    steps = random.uniform(15, 90, count)[:, None] * np.column_stack([np.cos(way), np.sin(way)])
    return shapely.LineString(np.vstack([[0, 0], np.cumsum(steps, axis=0)]))


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.booleans())
def test_passes_along_any_chain_cover_its_strip_and_leave_it_nowhere(seed, turned):
    line = chain_of(seed)
    line = line.reverse() if turned else line
    room = shapely.buffer(line, 40)
    assume(line.is_simple and not shapely.get_num_interior_rings(room))
    strip = strip_along(room, line, 6.096)
    assume(strip.area == pytest.approx(band_m2(line, 0, 6.096), rel=0.02))
    passes = [p for d in FOUR_PASSES_M for p in lines_within(center_lines(line, d), strip, 0.5)]
    assert shapely.within(shapely.multilinestrings(passes), strip.buffer(0.01))
    assert shapely.area(uncovered(strip, passes, 1.8288)).sum() < 0.013 * strip.area
    # The middle of the strip has w2 tan(t / 2) less than its share, like the strip itself.
    assert sum(p.length for p in passes) == pytest.approx(
        sum(band_m2(line, d - 1e-3, d + 1e-3) / 2e-3 for d in FOUR_PASSES_M), rel=0.01
    )
