"""All sources of a property together: frames as declared, and every fault at once."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import Polygon

from pipeline.catalog import LAYERS
from pipeline.ground.geometry import area_ac
from pipeline.intake.shipped import FILE_BY_SOURCE
from pipeline.runner import read_property
from tests.east_place import (
    BREAKS,
    LISTS,
    MIXES,
    PROPERTY,
    SIDE,
    UTM,
    X,
    Y,
    faults,
    intake,
    write_east_place,
)


@pytest.fixture
def folder(tmp_path):
    write_east_place(tmp_path)
    return tmp_path


def named(read):
    """Rows of ``sources`` of the files that the property file names."""
    sources = read.frames["sources"]
    return sources[sources["origin"] == "property_file"]


def test_every_internal_layer_is_there_even_without_a_source(folder):
    read = intake(folder, PROPERTY)
    for name, frame in read.frames.items():
        layer = LAYERS[name]
        expected = [*layer.column_names, *(["geometry"] if layer.geometry else [])]
        assert list(frame.columns) == expected
        if layer.geometry:
            assert frame.crs == read.crs
    given = {name for name, frame in read.frames.items() if len(frame)}
    assert given == {"property", "drawn_units", "sources", *FILE_BY_SOURCE}


def test_lists_of_the_property_file_become_rows(folder):
    frames = intake(folder, PROPERTY + MIXES + LISTS).frames
    burns = frames["burns"]
    assert list(zip(burns["block"], burns["unit_id"], strict=True)) == [
        ("North", "A"),
        ("North", "B"),
        ("South", "C"),
    ]
    assert burns["fuel_height_ft"].tolist()[:2] == [4.0, 4.0]
    assert np.isnan(burns["fuel_height_ft"].iloc[2])
    comparisons = frames["comparisons"]
    assert list(zip(comparisons["unit_id"], comparisons["role"], strict=True)) == [
        ("A", "burned"),
        ("C", "reference"),
        ("D", "reference"),
    ]
    assert set(comparisons["before"]) == {pd.Timestamp("2025-07-20")}
    place = {"name": "East Place", "season": 2027, "state": None, "region": None}
    assert frames["property"].iloc[0].drop("as_of").to_dict() == place


def test_sources_in_any_system_meet_in_the_working_one(folder):
    read = intake(folder, PROPERTY + BREAKS)
    breaks = read.frames["breaks"]
    assert list(breaks["source_id"]) == [1, 2]
    assert list(breaks["kind"]) == ["road", "creek"]
    assert breaks.geometry.iloc[0].hausdorff_distance(breaks.geometry.iloc[1]) < 0.05
    np.testing.assert_allclose(area_ac(read.frames["drawn_units"].geometry), 40, rtol=1e-3)
    sources = named(read)
    assert list(sources["source"]) == ["breaks", "breaks 2", "units"]
    assert list(sources["path"]) == ["roads.gpkg", "creek.geojson", "units.shp"]
    assert (sources["rows_read"] == sources["rows_used"]).all()
    assert sources["sha256"].is_unique


def test_checksum_of_a_shapefile_is_over_all_its_parts(folder):
    first = named(intake(folder, PROPERTY))["sha256"].iloc[0]
    assert named(intake(folder, PROPERTY))["sha256"].iloc[0] == first
    (folder / "units.cpg").write_text("ISO-8859-1")
    assert named(intake(folder, PROPERTY))["sha256"].iloc[0] != first


def test_faults_of_all_sources_come_together(folder):
    (folder / "roads.gpkg").unlink()
    (folder / "creek.geojson").write_text("{")
    (folder / "mixes.csv").write_text("mix,species,pls_lb_ac\ndry,x,six\n")
    told = "\n".join(faults(folder, PROPERTY + BREAKS + MIXES))
    for words in ("roads.gpkg", "creek.geojson:1: broken JSON", "mixes.csv: cell C2"):
        assert words in told


def test_place_of_a_finding_is_in_the_working_system(folder):
    nick = Polygon(
        [
            (X, Y),
            (X + SIDE, Y),
            (X + SIDE, Y + SIDE),
            (X, Y + SIDE),
            (X, Y + 10),
            (X + 4, Y - 2),
            (X - 2, Y + 4),
        ]
    )
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


def test_a_unit_is_the_same_in_map_table_and_property_file_however_its_blanks_are_typed(folder):
    units = gpd.read_file(folder / "units.shp").assign(UNIT=[" North  5", "B", "C", "D"])
    units.to_file(folder / "units.shp")
    (folder / "clips.csv").write_text(
        "unit_id,date,frame_sqft,dry_g\nNorth\u00a05 ,2026-10-06,1.92,80\n", encoding="utf-8"
    )
    burns = '[[burns]]\nblock = "1"\nunits = ["North  5"]\nfuel_height_ft = 4\n'
    comparison = LISTS[LISTS.index("[[comparisons]]") :].replace('["C", "D"]', '["North  5 "]')
    clips = '[sources.clips]\npath = "clips.csv"\n'
    frames = intake(folder, PROPERTY + clips + burns + comparison.replace('["A"]', '["B"]')).frames
    assert frames["drawn_units"]["unit_id"].tolist().count("North 5") == 1
    for name in ("clips", "burns", "comparisons"):
        assert "North 5" in set(frames[name]["unit_id"]), name
