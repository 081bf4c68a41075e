"""Guesses of what a file is: only ever shown to a person."""

from datetime import date

import pytest

from pipeline.catalog import LAYERS
from pipeline.intake.folder_survey import (
    FoundFile,
    date_in_name,
    likely_break_kind,
    likely_id_column,
    likely_role,
)
from pipeline.intake.settings import table_names

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
