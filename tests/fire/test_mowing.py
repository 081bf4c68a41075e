"""Mow strips, passes and hours, against printed tables and exact formulas."""

import math
from itertools import combinations

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.units import M2_PER_AC, M_PER_FT, half_up
from pipeline.fire.mowing import mow_strips as mowing
from pipeline.fire.mowing.settings import MowingSettings
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


def made_m2(found, kind="mown"):
    shapes = found["strip_shapes"]
    return shapes.loc[shapes["kind"] == kind].geometry.area.sum()


def burned(shapes, *, block_of=None, **choices):
    """Fire layers of units that burn, one block of all unless told."""
    names = [f"U{number:02d}" for number in range(len(shapes))]
    block_of = block_of or dict.fromkeys(names, "A")
    return fire_layers(
        made.units_frame(shapes, names), made.burns_frame(block_of), **{"mow": LEAST, **choices}
    )


WIDTH_M = 20 * M_PER_FT
LEAST = MowingSettings(order=())
"""Strips of the least width alone, whatever the rules ask."""


# Exact formulas, P perimeter and w width: inside P w - 4 w2, outside, round, P w + pi w2.
@settings(max_examples=6, deadline=None)
@given(st.floats(60, 900), st.floats(60, 900), st.floats(1, 25))
def test_strip_of_a_rectangle(long_m, short_m, width_m):
    field, around = shapely.box(0, 0, long_m, short_m), 2 * (long_m + short_m) * width_m
    width_ft = width_m / M_PER_FT
    inside = burned([field], mow=MowingSettings(mow_width_ft=width_ft, order=()))
    assert made_m2(inside) == pytest.approx(around - 4 * width_m**2, rel=1e-4)
    outside = burned([field], mow=MowingSettings(mow_width_ft=width_ft, side="outside", order=()))
    assert made_m2(outside) == pytest.approx(around + math.pi * width_m**2, rel=1e-3)


def test_passes_of_the_worked_example():
    # 20 ft strip, 6 ft mower, 0.5 ft overlap, 400 x 250 m: four closed passes, 5,096.36 m in all.
    found = burned([shapely.box(0, 0, 400, 250)])["mow_passes"]
    lengths_m = found.sort_values("pass_number").geometry.length
    assert lengths_m.to_numpy() == pytest.approx([1292.68, 1279.27, 1265.86, 1258.55], abs=0.01)
    assert found["drive_order"].tolist() == [1, 2, 3, 4]


def test_ten_foot_strip_of_a_quarter_section():
    # 2.4151 ac inside, 2.4314 outside with round corners; P w would be 2.4242.
    quarter = shapely.box(0, 0, 2640 * M_PER_FT, 2640 * M_PER_FT)
    for side, acres in (("inside", 2.4151), ("outside", 2.4314)):
        found = burned([quarter], mow=MowingSettings(mow_width_ft=10.0, side=side, order=()))
        assert made_m2(found) / M2_PER_AC == pytest.approx(
            acres, abs=5e-5 + 2e-4 * (side[0] == "o")
        )


def corner_touching(angle_deg, origin=(0.0, 0.0)):
    """Two of four squares of 40 acres that touch in one corner, turned."""
    squares = [made.grid(2, 2)[number] for number in (0, 3)]
    return [shapely.affinity.rotate(s, angle_deg, origin=origin) for s in squares]


def drawn_elsewhere(shapes, crs):
    """Shapes after a journey through another reference system, with the noise that it leaves."""
    frame = gpd.GeoSeries(list(shapes), crs=made.CRS)
    return frame.to_crs(crs).to_crs(4269).to_crs(made.CRS).to_list()


# Both zones with the axes, the diagonals and what lies between.
@pytest.mark.parametrize("angle_deg", [0, 9, 45, 63, 90, 117, 126, 171, 180, 207, 225, 270, 288])
def test_units_that_touch_in_a_corner_keep_their_whole_strip(angle_deg):
    # Two squares of 1,320 ft: 2 (P w - 4 w2). Through UTM and degrees, in a wind of its own.
    squares = drawn_elsewhere(corner_touching(angle_deg), 32614 if angle_deg % 2 else 26914)
    units = made.units_frame(squares, ["SW", "NE"])
    burns = made.burns_frame({"SW": "A", "NE": "A"}, wind_from_deg=float(angle_deg * 7 % 360))
    found = fire_layers(units, burns, mow=LEAST)
    whole_m2 = 2 * (4 * made.QUARTER_M * WIDTH_M - 4 * WIDTH_M**2)
    assert made_m2(found) == pytest.approx(whole_m2, rel=1e-4)
    assert found["mow_strips"]["unmown_sqft"].sum() == pytest.approx(0, abs=1)
    assert "strip_area_off" not in set(found["firebreak_findings"]["code"])


SQUARE, POND = shapely.box(0, 0, 400, 400), shapely.box(150, 20, 234, 104)


@pytest.mark.parametrize(
    ("ringed", "whole_m2"),
    [(POND, 1600 * WIDTH_M - 4 * WIDTH_M**2), (SQUARE, 336 * WIDTH_M + 4 * WIDTH_M**2)],
)
def test_closed_edge_beside_another_one_is_mown_alone(ringed, whole_m2):
    # A pond 20 m from the edge. With a lane around the pond, the strip inside the square is left:
    # P w - 4 w2 = 9,605.0 m2; with one around the square, that around the pond: P w + 4 w2 =
    # 2,196.9 m2.
    assert round(whole_m2, 1) in (9605.0, 2196.9)
    lane = shapely.LineString(ringed.exterior.coords)
    found = burned([SQUARE], exclusions=made.exclusions_frame([POND]), roads=[lane])
    assert made_m2(found) == pytest.approx(whole_m2, rel=1e-5)
    assert found["mow_passes"].geometry.is_closed.all()


@pytest.mark.parametrize("applies_to", ["both", "burn"])
def test_strip_outside_never_lies_in_a_pond_nor_in_ground_left_out(applies_to):
    # A pond in the block, and a wetland that lies across its east side.
    wet = [shapely.box(150, 150, 234, 234), shapely.box(390, 100, 450, 200)]
    left_out = made.exclusions_frame(wet, applies_to)
    found = burned([SQUARE], exclusions=left_out, mow=MowingSettings(side="outside", order=()))
    mown = shapely.union_all(found["mow_strips"].geometry.to_numpy())
    assert shapely.intersection(mown, shapely.union_all(wet)).area == pytest.approx(0, abs=0.01)
    # Around the pond the strip lies in the block, around everything else outside of it.
    inside = shapely.intersection(mown, SQUARE)
    assert inside.area == pytest.approx(336 * WIDTH_M + 4 * WIDTH_M**2, rel=1e-3)


def test_edge_from_neighbor_to_neighbor_is_mown_around_the_corner():
    # An L of three squares around a block of one: its two inner sides belong to other units, and
    # the corner between them, which the block goes around, is mown like any other: P w, since five
    # corners turn one way and one the other: P w - 4 w2.
    cells = made.grid(2, 2)
    corner = shapely.union_all([cells[0], cells[1], cells[2]])
    names = {"U00": "A", "U01": None, "U02": None}
    beyond = [shapely.box(402.336, 402.336, 804.672, 600), shapely.box(402.336, 600, 804.672, 804)]
    found = burned([corner, *beyond], block_of=names)
    whole_m2 = corner.length * WIDTH_M - 4 * WIDTH_M**2
    assert made_m2(found) == pytest.approx(whole_m2, rel=1e-4)
    assert len(found["mow_strips"]) == 1
    assert found["mow_strips"]["unmown_sqft"].item() == pytest.approx(0, abs=1)


def test_bare_line_strip_and_blackline_lie_beside_each_other_from_the_edge_inward():
    # A square of 1,320 ft, wind from the west: bare line 8 ft, strip 20 ft all around, blackline
    # 30 ft on the east alone: 8 P - 4 8^2; 28 P - 4 28^2 less that; 30 (1,320 - 2 28).
    wind = made.burns_frame({"U00": "A"}, wind_from_deg=270.0)
    found = fire_layers(
        made.units_frame(made.grid(1, 1), ["U00"]),
        wind,
        mow=LEAST,
        bare_line_ft=8.0,
        blackline_ft=30.0,
        wind_arc_deg=0.0,
    )
    around = 4 * 1320
    bare = 8 * around - 4 * 8**2
    mown = 28 * around - 4 * 28**2 - bare
    black = 30 * (1320 - 2 * 28)
    sqft = {kind: made_m2(found, kind) / M_PER_FT**2 for kind in ("bare_line", "mown", "blackline")}
    assert sqft == pytest.approx({"bare_line": bare, "mown": mown, "blackline": black}, rel=1e-3)
    block = found["burn_blocks"].iloc[0]
    assert block["break_ac"] * 43560 == pytest.approx(bare + mown + black, rel=1e-3)
    assert block["burnable_ac"] == pytest.approx(40 - (bare + mown + black) / 43560, rel=1e-4)
    lines = found["made_lines"].set_index("kind")
    assert lines["area_ac"].to_dict() == pytest.approx(
        {"bare_line": bare / 43560, "blackline": black / 43560}, rel=1e-3
    )
    # Iowa State PM 696: speed times width times efficiency over 8.25; twice over the bare line. A
    # blackline by its length, 1,264 ft at a quarter of a mile an hour.
    hours = {
        "bare_line": 2 * bare / 43560 / (3.0 * 6.0 * 0.8 / 8.25),
        "blackline": (1320 - 2 * 28) / 5280 / 0.25,
    }
    assert lines["hours"].to_dict() == pytest.approx(hours, rel=1e-3)
    overlap = [a.intersection(b).area for a, b in combinations(found["strip_shapes"].geometry, 2)]
    assert max(overlap) == pytest.approx(0, abs=1e-3)


def test_strip_that_cannot_have_its_ground_is_told_for_its_block():
    # A unit 3 m wide has 3 m of the 2 x 6.096 m that its two sides ask for.
    found = burned([shapely.box(0, 0, 3, 400)])
    told = found["firebreak_findings"]
    off = told[told["code"] == "strip_area_off"]
    route = found["mow_routes"].iloc[0]
    assert off["subject"].tolist() == ["A"]
    assert route["made_ac"] * M2_PER_AC == pytest.approx(1200, rel=1e-3)
    assert f"{half_up(route['made_ac'], 2)} ac" in off["message"].item()
    assert off["severity"].item() == "warning"


def test_hours_are_a_range_from_full_speed_to_the_efficiency_set():
    # 4 mph, 80 %, moves at 6 mph, a quarter of a minute a turn.
    found = two_forties()["mow_routes"]
    for route in found.itertuples():
        moving = route.moves_ft / 5280 / 6 + (route.passes - 1) * 0.25 / 60
        assert route.least_hours == pytest.approx(route.mown_ft / 5280 / 4 + moving)
        assert route.most_hours == pytest.approx(route.mown_ft / 5280 / 3.2 + moving)
        assert route.moves_ft >= route.least_moves_ft - 0.1


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
