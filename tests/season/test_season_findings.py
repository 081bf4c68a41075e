"""Findings of the season: every row left out is told, and every run carries its caution."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.core.step import layers_read
from pipeline.season.findings import find_season
from pipeline.season.fuel.settings import FuelSettings
from tests.literal_layers import literal_layer
from tests.made_season import (
    PLANE,
    fuel_rows,
    log,
    property_row,
    shipped_green_up,
    square_units,
    standing_row,
)

UNITS = square_units(A=80)
WINDOW = {"burn_from": "2027-03-01", "burn_until": "2027-05-20"}
CENTRAL = {
    "region": "central plains",
    "cured_from": "03-01",
    "green_from": "04-10",
    "green_full": "06-10",
    "source": "s",
}


def found(settings=None, **frames):
    """Findings of the season by their severity; what is not given is empty."""
    names = layers_read(find_season)
    given = {name: empty(LAYERS[name], UNITS.crs) for name in names}
    given |= {"units": UNITS, "property": property_row()} | frames
    findings = find_season(**given, settings=settings or FuelSettings())
    findings = conform(findings, LAYERS["season_findings"])
    assert findings["code"].notna().all()
    return findings.set_index("severity")[["code", "message"]]


def codes(findings, severity):
    """Codes of the findings of one severity."""
    return list(findings.loc[findings.index == severity, "code"])


def test_limit_past_its_last_year_is_told():
    rows = [
        {"unit_id": "A", "kind": "contract", "note": "n", "last_year": year}
        for year in (2026, 2027, None)
    ]
    told = found(unit_limits=literal_layer("unit_limits", rows))
    of_code = told[told["code"] == "limit_over"]
    assert of_code["message"].tolist() == ["contract to the end of 2026: not counted from then on"]


def test_nothing_given_nothing_found():
    assert found().empty


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ({"green_g": 80}, "plot_without_weight"),
        ({"dry_g": 5, "bag_g": 9}, "bag_too_heavy"),
    ],
)
def test_plot_without_a_weight_is_told(row, code):
    clips = literal_layer("clips", [{"unit_id": "A", "date": "2026-10-01", "frame_sqft": 1, **row}])
    assert codes(found(clips=clips), "warning") == [code]


def test_burned_ground_without_its_burn_is_told():
    day = {"unit_id": ["A"], "date": [pd.Timestamp("2024-04-10")]}
    areas = gpd.GeoDataFrame(day, geometry=[shapely.box(0, 0, 9, 9)], crs=PLANE)
    areas = conform(areas, LAYERS["burned_areas"])
    assert codes(found(burned_areas=areas), "warning") == ["burn_not_in_log"]
    burned = log({"unit_id": "A", "start": "2024-04-10", "kind": "burn"})
    assert found(burned_areas=areas, treatment_log=burned).empty


def limit(**columns):
    """Table ``season_limits`` with the nesting season of Iowa on the unit A."""
    row = {"unit_id": "A", "number": 1, "limit": "nesting", "state": "Iowa"}
    days = {"first_day": "05-15", "last_day": "08-01"}
    return literal_layer("season_limits", [row | days | columns])


def test_limit_in_the_window_and_heavy_load_are_told_with_the_caution():
    fuel = fuel_rows(UNITS, carries="yes", load_class="heavy", continuity="broken", **WINDOW)
    told = found(fuel=fuel, season_limits=limit(meets_window=True))
    assert codes(told, "warning") == ["state_not_given", "limit_in_window", "heavy_load"]
    assert codes(told, "note") == ["broken_fuel", "planning_aid"]
    words = " ".join(told["message"])
    assert "burn window meets: nesting season 05-15 to 08-01 (Iowa)" in words
    assert "widths of the breaks" in words
    assert "no permission to light anything" in words


@pytest.mark.parametrize("meets", [False, None])
def test_limit_outside_the_window_is_not_told_as_met(meets):
    fuel = fuel_rows(UNITS, carries="yes")
    assert not codes(found(fuel=fuel, season_limits=limit(meets_window=meets)), "warning")


@pytest.mark.parametrize(
    ("used_on", "told"), [("2026-09-20", []), ("2026-10-12", ["override_not_used"])]
)
def test_override_that_tells_no_fuel_is_told(used_on, told):
    standing = standing_row("A", 1800, date="2026-09-20", override_reason="hailed flat")
    fuel = fuel_rows(UNITS, load_date=used_on, override_reason="hailed flat")
    assert codes(found(standing=standing, fuel=fuel), "warning") == told


@pytest.mark.parametrize(
    ("latitude_deg", "region", "told"),
    [(44.0, None, 0), (48.9, None, 0), (36.5, None, 1), (49.5, "Northern Plains", 1)],
)
def test_unit_far_from_the_latitudes_of_the_table_is_told(latitude_deg, region, told):
    # The outermost rows that come with the program are those of 40 and 47 N.
    fuel = fuel_rows(UNITS, reason="dates_of_the_latitude", latitude_deg=latitude_deg, **WINDOW)
    findings = found(
        fuel=fuel, green_up=shipped_green_up(), property=property_row(region=region, state="Iowa")
    )
    assert list(findings["code"]).count("latitude_beyond_rows") == told
    assert not set(findings["code"]) & {"region_assumed", "region_not_listed"}


@pytest.mark.parametrize(
    ("reason", "region", "warnings", "notes"),
    [
        ("own_temperatures", None, [], ["region_assumed"]),
        ("dates_of_the_region", None, ["region_assumed"], []),
        ("dates_of_the_region", "Central Plains", [], []),
        ("own_temperatures", "Ohio", ["region_not_listed"], []),
    ],
)
def test_region_that_is_assumed_or_not_in_the_table_is_told(reason, region, warnings, notes):
    iowa = [{"state": "Iowa", "first_day": "05-15", "last_day": "08-01", "source": "s"}]
    told = found(
        fuel=fuel_rows(UNITS, carries="yes", reason=reason, **WINDOW),
        green_up=literal_layer("green_up", [CENTRAL]),
        nesting_seasons=literal_layer("nesting_seasons", iowa),
        property=property_row(region=region, state="Iowa"),
    )
    assert codes(told, "warning") == warnings
    assert codes(told, "note") == [*notes, "planning_aid"]


@pytest.mark.parametrize(
    ("state", "code"),
    [(None, ["state_not_given"]), ("Ohio", ["state_not_listed"]), ("iowa", [])],
)
def test_window_held_against_no_nesting_season_is_told(state, code):
    iowa = [{"state": "Iowa", "first_day": "05-15", "last_day": "08-01", "source": "s"}]
    told = found(
        fuel=fuel_rows(UNITS, carries="yes", **WINDOW),
        nesting_seasons=literal_layer("nesting_seasons", iowa),
        property=property_row(state=state),
    )
    assert codes(told, "warning") == code


@pytest.mark.parametrize(
    ("verdict", "pct", "words"),
    [
        ("demand_above_supply", -10.6, "demand is above supply by 11 % of supply"),
        ("supply_above_demand", 23.3, "supply is above demand by 23 % of supply"),
        ("demand_above_supply", None, "no open unit is known to supply anything"),
        ("supply_and_demand_match", 8.0, None),
    ],
)
def test_herd_and_forage_far_apart_are_told(verdict, pct, words):
    row = {"season": 2027, "units_unknown": 2, "difference_pct": pct, "verdict": verdict}
    told = found(herd_balance=literal_layer("herd_balance", [row]))
    counted = "if every unit that no burn block, rest or contract closes were grazed all season: "
    unknown = "; 2 open units without a figure count as nothing. The table herd_feed tells"
    assert [m.split(" what ")[0] for m in told["message"]] == (
        [counted + words + unknown] if words else []
    )
    # Feed to spare is none before the plan has taken its part.
    weighs = {"supply_above_demand": "note", "demand_above_supply": "warning"}
    assert set(told.index) <= {weighs.get(verdict)}


def test_a_single_unit_without_a_figure_is_told_in_the_singular():
    row = {"season": 2027, "units_unknown": 1, "difference_pct": 50.0}
    row["verdict"] = "supply_above_demand"
    (message,) = found(herd_balance=literal_layer("herd_balance", [row]))["message"]
    assert "; 1 open unit without a figure counts as nothing. The" in message


@pytest.mark.parametrize(
    ("regression", "code"),
    [
        ({}, ["pole_without_regression"]),
        ({"pole_slope_lb_in": 100.0}, ["pole_without_regression"]),
        ({"pole_slope_lb_in": 100.0, "pole_intercept_lb_ac": -2000.0}, ["pole_below_nothing"]),
        ({"pole_slope_lb_in": 100.0, "pole_intercept_lb_ac": 0.0}, []),
    ],
)
def test_pole_readings_that_tell_no_load_are_counted(regression, code):
    reading = {"unit_id": "A", "date": "2026-10-01", "reading_in": 10}
    readings = literal_layer("obstruction", [reading, reading])
    told = found(FuelSettings(**regression), obstruction=readings)
    assert codes(told, "warning") == code
    assert told["message"].str.startswith("2 readings left out").all()
