"""The GeoPackage against the standard's validator, other readers, and itself.

Outside sources: OGC 12-128r17 (GeoPackage 1.3), OGC 18-000 (related tables), both by the checker of
the package gdal-utils (osgeo_utils.samples.validate_gpkg), and the readers of GDAL in two builds
(pyogrio and fiona). Requirement numbers are those of the standard.
"""

import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from itertools import product
from pathlib import Path
from xml.etree import ElementTree

import fiona
import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
from osgeo_utils.samples import validate_gpkg
from pandas.testing import assert_frame_equal

from pipeline.catalog import LAYERS
from pipeline.core.errors import SourceError
from pipeline.core.layer import Column, conform
from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.pages.words import code_words, heading_words
from pipeline.work.conflicts import count_block_conflicts
from pipeline.write.geopackage import read_geopackage, write_geopackage
from pipeline.write.geopackage_checks import geopackage_faults
from pipeline.write.geopackage_tables import RELATIONS, described
from pipeline.write.pages import write_report
from tests.made_conflicts import conflict, conflicts_layer, grazing, seeding
from tests.part_runs import with_only

PROJECT = Path(__file__).parents[2]

WRITTEN = [layer for layer in LAYERS.values() if not layer.internal]
SE = "{http://www.opengis.net/se}"


@pytest.fixture
def package(sample_package):
    return sample_package


@pytest.fixture
def copy(package, tmp_path):
    return Path(shutil.copy(package, tmp_path / "copy.gpkg"))


def rows(path, query, *values):
    with closing(sqlite3.connect(path)) as database:
        return database.execute(query, values).fetchall()


def change(path, *statements):
    """Change a file as a careless tool would, without the functions that GDAL's triggers call."""
    with closing(sqlite3.connect(path)) as database, database:
        database.execute("PRAGMA synchronous = OFF")
        triggers = database.execute("SELECT name FROM sqlite_master WHERE type='trigger'")
        for (name,) in triggers.fetchall():
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute("PRAGMA writable_schema = ON")
        for statement in statements:
            database.execute(statement)


def complaints(path):
    """Errors and warnings of the standard's checker."""
    try:
        checker = validate_gpkg.GPKGChecker(
            str(path), abort_at_first_error=False, warning_msg=False
        )
        checker.check()
    except Exception as error:
        return [f"stopped: {error}"]
    return [*checker.errors, *checker.warnings]


def test_the_checker_of_the_standard_finds_nothing(package):
    assert complaints(package) == []


def test_own_checks_find_nothing(package):
    assert geopackage_faults(package) == []


def test_version_is_one_point_three(package):
    assert rows(package, "PRAGMA user_version") == [(10300,)]
    assert rows(package, "PRAGMA application_id") == [(int.from_bytes(b"GPKG"),)]


# One change each; what the own checks must say of it. The checker of the standard misses those
# marked so, which is why the program has its own.
FAULTS = {
    "application id": (["PRAGMA application_id = 7"], "application_id"),
    "version": (["PRAGMA user_version = 10200"], "user_version"),
    "CRS row missing": (["DELETE FROM gpkg_spatial_ref_sys WHERE srs_id = 4326"], "R11"),
    "CRS of two minds": (
        ["UPDATE gpkg_contents SET srs_id = 0 WHERE table_name = 'units'"],
        "R146",
    ),
    "contents row of no table": (
        [
            "INSERT INTO gpkg_contents (table_name, data_type, last_change) "
            "VALUES ('ghost', 'attributes', '2026-01-01T00:00:00.000Z')"
        ],
        "R13",
    ),
    "stray table (missed)": (["CREATE TABLE stray (fid INTEGER PRIMARY KEY)"], "R13"),
    "time of change": (["UPDATE gpkg_contents SET last_change = '2026-01-01 00:00:00'"], "R15"),
    "index not registered": (["DELETE FROM gpkg_extensions WHERE table_name = 'units'"], "R75"),
    "index entry missing (missed)": (["DELETE FROM rtree_units_geom WHERE id = 1"], "R77"),
    "geometry of another type": (
        [
            "UPDATE gpkg_geometry_columns SET geometry_type_name = 'POINT' "
            "WHERE table_name = 'units'"
        ],
        "R33",
    ),
    "geometry header": (
        ["UPDATE units SET geom = CAST('XX' || substr(geom, 3) AS BLOB) WHERE fid = 1"],
        "R19",
    ),
    "feature count (missed)": (
        ["UPDATE gpkg_ogr_contents SET feature_count = 99 WHERE table_name = 'units'"],
        "99 features",
    ),
    "extent (missed)": (
        ["UPDATE gpkg_contents SET max_x = min_x WHERE table_name = 'units'"],
        "extent",
    ),
    "label of no column": (
        [
            "UPDATE gpkg_data_columns SET column_name = 'ghost' WHERE "
            "table_name = 'units' AND column_name = 'unit_id'"
        ],
        "R104",
    ),
    "constraint missing": (
        ["DELETE FROM gpkg_data_column_constraints WHERE constraint_name = 'tie_ins_kind'"],
        "R107",
    ),
    "cell outside its choices (missed)": (
        ["UPDATE tie_ins SET kind = 'moat' WHERE fid = 1"],
        "R109",
    ),
    "schema half registered": (
        ["DELETE FROM gpkg_extensions WHERE table_name = 'gpkg_data_columns'"],
        "R141",
    ),
    "metadata half registered": (
        ["DELETE FROM gpkg_extensions WHERE table_name = 'gpkg_metadata'"],
        "R140",
    ),
    "metadata of no row": (["UPDATE gpkg_metadata_reference SET md_file_id = 9"], "R7"),
    "pair of no row (missed)": (
        ["UPDATE units_seed_order SET related_id = 99999"],
        "units_seed_order",
    ),
    "text among numbers": (["UPDATE seed_order SET pls_needed_lb = 'much' WHERE fid = 1"], "R5"),
    "malformed date": (["UPDATE seed_areas SET planting = '5/1/2027'"], "malformed date"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_own_checks_find_each_fault(fault, copy):
    statements, expected = FAULTS[fault]
    change(copy, *statements)
    found = geopackage_faults(copy)
    assert any(expected in line for line in found), found


@pytest.mark.parametrize(
    "fault", ["application id", "CRS of two minds", "time of change", "label of no column"]
)
def test_the_checker_of_the_standard_bites_too(fault, copy):
    change(copy, *FAULTS[fault][0])
    assert complaints(copy)


PAGE_BYTES = 4096  # the default of SQLite; each page begins with what links it to others


def test_a_page_that_is_damaged_is_found(copy):
    size = copy.stat().st_size
    with copy.open("r+b") as file:
        file.seek(size // 2 // PAGE_BYTES * PAGE_BYTES)
        file.write(os.urandom(2048))
    with pytest.raises((sqlite3.DatabaseError, AssertionError)):
        assert geopackage_faults(copy) == []


def test_reading_gives_back_what_was_written(sample_run, package):
    stored = read_geopackage(package)
    assert stored.crs == sample_run.crs
    assert set(stored.frames) == set(LAYERS)
    for layer in WRITTEN:
        there, back = sample_run.frames[layer.name], stored.frames[layer.name]
        if layer.geometry:
            assert list(there.geometry.to_wkb()) == list(back.geometry.to_wkb()), layer.name
            there, back = there.drop(columns="geometry"), back.drop(columns="geometry")
        assert_frame_equal(pd.DataFrame(there), pd.DataFrame(back), check_exact=True)


def test_dates_are_dates(package):
    told = rows(
        package,
        "SELECT c.table_name, i.name, i.type "
        "FROM gpkg_contents c, pragma_table_info(c.table_name) i",
    )
    types = {(table, column): kind for table, column, kind in told}
    dates = {
        (layer.name, column.name)
        for layer in WRITTEN
        for column in layer.columns
        if column.kind == "date" and (layer.name, column.name) in types
    }
    assert {types[place] for place in dates} == {"DATE"}
    assert {place for place, kind in types.items() if kind == "DATE"} == dates


def test_same_layers_give_the_same_bytes_in_another_process(package, tmp_path):
    script = (
        "import sys; from pathlib import Path; "
        "from pipeline.write.geopackage import read_geopackage, write_geopackage; "
        "from pipeline.outputs import Run; stored = read_geopackage(Path(sys.argv[1])); "
        "run = Run(stored.provenance['slug'], stored.frames, stored.crs, "
        "stored.provenance['newest_source']); write_geopackage(run, Path(sys.argv[2]))"
    )
    again = tmp_path / package.name
    elsewhere = os.environ | {"TZ": "America/Chicago", "PYTHONHASHSEED": "7"}
    command = [sys.executable, "-c", script, str(package), str(again)]
    subprocess.run(command, check=True, env=elsewhere, cwd=PROJECT)
    assert again.read_bytes() == package.read_bytes()


def test_other_readers_open_every_layer(sample_run, package):
    there = {layer.name for layer in WRITTEN if layer.always or len(sample_run.frames[layer.name])}
    beside = {"layer_styles", *(relation.mapping_table for relation in RELATIONS)}
    assert {name for name, _ in pyogrio.list_layers(package)} == there | beside
    assert set(fiona.listlayers(package)) == there | beside
    for name in there:
        assert len(gpd.read_file(package, layer=name)) == len(sample_run.frames[name])
        with fiona.open(package, layer=name) as layer:
            assert len(layer) == len(sample_run.frames[name])
            assert set(LAYERS[name].column_names) == set(layer.schema["properties"])


def test_labels_are_told_once_a_column_with_the_unit(package):
    for layer in WRITTEN:
        labels = [heading_words(column) for column in layer.columns]
        assert len(set(labels)) == len(labels), layer.name
    told = rows(
        package,
        "SELECT name, title, description FROM gpkg_data_columns "
        "WHERE table_name = 'units' AND column_name = 'burnable_ac'",
    )
    meaning = "Gross less what is left out of burning. Unit: acre."
    assert told == [("Burnable (ac)", "Burnable (ac)", meaning)]
    assert described(Column("note", "text", "A word.")) == "A word."


def test_readers_find_labels_and_choices(package):
    # fiona's GDAL hands out neither; the tables are what QGIS and GDAL read.
    told = rows(
        package,
        "SELECT value, gpkg_data_column_constraints.description FROM "
        "gpkg_data_column_constraints JOIN gpkg_data_columns USING (constraint_name) WHERE "
        "table_name = 'tie_ins' AND column_name = 'kind' AND constraint_type = 'enum'",
    )
    # GeoPackage 1.3, table 10: the description of an enumerated value describes that value; a
    # GIS program shows it in the place of the code.
    assert dict(told) == {
        "gap": "gap",
        "away": code_words("away"),
        "tie_in": "tie-in",
        "side_change": code_words("side_change"),
        "hand_over": code_words("hand_over"),
        "sharp_corner": code_words("sharp_corner"),
    }


def test_provenance_tells_sources_settings_and_versions(sample_run, package):
    text = rows(package, "SELECT mime_type, metadata FROM gpkg_metadata")
    assert [kind for kind, _ in text] == ["application/json"]
    told = json.loads(text[0][1])
    assert len(told["sources"]) == len(sample_run.frames["sources"])
    assert all(re.fullmatch("[0-9a-f]{64}", source["sha256"]) for source in told["sources"])
    assert len(told["settings"]) == len(sample_run.frames["settings"])
    assert told["packages"].keys() >= {"pyogrio", "shapely", "pyproj"}
    assert "no permission to ignite" in told["caution"]
    assert pyogrio.read_info(package, layer="units")


def test_relations_hold_the_pairs_a_person_would_find(sample_run, package):
    assert {r.base for r in RELATIONS} >= {"units", "seed_areas"}
    for relation in RELATIONS:
        assert LAYERS[relation.related].geometry is None  # else the relation were of features
    pairs = rows(
        package,
        "SELECT b.unit_id, r.species, r.lot FROM units_seed_order m "
        "JOIN units b ON b.fid = m.base_id JOIN seed_order r ON r.fid = m.related_id",
    )
    areas = sample_run.frames["seed_areas"].assign(
        unit_id=lambda frame: frame["unit_ids"].str.split(", ")
    )
    use = pd.DataFrame(areas.drop(columns="geometry")).explode("unit_id")[["area", "unit_id"]]
    use = use.merge(sample_run.frames["seed_use"], on="area").merge(
        sample_run.frames["seed_order"], on=["species", "lot"]
    )
    wanted = set(use[["unit_id", "species", "lot"]].itertuples(False, None))
    assert sorted(pairs, key=str) == sorted(wanted, key=str)
    assert pairs


def test_a_relation_names_every_table_that_its_pairs_are_found_in():
    for relation in RELATIONS:
        asked = set(re.findall(r"(?:FROM|JOIN) (\w+)", relation.pairs))
        assert asked == {relation.base, relation.related, *relation.through}


@pytest.mark.parametrize("present", list(product((True, False), repeat=3)))
def test_relations_stand_only_on_tables_that_are_there(present, sample_run, tmp_path):
    # Areas sown from bags alone use no lot; a cover crop alone has no lot and no order.
    tables = dict(zip(("seed_areas", "seed_use", "seed_order"), present, strict=True))
    path = tmp_path / "some.gpkg"
    there = [name for name, stands in tables.items() if stands]
    write_geopackage(with_only(sample_run, "units", *there), path)
    assert complaints(path) == []
    wanted = {"seed_areas_seed_use"} if tables["seed_areas"] and tables["seed_use"] else set()
    wanted |= {"seed_areas_seed_order", "units_seed_order"} if all(present) else set()
    names = {name for name, _ in pyogrio.list_layers(path)}
    assert names & {relation.mapping_table for relation in RELATIONS} == wanted


@pytest.mark.parametrize("bit", range(7))
@pytest.mark.parametrize("side", [0, 1])
def test_any_table_may_be_absent(bit, side, sample_run, tmp_path):
    """Of any two tables that have rows the one is there without the other, both ways round."""
    # The property and its settings are in every run.
    told = [layer.name for layer in WRITTEN if layer.name not in ("property", "settings")]
    told = [name for name in told if len(sample_run.frames[name])]
    assert len(told) < 2**7
    run = with_only(sample_run, *(n for at, n in enumerate(told) if at >> bit & 1 == side))
    write_geopackage(run, tmp_path / "some.gpkg")
    assert complaints(tmp_path / "some.gpkg") == []
    write_report(run, tmp_path / "report.html")
    packet_pages(run.frames, paper=run.paper)


def test_each_styled_layer_is_there_and_its_style_is_xml(package):
    styles = rows(package, "SELECT f_table_name, styleQML, styleSLD FROM layer_styles")
    there = {name for (name,) in rows(package, "SELECT table_name FROM gpkg_geometry_columns")}
    assert {name for name, *_ in styles} <= there
    assert {name for name, *_ in styles} >= {"units", "firebreaks", "tie_ins", "mow_strips"}
    for _, drawn_by_qgis, drawn_by_others in styles:
        symbols = ElementTree.fromstring(drawn_by_qgis).findall("renderer-v2/symbols/symbol")
        rules = ElementTree.fromstring(drawn_by_others).iter(f"{SE}Rule")
        rules = [rule for rule in rules if rule.find(f"{SE}TextSymbolizer") is None]
        # Where shapes are of any kind, each class has a symbol for areas, one for lines and one
        # for places.
        assert len(symbols) in (len(rules), 3 * len(rules))
        assert rules


def test_a_file_that_no_run_wrote_is_refused_with_advice(tmp_path):
    stranger = tmp_path / "stranger.gpkg"
    gpd.GeoDataFrame({"a": [1]}, geometry=gpd.points_from_xy([0], [0]), crs=4326).to_file(stranger)
    text = tmp_path / "text.gpkg"
    text.write_text("no database")
    for path in (stranger, text, tmp_path / "absent.gpkg"):
        with pytest.raises(SourceError, match="swardline run"):
            read_geopackage(path)
    assert not (tmp_path / "absent.gpkg").exists()


MADE_AGAIN = r"made by another version .*; expected .*; make it again with swardline run"
ALTERED = {
    "a column of another version": (
        "ALTER TABLE firebreaks RENAME COLUMN adjoining TO beyond",
        rf"copy\.gpkg: {MADE_AGAIN}",
    ),
    "a table that is listed and gone": ("DROP TABLE units", MADE_AGAIN),
    "a table that is not listed": (
        "DELETE FROM gpkg_contents WHERE table_name = 'property'",
        r"layers missing \['property'\]; expected .*",
    ),
    "no property": ("DELETE FROM property", MADE_AGAIN),
    "passes without their strip": ("DELETE FROM mow_strips", MADE_AGAIN),
    "a newer schema": (
        "UPDATE gpkg_metadata SET metadata = json_set(metadata, '$.schema', 99)",
        r"of schema 99, written by a newer version .*; install the newer version$",
    ),
    "no number for a schema": (
        "UPDATE gpkg_metadata SET metadata = json_set(metadata, '$.schema', '2')",
        "its schema is no number",
    ),
    "no time": (
        "UPDATE gpkg_metadata SET metadata = json_remove(metadata, '$.newest_source')",
        "newest_source",
    ),
    "markup for a time": (
        "UPDATE gpkg_metadata SET metadata = json_set(metadata, '$.newest_source', '</time>')",
        "is no time",
    ),
    "a day that is none": (
        "UPDATE gpkg_metadata SET metadata = "
        "json_set(metadata, '$.newest_source', '2026-02-30T00:00:00.000Z')",
        "cannot be read as one",
    ),
}


@pytest.mark.parametrize("alteration", ALTERED)
def test_a_file_of_another_version_is_refused_in_one_line(alteration, copy):
    statement, words = ALTERED[alteration]
    change(copy, statement)
    with pytest.raises(SourceError, match=words) as caught:
        read_geopackage(copy)
    assert len(caught.value.faults) == 1


def test_a_file_that_tells_no_schema_and_has_all_columns_is_read_as_it_stands(package, copy):
    change(copy, "UPDATE gpkg_metadata SET metadata = json_remove(metadata, '$.schema')")
    whole, untold = read_geopackage(package), read_geopackage(copy)
    for name, frame in whole.frames.items():
        assert_frame_equal(pd.DataFrame(untold.frames[name]), pd.DataFrame(frame), obj=name)


def test_a_setting_that_an_older_version_did_not_know_has_its_default(sample_run):
    settings = sample_run.frames["settings"]
    older = settings[settings["setting"] != "paper"]
    run = replace(sample_run, frames={**sample_run.frames, "settings": older})
    assert run.paper == "letter"


def described_as(path, layer):
    return rows(path, "SELECT description FROM gpkg_contents WHERE table_name = ?", layer)[0][0]


def test_layers_say_how_much_to_stop_and_ask_for_before_they_are_used(sample_run, tmp_path):
    block, other = sample_run.frames["burn_blocks"]["block"]
    told = (
        conflict(1, block=block),
        conflict(2, block=block),
        seeding(3),
        conflict(4, "think_again", block=other),
        grazing(5),
    )
    layers = ("units", "burn_blocks", "mow_strips", "mow_passes", "seed_areas")
    frames = dict(with_only(sample_run, *layers).frames)
    frames["conflicts"] = conflicts_layer(*told, crs=sample_run.crs)
    frames["block_conflicts"] = conform(
        count_block_conflicts(frames["burn_blocks"], frames["conflicts"]),
        LAYERS["block_conflicts"],
    )
    path = tmp_path / "told.gpkg"
    write_geopackage(replace(sample_run, frames=frames), path)
    for layer in ("burn_blocks", "mow_strips", "mow_passes"):
        assert described_as(path, layer).startswith(
            "STOP AND ASK: 2 conflicts stand against the burns of this plan"
        )
        assert described_as(path, layer).endswith(LAYERS[layer].meaning)
    assert "1 conflict stands against the seedings" in described_as(path, "seed_areas")
    assert described_as(path, "units") == LAYERS["units"].meaning
    assert rows(
        path,
        "SELECT b.block, c.stop_and_ask, c.think_again, c.know FROM burn_blocks b "
        "JOIN block_conflicts c ON c.block = b.block ORDER BY b.block",
    ) == [(block, 2, 0, 0), (other, 0, 1, 0)]
    origin = json.loads(rows(path, "SELECT metadata FROM gpkg_metadata WHERE id = 1")[0][0])
    assert len(origin["stop_and_ask"]) == 4
    assert complaints(path) == []


def test_without_conflicts_layers_say_what_they_are_and_no_more(sample_run, tmp_path):
    frames = with_only(sample_run, "units", "burn_blocks").frames
    frames |= {"conflicts": conflicts_layer(crs=sample_run.crs)}
    path = tmp_path / "none.gpkg"
    write_geopackage(replace(sample_run, frames=frames), path)
    assert described_as(path, "burn_blocks") == LAYERS["burn_blocks"].meaning
    assert rows(path, "SELECT count(*) FROM conflicts") == [(0,)]
