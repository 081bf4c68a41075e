"""The property file to begin with: valid TOML, whatever lies in the folder."""

import tomllib
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.intake.folder_survey import FoundFile
from pipeline.intake.settings import table_names
from pipeline.pages.starter import season_after, starter_file

TABLES = {name: LAYERS[name] for name in table_names()}
FILES = [
    FoundFile("roads.shp", "lines", ("TYPE",), rows=12),
    FoundFile("units.shp", "polygons", ("UNIT", "COVER"), ("UNIT",), rows=11),
    FoundFile("field_notes.shp", "polygons", ("UNIT",), ("UNIT",), rows=2, has_crs=False),
    FoundFile("ndvi_2026-07-20.tif", "raster"),
    FoundFile("bands.tif", "raster", rows=4),
    FoundFile("county_DEM_10m.tif", "raster"),
    FoundFile("elevation_south.tif", "raster"),
    FoundFile("demonstration_2026-05-01.tif", "raster"),
    FoundFile("gates.shp", "points"),
    FoundFile("mixes.csv", "table", ("mix", "species", "pls_lb_ac")),
]


def test_every_file_has_its_place_or_is_named_as_left_over():
    text = starter_file("East Place", 2027, FILES, TABLES)
    told = tomllib.loads(text)
    assert told["property"] == {"name": "East Place", "season": 2027}
    assert told["sources"]["units"] == {"path": "units.shp", "columns": {"unit_id": "UNIT"}}
    assert told["sources"]["breaks"] == [{"path": "roads.shp", "kind": "road"}]
    assert [s.get("date") for s in told["sources"]["scenes"]] == [
        date(2026, 7, 20),
        None,
        date(2026, 5, 1),
    ]
    assert [s["kind"] for s in told["sources"]["scenes"]] == ["ndvi", "reflectance", "ndvi"]
    assert told["sources"]["elevation"] == {"path": "county_DEM_10m.tif"}, "its unit is not guessed"
    assert told["sources"]["mixes"] == {"path": "mixes.csv"}
    for left_over in ("field_notes.shp", "elevation_south.tif", "gates.shp"):
        assert f"#   {left_over}" in text


def test_folder_without_polygons_gives_a_file_that_says_so():
    text = starter_file("x", 2027, [], TABLES)
    assert "No polygons were found" in text
    tomllib.loads(text)


@given(
    st.text(),
    st.lists(
        st.builds(
            FoundFile,
            st.text(),
            st.sampled_from(["polygons", "lines", "points", "raster", "table"]),
            st.tuples(st.text(), st.text()),
            st.tuples(st.text()),
            st.integers(0, 9),
            st.booleans(),
            st.none() | st.text(),
        ),
        max_size=4,
    ),
)
def test_no_name_can_break_the_file(name, files):
    tomllib.loads(starter_file(name, 2027, files, TABLES))


def test_from_july_on_the_next_season_is_prepared():
    assert season_after(date(2026, 6, 30)) == 2026
    assert season_after(date(2026, 7, 1)) == 2027
