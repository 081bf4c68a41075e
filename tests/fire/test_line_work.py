"""Feet, acres and hours of what is to be made, against printed figures."""

import pytest
from shapely.geometry import LineString

from pipeline.fire.line_plan import sum_line_work
from pipeline.fire.mowing.settings import MowingSettings
from tests.literal_layers import literal_layer
from tests.made_fire import two_forties
from tests.made_properties import CRS

LINE = LineString([(0, 0), (1, 0)])
MILE = {"adjoining": "outside", "ring": "outer", "status": "prepare", "kind_unknown_ft": 0.0}
MILE |= {"length_ft": 5280.0, "make_bare_ft": 0.0, "make_mown_ft": 0.0, "make_black_ft": 0.0}


def work(*stretches, **choices):
    """Rows of the table by block and way, of stretches of a mile with the widths told."""
    rows = [{"break_id": f"B{n}", **MILE, **told} for n, told in enumerate(stretches)]
    firebreaks = literal_layer("firebreaks", rows, [LINE] * len(rows), CRS)
    return sum_line_work(firebreaks, MowingSettings(**choices)).set_index(["block", "way"])


# Acres of a mile of strip, feet times width over 43,560, as printed in field-capacity tables: Iowa
# State University Extension PM 696, revised April 2001 (the factor 8.25 is an acre a mile).
@pytest.mark.parametrize(("width_ft", "ac"), [(8.25, 1.0), (10, 1.21), (30, 3.64), (60, 7.27)])
def test_acres_of_a_mile(width_ft, ac):
    for column, way in (("make_bare_ft", "bare"), ("make_black_ft", "burned")):
        row = work({"block": "A", column: width_ft}).loc[("A", way)]
        assert row["area_ac"] == pytest.approx(ac, abs=0.005)
        assert row["hours"] is None or row["hours"] != row["hours"]


def test_hours_of_two_passes_along_a_mile():
    # ASABE EP496: 2 miles over 4 mph at 80 % are 0.625 hours.
    row = work(
        {"block": "A", "make_mown_ft": 20.0}, mower_width_ft=10, overlap_ft=0, speed_mph=4
    ).loc[("A", "mown")]
    assert row["hours"] == pytest.approx(0.625)


def test_widths_and_feet_are_told_by_block():
    told = work(
        {"block": "A", "make_mown_ft": 20.0, "make_bare_ft": 8.0},
        {"block": "A", "make_mown_ft": 32.0},
        {"block": "B", "make_mown_ft": 24.0},
    )
    columns = ["length_ft", "least_width_ft", "most_width_ft"]
    assert told.loc[("A", "mown"), columns].tolist() == [10560, 20, 32]
    assert told.loc[("A", "bare"), columns].tolist() == [5280, 8, 8]
    assert told.loc[("B", "mown"), columns].tolist() == [5280, 24, 24]
    assert len(told) == 3


def test_nothing_to_make_is_an_empty_table():
    assert work({"block": "A"}).empty


def test_work_of_two_blocks_sums_to_their_lines():
    layers = two_forties()
    lines, told = layers["firebreaks"], layers["line_work"]
    for way, column in (("bare", "make_bare_ft"), ("mown", "make_mown_ft")):
        acres = (lines["length_ft"] * lines[column]).sum() / 43560
        assert told.loc[told["way"] == way, "area_ac"].sum() == pytest.approx(acres)
