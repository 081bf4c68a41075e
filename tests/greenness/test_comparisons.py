"""Comparisons proposed from the log: the latest burn, and units that were left alone.

What is asked of reference units (kind of ground, a year without fire, no other treatment, like
greenness before) is the ordinary practice of before-after-control-impact designs.
"""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness import layers as greenness_layers
from pipeline.greenness.comparisons import (
    choose_comparisons,
    part_words,
    pictures_of_burn,
    propose_comparisons,
)
from pipeline.greenness.findings import find_greenness
from pipeline.greenness.settings import GreennessSettings
from pipeline.steps import STEPS
from tests.made_scenes import readings
from tests.made_season import log_of

DEFAULTS = GreennessSettings()
COVERS = {
    "B1": "pasture",
    "B2": "pasture",
    "R1": "pasture",
    "R2": "pasture",
    "R3": "pasture",
    "OLD": "pasture",
    "MOWN": "pasture",
    "PALE": "pasture",
    "WET": "draw",
}
LOG = [
    ("B1", "2026-04-14", "burn"),
    ("B2", "2026-04-10", "burn"),
    ("OLD", "2024-10-02", "burn"),
    ("MOWN", "2026-06-01", "mow"),
    ("R1", "2025-01-01", "rest"),
    ("R2", "2022-04-01", "burn"),
    ("R3", "2026-08-01", "graze"),
]
DAYS = ["2025-05-06", "2025-07-20", "2026-05-08", "2026-07-22"]


def units():
    boxes = [shapely.box(400 * n, 0, 400 * n + 400, 400) for n in range(len(COVERS))]
    return gpd.GeoDataFrame(
        {"unit_id": list(COVERS), "cover": list(COVERS.values())}, geometry=boxes, crs=32614
    )


def log(rows=LOG):
    return log_of("unit_id start kind", *rows)


def pictures(days=DAYS):
    means = {unit: 0.40 if unit == "PALE" else 0.50 for unit in COVERS}
    return readings(*((unit, day, mean) for day in days for unit, mean in means.items()))


def proposed(treatments=None, scenes=None, given=None):
    none = empty(LAYERS["comparisons"])
    frame = propose_comparisons(
        units(),
        none if given is None else given,
        log() if treatments is None else treatments,
        pictures() if scenes is None else scenes,
        DEFAULTS,
    )
    return conform(frame, LAYERS["proposed_comparisons"])


def test_units_that_were_left_alone_and_alike_are_the_references():
    table = proposed().set_index("unit_id")
    assert table.index[table["role"] == "burned"].tolist() == ["B1", "B2"]
    assert table.index[table["role"] == "reference"].tolist() == ["R1", "R2", "R3"]
    assert (table["comparison"] == "2026 burn, pasture").all()
    assert table["before"].iloc[0] == pd.Timestamp("2025-07-20"), "midsummer before spring"
    assert table["after"].iloc[0] == pd.Timestamp("2026-07-22")


@pytest.mark.parametrize(
    ("unit", "role", "why", "words"),
    [
        ("B1", "burned", "burned", "burn 2026-04-14"),
        ("R1", "reference", "like_the_burned", "no treatment on record, NDVI before +0.000 from "),
        ("OLD", "left_out", "treated_otherwise", "treated otherwise than the burned units: burn "),
        ("MOWN", "left_out", "treated_otherwise", "the burned units: mow 2026-06-01"),
        ("PALE", "left_out", "unlike_before", "NDVI before was -0.100 from the burned units'"),
    ],
)
def test_every_unit_says_why_it_stands_for_what_it_does(unit, role, why, words):
    row = proposed().set_index("unit_id").loc[unit]
    assert (row["role"], row["why"]) == (role, why)
    assert words in part_words(row)


def test_unit_that_no_picture_shows_is_left_out():
    scenes = pictures()
    row = proposed(scenes=scenes[scenes["unit_id"] != "R2"]).set_index("unit_id").loc["R2"]
    assert (row["role"], row["why"]) == ("left_out", "no_picture_before")
    assert part_words(row) == "no usable picture before the burn"


def test_other_ground_is_another_comparison():
    assert "WET" not in set(proposed()["unit_id"])
    both = proposed(log([*LOG, ("WET", "2026-04-12", "burn")]))
    assert set(both["comparison"]) == {"2026 burn, pasture", "2026 burn, draw"}


def test_latest_burn_that_has_pictures_counts():
    burns = log([("B1", "2026-04-14", "burn"), ("B2", "2025-04-10", "burn")])
    days = [pd.Timestamp(day) for day in ("2024-07-18", "2025-07-20", "2026-09-20")]
    burns = burns.assign(end=burns["start"])
    shown = pd.concat(
        [pd.DataFrame({"unit_id": unit, "date": days, "last_day": days}) for unit in ("B1", "B2")]
    )
    assert pictures_of_burn(shown, burns, DEFAULTS) == (days[0], days[1])
    assert pictures_of_burn(shown[shown["date"] > days[0]], burns, DEFAULTS) is None


def test_a_composite_whose_days_hold_the_burn_is_no_picture_before_it():
    # MOD13Q1 (LP DAAC): the best pixels of 16 days from the date on.
    days = pd.to_datetime(["2025-04-07", "2026-04-10"])
    burns = log([("B1", "2025-04-14", "burn")])
    burns = burns.assign(end=burns["start"])
    single = pd.DataFrame({"unit_id": "B1", "date": days, "last_day": days})
    assert pictures_of_burn(single, burns, DEFAULTS) == tuple(days)
    composite = single.assign(last_day=days + pd.Timedelta(days=15))
    assert pictures_of_burn(composite, burns, DEFAULTS) is None


def test_burned_unit_must_be_seen_on_both_pictures():
    burns = log([("B1", "2026-04-14", "burn")])
    burns = burns.assign(end=burns["start"])
    rows = [
        ("B1", "2025-06-20"),
        ("R1", "2025-06-20"),
        ("R1", "2025-07-20"),
        ("B1", "2026-06-21"),
        ("B1", "2026-07-20"),
        ("R1", "2026-07-20"),
    ]
    shown = pd.DataFrame(rows, columns=["unit_id", "date"])
    shown["date"] = shown["last_day"] = pd.to_datetime(shown["date"])
    assert pictures_of_burn(shown, burns, DEFAULTS) == (
        pd.Timestamp("2025-06-20"),
        pd.Timestamp("2026-06-21"),
    )


def test_seasons_and_not_calendar_years_lie_between_winter_pictures():
    burns = log([("B1", "2022-04-14", "burn")])
    burns = burns.assign(end=burns["start"])
    days = pd.to_datetime(["2021-01-03", "2022-01-03", "2022-12-30"])
    shown = pd.DataFrame({"unit_id": "B1", "date": days, "last_day": days})
    assert pictures_of_burn(shown, burns, DEFAULTS) == (days[1], days[2])
    # A few days before and after the burn, so that the season is the same and the year too.
    close = pd.to_datetime(["2022-04-10", "2022-04-16"])
    shown = pd.DataFrame({"unit_id": "B1", "date": close, "last_day": close})
    assert pictures_of_burn(shown, burns, DEFAULTS) is None


GRAZED = [(unit, f"{year}-07-01", "graze") for unit in ("B1", "R1", "R2") for year in (2025, 2026)]


def test_grazed_units_are_held_against_grazed_ones():
    table = proposed(log([*LOG[:3], *GRAZED]))
    grazed, rested = (
        table[table["comparison"] == name].set_index("unit_id")
        for name in ("2026 burn and graze, pasture", "2026 burn, pasture")
    )
    assert grazed.index[grazed["role"] == "burned"].tolist() == ["B1"]
    assert grazed.index[grazed["role"] == "reference"].tolist() == ["R1", "R2"]
    assert grazed.loc["R3", "why"] == "treated_otherwise"
    assert grazed.loc["R1", "treatments"] == "graze 2025-07-01; graze 2026-07-01"
    assert rested.index[rested["role"] == "burned"].tolist() == ["B2"]
    assert rested.index[rested["role"] == "reference"].tolist() == ["MOWN", "R3"]


def test_units_grazed_in_other_years_are_not_proposed():
    rows = [("B1", "2026-04-14", "burn"), ("B1", "2025-07-01", "graze")]
    rows += [("R1", "2025-07-01", "graze"), ("R2", "2026-07-01", "graze")]
    plan = proposed(treatments=log_of("unit_id start kind", *rows)).set_index("unit_id")
    assert plan.loc["R1", "role"] == "reference"
    assert plan.loc["R2", "why"] == "treated_otherwise"
    assert plan.loc["R3", "why"] == "treated_otherwise"


def test_comparisons_of_the_user_are_taken_as_they_are():
    given = proposed()
    own = given.loc[
        given["role"] != "left_out", ["comparison", "before", "after", "unit_id", "role"]
    ].iloc[:3]
    own = conform(own, LAYERS["comparisons"])
    none = proposed(given=own)
    assert none.empty
    assert conform(choose_comparisons(own, none), LAYERS["chosen_comparisons"]).equals(own)


def found(plan, chosen, treatments=None):
    return find_greenness(
        empty(LAYERS["units"], 32614),
        empty(LAYERS["scenes"]),
        pictures(),
        plan,
        chosen,
        empty(LAYERS["change_maps"]),
        log() if treatments is None else treatments,
        empty(LAYERS["greenness"], 32614),
        DEFAULTS,
    )["message"].tolist()


def test_finding_tells_which_units_were_proposed_and_why():
    plan = proposed()
    chosen = conform(
        choose_comparisons(empty(LAYERS["comparisons"]), plan), LAYERS["chosen_comparisons"]
    )
    assert set(chosen["role"]) == {"burned", "reference"}
    (message,) = found(plan, chosen)
    for words in (
        "proposed from the treatments table",
        "B1 (burn 2026-04-14)",
        "R1 (no treatment on record",
        "MOWN (treated otherwise than the burned units: mow 2026-06-01)",
    ):
        assert words in message


def test_finding_tells_what_a_comparison_needs():
    nothing = proposed(treatments=empty(LAYERS["treatment_log"]))
    assert nothing.empty
    (message,) = found(nothing, empty(LAYERS["chosen_comparisons"]))
    assert "needs [[comparisons]], or a burn in the treatments table" in message


GREENNESS_STEPS = [step for step in STEPS if LAYERS[step.writes] in vars(greenness_layers).values()]


@pytest.mark.parametrize("step", GREENNESS_STEPS, ids=lambda step: step.writes)
@pytest.mark.parametrize("change_map", [False, True])
def test_nothing_in_nothing_out(step, change_map):
    frames = {n: empty(LAYERS[n], 32614 if LAYERS[n].geometry else None) for n in step.reads}
    layer = LAYERS[step.writes]
    frame = step.compute(frames, {GreennessSettings: GreennessSettings(change_map=change_map)})
    frame = conform(frame, layer, 32614 if layer.geometry else None)
    told = frame["message"].tolist() if step.writes == "greenness_findings" else []
    assert len(frame) == len(told)
    assert [m.startswith("change_map is on, but no two pictures") for m in told] == (
        [True] if change_map and step.writes == "greenness_findings" else []
    )
