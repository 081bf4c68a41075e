"""The small GeoPackage against the standard's validator, other readers and the table of symbols.

Outside sources: OGC 12-128r17 (GeoPackage 1.3) by the checker of the package gdal-utils
(osgeo_utils.samples.validate_gpkg), and the readers of GDAL in two builds (pyogrio and fiona).
"""

import sqlite3
from contextlib import closing
from xml.etree import ElementTree

import fiona
import pyogrio
import pytest
import shapely
from osgeo_utils.samples import validate_gpkg

from pipeline.core.units import M_PER_FT
from pipeline.pages.cautions import CAUTION
from pipeline.pages.palette import change_scale
from pipeline.pages.symbols.layer_symbols import layer_styles
from pipeline.runner import slug_of
from pipeline.write.field.field_geopackage import write_field_plan
from tests.write.field_runs import named_harmfully, with_frames, with_gps

STYLES = layer_styles(change_scale((), noise_floor=0))
THEMES = {"smoke_places_ground": "smoke_places"}
GROUND = (
    "units",
    "excluded_ground",
    "mow_strips",
    "made_lines",
    "photo_points",
    "gates",
    "water_places",
    "break_lines",
    "break_areas",
)


@pytest.fixture(scope="module")
def package(sample_run, tmp_path_factory):
    path = tmp_path_factory.mktemp("field") / "field_plan.gpkg"
    write_field_plan(sample_run, path)
    return path


def rows(path, query):
    with closing(sqlite3.connect(path)) as database:
        return database.execute(query).fetchall()


def drawn_lines(frame):
    """All outlines and lines, or the places, as one shape."""
    shapes = frame.geometry.to_numpy()
    if (shapely.get_dimensions(shapes) == 0).all():
        return shapely.multipoints(shapes)
    lines = [s.boundary if shapely.get_dimensions(s) == 2 else s for s in shapes]
    return shapely.multilinestrings([part for line in lines for part in shapely.get_parts(line)])


def complaints(path):
    checker = validate_gpkg.GPKGChecker(str(path), abort_at_first_error=False, warning_msg=False)
    checker.check()
    return [*checker.errors, *checker.warnings]


def test_checker_of_the_standard_finds_nothing(package, sample_run, tmp_path):
    assert complaints(package) == []
    write_field_plan(named_harmfully(sample_run), tmp_path / "odd.gpkg")
    assert complaints(tmp_path / "odd.gpkg") == []
    names = pyogrio.read_dataframe(tmp_path / "odd.gpkg", layer="mow_passes")["name"]
    assert names.str.contains("<b>&amp;</b>", regex=False).all()
    assert not names.str.contains("\u202e|\u0007").any()


def test_it_is_small_and_the_same_bytes_each_time(package, sample_run, tmp_path):
    assert package.stat().st_size < 500_000
    write_field_plan(sample_run, tmp_path / "again.gpkg")
    assert (tmp_path / "again.gpkg").read_bytes() == package.read_bytes()


def test_layers_hold_the_rows_of_the_plan_in_degrees_within_the_tolerance(package, sample_run):
    for name in GROUND:
        found = pyogrio.read_dataframe(package, layer=name)
        assert found.crs.to_epsg() == 4326
        drawn = sample_run.frames[name]
        assert len(found) == len(drawn) > 0
        assert list(found.columns[:-1]) == ["name", "block", "what", "note", "symbol"]
        back = found.to_crs(sample_run.crs)
        far = shapely.hausdorff_distance(drawn_lines(back), drawn_lines(drawn))
        assert far <= 0.5 * M_PER_FT + 0.01


def test_layers_are_of_places_lines_or_ground_alone(package):
    kinds = dict(pyogrio.list_layers(package))
    spatial = {name: kind for name, kind in kinds.items() if name != "layer_styles"}
    assert set(spatial.values()) == {"Point", "MultiLineString", "MultiPolygon"}
    assert spatial["smoke_places_ground"] == "MultiPolygon"
    with fiona.open(package, layer="firebreaks") as lines:
        assert {feature.geometry.type for feature in lines} == {"MultiLineString"}


def test_each_row_is_drawn_by_a_rule_with_the_stroke_of_the_table(package):
    styles = dict(rows(package, "SELECT f_table_name, styleQML FROM layer_styles"))
    names = [name for name, _ in pyogrio.list_layers(package) if name != "layer_styles"]
    assert set(styles) == set(names)
    for name in names:
        qml = ElementTree.fromstring(styles[name])
        written = [node.get("fieldName") for node in qml.iter("text-style")]
        assert written == ['"name"'] * bool(STYLES[THEMES.get(name, name)].label)
        filters = [rule.get("filter") for rule in qml.iter("rule")]
        for (words,) in rows(package, f'SELECT DISTINCT symbol FROM "{name}"'):
            assert filters.count(f"\"symbol\" IN ('{words}')") == 1
            theme = {"breaks_ground": "breaks", "smoke_places_ground": "smoke_places"}.get(
                name, name
            )
            assert words in [look.words for look in STYLES[theme].looks]


def test_columns_have_headings_and_the_caution_is_in_it(package):
    titles = rows(package, "SELECT DISTINCT column_name, title FROM gpkg_data_columns")
    assert ("what", "What it is") in titles
    ((told,),) = rows(package, "SELECT metadata FROM gpkg_metadata")
    assert CAUTION in told
    assert '"stop_and_ask": ["Stop and ask' in told


def test_property_of_units_alone_has_a_plan_too(sample_run, tmp_path):
    frames = {n: f.iloc[:0] for n, f in sample_run.frames.items() if hasattr(f, "geometry")}
    run = with_gps(with_frames(sample_run, **frames | {"units": sample_run.frames["units"]}))
    write_field_plan(run, tmp_path / "units.gpkg")
    assert [name for name, _ in pyogrio.list_layers(tmp_path / "units.gpkg")] == [
        "units",
        "layer_styles",
    ]
    assert complaints(tmp_path / "units.gpkg") == []


@pytest.mark.parametrize(
    ("name", "slug"),
    [("Field Plan", "field_plan_property"), ("Field Plans", "field_plans"), ("Bluff", "bluff")],
)
def test_no_property_has_the_name_of_the_file(name, slug):
    assert slug_of(name) == slug
