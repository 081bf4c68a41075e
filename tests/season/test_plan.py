"""Season plan: options with reasons, missing inputs named, dates of deferral, never an order."""

from pathlib import Path

import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.season import facts, plan
from pipeline.season.options.choose import list_season_options
from pipeline.season.options.settings import AimsSettings
from pipeline.season.rules import read_rules
from pipeline.season.settings import SeasonSettings
from tests.literal_layers import literal_layer
from tests.made_season import SEASON, fuel_rows, square_units, unit_rows

RULES = [
    {"rule": 10, "when": "species_limit = yes", "suggestion": "ask first", "reason": "law"},
    {"rule": 20, "when": "carries = no", "suggestion": "rest", "reason": "no fuel"},
    {
        "rule": 30,
        "when": "carries = yes and burns_in_5_years < 2",
        "suggestion": "burn",
        "window": "spring",
        "reason": "fuel is there",
    },
]
UNITS = square_units(A=80)


PAST = ("years_since_burn", "burns_in_5_years")


def gathered(carries="yes", limits=(), greenness=(), plants=(), **history):
    """Table ``season_facts`` of the unit A."""
    past = {name: history.pop(name) for name in PAST if name in history}
    shapes = [UNITS.geometry[0]]
    table = facts.gather_facts(
        UNITS,
        unit_rows("history", UNITS, **{"record": "on_record", **history}),
        literal_layer("past_work", [{"unit_id": "A", **past}]),
        literal_layer("unwanted", [{"unit_id": "A"}]),
        empty(LAYERS["road"], UNITS.crs),
        fuel_rows(UNITS, carries=carries),
        pd.DataFrame(greenness) if greenness else empty(LAYERS["greenness"], UNITS.crs),
        literal_layer("community", plants, shapes=shapes * len(plants), crs=UNITS.crs),
        literal_layer("unit_limits", limits),
        empty(LAYERS["burns"]),
        literal_layer("seedings", []),
        AimsSettings(),
    )
    return conform(table, LAYERS["season_facts"])


def planned(rules=RULES, **told):
    """The plan of the unit A, and the facts that it rests on or needs."""
    table = literal_layer("season_rules", [{"source": "s", **rule} for rule in rules])
    known = gathered(**told)
    options = list_season_options(
        UNITS,
        known,
        table,
        literal_layer("unit_limits", told.get("limits", ())),
        literal_layer("patch_ground"),
        literal_layer("neighbors"),
        SEASON,
        SeasonSettings(),
    )
    options = conform(options, LAYERS["season_options"], UNITS.crs)
    first = plan.plan_season(UNITS, known, table, options, SEASON, SeasonSettings())
    used = conform(plan.list_plan_facts(known, table, options), LAYERS["plan_facts"])
    return conform(first, LAYERS["season_plan"], UNITS.crs), used


def told_of(used, role):
    """Rule, fact, figure and answer of the facts in a role."""
    rows = used[used["role"] == role].astype(object)
    rows = rows.where(rows.notna(), None)
    return [(r.rule, r.fact, r.figure, r.answer) for r in rows.itertuples()]


def test_suggestion_is_an_option_with_its_reason_and_facts():
    options, used = planned(burns_in_5_years=1)
    row = options.iloc[0]
    assert (row["outcome"], row["suggestion"]) == ("option", "option: burn")
    assert (row["rule"], row["window"], row["year"]) == (30, "spring", 2027)
    assert row["reason"] == "fuel is there"
    assert told_of(used, "rests_on") == [
        (30, "burns_in_5_years", 1.0, None),
        (30, "carries", None, "yes"),
    ]
    assert not told_of(used, "needs")


def test_unknown_fuel_is_named_not_guessed():
    options, used = planned(carries="unknown", burns_in_5_years=1)
    row = options.iloc[0]
    assert row["outcome"] == "unknown"
    assert row[["rule", "suggestion", "reason"]].isna().all()
    assert told_of(used, "needs") == [
        (20, "carries", None, None),
        (30, "carries", None, None),
    ]


def test_no_rule_that_holds_is_told_apart_from_an_unknown():
    options, used = planned(burns_in_5_years=4)
    assert options.iloc[0]["outcome"] == "no_rule_holds"
    assert used.empty


def test_unit_with_no_record_is_unknown():
    options, used = planned(record="none_on_record")
    assert options.iloc[0]["outcome"] == "unknown"
    assert told_of(used, "needs") == [(30, "burns_in_5_years", None, None)]
    assert gathered(record="none_on_record").loc[0, "recorded"] == "no"
    assert gathered().loc[0, "recorded"] == "yes"


def test_listed_species_stops_unless_approved():
    limit = {"unit_id": "A", "kind": "species", "note": "ask"}
    stopped, _ = planned(limits=[limit], burns_in_5_years=0)
    assert stopped.iloc[0]["suggestion"] == "option: ask first"
    free, _ = planned(limits=[limit | {"approval": "letter 5"}], burns_in_5_years=0)
    assert free.iloc[0]["suggestion"] == "option: burn"


@pytest.mark.parametrize("kind", ["contract", "easement"])
def test_contract_and_easement_are_one_fact(kind):
    row = gathered(limits=[{"unit_id": "A", "kind": kind, "note": "n"}]).iloc[0]
    assert (row["contract"], row["species_limit"]) == ("yes", "no")


def change(after, verdict, low, high):
    """What the facts read of a row of greenness of the burned unit A."""
    return {
        "unit_id": "A",
        "role": "burned",
        "after": after,
        "verdict": verdict,
        "change_vs_reference": 0.1,
        "interval_low": low,
        "interval_high": high,
    }


@pytest.mark.parametrize(
    ("verdict", "interval"),
    [("greener", [0.05, 0.15]), ("less_green", [0.05, 0.15]), ("confounded", [0.0, 0.15])],
)
def test_only_a_clear_change_moves_a_rule(verdict, interval):
    rows = [change("2026-07-22", verdict, 0.05, 0.15), change("2025-08-01", "greener", 0.3, 0.4)]
    row = gathered(greenness=rows).iloc[0]
    assert list(row[["interval_low", "interval_high"]]) == interval


def test_newest_survey_counts():
    survey = {
        "unit_id": "A",
        "transects": 3,
        "interval": "rests_on_three_or_more",
        "interval_cut": False,
        "native_may_be_more": False,
        "species": 5,
    }
    shares = {"2026-06-20": 61.0, "2024-06-20": 40.0}
    rows = [survey | {"date": day, "native_share_pct": pct} for day, pct in shares.items()]
    assert gathered(plants=rows).loc[0, "native_share_pct"] == 61


def test_no_rules_no_plan():
    options, used = planned(rules=())
    assert options.empty
    assert used.empty


def test_faults_of_the_table_are_told():
    table = literal_layer("season_rules", [RULES[0] | {"when": "no_such = 1", "source": "s"}])
    _, (fault,) = read_rules(table, facts.known_facts())
    assert "unknown column" in fault.found


@pytest.mark.parametrize(
    ("years", "until"),
    [(None, "2027-08-15"), (0, "2027-09-15"), (1, "2027-09-15"), (2, "2027-08-15")],
)
def test_stock_off_from_july_to_mid_august_and_longer_after_a_burn(years, until):
    # Common practice, no source.
    row = planned(burns_in_5_years=1, years_since_burn=years)[0].iloc[0]
    assert row["stock_off_from"] == pd.Timestamp("2027-07-01")
    assert row["stock_off_until"] == pd.Timestamp(until)


def test_nothing_reads_as_permission():
    words = Path(__file__).parents[2].joinpath("config", "season_rules.csv").read_text("utf-8")
    assert "no permission to light anything" in LAYERS["season_plan"].meaning
    for order in ("must burn", "shall", "safe to burn", "permitted", "go ahead", "light the"):
        assert order not in words.lower()
