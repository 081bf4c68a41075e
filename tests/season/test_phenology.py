"""First green and bloom against the green-up: held, not held, and told where they differ."""

import pytest

from pipeline.season.fuel.settings import FuelSettings
from pipeline.season.phenology.green_dates import date_phenology, find_phenology
from tests.literal_layers import literal_layer
from tests.made_season import property_row, square_units

REGION = {"region": "here", "cured_from": "03-01", "green_from": "04-10", "green_full": "06-10"}
GRASSES = literal_layer(
    "plant_species",
    [
        {"species": "Bromus inermis", "common_name": "smooth brome", "nativity": "introduced"}
        | {"growth": "cool-season grass", "source": "x"},
        {"species": "Andropogon gerardii", "common_name": "big bluestem", "nativity": "native"}
        | {"growth": "warm-season grass", "source": "x"},
    ],
)
PROPERTY = property_row(region="here", as_of="2026-11-15")


def dated(*rows, temperatures=(), region="here"):
    names = ("unit_id", "date", "event", "species")
    seen = [dict(zip(names, row, strict=True)) for row in rows]
    return date_phenology(
        square_units(A=40, B=40),
        literal_layer("phenology", seen),
        GRASSES,
        literal_layer("daily_temperatures", list(temperatures)),
        literal_layer("green_up", [REGION | {"region": region, "source": "x"}]),
        PROPERTY,
        FuelSettings(),
    )


def test_first_green_is_held_against_the_day_of_the_region():
    # 10 April as the table has it; by hand: 31 March is 10 days before, 30 March 11, 21 April 11
    # after.
    rows = dated(
        ("A", "2024-03-31", "first_green", None),
        ("A", "2025-03-30", "first_green", "smooth brome"),
        ("A", "2026-04-21", "first_green", None),
    )
    assert list(rows["differs_days"]) == [-10, -11, 11]
    assert list(rows["agreement"]) == ["agrees", "earlier", "later"]
    assert set(rows["expected_from"]) == {"region_dates"}
    assert [f"{day:%m-%d}" for day in rows["expected"]] == ["04-10"] * 3


@pytest.mark.parametrize(
    "row",
    [
        ("A", "2026-03-01", "bloom", None),
        ("A", "2026-03-01", "first_green", "big bluestem"),
        ("A", "2026-03-01", "first_green", "no such plant"),
    ],
)
def test_what_says_nothing_of_cool_season_green_up_is_not_held(row):
    assert list(dated(row)["agreement"]) == ["not_held"]


def test_a_region_without_dates_holds_nothing():
    rows = dated(("A", "2026-03-01", "first_green", None), region="elsewhere")
    assert list(rows["agreement"]) == ["not_held"]
    assert rows["expected"].isna().all()


def test_temperatures_of_the_year_go_before_the_region_and_those_of_others_do_not():
    # 62 °F every day from 15 March on is 30 degree-days a day: 300 on the 10th day.
    days = [f"2026-{month:02d}-{day:02d}" for month in range(3, 8) for day in range(1, 32)]
    ends = {"2026-04-31", "2026-06-31"}
    warm = [{"date": d, "tmax_f": 72.0, "tmin_f": 52.0} for d in days if d not in ends]
    rows = dated(
        ("A", "2025-04-10", "first_green", None),
        ("A", "2026-04-10", "first_green", None),
        temperatures=warm,
    )
    assert list(rows["expected_from"]) == ["region_dates", "temperatures"]
    assert f"{rows['expected'].iloc[1]:%m-%d}" == "03-24"
    assert list(rows["agreement"]) == ["agrees", "later"]


def test_a_finding_a_year_names_each_place_and_a_day_to_come_is_told():
    rows = dated(
        ("A", "2025-03-01", "first_green", None),
        (None, "2025-03-11", "first_green", None),
        ("B", "2025-04-11", "first_green", None),
        ("A", "2027-04-01", "first_green", None),
    )
    found = find_phenology(square_units(A=40, B=40), rows, PROPERTY, FuelSettings())
    assert list(found["code"]) == ["green_up_differs", "phenology_ahead"]
    told = found["message"].iloc[0]
    assert "A 03-01 (40 days)" in told
    assert "the property 03-11 (30 days)" in told
    assert "B" not in told.split(": ", 1)[1]
    assert "2027-04-01" in found["message"].iloc[1]
