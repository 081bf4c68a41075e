"""Season plan: options with reasons, missing inputs named, dates of deferral, never an order."""

from pathlib import Path

import pandas as pd
import pytest

from pipeline.compute import season
from pipeline.errors import SourceError
from pipeline.layers import LAYERS, conform, empty
from pipeline.settings.season import SeasonSettings
from tests import made_season as made
from tests.literal_layers import literal_layer

table, square_units = made.table, made.square_units
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
        literal_layer("unit_limits", list(limits)), empty(LAYERS["burns"]), empty(LAYERS["seedings"]),
        literal_layer("season_rules", list(rules)), made.SEASON, settings or SeasonSettings(),
    )  # fmt: skip
    return conform(frame, LAYERS["season_plan"], units.crs)


def test_suggestion_is_an_option_with_its_reason_and_figures():
    row = planned(burns_in_5_years=1).iloc[0]
    assert row["suggestion"] == "option: burn"
    assert row["reason"] == "fuel is there (carries yes, burns_in_5_years 1)"
    assert (row["rule"], row["window"], row["year"]) == (30, "spring", 2027)


def test_unknown_fuel_is_named_not_guessed():
    row = planned(carries="unknown", burns_in_5_years=1).iloc[0]
    assert row["suggestion"] == "no suggestion"
    assert row["reason"] == "unknown: needs carries"
    assert row["missing"] == "rule 20 needs carries; rule 30 needs carries"


def test_unit_with_no_record_is_unknown():
    row = planned(record="none on record").iloc[0]
    assert row["reason"] == "unknown: needs burns_in_5_years"


def test_listed_species_stops_unless_approved():
    limit = {"unit_id": "A", "kind": "species", "note": "ask"}
    assert planned(limits=[limit], burns_in_5_years=0).iloc[0]["suggestion"] == "option: ask first"
    approved = planned(limits=[limit | {"approval": "letter 5"}], burns_in_5_years=0).iloc[0]
    assert approved["suggestion"] == "option: burn"
    assert "approval letter 5" in approved["conflicts"]


def test_no_rules_no_plan():
    assert planned(rules=()).empty


def test_faults_of_the_table_stop_the_run():
    with pytest.raises(SourceError, match="unknown column"):
        planned(rules=[RULES[0] | {"when": "no_such_thing = 1"}])


@pytest.mark.parametrize(("years", "until"), [(None, "2027-08-15"), (0, "2027-09-15"),
                                              (1, "2027-09-15"), (2, "2027-08-15")])  # fmt: skip
def test_stock_off_from_july_to_mid_august_and_longer_after_a_burn(years, until):
    # Common practice, no source.
    row = planned(burns_in_5_years=1, years_since_burn=years).iloc[0]
    assert row["stock_off_from"] == pd.Timestamp("2027-07-01")
    assert row["stock_off_until"] == pd.Timestamp(until)


def test_nothing_reads_as_permission():
    words = Path(__file__).parent.parent.joinpath("config", "season_rules.csv").read_text("utf-8")
    assert "no permission to light anything" in LAYERS["season_plan"].meaning
    for order in ("must burn", "shall", "safe to burn", "permitted", "go ahead", "light the"):
        assert order not in words.lower()
