"""Guesses of what a file is, from whole words, geometry and values: only ever shown to a person."""

from dataclasses import replace
from datetime import date

import pytest

from pipeline.catalog import LAYERS
from pipeline.intake.settings import table_names
from pipeline.intake.survey.file_look import (
    ColumnLook,
    FoundFile,
    RasterLook,
    column_look,
    date_in_name,
    words_of,
)
from pipeline.intake.survey.role_guesses import guess_role

TABLES = {name: LAYERS[name] for name in table_names()}


def guessed(path, content, *columns, rows=2, **more):
    """Guess for a file of two rows; columns are given with their values."""
    looks = tuple(column_look(name, values) for name, values in columns)
    return guess_role(FoundFile(path, content, looks, rows, **more), TABLES)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("CountyRoads_2", ["county", "road"]),
        ("watersheds", ["watershed"]),
        ("powerline", ["powerline"]),
        ("GISAcres", ["gis", "acre"]),
        ("WIDTH_FT", ["width", "ft"]),
        ("ditches-boundaries", ["ditch", "boundary"]),
    ],
)
def test_words_are_whole_and_singular(name, words):
    assert words_of(name) == words


@pytest.mark.parametrize(
    ("path", "content", "role", "sure"),
    [
        ("units_2026.shp", "polygons", "units", "yes"),
        ("Pastures.gpkg", "polygons", "units", "yes"),
        ("no_burn.shp", "polygons", "exclusions", "yes"),
        ("wetlands.geojson", "polygons", "exclusions", "likely"),
        ("tilled_field.shp", "polygons", "breaks", "yes"),
        ("county_roads.shp", "lines", "breaks", "yes"),
        ("creek.kml", "lines", "breaks", "yes"),
        ("proposed_road.shp", "lines", "breaks", "likely"),
        ("fences.shp", "lines", None, "no"),
        ("powerline.shp", "lines", None, "no"),
        ("contour_lines.shp", "lines", None, "no"),
        ("HUC12_watershed.shp", "polygons", None, "no"),
        ("lake_district.shp", "polygons", None, "no"),
        ("lake_county.shp", "polygons", "units", "likely"),
        ("water_rights.shp", "polygons", "units", "likely"),
        ("shapes.shp", "polygons", "units", "likely"),
        ("Home Place pastures.shp", "polygons", "units", "yes"),
        ("Home_Place.shp", "polygons", "units", "likely"),
        ("Lake Farm.shp", "polygons", "units", "likely"),
        ("Mill Creek Ranch lines.shp", "lines", "breaks", "likely"),
        ("Mill Creek pipelines.shp", "lines", "breaks", "likely"),
        ("roads_clip_2026.shp", "lines", "breaks", "yes"),
        ("gps_track.gpx", "lines", None, "no"),
        ("Golden Gate wells.shp", "points", None, "no"),
        ("gate_points.shp", "points", "gates", "yes"),
        ("gates.shp", "points", "gates", "yes"),
        ("hydrants.shp", "points", "water_places", "yes"),
        ("water_places.shp", "points", "water_places", "yes"),
        ("water_rights_2026.shp", "points", None, "no"),
        ("stock_tanks.shp", "points", "water_places", "likely"),
        ("tank_road.shp", "lines", "breaks", "yes"),
        ("houses.shp", "points", "smoke_points", "yes"),
        ("Smoke_Receptors.shp", "polygons", "smoke_points", "yes"),
        ("wells.shp", "points", None, "no"),
    ],
)
def test_role_from_whole_words_and_geometry(path, content, role, sure):
    guess = guessed(path, content)
    assert (guess.role, guess.sure) == (role, sure)


def test_the_name_of_a_layer_comes_before_that_of_its_file():
    assert guessed("Mill Creek.gpkg", "lines", layer="lines").sure == "yes"
    assert guessed("Mill Creek.gpkg", "lines", layer="cables").sure == "likely"
    roads = guessed("Mill Creek.gpkg", "lines", layer="farm_roads")
    assert (roads.settings, roads.sure) == ({"kind": "road"}, "yes")


def test_a_break_may_be_told_by_what_its_column_says():
    guess = guessed("neighbor_field.shp", "polygons", ("KIND", ["tilled field", "tilled"]))
    assert (guess.role, guess.columns) == ("breaks", {"kind": "KIND"})
    for other in ("prairie", "lake prairie"):
        guess = guessed("neighbor_field.shp", "polygons", ("KIND", ["tilled field", other]))
        assert guess.role == "units"


@pytest.mark.parametrize(
    ("columns", "role"),
    [
        (("mix", "species", "pls_lb_ac"), "mixes"),
        (("Species", "Common Name", "Seeds per lb"), "species"),
        (("a", "b"), None),
    ],
)
def test_role_of_a_table_from_its_headers(columns, role):
    assert guessed("table.csv", "table", *((c, ["x"]) for c in columns)).role == role


def test_a_table_that_the_program_brings_is_never_replaced_by_a_guess():
    columns = ((c, ["x"]) for c in ("species", "common_name", "seeds_per_lb"))
    guess = guessed("species.csv", "table", *columns)
    assert (guess.role, guess.sure) == ("species", "likely")
    assert "extra" in guess.asks[0]


def test_name_of_a_unit_is_no_acreage_and_no_machine_made_id():
    fractions = ("SHAPE_Area", ["117.59556773", "21.5"])
    made = ("GlobalID", [f"{{79C5D86A-3577-4672-A71A-33DFF20B4E5{n}}}" for n in "01"])
    label = ("Notes", ["east", "west"])
    assert guessed("u_units.shp", "polygons", fractions, made, label).columns["unit_id"] == "Notes"
    lacking = guessed("u_units.shp", "polygons", fractions, made)
    assert "unit_id" not in lacking.columns
    assert '"GlobalID" would do for a first look' in lacking.asks[0]
    assert 'names = "row" under [mend]' in guessed("units.shp", "polygons", fractions).asks[0]


def test_whole_numbers_name_a_unit_only_where_their_header_measures_nothing():
    acres, number = ("FIELD_ACRES", ["80", "40"]), ("OBJECTID", ["1", "2"])
    assert guessed("fields.shp", "polygons", acres, number).columns["unit_id"] == "OBJECTID"


def test_one_value_for_all_rows_is_no_name_of_each():
    columns = [("UNIT", ["A", "B", "C"]), ("AREA_NAME", ["x", "x", "x"])]
    assert guessed("units.shp", "polygons", *columns, rows=3).columns == {"unit_id": "UNIT"}


def test_columns_of_units_are_mapped_by_words_and_values():
    acres = ColumnLook("GISAcres", 2, 2, ("1", "2"), (1.0, 2.0), is_acreage=True)
    texts = {"OBJECTID": ["1", "2"], "UNIT": ["A", "B"], "NAME": ["x", "y"], "COVER": ["g", "g"]}
    looks = (*(column_look(n, v) for n, v in texts.items()), acres)
    columns = guess_role(FoundFile("units.shp", "polygons", looks, 2), TABLES).columns
    said = {"unit_id": "UNIT", "name": "NAME", "cover": "COVER", "stated_ac": "GISAcres"}
    assert columns == said


def test_names_that_are_blank_or_repeated_are_told():
    guess = guessed("pastures.shp", "polygons", ("pasture", ["N", "N", ""]), rows=3)
    assert "pasture (1 rows blank, 1 repeated)" in guess.asks[0]


def test_width_is_mapped_where_its_header_says_feet():
    feet = guessed("roads.shp", "lines", ("WIDTH_FT", ["24", "12"]), ("KIND", ["road", "lane"]))
    assert feet.columns == {"kind": "KIND", "width_ft": "WIDTH_FT"}
    metres = guessed("roads.shp", "lines", ("WIDTH_M", ["7", "4"]), ("type", ["road", ""]))
    assert metres.columns == {}
    assert metres.settings == {"kind": "road"}
    assert metres.asks


def test_what_ground_is_left_out_of_is_taken_only_from_values_that_say_it():
    said = guessed("exclusions.shp", "polygons", ("FOR", ["burn", "both"]))
    assert said.columns == {"applies_to": "FOR"}
    assert guessed("exclusions.shp", "polygons", ("FOR", ["birds", "both"])).columns == {}


@pytest.mark.parametrize(
    ("name", "look", "rows", "sure", "scale"),
    [
        ("ndvi_2026-07-20.tif", RasterLook(("",), True, False, -0.1, 0.8), 1, "yes", None),
        ("ndvi_2026-07-20.tif", RasterLook(("",), False, True, -900, 8000), 1, "yes", None),
        ("ndvi_2026-07-20.tif", RasterLook(("",), False, False, -900, 8000), 1, "yes", 0.0001),
        ("ndvi_2026-07-20.tif", RasterLook(("",), False, False, 0, 200), 1, "likely", None),
        ("ndvi_2026-07-20.tif", RasterLook(("",), True, False, 0, 7000.5), 1, "likely", None),
        ("ndvi_july.tif", RasterLook(("",), True, False, -0.1, 0.8), 1, "likely", None),
        ("x_2026-07-20.tif", RasterLook(("red", "nir"), False, False, 0, 9000), 2, "yes", 0.0001),
        ("x_2026-07-20.tif", RasterLook(("red", "red"), False, False, 0, 9000), 2, "likely", None),
        ("x_2026-07-20.tif", RasterLook(("", ""), False, True, 0, 9000), 2, "likely", None),
        ("slope_2026-07-20.tif", RasterLook(("",), True, False, 0, 0.8), 1, "no", None),
        ("ndvi.tif", RasterLook(("2025-07-20", "20260720"), True, False, 0, 0.8), 2, "yes", None),
        ("ndvi.tif", RasterLook(("2025-07-20", "x"), True, False, 0, 0.8), 2, "likely", None),
    ],
)
def test_a_scene_needs_a_sure_date_and_a_sure_scale(name, look, rows, sure, scale):
    guess = guess_role(FoundFile(name, "raster", rows=rows, raster=look), TABLES)
    assert guess.sure == sure
    assert guess.settings.get("scale") == scale


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


@pytest.mark.parametrize("path", ["county_DEM_10m.tif", "Elevation.tif", "heights.tif"])
def test_heights_are_never_sure_for_their_unit_is_not_known(path):
    look = RasterLook(("",), True, False, 1100.0, 1300.0)
    guess = guess_role(FoundFile(path, "raster", rows=1, raster=look), TABLES)
    assert (guess.role, guess.sure) == ("elevation", "likely")
    assert any("height_unit" in ask for ask in guess.asks)


COLORED = RasterLook(("", "", ""), False, False, 0.0, 255.0, is_colored=True)


@pytest.mark.parametrize(
    ("path", "look", "role", "sure"),
    [
        ("air_photo_2026-07-05.tif", COLORED, "backdrop", "yes"),
        ("county/Ortho_2025.tif", COLORED, "backdrop", "yes"),
        ("CountyNAIP.tif", COLORED, "backdrop", "yes"),
        # A program may call any three bands red, green and blue: without a word it is asked.
        ("export.tif", COLORED, "backdrop", "likely"),
        ("scene_2026-07-20.tif", COLORED, "backdrop", "likely"),
        ("photo_points.tif", COLORED, "backdrop", "likely"),
        (
            "north_2026-07-20.tif",
            replace(COLORED, descriptions=("nir", "red", "green")),
            "scenes",
            "likely",
        ),
        ("ndvi_2026-07-20.tif", COLORED, "scenes", "likely"),
        # Not bytes of color: a word of the name alone makes no backdrop.
        ("ortho_2026-07-20.tif", replace(COLORED, is_colored=False), "scenes", "likely"),
        ("aerial_dem.tif", COLORED, "elevation", "likely"),
    ],
)
def test_an_air_photo_is_sure_by_its_bands_and_its_name_together(path, look, role, sure):
    guess = guess_role(FoundFile(path, "raster", rows=3, raster=look), TABLES)
    assert (guess.role, guess.sure) == (role, sure)
