"""Ground followed by its outline.

Squares of a quarter mile are 40 acres, by the public land survey; where squares do not do, areas
are held against geographiclib.
"""

import geopandas as gpd
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity, box, get_coordinates

from pipeline.core.units import M2_PER_AC
from pipeline.years.ground import drawn_outlines, followed_lines, told_changes, units_then

CRS = "+proj=laea +lat_0=40 +lon_0=-96 +datum=WGS84 +units=m"
SIDE = 402.336
NEAR = 0.001


def square(across, up, wide=1.0, tall=1.0):
    return box(*(SIDE * n for n in (across, up, across + wide, up + tall)))


def outlines_of(*seasons, turned=0.0):
    """Outlines of seasons from 2027 on, each a dictionary from unit to shape, the map turned."""
    frames = {}
    for season, shapes in enumerate(seasons, 2027):
        drawn = [affinity.rotate(shape, turned, origin=(0, 0)) for shape in shapes.values()]
        frames[season] = gpd.GeoDataFrame({"unit_id": [*shapes]}, geometry=drawn, crs=CRS)
    return drawn_outlines(frames, gpd.GeoSeries(crs=CRS).crs)


def changes(*seasons, turned=0.0):
    """What became of each unit: unit before, unit, code, acres in both."""
    outlines = outlines_of(*seasons, turned=turned)
    table = told_changes(outlines, [*range(2027, 2027 + len(seasons))])
    rows = table[["unit_before", "unit_id", "change", "shared_ac"]].astype(object)
    return {
        (before, unit): (code, acres)
        for before, unit, code, acres in rows.where(rows.notna(), None).values.tolist()
    }


A, B = square(0, 0), square(1, 0)
ONE_OF_TWO = {"AB": square(0, 0, 2, 1)}


@pytest.mark.parametrize("turned", [0.0, 30.0])
@pytest.mark.parametrize(
    ("first", "then", "told"),
    [
        ({"A": A, "B": B}, {"A": A, "B": B}, {("A", "A"): "same", ("B", "B"): "same"}),
        ({"A": A}, {"North": A}, {("A", "North"): "renamed"}),
        # The names changed places, the ground did not.
        (
            {"A": A, "B": B},
            {"B": A, "A": B},
            {
                ("A", "B"): "renamed",
                ("B", "A"): "renamed",
                ("A", "A"): "same_name_elsewhere",
                ("B", "B"): "same_name_elsewhere",
            },
        ),
        (ONE_OF_TWO, {"A": A, "B": B}, {("AB", "A"): "split", ("AB", "B"): "split"}),
        ({"A": A, "B": B}, ONE_OF_TWO, {("A", "AB"): "merged", ("B", "AB"): "merged"}),
        # A fence moved by a quarter of the unit.
        (
            {"A": A, "B": B},
            {"A": square(0, 0, 0.75, 1), "B": square(0.75, 0, 1.25, 1)},
            {("A", "A"): "redrawn", ("B", "B"): "redrawn", ("A", "B"): "part"},
        ),
        # Units that meet in a corner alone share no ground.
        ({"A": A}, {"C": square(1, 1)}, {("A", None): "gone", (None, "C"): "new"}),
        # Digitized anew, some feet off.
        ({"A": A}, {"A": square(0.004, 0.004)}, {("A", "A"): "same"}),
    ],
    ids=["same", "renamed", "exchanged", "split", "merged", "fence", "corner", "digitized"],
)
def test_change_is_told_by_the_outline(first, then, told, turned):
    found = changes(first, then, turned=turned)
    assert {pair: code for pair, (code, _) in found.items()} == told


def test_acres_of_a_change_are_those_of_the_squares():
    found = changes({"A": A}, {"A": square(0, 0, 0.75, 1)})
    assert found["A", "A"] == ("redrawn", pytest.approx(30, abs=NEAR))


@settings(max_examples=30, deadline=None)
@given(st.floats(0.1, 1.9), st.floats(0.1, 1.9), st.floats(-0.9, 0.9), st.floats(-0.9, 0.9))
def test_shared_ground_is_what_geographiclib_measures(wide, tall, across, up):
    """*Source*: geographiclib, the reference code of Karney (2013)."""
    outlines = outlines_of({"A": A}, {"B": square(across, up, wide, tall)})
    one, other = outlines.numbers[2027, "A"], outlines.numbers[2028, "B"]
    both = outlines.shapes[one].intersection(outlines.shapes[other])
    lonlat = gpd.GeoSeries([both.segmentize(5)], crs=CRS).to_crs(4326)[0]
    expected = 0.0
    if both.area:
        ring = Geodesic.WGS84.Polygon()
        for lon, lat in get_coordinates(lonlat)[:-1]:
            ring.AddPoint(lat, lon)
        expected = abs(ring.Compute()[2]) / M2_PER_AC
    assert outlines.shared_ac(one, other) == pytest.approx(expected, rel=1e-6, abs=1e-4)
    assert outlines.shared_ac(one, other) == outlines.shared_ac(other, one)


def lines_of(*seasons):
    outlines = outlines_of(*seasons)
    order = [*range(2027, 2027 + len(seasons))]
    return outlines, {line.line: line for line in followed_lines(outlines, order)}


def test_ground_that_is_on_no_newer_map_is_followed_to_its_end():
    outlines, lines = lines_of({"A": A, "B": B}, {"A": A, "B": B}, {"A": A})
    assert set(lines) == {"A", "B (until 2028)"}
    assert units_then(outlines, lines["B (until 2028)"], 2027) == [("B", 1.0)]
    assert units_then(outlines, lines["B (until 2028)"], 2029) == []


def test_name_on_other_ground_is_another_line():
    outlines, lines = lines_of({"A": A}, {"A": B})
    assert set(lines) == {"A", "A (until 2027)"}
    assert units_then(outlines, lines["A"], 2027) == []


def test_merged_ground_was_in_both_units():
    outlines, lines = lines_of({"A": A, "B": B}, ONE_OF_TWO)
    told = units_then(outlines, lines["AB"], 2027)
    assert [unit for unit, _ in told] == ["A", "B"]
    assert [share for _, share in told] == pytest.approx([0.5, 0.5], abs=NEAR)


def test_two_units_drawn_alike_are_two_lines():
    _, lines = lines_of({"A": A, "B": A})
    assert set(lines) == {"A", "B"}
