"""Shapefiles with parts that are damaged, gone, or written by a careless program."""

import re
import shutil
import struct

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import box

from pipeline.ground.geometry import area_ac
from tests.made_maps import X, Y, faults, read, ring, said, square, write_shapefile

HOLE = box(X + 500, Y + 100, X + 600, Y + 200)  # 2.47 acres inside square(1)


@pytest.mark.parametrize(
    ("shell_clockwise", "hole_clockwise"), [(True, True), (False, True), (False, False)]
)
def test_holes_are_told_by_place_not_by_winding(shell_clockwise, hole_clockwise, tmp_path):
    outline = [ring(square(1), clockwise=shell_clockwise), ring(HOLE, clockwise=hole_clockwise)]
    result = read(write_shapefile(tmp_path / "u.shp", [[ring(square(0))], outline]))
    assert faults(result) == ""
    acres = area_ac(result.frame.geometry)
    assert acres[1] == pytest.approx(40 - 10_000 / 4046.86, rel=1e-3)
    if (shell_clockwise, hole_clockwise) != (True, False):
        assert 'row 2, unit "B": rings are wound against the rule' in said(result)


def test_junk_prj_is_named(tmp_path):
    path = write_shapefile(tmp_path / "u.shp", [[ring(square(0))]])
    path.with_suffix(".prj").write_text('PROJCS["NAD_1983_UTM_Zone_14N",GEOGCS["GCS')
    assert re.search(r"u\.prj: not a coordinate reference system", faults(read(path)))


@pytest.fixture
def shapefile(tmp_path):
    return write_shapefile(tmp_path / "u.shp", [[ring(square(n))] for n in range(3)])


def cut(path, suffix, size):
    part = path.with_suffix(suffix)
    part.write_bytes(part.read_bytes()[:size])
    return path


DAMAGED = {
    "shp cut off": (lambda p: cut(p, ".shp", 300), r"the \.shp is cut off: 300 bytes of 508"),
    "shp is a header only": (lambda p: cut(p, ".shp", 100), r"cut off: 100 bytes of 508"),
    "shp shorter than a header": (lambda p: cut(p, ".shp", 60), "cut off"),
    "dbf cut off": (lambda p: cut(p, ".dbf", 100), r"the table \(\.dbf\) is cut off"),
    "dbf gone": (lambda p: p.with_suffix(".dbf").unlink(), r"no column \"UNIT\""),
    "shx cut off": (lambda p: cut(p, ".shx", 116), r"2 shapes and 3 rows in the table"),
    "zero bytes": (lambda p: cut(p, ".shp", 0), r"the file is empty \(0 bytes\)"),
}


@pytest.mark.parametrize("kind", DAMAGED)
def test_damaged_shapefile_is_refused(kind, shapefile):
    damage, words = DAMAGED[kind]
    damage(shapefile)
    assert re.search(words, faults(read(shapefile))), faults(read(shapefile))


def test_table_with_fewer_rows_than_shapes_is_refused(shapefile):
    table = bytearray(shapefile.with_suffix(".dbf").read_bytes())
    table[4:8] = struct.pack("<I", 2)
    shapefile.with_suffix(".dbf").write_bytes(table)
    assert "3 shapes and 2 rows in the table" in faults(read(shapefile))


def test_missing_index_is_made_in_a_copy(shapefile):
    shapefile.with_suffix(".shx").unlink()
    before = sorted(shapefile.parent.iterdir())
    result = read(shapefile)
    assert faults(result) == ""
    assert len(result.frame) == 3
    assert "the index (.shx) is missing; made again in a copy" in said(result)
    assert sorted(shapefile.parent.iterdir()) == before


def test_rows_marked_as_deleted_are_left_out_and_told(shapefile):
    table = bytearray(shapefile.with_suffix(".dbf").read_bytes())
    table[65 + 21] = ord("*")
    shapefile.with_suffix(".dbf").write_bytes(table)
    result = read(shapefile)
    assert faults(result) == ""
    assert list(result.frame["unit_id"]) == ["A", "C"]
    assert "rows 2 are marked as deleted; left out" in said(result)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(part=st.sampled_from([".shp", ".shx", ".dbf", ".prj"]), share=st.floats(0, 1))
def test_file_cut_anywhere_loses_no_row_silently(part, share, tmp_path):
    folder = tmp_path / "cut"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    path = write_shapefile(folder / "u.shp", [[ring(square(n))] for n in range(3)])
    size = path.with_suffix(part).stat().st_size
    result = read(cut(path, part, int(share * size)))
    assert result.faults or list(result.frame["unit_id"]) == ["A", "B", "C"]


def test_utf8_without_a_code_page_is_found_out(tmp_path):
    path = write_shapefile(tmp_path / "u.shp", [[ring(square(0))]], ["Prärie"], encoding="utf-8")
    result = read(path)
    assert list(result.frame["unit_id"]) == ["Prärie"]
    assert 'read as UTF-8, for instance "Prärie"' in said(result)


@pytest.mark.parametrize("cpg", [None, "UTF-8"])
def test_windows_letters_are_found_out_whatever_the_code_page_says(cpg, tmp_path):
    path = write_shapefile(
        tmp_path / "u.shp", [[ring(square(0))]], ["Prärie"], encoding="cp1252", cpg=cpg
    )
    result = read(path)
    assert list(result.frame["unit_id"]) == ["Prärie"]
    assert "read as cp1252" in said(result)


def test_told_encoding_goes_before_all(tmp_path):
    path = write_shapefile(
        tmp_path / "u.shp", [[ring(square(0))]], ["Пырей"], encoding="cp1251", cpg="UTF-8"
    )
    assert list(read(path, encoding="cp1251").frame["unit_id"]) == ["Пырей"]
