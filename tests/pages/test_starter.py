"""The property file to begin with: valid TOML, whatever lies in the folder."""

import tomllib
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.intake.settings import table_names
from pipeline.intake.survey.file_look import ColumnLook, FoundFile, RasterLook, column_look
from pipeline.intake.survey.placing import placed
from pipeline.pages.starter import Draft, season_after, starter_file

TABLES = {name: LAYERS[name] for name in table_names()}
UNIT = (column_look("UNIT", ["A", "B"]),)
FLOAT = RasterLook(("",), True, False, 0.1, 0.8)
FILES = [
    FoundFile("roads.shp", "lines", rows=12),
    FoundFile("units.shp", "polygons", UNIT, rows=2),
    FoundFile("parcels.shp", "polygons", UNIT, rows=2, has_crs=False),
    FoundFile("ndvi_2026-07-20.tif", "raster", rows=1, raster=FLOAT),
    FoundFile("ndvi_july.tif", "raster", rows=1, raster=FLOAT),
    FoundFile("wells.shp", "points"),
    FoundFile("mixes.csv", "table", tuple(column_look(c, ["x"]) for c in ("mix", "species"))),
]


def text_for(name, files, refused=None):
    """Text of the draft for some files."""
    return starter_file(Draft(name, 2027, placed(files, TABLES), refused or {}))


def test_what_is_sure_stands_as_lines_and_the_rest_as_comments_with_the_reason():
    text = text_for("East Place", FILES)
    told = tomllib.loads(text)
    assert told["property"] == {"name": "East Place", "season": 2027}
    assert told["sources"] == {
        "units": {"path": "units.shp", "columns": {"unit_id": "UNIT"}},
        "breaks": [{"path": "roads.shp", "kind": "road"}],
        "scenes": [{"path": "ndvi_2026-07-20.tif", "date": date(2026, 7, 20), "kind": "ndvi"}],
        "mixes": {"path": "mixes.csv"},
    }
    assert '# path = "parcels.shp"' in text
    assert "could be the units too; units.shp is taken" in text
    assert '# path = "ndvi_july.tif"' in text
    assert "#   wells.shp: points, and its name says no gate and no house" in text


def test_what_only_a_person_can_fill_in_is_listed_at_the_end():
    asked = text_for("x", FILES).partition("# What only you can fill in:\n")[2]
    assert "[[sources.breaks]] roads.shp: width_ft = …" in asked
    assert "[[sources.scenes]] ndvi_july.tif: date = …" in asked
    assert "[sources.units] parcels.shp: crs" in asked
    assert "[sources.units] units.shp: are these the units, and all of them?" in asked


def test_an_entry_that_check_refuses_becomes_a_comment_with_the_refusal():
    text = text_for("x", FILES, {0: ["roads.shp: broken\nkind = 3"]})
    assert "breaks" not in tomllib.loads(text)["sources"]
    assert "# check says: roads.shp: broken kind = 3\n# [[sources.breaks]]" in text


def test_units_that_check_refuses_stay_with_the_refusal_above():
    text = text_for("x", FILES, {1: ["units.shp, row 2: no name"]})
    assert "# check says: units.shp, row 2: no name\n[sources.units]" in text


def test_folder_without_polygons_gives_a_file_that_says_so():
    text = text_for("x", [])
    assert "No polygons were found" in text
    tomllib.loads(text)


COLUMNS = st.builds(
    ColumnLook, st.text(), st.integers(0, 3), st.integers(0, 3), st.tuples(st.text())
)
RASTERS = st.builds(
    RasterLook,
    st.tuples(st.text(), st.sampled_from(["red", "nir"])),
    st.booleans(),
    st.booleans(),
    st.floats(-1e6, 1e6),
    st.floats(-1e6, 1e6),
)
NAMES = st.text() | st.sampled_from(["units", "roads", "exclusions", "gates", "mixes"])


@given(
    NAMES,
    st.lists(
        st.builds(
            FoundFile,
            NAMES,
            st.sampled_from(["polygons", "lines", "points", "table", "unread"]),
            st.tuples(COLUMNS, COLUMNS),
            st.integers(0, 3),
            st.booleans(),
            st.none() | st.text(),
            note=st.text(),
        )
        | st.builds(FoundFile, NAMES, st.just("raster"), rows=st.integers(1, 3), raster=RASTERS),
        max_size=4,
    ),
    st.lists(st.text(), max_size=2),
)
def test_no_name_can_break_the_file(name, files, refusal):
    tomllib.loads(text_for(name, files, {0: refusal}))


def test_from_july_on_the_next_season_is_prepared():
    assert season_after(date(2026, 6, 30)) == 2026
    assert season_after(date(2026, 7, 1)) == 2027
