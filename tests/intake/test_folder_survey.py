"""A look at a folder: what is found, and what its columns look like."""

import tomllib
import zipfile
from pathlib import Path

import geopandas as gpd
import numpy as np
import openpyxl
import pyogrio
import pytest
import shapely

from pipeline.cli import main
from pipeline.draft import checked_draft
from pipeline.intake.map_formats import MAP_SUFFIXES, ZIP_SUFFIXES
from pipeline.intake.survey.file_look import column_look
from pipeline.intake.survey.folder_survey import survey
from pipeline.pages.starter import starter_file
from tests.made_scenes import write_raster


def squares():
    """Two squares of 0.004 degrees side by side near 40° N, 96.7° W."""
    shapes = [shapely.box(-96.7 + 0.004 * n, 40.0, -96.696 + 0.004 * n, 40.004) for n in (0, 1)]
    return gpd.GeoDataFrame({"UNIT": ["A", "B"]}, geometry=shapes, crs=4326)


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
    assert [(f.path, f.content, f.rows) for f in survey(tmp_path)] == [(name, "polygons", 2)]
    assert main(["start", str(tmp_path)]) == 0
    assert sorted(tmp_path.rglob("*")) == before
    text = capsys.readouterr().out
    told = tmp_path / "property.toml"
    told.write_text(text)
    assert main(["check", str(told), "--quiet"]) == 0, text
    assert tomllib.loads(text)["sources"]["units"]["path"] == name
    assert "2 polygons" in text


def test_formats_of_the_list_are_all_tried():
    tried = {Path(name).suffix for name in MAPS} | {".gpx"}  # GPX has no polygons
    assert tried == MAP_SUFFIXES | ZIP_SUFFIXES


def test_maps_of_one_zip_are_told_apart_by_name(tmp_path):
    for name in ("west.gpkg", "east.gpkg"):
        write_map(tmp_path / name)
    with zipfile.ZipFile(tmp_path / "both.zip", "w") as archive:
        archive.write(tmp_path / "west.gpkg", "maps/west.gpkg")
        archive.write(tmp_path / "east.gpkg", "maps/east.gpkg")
    found = [f for f in survey(tmp_path) if f.path == "both.zip"]
    assert [f.layer for f in found] == ["east", "west"]


def test_tables_and_rasters_are_found_and_what_cannot_be_opened_is_told(tmp_path):
    write_raster(tmp_path / "a.tif", np.full((9, 9), 0.5, "float32"))
    (tmp_path / "b.jp2").write_text("no picture")
    (tmp_path / "mixes.csv").write_bytes("mix;species\nPrärie;x\n".encode("cp1252"))
    (tmp_path / "mixes.tsv").write_text("mix\tspecies\ndry\tx\n")
    (tmp_path / "u.zip").write_text("no zip")
    (tmp_path / "lots.xlsx").write_bytes(b"PK")
    (tmp_path / ".hidden.csv").write_text("a,b\n")
    found = {f.path: f for f in survey(tmp_path)}
    contents = {path: look.content for path, look in found.items()}
    assert contents == {
        "a.tif": "raster",
        "b.jp2": "unread",
        "lots.xlsx": "unread",
        "mixes.csv": "table",
        "mixes.tsv": "table",
        "u.zip": "unread",
    }
    assert "cannot be read as a workbook" in found["lots.xlsx"].note
    for name in ("mixes.csv", "mixes.tsv"):
        assert [column.name for column in found[name].columns] == ["mix", "species"]
    look = found["a.tif"].raster
    assert (look.has_fractions, look.is_scaled, look.highest) == (True, False, 0.5)


def test_a_raster_shows_its_scale_and_the_names_of_its_bands(tmp_path):
    path = write_raster(tmp_path / "a.tif", np.full((2, 9, 9), 4000, "int16"), scale=0.0001)
    (found,) = survey(tmp_path)
    assert path.name == found.path
    assert found.rows == 2
    assert (found.raster.has_fractions, found.raster.is_scaled) == (False, True)


@pytest.mark.parametrize(
    ("values", "looks"),
    [
        (("", ""), "blank"),
        (("North", "2"), "text"),
        (("3", "12"), "whole numbers"),
        (("117.59556773", "3"), "numbers with a fraction"),
        (("{79C5D86A-3577-4672-A71A-33DFF20B4E50}",), "machine-made ids"),
        (("2026-04-14", "2026-05-01"), "dates"),
    ],
)
def test_what_the_values_of_a_column_look_like(values, looks):
    assert column_look("x", values).looks == looks


def test_acres_are_told_by_the_shapes_beside_them():
    measured = np.array([40.0, 80.0, 10.0])
    assert column_look("A", ("39.9", "80.4", ""), measured).looks == "acres"
    assert column_look("A", ("16.2", "32.4", "4.0"), measured).looks == "numbers with a fraction"


def test_ground_is_measured_in_true_areas(tmp_path):
    """A cell of 1 degree from the equator: 12,309 km² on WGS 84 (equal-area formula, pyproj)."""
    cell = gpd.GeoDataFrame({"n": ["a"]}, geometry=[shapely.box(0, 0, 1, 1)], crs=4326)
    pyogrio.write_dataframe(cell, tmp_path / "cell.gpkg")
    (found,) = survey(tmp_path)
    assert found.ground.area / 1e6 == pytest.approx(12309, abs=1)


def test_sheets_of_a_workbook_are_looked_at_like_tables(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "mixes"
    for row in (["mix", "species", "pls_lb_ac"], ["dry", "Andropogon gerardii", 6]):
        book.active.append(row)
    book.create_sheet("empty")
    book.save(tmp_path / "seed.xlsx")
    (found,) = survey(tmp_path)
    assert (found.content, found.rows, found.layer) == ("table", 1, "mixes")
    assert [column.name for column in found.columns] == ["mix", "species", "pls_lb_ac"]
    draft, _ = checked_draft(tmp_path, "Place", 2027)
    assert 'sheet = "mixes"' in starter_file(draft)
