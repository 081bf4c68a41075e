"""Where units would stand on the road if the plan of years were done, by the shipped rules.

The rules and their sources are those of ``config/road_rules.csv``; their years are counted by hand.
"""

from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from pipeline.ahead.road_ahead import sum_states, walk_ahead
from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.season.settings import HerdSettings, SeasonSettings
from tests.ahead.made_years import SEASON, plan_units
from tests.literal_layers import literal_layer

RULES = literal_layer(
    "road_rules",
    pd.read_csv(Path(__file__).parents[2] / "config" / "road_rules.csv")
    .astype(object)
    .to_dict("records"),
)
UNITS = gpd.GeoDataFrame(
    {"unit_id": ["A", "B", "C", "D"], "cover": ["pasture", "pasture", "crop", "pasture"]},
    geometry=[shapely.box(0, 0, 1, 1)] * 4,
)
YEARS = 8


def choices(case="the plan", **by_unit):
    """Layer ``plan_choices``: the work of each unit by year, a rest where none is told."""
    rows = [
        {
            "case": case,
            "unit_id": unit_id,
            "year": SEASON + n,
            "treatment": work.get(SEASON + n, other),
            "reason": "within_return",
            "value_usd": 0.0,
            "bound_usd": 0.0,
            "found_by": "prices",
        }
        for unit_id, (other, work) in by_unit.items()
        for n in range(YEARS)
    ]
    return literal_layer("plan_choices", rows)


def road_ahead(chosen, records=()):
    """Layer ``plan_road`` of choices, after some records."""
    told = walk_ahead(
        UNITS,
        chosen,
        literal_layer("road_records", records),
        RULES,
        SeasonSettings(),
        HerdSettings(),
    )
    return conform(told, LAYERS["plan_road"])


@pytest.fixture(scope="module")
def plan():
    """A burns twice in three years, B burned in 2025, C is sown, nothing is known of D."""
    burn = "burn_late_spring"
    return choices(
        A=("rest", {SEASON + 1: burn, SEASON + 4: "burn_early_spring"}),
        B=("graze_late", {}),
        C=("rest", {SEASON: "wait", SEASON + 1: "seed"}),
        D=("undecided", {}),
    )


BURNED = {"unit_id": "B", "day": "2025-04-20", "event": "burn", "share_pct": 100.0}


def test_road_is_walked_on_by_the_work_of_the_plan(plan):
    road = road_ahead(plan, [BURNED]).set_index(["unit_id", "year"])["state"]
    assert list(road["A"]) == ["resting", *["waiting"] * 3, *["recovering"] * 4]
    assert list(road["B"]) == [*["waiting"] * 3, *["inherited"] * 5]
    assert list(road["C"]) == ["cropped", *["establishing"] * 5, *["established"] * 2]
    assert set(road["D"]) == {"inherited"}


def test_each_step_names_its_rule_and_its_source(plan):
    road = road_ahead(plan, [BURNED])
    steps = road.dropna(subset=["rule"])
    told = list(zip(steps["unit_id"], steps["year"], steps["rule"], strict=True))
    assert told == [
        ("A", SEASON, 530),
        ("A", SEASON + 1, 130),
        ("A", SEASON + 4, 120),
        ("B", 2030, 710),
        ("C", SEASON + 1, 40),
        ("C", 2033, 700),
    ]
    assert "Kobiela" in steps.set_index(["unit_id", "year"]).loc[("A", SEASON + 4), "source"]
    assert "no source" in steps.set_index(["unit_id", "year"]).loc[("A", SEASON + 1), "source"]


def test_work_on_record_is_not_done_again(plan):
    """A burn of the season that the log has is no second one within four years."""
    done = choices(B=("rest", {SEASON: "burn_early_spring"}))
    day = {"unit_id": "B", "event": "burn", "share_pct": 100.0, "day": f"{SEASON}-04-12"}
    road = road_ahead(done, [day]).query("unit_id == 'B'")
    assert list(road["state"]) == [*["waiting"] * 5, "inherited", *["resting"] * 2]


def test_shares_by_state_today_and_at_the_end(plan):
    """By hand: of 100 ac A has 40, B 30, C 20, D 10."""
    rows = [
        ("A", 40, "inherited"),
        ("B", 30, "waiting"),
        ("C", 20, "cropped"),
        ("D", 10, "inherited"),
    ]
    units = plan_units(
        [{"unit_id": u, "burnable_ac": float(ac), "state": state} for u, ac, state in rows]
    )
    shares = sum_states(road_ahead(plan, [BURNED]), units).set_index("state")
    assert dict(shares["today_pct"]) == pytest.approx(
        {"cropped": 20, "inherited": 50, "waiting": 30, "recovering": 0, "established": 0}
    )
    assert dict(shares["end_pct"]) == pytest.approx(
        {"cropped": 0, "inherited": 40, "waiting": 0, "recovering": 40, "established": 20}
    )


def test_each_what_if_walks_its_own_road(plan):
    other = choices("no fire", A=("rest", {}), B=("rest", {}), C=("wait", {}), D=("undecided", {}))
    both = road_ahead(pd.concat([plan, other]), [BURNED]).set_index(["case", "unit_id", "year"])
    assert both.loc[("the plan", "A", SEASON + 7), "state"] == "recovering"
    assert both.loc[("no fire", "A", SEASON + 7), "state"] == "resting"


def test_property_on_which_nothing_moves_stays_where_it_is():
    still = choices(A=("undecided", {}), B=("undecided", {}), C=("wait", {}), D=("undecided", {}))
    road = road_ahead(still)
    assert set(road["state"]) == {"inherited", "cropped"}
    assert road["rule"].isna().all()
