"""What one source names must be in the other, and lie where it should."""

import re

import geopandas as gpd
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS
from shapely import LineString, Polygon

from pipeline.core.errors import SourceError
from pipeline.intake.faults import MOST_TOLD, _names_alike, state_bounds_deg
from tests import made_maps
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


def test_units_far_from_the_state_that_is_named_are_refused(folder):
    # The area of use of EPSG:32104 (NAD83 / Nebraska) is the state's: 104.06° to 95.3° W,
    # 39.99° to 43.01° N.
    assert state_bounds_deg("Nebraska") == pytest.approx((-104.06, 39.99, -95.3, 43.01), abs=0.02)
    area = CRS("EPSG:32104").area_of_use.bounds
    assert state_bounds_deg("Nebraska") == pytest.approx(area, abs=0.02)
    text = PROPERTY.replace("season = 2027", 'season = 2027\nstate = "Nebraska"')
    intake(folder, text)
    with pytest.raises(SourceError, match=r"\[property\] state: Texas, but units lie elsewhere"):
        intake(folder, text.replace("Nebraska", "TX"))


def test_axes_that_are_swapped_and_fit_all_the_same_are_refused(tmp_path):
    # 40° N, 72° W with its numbers changed about: a place in the ice at 72° S.
    shape = Polygon([(40, -72), (40.004, -72), (40.004, -72.004), (40, -72.004)])
    frame = gpd.GeoDataFrame({"UNIT": ["A"]}, geometry=[shape], crs=4326)
    frame.to_file(tmp_path / "units.gpkg")
    told = made_maps.faults(made_maps.read(tmp_path / "units.gpkg"))
    assert "the axes are swapped: save it with longitude first" in told


@pytest.mark.parametrize("pair", [("A1", "a1"), ("1", "01"), ("A", "\u0410"), ("B 2", "B2")])
def test_names_that_look_alike_are_told(pair):
    units = pd.DataFrame({"unit_id": [*pair, "other"]})
    (finding,) = _names_alike(units)
    assert f"units {pair[0]} and {pair[1]} are easily taken" in finding["message"]


@given(st.lists(st.text(st.characters(codec="ascii", categories=["Lu", "Nd"]), min_size=1)))
def test_names_of_capitals_are_alike_only_by_their_zeros(names):
    told = _names_alike(pd.DataFrame({"unit_id": sorted(set(names))}))
    alike = {
        frozenset(re.sub(r"0+(?=\d)", "", n) for n in f["message"].split()[1:4:2]) for f in told
    }
    assert all(len(group) == 1 for group in alike)


def test_many_units_that_are_not_on_the_map_end_in_one_line(folder):
    names = ", ".join(f'"U{n}"' for n in range(4000))
    text = f'{PROPERTY}\n[[burns]]\nblock = "North"\nunits = [{names}]\n'
    with pytest.raises(SourceError) as caught:
        intake(folder, text)
    told = str(caught.value).splitlines()
    assert len(told) == MOST_TOLD + 1
    assert "3980 more units that are not on the map" in told[-1]
