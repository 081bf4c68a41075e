"""Map sources by the declaration of their layer: rows, columns, ids and reference systems."""

import re
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from pipeline.catalog import LAYERS
from pipeline.core.errors import SourceError
from pipeline.ground.geometry import area_ac
from pipeline.intake.map_file import open_map, read_features
from pipeline.intake.settings import BreakSource, VectorSource
from pipeline.intake.vector import read_vector
from tests.made_maps import (
    UTM,
    X,
    Y,
    faults,
    forties,
    read,
    ring,
    said,
    save,
    square,
    with_shape,
    write_shapefile,
)


def test_plain_layer_is_read_whole(tmp_path):
    result = read(save(forties(), tmp_path / "u.shp"))
    assert not result.faults
    assert not result.findings
    assert list(result.frame["unit_id"]) == ["A", "B", "C"]
    assert result.source_row["rows_read"] == result.source_row["rows_used"] == 3
    assert result.source_row["crs"] == "EPSG:26914"
    assert len(result.source_row["sha256"]) == 64
    np.testing.assert_allclose(area_ac(result.frame.geometry), 40, rtol=1e-3)


@pytest.mark.parametrize("suffix", [".shp", ".gpkg", ".geojson", ".fgb", ".kml"])
def test_formats_give_the_same_acres(suffix, tmp_path):
    crs = 4326 if suffix in (".geojson", ".kml") else UTM
    frame = forties().rename(columns={"UNIT": "Name"}).to_crs(crs)
    result = read(save(frame, tmp_path / f"u{suffix}"), columns={"unit_id": "Name"})
    assert faults(result) == ""
    assert sorted(result.frame["unit_id"]) == ["A", "B", "C"], "FlatGeobuf sorts by place"
    np.testing.assert_allclose(area_ac(result.frame.geometry), 40, rtol=1e-3)


@pytest.mark.parametrize(
    "crs", ["EPSG:4326", "EPSG:3857", "EPSG:5070", "EPSG:26915", "EPSG:32104", "ESRI:102704"]
)
def test_every_reference_system_gives_the_same_acres(crs, tmp_path):
    expected = area_ac(forties().geometry)
    result = read(save(forties().to_crs(crs), tmp_path / "u.gpkg"))
    assert faults(result) == ""
    np.testing.assert_allclose(area_ac(result.frame.geometry), expected, rtol=2e-5)


def test_feet_are_not_taken_for_meters(tmp_path):
    # ESRI:102704 is EPSG:32104 (NAD83 / Nebraska) counted in US survey feet.
    frame = forties().to_crs("ESRI:102704")
    assert frame.crs.axis_info[0].unit_name == "US survey foot"
    result = read(save(frame, tmp_path / "u.shp"))
    assert faults(result) == ""
    np.testing.assert_allclose(
        area_ac(result.frame.geometry), area_ac(forties().geometry), rtol=2e-5
    )


def test_million_vertices_are_read(tmp_path):
    turn = np.linspace(0, 2 * np.pi, 1_000_000, endpoint=False)
    disk = Polygon(np.column_stack([X + 500 * np.cos(turn), Y + 500 * np.sin(turn)]))
    frame = gpd.GeoDataFrame({"UNIT": ["A"]}, geometry=[disk], crs=UTM)
    result = read(save(frame, tmp_path / "u.shp"))
    assert not result.faults
    assert area_ac(result.frame.geometry)[0] == pytest.approx(np.pi * 500**2 / 4046.86, rel=1e-3)


IDS = {
    "same text": (["A", "A", "C"], r'rows 1, 2: unit "A" stands 2 times'),
    "blank around": (["A", " A ", "C"], r'rows 1, 2: unit "A" stands 2 times'),
    "no-break space": (["A 1", "A\u00a01", "C"], r'rows 1, 2: unit "A 1" stands 2 times'),
    "null": (["A", None, "C"], r"row 2: UNIT: the cell is empty"),
    "blank": (["A", "  ", "C"], r"row 2: UNIT: the cell is empty"),
    "not available": (["A", "n/a", "C"], r'row 2: UNIT: "n/a" stands for an empty cell'),
    "right-to-left mark": (["A", "B\u202e", "C"], "U\\+202E"),
    "line break": (["A", "B\nC", "C"], "U\\+000A"),
}


@pytest.mark.parametrize("kind", IDS)
def test_unit_ids_that_cannot_be_told_apart_are_refused(kind, tmp_path):
    ids, words = IDS[kind]
    result = read(save(forties(UNIT=ids), tmp_path / "u.gpkg"))
    assert re.search(words, faults(result)), faults(result)


def test_number_ids_have_no_decimals(tmp_path):
    result = read(save(forties(UNIT=[1.0, 2.0, 1e5]), tmp_path / "u.gpkg"))
    assert list(result.frame["unit_id"]) == ["1", "2", "100000"]


def test_missing_reference_system_is_refused_and_can_be_told(tmp_path):
    path = write_shapefile(tmp_path / "u.shp", [[ring(square(0))]], prj=False)
    assert "no coordinate reference system; expected one" in faults(read(path))
    assert 'crs = "EPSG:…"' in faults(read(path))
    assert read(path, crs=UTM).frame.crs == UTM


def test_told_system_that_contradicts_the_file_is_refused(tmp_path):
    path = save(forties(), tmp_path / "u.shp")
    assert not read(path, crs=UTM).faults
    assert "the file says EPSG:26914, the property file EPSG:26915" in faults(
        read(path, crs="EPSG:26915")
    )


@pytest.mark.parametrize(
    "crs", ["EPSG:99999", "utm 14", "+proj=utm +zone=14 +nadgrids=/vsicurl/x", "https://x/crs", "."]
)
def test_told_system_must_be_a_code(crs, tmp_path):
    path = write_shapefile(tmp_path / "u.shp", [[ring(square(0))]], prj=False)
    assert "is not known" in faults(read(path, crs=crs))


def test_cut_column_name_is_matched(tmp_path):
    frame = forties().rename(columns={"UNIT": "management"})
    path = save(frame, tmp_path / "u.shp")
    result = read(path, columns={"unit_id": "management_unit"})
    assert list(result.frame["unit_id"]) == ["A", "B", "C"]


def test_unknown_column_gets_the_near_one_and_the_list(tmp_path):
    result = read(save(forties(), tmp_path / "u.shp"), columns={"unit_id": "UNITS", "nmae": "UNIT"})
    assert 'the file has no column "UNITS"' in faults(result)
    assert 'did you mean "UNIT"? the file has UNIT' in faults(result)
    assert 'no column of ours is called "nmae"' in faults(result)
    assert 'did you mean "name"?' in faults(result)


def test_row_number_of_a_geopackage_can_be_the_id(tmp_path):
    result = read(save(forties(), tmp_path / "u.gpkg"), columns={"unit_id": "fid"})
    assert list(result.frame["unit_id"]) == ["1", "2", "3"]


def test_number_column_refuses_words(tmp_path):
    path = save(forties(ACRES=["40", "forty", "40.0"]), tmp_path / "u.gpkg")
    result = read(path, columns={"unit_id": "UNIT", "stated_ac": "ACRES"})
    assert 'row 2: ACRES: "forty" is not a number' in faults(result)


def breaks(path, **told):
    told.setdefault("kind_", None)
    told.pop("kind_")
    source = BreakSource(path=path.name, columns=told.pop("columns", {}), **told)
    return read_vector("breaks", source, LAYERS["breaks"], path.parent, entry=2)


def test_breaks_may_be_lines_and_polygons_but_not_points(tmp_path):
    frame = with_shape(LineString([(X, Y), (X + 99, Y)]))
    result = breaks(save(frame, tmp_path / "b.gpkg"), kind="road", width_ft=16)
    assert faults(result) == ""
    assert set(result.frame["source_id"]) == {2}
    assert list(result.frame["source_row"]) == [1, 2, 3]
    assert set(result.frame["kind"]) == {"road"}
    assert set(result.frame["width_ft"]) == {16.0}
    pointed = breaks(save(with_shape(Point(X, Y)), tmp_path / "p.gpkg"), kind="road")
    assert "Point shapes; expected lines or polygons" in faults(pointed)


def test_break_without_a_shape_is_left_out_and_told(tmp_path):
    result = breaks(save(with_shape(None), tmp_path / "b.gpkg"), kind="road")
    assert faults(result) == ""
    assert "row 2: has no shape; left out" in said(result)
    assert (result.source_row["rows_read"], result.source_row["rows_used"]) == (3, 2)


def test_exclusion_is_left_out_of_both_where_it_does_not_say(tmp_path):
    path = save(forties(FOR=["burn", None, "SEED"]), tmp_path / "e.gpkg")
    result = read(path, role="exclusions", into="exclusions", columns={"applies_to": "FOR"})
    assert faults(result) == ""
    assert list(result.frame["applies_to"]) == ["burn", "both", "seed"]
    wrong = save(forties(FOR=["burn", "brun", "seed"]), tmp_path / "w.gpkg")
    result = read(wrong, role="exclusions", into="exclusions", columns={"applies_to": "FOR"})
    assert 'did you mean "burn"?' in faults(result)


def test_row_that_the_reader_does_not_return_is_missed(tmp_path):
    path = save(forties(), tmp_path / "u.gpkg")
    opened = open_map(path, VectorSource(path="u.gpkg"), "units", (tmp_path,), tmp_path)
    assert len(read_features(opened, ["UNIT"]).shapes) == 3
    with pytest.raises(SourceError, match="4 rows in the file, 3 of them can be read"):
        read_features(replace(opened, rows=4), ["UNIT"])
