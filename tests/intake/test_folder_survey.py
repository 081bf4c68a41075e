"""Guesses of what a file is: only ever shown to a person."""

import tomllib
import zipfile
from datetime import date
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.cli import main
from pipeline.intake.folder_survey import (
    FoundFile,
    date_in_name,
    likely_break_kind,
    likely_id_column,
    likely_role,
    survey,
)
from pipeline.intake.map_formats import MAP_SUFFIXES, ZIP_SUFFIXES
from pipeline.intake.settings import table_names
from tests.made_scenes import write_raster


def squares():
    """Two squares of 0.004 degrees side by side near 40° N, 96.7° W."""
    shapes = [shapely.box(-96.7 + 0.004 * n, 40.0, -96.696 + 0.004 * n, 40.004) for n in (0, 1)]
    return gpd.GeoDataFrame({"UNIT": ["A", "B"]}, geometry=shapes, crs=4326)


TABLES = {name: LAYERS[name] for name in table_names()}


@pytest.mark.parametrize(
    ("path", "content", "role"),
    [
        ("units_2026.shp", "polygons", "units"),
        ("Pastures.gpkg", "polygons", "units"),
        ("wetlands.geojson", "polygons", "exclusions"),
        ("tilled_field.shp", "polygons", "breaks"),
        ("county_roads.shp", "lines", "breaks"),
        ("creek.kml", "lines", "breaks"),
        ("ndvi_20260720.tif", "raster", "scenes"),
        ("shapes.shp", "polygons", None),
        ("gates.shp", "points", None),
    ],
)
def test_role_from_name_and_geometry(path, content, role):
    assert likely_role(FoundFile(path, content), TABLES) == role


@pytest.mark.parametrize(
    ("columns", "role"),
    [
        (("mix", "species", "pls_lb_ac"), "mixes"),
        (("Species", "Common Name", "Seeds per lb"), "species"),
        (("a", "b"), None),
    ],
)
def test_role_of_a_table_from_its_headers(columns, role):
    assert likely_role(FoundFile("table.csv", "table", columns), TABLES) == role


def test_id_column_is_one_whose_values_differ():
    found = FoundFile("u.shp", "polygons", ("OBJECTID", "UNIT", "COVER"), ("OBJECTID", "UNIT"))
    assert likely_id_column(found) == "UNIT"
    assert likely_id_column(FoundFile("u.shp", "polygons", ("COVER",))) is None


def test_break_kind_is_the_word_of_the_file_name():
    assert likely_break_kind(FoundFile("East_Creek.kml", "lines")) == "creek"
    assert likely_break_kind(FoundFile("x.kml", "lines")) == "break"


@pytest.mark.parametrize(
    ("name", "day"),
    [
        ("ndvi_2026-07-20.tif", date(2026, 7, 20)),
        ("ndvi_20260720.tif", date(2026, 7, 20)),
        ("a_2026_07_20_b.tif", date(2026, 7, 20)),
        ("07202026.tif", None),
        ("20261320.tif", None),
        ("LC08_L2SP_224078_20200127_20200823_02_T1.tif", None),
    ],
)
def test_date_only_where_the_name_leaves_no_doubt(name, day):
    assert date_in_name(name) == day


def write_map(path):
    """Two units in the format of a file name."""
    frame = squares().rename(columns={"UNIT": "Name"})
    if path.suffix in (".zip", ".kmz"):
        inner = path.with_name("doc.kml" if path.suffix == ".kmz" else "inner.gpkg")
        write_map(inner)
        with zipfile.ZipFile(path, "w") as archive:
            archive.write(inner, inner.name)
        inner.unlink()
    else:
        driver = {".kml": "KML", ".gdb": "OpenFileGDB", ".json": "GeoJSON"}.get(path.suffix)
        pyogrio.write_dataframe(frame, path, driver=driver)


MAPS = ("u.shp", "u.gpkg", "u.geojson", "u.json", "u.kml", "u.fgb", "u.gdb", "u.zip", "u.kmz")


@pytest.mark.parametrize("name", MAPS)
def test_start_finds_every_format_that_check_reads(name, tmp_path, capsys):
    write_map(tmp_path / name)
    before = sorted(tmp_path.rglob("*"))
    assert main(["start", str(tmp_path)]) == 0
    assert sorted(tmp_path.rglob("*")) == before
    text = capsys.readouterr().out
    told = tmp_path / "property.toml"
    told.write_text(text)
    assert main(["check", str(told), "--quiet"]) == 0, text
    assert tomllib.loads(text)["sources"]["units"]["path"] == name


def test_formats_of_the_list_are_all_tried():
    tried = {Path(name).suffix for name in MAPS} | {".gpx"}  # GPX has no polygons
    assert tried == MAP_SUFFIXES | ZIP_SUFFIXES


def test_start_finds_tables_and_rasters_and_leaves_out_what_cannot_be_opened(tmp_path):
    write_raster(tmp_path / "a.tif", np.full((9, 9), 0.5, "float32"))
    (tmp_path / "b.jp2").write_text("no picture")
    (tmp_path / "mixes.csv").write_bytes("mix;species\nPrärie;x\n".encode("cp1252"))
    (tmp_path / "mixes.tsv").write_text("mix\tspecies\ndry\tx\n")
    (tmp_path / "u.zip").write_text("no zip")
    (tmp_path / ".hidden.csv").write_text("a,b\n")
    found = {f.path: f for f in survey(tmp_path)}
    assert set(found) == {"a.tif", "mixes.csv", "mixes.tsv"}
    assert found["a.tif"].content == "raster"
    assert {found[f"mixes.{s}"].columns for s in ("csv", "tsv")} == {("mix", "species")}
