"""All sources of a property together: frames as declared, and every fault at once."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import LineString, Polygon, box

from pipeline.catalog import LAYERS
from pipeline.core.errors import SourceError
from pipeline.ground.geometry import area_ac
from pipeline.runner import read_property

X, Y, SIDE = 700_000.0, 4_430_000.0, 402.336
UTM = "EPSG:26914"
PROPERTY = """
[property]
name = "East Place"
season = 2027
[sources.units]
path = "units.shp"
columns = { unit_id = "UNIT" }
"""
BREAKS = """
[[sources.breaks]]
path = "roads.gpkg"
kind = "road"
width_ft = 16
[[sources.breaks]]
path = "creek.geojson"
kind = "creek"
"""
LISTS = """
[[burns]]
block = "North"
units = ["A", "B"]
fuel_height_ft = 4
[[burns]]
block = "South"
units = ["C"]
[[seedings]]
area = "East"
units = ["D"]
mix = "dry"
method = "drill"
[[comparisons]]
name = "Spring"
before = 2025-07-20
after = 2026-07-22
burned = ["A"]
reference = ["C", "D"]
"""


@pytest.fixture
def folder(tmp_path):
    shapes = [box(X + n * SIDE, Y, X + (n + 1) * SIDE, Y + SIDE) for n in range(4)]
    units = gpd.GeoDataFrame({"UNIT": list("ABCD")}, geometry=shapes, crs=UTM)
    units.to_file(tmp_path / "units.shp")
    road = LineString([(X, Y), (X + 2 * SIDE, Y)])
    gpd.GeoDataFrame({"n": [1]}, geometry=[road], crs="EPSG:26914").to_file(tmp_path / "roads.gpkg")
    gpd.GeoDataFrame({"n": [1]}, geometry=[road], crs=UTM).to_crs(4326).to_file(
        tmp_path / "creek.geojson"
    )
    (tmp_path / "mixes.csv").write_text("mix,species,pls_lb_ac\ndry,Andropogon gerardii,6\n")
    return tmp_path


def intake(folder, text):
    (folder / "p.toml").write_text(text)
    return read_property(folder / "p.toml")[1]


def faults(folder, text):
    with pytest.raises(SourceError) as caught:
        intake(folder, text)
    return [str(fault) for fault in caught.value.faults]


def test_every_internal_layer_is_there_even_without_a_source(folder):
    read = intake(folder, PROPERTY)
    for name, frame in read.frames.items():
        layer = LAYERS[name]
        expected = [*layer.column_names, *(["geometry"] if layer.geometry else [])]
        assert list(frame.columns) == expected
        if layer.geometry:
            assert frame.crs == read.crs
    given = {name for name, frame in read.frames.items() if len(frame)}
    assert given == {"property", "drawn_units", "sources"}


def test_lists_of_the_property_file_become_rows(folder):
    frames = intake(folder, PROPERTY + MIXES + LISTS).frames
    burns = frames["burns"]
    assert list(zip(burns["block"], burns["unit_id"], strict=True)) == [
        ("North", "A"), ("North", "B"), ("South", "C")
    ]  # fmt: skip
    assert burns["fuel_height_ft"].tolist()[:2] == [4.0, 4.0]
    assert np.isnan(burns["fuel_height_ft"].iloc[2])
    comparisons = frames["comparisons"]
    assert list(zip(comparisons["unit_id"], comparisons["role"], strict=True)) == [
        ("A", "burned"), ("C", "reference"), ("D", "reference")
    ]  # fmt: skip
    assert set(comparisons["before"]) == {pd.Timestamp("2025-07-20")}
    place = {"name": "East Place", "season": 2027, "state": None, "region": None}
    assert frames["property"].iloc[0].to_dict() == place


def test_sources_in_any_system_meet_in_the_working_one(folder):
    read = intake(folder, PROPERTY + BREAKS)
    breaks = read.frames["breaks"]
    assert list(breaks["source_id"]) == [1, 2]
    assert list(breaks["kind"]) == ["road", "creek"]
    assert breaks.geometry.iloc[0].hausdorff_distance(breaks.geometry.iloc[1]) < 0.05
    np.testing.assert_allclose(area_ac(read.frames["drawn_units"].geometry), 40, rtol=1e-3)
    sources = read.frames["sources"]
    assert list(sources["source"]) == ["breaks", "breaks 2", "units"]
    assert list(sources["path"]) == ["roads.gpkg", "creek.geojson", "units.shp"]
    assert (sources["rows_read"] == sources["rows_used"]).all()
    assert sources["sha256"].is_unique


def test_checksum_of_a_shapefile_is_over_all_its_parts(folder):
    first = intake(folder, PROPERTY).frames["sources"]["sha256"].iloc[0]
    assert intake(folder, PROPERTY).frames["sources"]["sha256"].iloc[0] == first
    (folder / "units.cpg").write_text("ISO-8859-1")
    assert intake(folder, PROPERTY).frames["sources"]["sha256"].iloc[0] != first


CONTRADICTIONS = {
    "burn of an unknown unit": (
        '["C"]', '["E"]', r'[[burns]] "South": unit "E" is not on the map'),
    "unit in two blocks": (
        '["C"]', '["B"]', '[[burns]] North, South: unit "B" is in 2 blocks'),
    "unit twice in a block": (
        '["A", "B"]', '["A", "A"]', '[[burns]] "North": unit "A" stands twice'),
    "near miss": ('units = ["D"]', 'units = ["d "]', 'unit "d" is not on the map'),
    "comparison of an unknown unit": (
        '["C", "D"]', '["C", "X"]', '[[comparisons]] "Spring": unit "X"'),
    "mix that is not in the table": (
        'mix = "dry"', 'mix = "dri"', 'mix "dri" is not in the table of mixes'),
}  # fmt: skip
MIXES = '[sources.mixes]\npath = "mixes.csv"\n'


@pytest.mark.parametrize("kind", CONTRADICTIONS)
def test_what_one_source_names_must_be_in_the_other(kind, folder):
    old, new, words = CONTRADICTIONS[kind]
    assert old in LISTS
    told = faults(folder, PROPERTY + MIXES + LISTS.replace(old, new))
    assert len(told) == 1, told
    assert words in told[0]
    if kind in ("near miss", "mix that is not in the table"):
        assert "did you mean" in told[0]


def test_table_of_an_unknown_unit_is_refused(folder):
    (folder / "clips.csv").write_text("unit_id,date,frame_sqft,dry_g\nA,2026-10-06,1.92,80\n")
    text = PROPERTY + '[sources.clips]\npath = "clips.csv"\n'
    assert len(intake(folder, text).frames["clips"]) == 1
    (folder / "clips.csv").write_text("unit_id,date,frame_sqft,dry_g\nZ,2026-10-06,1.92,80\n")
    assert '[sources.clips]: unit "Z" is not on the map' in faults(folder, text)[0]


def test_faults_of_all_sources_come_together(folder):
    (folder / "roads.gpkg").unlink()
    (folder / "creek.geojson").write_text("{")
    (folder / "mixes.csv").write_text("mix,species,pls_lb_ac\ndry,x,six\n")
    told = "\n".join(faults(folder, PROPERTY + BREAKS + MIXES))
    for words in ("roads.gpkg", "creek.geojson:1: broken JSON", "mixes.csv: cell C2"):
        assert words in told


def test_source_far_away_and_unit_sown_twice_are_findings(folder):
    far = gpd.GeoDataFrame(
        {"n": [1]}, geometry=[LineString([(X + 9000, Y), (X + 9900, Y)])], crs=UTM
    )
    far.to_file(folder / "roads.gpkg")
    again = LISTS.replace("[[comparisons]]", '[[seedings]]\narea = "Again"\nunits = ["D"]\n'
                          'mix = "dry"\nmethod = "drill"\n[[comparisons]]')  # fmt: skip
    findings = intake(folder, PROPERTY + BREAKS + MIXES + again).frames["intake_findings"]
    told = "\n".join(findings["message"])
    assert "nothing of this source lies within 1 mile of the units" in told
    assert list(findings["source"]) == ["breaks 1", "seedings"]
    assert "unit D is in 2 seeding areas (Again, East)" in told


def test_place_of_a_finding_is_in_the_working_system(folder):
    nick = Polygon([(X, Y), (X + SIDE, Y), (X + SIDE, Y + SIDE), (X, Y + SIDE), (X, Y + 10),
                    (X + 4, Y - 2), (X - 2, Y + 4)])  # fmt: skip
    units = gpd.GeoDataFrame({"UNIT": ["A"]}, geometry=[nick], crs=UTM)
    units.to_file(folder / "units.shp")
    read = intake(folder, PROPERTY)
    finding = read.frames["intake_findings"].iloc[0]
    assert finding["row"] == 1
    assert finding["subject"] == "A"
    assert finding["geometry"].distance(read.frames["drawn_units"].geometry.iloc[0]) < 3


def test_files_beside_the_sources_are_not_touched(folder):
    (folder / "p.toml").write_text(PROPERTY + BREAKS + MIXES)
    before = {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.iterdir()}
    read_property(folder / "p.toml")
    assert {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.iterdir()} == before
