"""Sentences on fuel and the plan: every code has words, and every figure is that of the layer."""

import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.pages import season_words
from pipeline.season.facts import known_facts
from tests.literal_layers import literal_layer
from tests.made_season import fuel_rows, square_units

UNITS = square_units(A=80)


def test_every_fact_a_rule_may_ask_for_has_words():
    assert set(season_words.WORDS_BY_FACT) == set(known_facts())
    assert not any("_" in words for words in season_words.WORDS_BY_FACT.values())


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("native_share_pct", 89.024, "share of native plants: 89 %"),
        ("spring_load_lb_ac", 2400.0, "dry load in spring: 2400 lb/ac"),
        ("years_since_burn", 5.0, "years since the last burn: 5"),
        ("lead_invader", "brome", "leading invader: brome"),
        ("last_burn_window", "early_spring", "time of year of the last burn: early spring"),
        ("cover", "hay_meadow", "cover: hay_meadow"),
    ],
)
def test_facts_are_told_in_words_with_their_unit(name, value, words):
    column = "answer" if isinstance(value, str) else "figure"
    row = {"figure": None, "answer": None, "fact": name, column: value}
    assert season_words.fact_words(row) == words


LOAD = {
    "load_date": "2026-10-06",
    "load_method": "clipped",
    "measured_load_lb_ac": 3548.2,
    "fall_load_lb_ac": 3548.2,
    "disappeared_lb_ac": 10.5,
    "spring_disappeared_lb_ac": 0.0,
    "winter_loss_low_pct": 24.0,
    "winter_loss_pct": 50.0,
    "winter_loss_high_pct": 56.0,
    "spring_load_date": "2027-05-20",
    "spring_load_low_lb_ac": 1368.5,
    "spring_load_lb_ac": 1774.1,
    "spring_load_high_lb_ac": 3029.5,
}
WINDOW = {
    "burn_until_low": "2027-05-07",
    "burn_until": "2027-05-20",
    "burn_until_high": "2027-06-03",
    "burn_until_early": "2027-05-10",
    "burn_until_late": "2027-05-30",
    "cool_exotic_share_pct": 60.0,
    "survey_share_pct": 80.0,
    "pictures_share_pct": 40.0,
    "sward_from": "survey_and_pictures",
}
ENDS = (
    "2027-05-20 (with less fuel and more exotics 2027-05-07, with more and fewer 2027-06-03), "
    "2027-05-10 in an early spring to 2027-05-30 in a late one (± 10 days)"
)


@pytest.mark.parametrize(
    ("reason", "more", "end"),
    [
        (
            "own_temperatures",
            WINDOW | {"temperature_years": "2025, 2026"},
            "; window by degree-days of your temperatures of 2025, 2026 and 60 % cool-season "
            "exotics between 80 of the newest survey and 40 by the greenness of its own pictures "
            f"in spring: {ENDS}",
        ),
        (
            "dates_of_the_latitude",
            WINDOW | {"latitude_deg": 44.26, "sward_from": "survey"},
            "; window by dates of spring at 44.3 N and 60 % cool-season exotics of the newest "
            f"survey: {ENDS}",
        ),
        (
            "dates_of_the_region",
            WINDOW | {"sward_from": "setting", "animals_untold_from": "2027-05-20"},
            "; window by dates of the region and 60 % cool-season exotics by your setting: "
            f"{ENDS}; animals that are not told graze from 2027-05-20",
        ),
        ("needs_dates", {}, "; the window needs daily_temperatures or dates in green_up"),
        ("no_window", {}, ""),
    ],
)
def test_fuel_says_its_figures_and_that_it_is_no_permission(reason, more, end):
    (row,) = fuel_rows(UNITS, reason=reason, **{**LOAD, **more}).to_dict("records")
    assert season_words.fuel_words(row) == (
        "3,548 lb/ac clipped on 2026-10-06, less 11 for animals, less 50 % (24 to 56) for the "
        f"winter: 1,774 lb/ac (1,369 to 3,030) on 2027-05-20{end}. A planning aid, no permission "
        "to light anything"
    )


def test_fuel_says_what_was_put_before_and_what_was_taken_off():
    told = LOAD | {
        "override_reason": "hailed flat",
        "spring_disappeared_lb_ac": 398.2,
        "treated_ac": 1.8,
        "removed_by": "mow",
        "removed_on": "2026-11-10",
    }
    (row,) = fuel_rows(UNITS, reason="no_window", **told).to_dict("records")
    words = season_words.fuel_words(row)
    assert "on 2026-10-06, put before the measurements because: hailed flat, less 11" in words
    assert "for the winter, less 398 for animals from April on: 1,774 lb/ac" in words
    assert "on 2027-05-20, but for 1.8 ac of mowing on 2026-11-10. A planning aid" in words


def test_every_origin_of_the_sward_and_every_window_has_words():
    fuel = LAYERS["fuel"]
    assert set(season_words.SWARD_FROM) == set(fuel.column("sward_from").choices)
    reasons = {*season_words.WINDOW_BY, *season_words.NEEDS, "no_window"}
    assert reasons == set(fuel.column("reason").choices)


def test_fuel_says_what_it_needs():
    reasons = LAYERS["fuel"].column("reason").choices
    assert set(season_words.NEEDS) == {r for r in reasons if r.startswith("needs")} - {
        "needs_dates"
    }
    burned = {"removed_by": "burn", "removed_on": "2026-11-10"}
    (row,) = fuel_rows(UNITS, reason="needs_new_measurement", **burned).to_dict("records")
    words = "unknown: needs a new measurement after the burn of 2026-11-10"
    assert season_words.fuel_words(row) == words


def test_rules_that_need_the_same_are_named_together():
    rows = [(20, "carries"), (30, "carries"), (40, "native_share_pct")]
    facts = literal_layer(
        "plan_facts",
        [{"unit_id": "A", "rule": n, "role": "needs", "fact": fact} for n, fact in rows],
    )
    assert season_words.missing_words(facts) == (
        "rules 20, 30 need whether the fuel carries a fire; rule 40 needs share of native plants"
    )
    plan = {"outcome": "unknown", "reason": None}
    assert season_words.why_words(plan, facts) == (
        "unknown: needs whether the fuel carries a fire, share of native plants"
    )


def test_limits_of_the_plan_and_of_the_window_stand_with_their_unit():
    limits = [
        {"unit_id": "A", "number": 1, "limit": "nesting", "state": "Iowa", "meets_window": True}
        | {"first_day": "05-15", "last_day": "08-01"},
        {"unit_id": "A", "number": 2, "limit": "other", "note": "met", "meets_window": True},
        {"unit_id": "A", "number": 3, "limit": "other", "note": "not met", "meets_window": False},
        {"unit_id": "A", "number": 4, "limit": "other", "note": "no window"},
    ]
    option = {"year": 2027, "outcome": "option", "suggestion": "option: x", "reason": "r"}
    plan = literal_layer(
        "season_plan", [{"unit_id": "A", **option}], shapes=list(UNITS.geometry), crs=UNITS.crs
    )
    frames = {
        "fuel": fuel_rows(UNITS),
        "season_plan": plan,
        "season_limits": literal_layer("season_limits", limits),
        "plan_facts": literal_layer("plan_facts", []),
    }
    nesting = "nesting season 05-15 to 08-01 (Iowa): on contract land ask the county office first"
    other = "other (no approval on record): {}".format
    assert season_words.fuel_rows(frames)["limits"].item() == "; ".join(
        [nesting, other("met"), other("no window")]
    )
    told = season_words.plan_rows(frames).iloc[0]
    assert told["limits"] == "; ".join(map(other, ("met", "not met", "no window")))
    assert (told["why"], pd.isna(told["missing"])) == ("r", True)


FLAGS = dict.fromkeys(
    ["needs_fuel", "needs_stock", "needs_seed", "needs_machine", "needs_hands"], False
)


def option(rank, **cells):
    """A row of ``season_options`` of the unit A."""
    plain = {"needs_approval": False, "leaves_no_refuge": False, "reason": "r", "source": "s"}
    row = {"unit_id": "A", "rank": rank, "year": 2027, "rule": rank, "suggestion": "x", **plain}
    return row | FLAGS | cells


def test_options_say_what_they_need_whom_to_ask_and_what_stands_against_them():
    options = [
        option(1, leads_to="burn", needs_fuel=True, needs_seed=True, leaves_no_refuge=True)
        | {"limits": "contract, species", "needs_approval": True, "window": "spring"},
        option(2, leads_to="graze", needs_stock=True),
    ]
    against = [
        {"unit_id": "A", "rank": 1, "work_id": "burn:North", "number": n, "seriousness": "know"}
        for n in (7, 3)
    ]
    shapes = list(UNITS.geometry) * 2
    frames = {
        "season_options": literal_layer("season_options", options, shapes, UNITS.crs),
        "option_conflicts": literal_layer("option_conflicts", against),
        "forage": literal_layer("forage", []),
    }
    first, second = season_words.option_rows(frames).to_dict("records")
    assert first["needs"] == "fuel that carries, seed"
    assert first["against"] == (
        "contract, species: no approval on record; "
        "no unburned unit along an edge would be left: leave a part unburned"
    )
    assert first["planned"] == "planned; against it: conflicts 3, 7"
    assert second["needs"] == "stock"
    assert pd.isna(second["against"])
    assert pd.isna(second["planned"])
    assert season_words.option_lines(frames["season_options"]) == ["1. x (spring)", "2. x"]


@pytest.mark.parametrize(
    ("leads_to", "supply_aum", "words"),
    [
        ("rest", 23.44, "up to 23.4 AUM of feed"),
        ("burn", 23.44, "up to 23.4 AUM of feed"),
        ("seed", 23.44, "up to 23.4 AUM of feed"),
        ("harvest", 23.44, "up to 23.4 AUM of feed"),
        ("graze", 23.44, None),
        ("rest_or_graze", 23.44, None),
        ("hay", 23.44, None),
        ("rest", 0.0, None),
        ("rest", None, None),
    ],
)
def test_an_option_that_keeps_stock_off_tells_the_feed_that_the_herd_goes_without(
    leads_to, supply_aum, words
):
    fed = {"unit_id": "A", "open": True, "supply_aum": supply_aum}
    fed |= {"reason": "measured"}
    options = [option(1, leads_to=leads_to)]
    frames = {
        "season_options": literal_layer("season_options", options, UNITS.geometry, UNITS.crs),
        "option_conflicts": literal_layer("option_conflicts", []),
        "forage": literal_layer("forage", [fed]),
    }
    (row,) = season_words.option_rows(frames).to_dict("records")
    assert row["feed"] == words if words else pd.isna(row["feed"])
