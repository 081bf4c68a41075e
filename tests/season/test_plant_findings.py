"""Findings of the plant records: no name is guessed in silence, no row is lost in silence."""

import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.season.plants.cover import list_plant_cover
from pipeline.season.plants.findings import find_plants
from pipeline.season.plants.patch_findings import find_plant_places
from pipeline.season.settings import CommunitySettings
from tests.literal_layers import literal_layer
from tests.made_season import property_row, square_units

UNITS = square_units(A=80)
ROW = {"unit_id": "A", "transect": "1", "date": "2026-06-20", "cover_pct": 4}
POA = {
    "species": "Poa pratensis",
    "common_name": "Kentucky bluegrass",
    "nativity": "introduced",
    "source": "s",
}
THISTLE = {
    "species": "Cirsium arvense",
    "nativity": "introduced",
    "noxious_in": "Nebraska; any",
    "source": "s",
}


def found(rows, species=(POA,), **told):
    plants = literal_layer("plants", [ROW | row for row in rows])
    table = literal_layer("plant_species", species)
    place = property_row(**({"state": "Nebraska"} | told))
    settings = CommunitySettings()
    cover = list_plant_cover(plants, table, place, settings)
    cover = conform(cover, LAYERS["plant_cover"])
    findings = find_plants(UNITS, plants, table, cover, place, settings)
    findings = conform(findings, LAYERS["plant_findings"])
    return findings[findings["code"] != "noxious_list_not_known"]


def test_nothing_given_nothing_found():
    frames = (empty(LAYERS[name]) for name in ("plants", "plant_species", "plant_cover"))
    assert find_plants(UNITS, *frames, property_row(), CommunitySettings()).empty


def test_plant_that_is_not_listed_is_told_and_no_ground_is():
    told = found([{"species": "Ambiguus herbus"}, {"species": "litter"}])
    assert list(told["code"]) == ["plants_not_listed"]
    assert "Ambiguus herbus" in told["message"].item()
    assert "litter" not in told["message"].item()


def test_misspelt_plant_is_taken_for_the_nearest_and_told():
    told = found([{"species": "Poa pratensus"}, {"species": "bluegrass"}])
    assert list(told["code"]) == ["plant_names_corrected", "plants_not_listed"]
    assert "Poa pratensus for Poa pratensis" in told["message"].iloc[0]
    assert "bluegrass (Poa pratensis (Kentucky bluegrass)?)" in told["message"].iloc[1]


def test_name_of_two_species_is_told_with_both_and_counts_as_neither():
    two = [
        listed | {"species": name, "synonyms": "snowbush"}
        for listed, name in ((POA, "Aa aa"), (POA, "Bb bb"))
    ]
    told = found([{"species": "snowbush"}], [row | {"common_name": None} for row in two])
    assert list(told["code"]) == ["plant_names_unclear"]
    assert "snowbush (Aa aa or Bb bb)" in told["message"].item()


def test_rows_without_a_cover_are_counted():
    rows = [{"cover_pct": None}, {}, {"cover_pct": None, "frame": "2"}]
    told = found([{"species": "Poa pratensis"} | row for row in rows])
    assert list(told["code"]) == ["plants_without_cover"]
    assert told["message"].item().startswith("2 rows left out")


def test_plant_that_stands_twice_in_a_frame_is_told():
    names = ["Poa pratensis", "Kentucky bluegrass"]
    assert list(found([{"species": n} for n in names])["code"]) == ["plants_twice"]
    frames = [{"species": n, "frame": f} for n, f in zip(names, "12", strict=True)]
    assert found(frames).empty


def test_surveys_of_one_year_are_told():
    rows = [{"species": "Poa pratensis", "date": f"2026-0{month}-20"} for month in (6, 7)]
    told = found(rows)
    assert list(told["code"]) == ["surveys_of_one_year"]
    assert "2026-06-20, 2026-07-20" in told["message"].item()


@pytest.mark.parametrize(("state", "codes"), [("Nebraska", ["noxious_plant"]), ("Iowa", [])])
def test_noxious_weed_of_the_newest_survey_is_told_by_the_list_of_the_state(state, codes):
    species = [POA, THISTLE | {"noxious_in": "Nebraska"}]
    rows = [{"species": "Cirsium arvense"}]
    assert list(found(rows, species, state=state)["code"]) == codes
    later = {"species": "Poa pratensis", "date": "2027-06-20"}
    assert "noxious_plant" not in list(found([*rows, later], species, state=state)["code"])


def test_state_without_a_list_is_told():
    plants = literal_layer("plants", [ROW | {"species": "Cirsium arvense"}])
    table, settings = literal_layer("plant_species", [THISTLE]), CommunitySettings()
    for state, code in (("Iowa", True), (None, True), ("Nebraska", False)):
        place = property_row(state=state)
        cover = list_plant_cover(plants, table, place, settings)
        codes = list(find_plants(UNITS, plants, table, cover, place, settings)["code"])
        assert ("noxious_list_not_known" in codes) == code


def test_record_with_a_place_outside_its_unit_is_told():
    at = UNITS.geometry.representative_point().to_crs(4326).iloc[0]
    rows = [
        ROW | {"species": "Poa pratensis", "latitude_deg": at.y, "longitude_deg": x}
        for x in (at.x, at.x + 1)
    ]
    found = find_plant_places(
        UNITS,
        literal_layer("plants", rows),
        literal_layer("plant_species", [POA]),
        CommunitySettings(),
    )
    assert list(found["code"]) == ["plant_place_outside"]
    assert found["message"].item().startswith("1 records")
    assert pd.notna(found.geometry.item())
