"""Season plan: options with reasons, missing inputs named, dates of deferral, never an order."""

from pathlib import Path

import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.season import plan as season
from pipeline.season.facts import FACT_WORDS, known_facts, told_fact
from pipeline.season.rules import read_rules
from pipeline.season.settings import SeasonSettings
from tests.literal_layers import literal_layer
from tests.made_season import SEASON, square_units

RULES = [
    {"rule": 10, "when": "species_limit = yes", "suggestion": "ask first", "reason": "law",
     "source": "s"},
    {"rule": 20, "when": "carries = no", "suggestion": "rest", "reason": "no fuel", "source": "s"},
    {"rule": 30, "when": "carries = yes and burns_in_5_years < 2", "suggestion": "burn",
     "window": "spring", "reason": "fuel is there", "source": "s"},
]  # fmt: skip


def layer_rows(name, units, **columns):
    frame = units[["unit_id", "geometry"]].copy()
    for column in LAYERS[name].columns:
        if column.name != "unit_id":
            frame[column.name] = columns.get(column.name)
    return conform(frame, LAYERS[name], units.crs)


def planned(rules=RULES, limits=(), carries="yes", settings=None, **record):
    units = square_units(A=80)
    record = {"record": "2019 to 2026", **record}
    fuel = layer_rows("fuel", units, carries=carries, continuity="unknown", reason="r")
    frame = season.plan_season(
        units, layer_rows("history", units, **record), fuel,
        empty(LAYERS["greenness"], units.crs), empty(LAYERS["community"], units.crs),
        literal_layer("unit_limits", limits), empty(LAYERS["burns"]), empty(LAYERS["seedings"]),
        literal_layer("season_rules", rules), SEASON, settings or SeasonSettings(),
    )  # fmt: skip
    return conform(frame, LAYERS["season_plan"], units.crs)


def test_suggestion_is_an_option_with_its_reason_and_figures():
    row = planned(burns_in_5_years=1).iloc[0]
    assert row["suggestion"] == "option: burn"
    figures = "whether the fuel carries a fire: yes, burns in five years: 1"
    assert row["reason"] == f"fuel is there ({figures})"
    assert (row["rule"], row["window"], row["year"]) == (30, "spring", 2027)


def test_unknown_fuel_is_named_not_guessed():
    row = planned(carries="unknown", burns_in_5_years=1).iloc[0]
    assert row["suggestion"] == "no suggestion"
    assert row["reason"] == "unknown: needs whether the fuel carries a fire"
    assert row["missing"] == "rules 20, 30 need whether the fuel carries a fire"


def test_every_fact_a_rule_may_ask_for_has_words():
    assert set(FACT_WORDS) == set(known_facts())
    assert not any("_" in words for words in FACT_WORDS.values())


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("native_share_pct", 89.024, "share of native plants: 89.02 %"),
        ("spring_load_lb_ac", 2400.0, "dry load in spring: 2400 lb/ac"),
        ("years_since_burn", 5, "years since the last burn: 5"),
        ("lead_invader", "brome", "leading invader: brome"),
    ],
)
def test_facts_are_told_in_words_with_their_unit(name, value, words):
    assert told_fact(name, value) == words


def test_unit_with_no_record_is_unknown():
    row = planned(record="none on record").iloc[0]
    assert row["reason"] == "unknown: needs burns in five years"


def test_listed_species_stops_unless_approved():
    limit = {"unit_id": "A", "kind": "species", "note": "ask"}
    assert planned(limits=[limit], burns_in_5_years=0).iloc[0]["suggestion"] == "option: ask first"
    approved = planned(limits=[limit | {"approval": "letter 5"}], burns_in_5_years=0).iloc[0]
    assert approved["suggestion"] == "option: burn"
    assert "approval letter 5" in approved["conflicts"]


def test_no_rules_no_plan():
    assert planned(rules=()).empty


def test_faults_of_the_table_are_told():
    table = literal_layer("season_rules", [RULES[0] | {"when": "no_such_thing = 1"}])
    _, (fault,) = read_rules(table, known_facts())
    assert "unknown column" in fault.found


@pytest.mark.parametrize(("years", "until"), [(None, "2027-08-15"), (0, "2027-09-15"),
                                              (1, "2027-09-15"), (2, "2027-08-15")])  # fmt: skip
def test_stock_off_from_july_to_mid_august_and_longer_after_a_burn(years, until):
    # Common practice, no source.
    row = planned(burns_in_5_years=1, years_since_burn=years).iloc[0]
    assert row["stock_off_from"] == pd.Timestamp("2027-07-01")
    assert row["stock_off_until"] == pd.Timestamp(until)


def test_nothing_reads_as_permission():
    words = Path(__file__).parents[2].joinpath("config", "season_rules.csv").read_text("utf-8")
    assert "no permission to light anything" in LAYERS["season_plan"].meaning
    for order in ("must burn", "shall", "safe to burn", "permitted", "go ahead", "light the"):
        assert order not in words.lower()
