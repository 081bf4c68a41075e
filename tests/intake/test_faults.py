"""What one source names must be in the other, and lie where it should."""

import geopandas as gpd
import pytest
from shapely import LineString

from tests.east_place import (
    BREAKS,
    LISTS,
    MIXES,
    PROPERTY,
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


CONTRADICTIONS = {
    "burn of an unknown unit": ('["C"]', '["E"]', r'[[burns]] "South": unit "E" is not on the map'),
    "unit in two blocks": ('["C"]', '["B"]', '[[burns]] North, South: unit "B" is in 2 blocks'),
    "unit twice in a block": (
        '["A", "B"]',
        '["A", "A"]',
        '[[burns]] "North": unit "A" stands twice',
    ),
    "near miss": ('units = ["D"]', 'units = ["d "]', 'unit "d" is not on the map'),
    "comparison of an unknown unit": (
        '["C", "D"]',
        '["C", "X"]',
        '[[comparisons]] "Spring": unit "X"',
    ),
    "mix that is not in the table": (
        'mix = "dry"',
        'mix = "dri"',
        'mix "dri" is not in the table of mixes',
    ),
}


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


def test_source_far_away_and_unit_sown_twice_are_findings(folder):
    far = gpd.GeoDataFrame(
        {"n": [1]}, geometry=[LineString([(X + 9000, Y), (X + 9900, Y)])], crs=UTM
    )
    far.to_file(folder / "roads.gpkg")
    again = LISTS.replace(
        "[[comparisons]]",
        '[[seedings]]\narea = "Again"\nunits = ["D"]\n'
        'mix = "dry"\nmethod = "drill"\n[[comparisons]]',
    )
    findings = intake(folder, PROPERTY + BREAKS + MIXES + again).frames["intake_findings"]
    told = "\n".join(findings["message"])
    assert "nothing of this source lies within 1 mile of the units" in told
    assert list(findings["source"]) == ["breaks 1", "seedings"]
    assert "unit D is in 2 seeding areas (Again, East)" in told
