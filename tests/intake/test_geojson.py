"""GeoJSON as people and programs write it: texts, rings and reference systems."""

import json

import pytest
import shapely

from pipeline.ground.geometry import area_ac
from tests.made_maps import (
    degrees,
    faults,
    geojson,
    read,
    said,
    square,
)


def test_unclosed_ring_fails_no_file(tmp_path):
    open_ring = degrees(-96.69)
    open_ring["coordinates"][0].pop()
    path = geojson(tmp_path / "u.geojson", [degrees(), open_ring, degrees(-96.68)])
    result = read(path)
    assert faults(result) == ""
    assert 'row 2, unit "B": a ring was not closed' in said(result)
    acres = area_ac(result.frame.geometry)
    assert acres[1] == pytest.approx(acres[0], rel=1e-6)


def test_ids_of_geojson_keep_their_text(tmp_path):
    squares = [degrees(-96.70 + 0.005 * n) for n in range(5)]
    path = geojson(tmp_path / "u.geojson", squares, ids=["007", 7, "1E05", "7b", 70.5])
    assert list(read(path).frame["unit_id"]) == ["007", "7", "1E05", "7b", "70.5"]


def test_ids_of_geojson_that_become_the_same_are_refused(tmp_path):
    squares = [degrees(-96.70 + 0.005 * n) for n in range(5)]
    result = read(geojson(tmp_path / "u.geojson", squares, ids=["1", 1, None, "1 ", 1.0]))
    assert "row 3: UNIT: the cell is empty" in faults(result)
    assert 'rows 1, 2, 4, 5: unit "1" stands 4 times' in faults(result)


@pytest.mark.parametrize(
    "crs",
    [
        {"type": "name", "properties": {"name": "the usual one"}},
        {"type": "link", "properties": {"href": "http://example.org/crs"}},
        None,
    ],
)
def test_geojson_with_a_system_nobody_can_look_up_is_refused(crs, tmp_path):
    result = read(geojson(tmp_path / "u.geojson", [degrees()], crs=crs))
    assert 'its "crs" is' in faults(result)


def test_old_geojson_that_names_its_system_is_read_with_a_note(tmp_path):
    meters = json.loads(shapely.to_geojson(square(0)))
    named = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::26914"}}
    result = read(geojson(tmp_path / "u.geojson", [meters], crs=named))
    assert faults(result) == ""
    assert "old-style GeoJSON that names EPSG:26914" in said(result)
    assert area_ac(result.frame.geometry)[0] == pytest.approx(40, rel=1e-3)


def test_path_and_byte_order_mark_do_no_harm(tmp_path):
    path = geojson(tmp_path / "Prärie ünits.geojson", [degrees()])
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert list(read(path).frame["unit_id"]) == ["A"]
