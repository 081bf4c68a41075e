"""Mow strips, passes and hours, against printed tables and exact formulas."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.units import M2_PER_AC, M_PER_FT, half_up
from pipeline.fire import mowing
from pipeline.fire.settings import MowingSettings
from tests import made_properties as made
from tests.made_fire import fire_layers, two_forties

# Iowa State University Extension PM 696, rev. April 2001, table on page 1.
IOWA_TABLE = """
40 6 70 20.4
50 6 70 25.5
10 5 63 3.8
15 5 63 5.7
15 6 63 6.9
20 6 63 9.2
30 6 60 13.1
11.25 5.5 85 6.4
13.75 5.5 85 7.8
16.25 5.5 83 9.0
"""
# The same table: machines by their rows or knives, and the inches between these.
IOWA_ROWS = """
7 16 5 85 4.8
8 16 5 85 5.5
8 18 5 85 6.2
10 18 5 83 7.5
12 18 5 83 9.1
5 24 5 85 5.2
5 30 5 85 6.4
7 24 5 85 7.2
7 30 5 83 8.8
9 30 5 65 8.9
13 30 5 65 12.8
17 30 5 63 16.2
"""


@pytest.mark.parametrize("line", IOWA_TABLE.strip().splitlines())
def test_field_capacity_of_the_iowa_table(line):
    width_ft, speed_mph, efficiency_pct = map(float, line.split()[:3])
    found = mowing.field_capacity_ac_hour(speed_mph, width_ft, efficiency_pct)
    assert str(half_up(found, 1)) == line.split()[3]


@pytest.mark.parametrize("line", IOWA_ROWS.strip().splitlines())
def test_field_capacity_of_machines_with_rows(line):
    count, apart_in, speed_mph, efficiency_pct = map(float, line.split()[:4])
    found = mowing.field_capacity_ac_hour(speed_mph, count * apart_in / 12, efficiency_pct)
    assert str(half_up(found, 1)) == line.split()[4]


def test_hours_by_the_line_are_hours_by_the_area():
    # One mile, two passes of 10 ft without overlap, 4 mph, 80 %: 0.625 hours either way.
    by_line = mowing.line_hours(2 * 5280.0, 4.0, 80.0)
    acres = 2 * 10.0 * 5280.0 / 43560.0
    assert by_line == pytest.approx(0.625)
    assert acres / mowing.field_capacity_ac_hour(4.0, 10.0, 80.0) == pytest.approx(by_line)


@pytest.mark.parametrize(
    ("width_ft", "mower_ft", "overlap_ft", "passes"),
    [(60, 10, 0, 6), (60, 10, 1, 7), (20, 6, 0.5, 4), (5, 6, 0.5, 1), (6, 6, 0, 1)],
)
def test_number_of_passes(width_ft, mower_ft, overlap_ft, passes):
    assert mowing.pass_count(width_ft, mower_ft, overlap_ft) == passes
    assert len(mowing.pass_offsets_ft(width_ft, mower_ft, overlap_ft)) == passes


@given(st.floats(4, 100), st.floats(1, 20), st.floats(0, 0.5))
def test_no_settings_that_are_taken_give_more_than_two_passes_a_mower_width(width, mower, share):
    told = MowingSettings(mower_width_ft=mower, overlap_ft=share * mower)
    count = mowing.pass_count(width, told.mower_width_ft, told.overlap_ft)
    assert 1 <= count <= 2 * width / mower + 1


@given(st.floats(4, 100), st.floats(4, 20), st.floats(0, 3))
def test_passes_leave_no_grass_standing(width_ft, mower_ft, overlap_ft):
    offsets = np.array(mowing.pass_offsets_ft(width_ft, mower_ft, overlap_ft))
    reach = min(mower_ft, max(width_ft, mower_ft)) / 2
    assert (np.diff(offsets) <= mower_ft - overlap_ft + 1e-9).all()
    assert offsets[0] <= mower_ft / 2 + 1e-9
    assert offsets[-1] + reach >= width_ft - 1e-6


def closed(shape):
    return np.array([shapely.LineString(shape.exterior.coords)], dtype=object)


def strip_m2(shape, width_m, *, inside=True):
    return mowing.strip_along(shape, closed(shape), width_m, inside=inside).area


# Exact formulas, P perimeter and w width: inside P w - 4 w2, outside, round, P w + pi w2.
@settings(max_examples=40)
@given(st.floats(60, 900), st.floats(60, 900), st.floats(1, 25))
def test_strip_of_a_rectangle(long_m, short_m, width_m):
    field = shapely.box(0, 0, long_m, short_m)
    around = field.length * width_m
    assert strip_m2(field, width_m) == pytest.approx(around - 4 * width_m**2)
    # The four corners make one circle, drawn with 64 corners: 0.16 % less than pi w2.
    corners = 4 * mowing.ARC_SEGMENTS
    circle = corners / 2 * math.sin(2 * math.pi / corners) * width_m**2
    assert circle == pytest.approx(math.pi * width_m**2, rel=2e-3)
    assert strip_m2(field, width_m, inside=False) == pytest.approx(around + circle, rel=1e-9)


def test_strip_of_400_by_250_m():
    # Worked figures: 12,600 m2 inside, 13,314.2 outside; center lines 1,220 and 1,362.83 m at 10 m.
    field = shapely.box(0, 0, 400, 250)
    assert strip_m2(field, 10.0) == pytest.approx(12600)
    assert strip_m2(field, 10.0, inside=False) == pytest.approx(13314.2, abs=0.6)
    assert mowing.pass_outline(field, 10.0, inside=True).length == pytest.approx(1220)
    assert mowing.pass_outline(field, 10.0, inside=False).length == pytest.approx(1362.83, abs=0.05)


@pytest.mark.parametrize("radius_m", [50.0, 200.0])
def test_strip_of_a_circle(radius_m):
    # P w -+ pi w2, to the accuracy of the polygon that stands for the circle (256 corners).
    circle = shapely.Point(0, 0).buffer(radius_m, quad_segs=64)
    around = circle.length * 10.0
    assert strip_m2(circle, 10.0) == pytest.approx(around - math.pi * 100, rel=5e-4)
    assert strip_m2(circle, 10.0, inside=False) == pytest.approx(around + math.pi * 100, rel=5e-4)
    drop = circle.length - mowing.pass_outline(circle, 10.0, inside=True).length
    assert drop == pytest.approx(2 * 256 * 10.0 * math.tan(math.pi / 256), rel=1e-6)


def test_ten_foot_strip_of_a_quarter_section():
    # 2.4151 ac inside, 2.4314 outside with round corners; P w would be 2.4242.
    side_m, width_m = 2640 * M_PER_FT, 10 * M_PER_FT
    quarter = shapely.box(0, 0, side_m, side_m)
    assert strip_m2(quarter, width_m) / M2_PER_AC == pytest.approx(2.4151, abs=5e-5)
    outside_ac = strip_m2(quarter, width_m, inside=False) / M2_PER_AC
    assert outside_ac == pytest.approx(2.4314, abs=5e-5)


def test_strip_along_a_part_has_square_ends_and_whole_corners():
    # 600 m along with two corners: 600 w - 2 w2 = 5,800 m2.
    field = shapely.box(0, 0, 200, 400)
    part = shapely.LineString([(0, 200), (0, 0), (200, 0), (200, 200)])
    strip = mowing.strip_along(field, np.array([part], dtype=object), 10.0, inside=True)
    assert strip.area == pytest.approx(5800)


@pytest.mark.parametrize("tail_m", [0.0, 1e-13, 1e-9, 1e-6, 0.001, 0.07, 1.0, 3.0])
def test_strip_that_ends_just_around_a_corner_loses_no_ground(tail_m):
    # 100 m along one side, both corners: 100 w. What goes around the corner lies in that already,
    # and so does the thickness of a hair that a strip reaches farther than its width.
    field = shapely.box(0, 0, 200, 100)
    part = shapely.LineString([(0, 0), (0, 100), (tail_m, 100)])
    strip = mowing.strip_along(field, np.array([part], dtype=object), 6.0, inside=True)
    assert strip.area == pytest.approx(600, abs=0.01)


def test_passes_of_the_worked_example():
    # 20 ft strip, 6 ft mower, 0.5 ft overlap, 400 x 250 m: four passes, 5,096.3 m in all.
    field = shapely.box(0, 0, 400, 250)
    lengths_m = [
        mowing.pass_outline(field, offset * M_PER_FT, inside=True).length
        for offset in mowing.pass_offsets_ft(20, 6, 0.5)
    ]
    assert lengths_m == pytest.approx([1292.68, 1279.25, 1265.82, 1258.55], abs=0.05)
    assert sum(lengths_m) == pytest.approx(5096.3, abs=0.1)


def test_narrow_neck_is_mown_whole():
    # A neck 12 m wide between two fields, strip 6.1 m: less ground than P w, field in two parts.
    corners = [(0, 0, 200, 200), (200, 94, 300, 106), (300, 0, 500, 200)]
    fields = shapely.union_all([shapely.box(*corner) for corner in corners])
    strip = mowing.strip_along(fields, closed(fields), 6.1, inside=True)
    assert strip.area < fields.length * 6.1
    assert shapely.box(205, 95, 295, 105).difference(strip).area == pytest.approx(0, abs=1e-6)
    assert len(shapely.get_parts(mowing.inset(fields, 6.1))) == 2


def test_whole_strips_are_not_narrow_and_hours_are_those_of_their_passes():
    strips = two_forties(mow=MowingSettings(order=()))["mow_strips"]
    assert not strips["narrow"].any()
    # ASABE EP496: miles over miles per hour times efficiency, here 4 mph at 80 %.
    assert strips["hours"].to_numpy() == pytest.approx(strips["pass_length_ft"] / 5280 / 3.2)
    assert strips["hours"].min() > 1


@pytest.mark.parametrize(("mow_width_ft", "narrow"), [(20.0, False), (24.0, True)])
def test_strip_without_room_for_its_last_pass_is_narrow(mow_width_ft, narrow):
    # A unit of 12 m is 19.7 ft from its middle to either side: the last of the passes runs along
    # 17 ft from the edge in a strip of 20 ft, and would at 21 ft in one of 24 ft.
    units = made.units_frame([shapely.box(0, 0, 12, 400)], ["L"])
    mow = MowingSettings(mow_width_ft=mow_width_ft, order=())
    found = fire_layers(units, made.burns_frame({"L": "lane"}), mow=mow)
    assert found["mow_strips"]["narrow"].tolist() == [narrow]
    assert ("strip_narrow" in set(found["firebreak_findings"]["code"])) == narrow
