"""Plans against later logs: what counts as done, whose log speaks, and acres that add up.

All situations are told by hand on two squares of 40 acres each (a quarter of a quarter section).
"""

from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from pipeline.years.ground import drawn_outlines
from pipeline.years.layers import CLASS_ACRES
from pipeline.years.outcomes import hold_plans_against_logs
from pipeline.years.records import joined_log
from pipeline.years.runs import SeasonRun
from tests.literal_layers import literal_layer

CRS = "+proj=laea +lat_0=40 +lon_0=-96 +datum=WGS84 +units=m"
SIDE = 402.336
SQUARES = {"A": box(0, 0, SIDE, SIDE), "B": box(SIDE, 0, 2 * SIDE, SIDE)}
CLASSES = [column.name for column in CLASS_ACRES]
NEAR = 0.001


def plan(kind="burn", unit_id="A", days=("04-01", "04-20"), *, season=2027, **told):
    first, last = (f"{season}-{day}" if day else None for day in days)
    days_from = "property_file" if first else "none"
    own = {"work_id": f"{kind}:North", "unit_id": unit_id, "kind": kind, "work_ac": 40.0}
    return own | {"first_day": first, "last_day": last, "days_from": days_from} | told


def record(start, kind="burn", unit_id="A", acres=40.0, end=None, **told):
    own = {"unit_id": unit_id, "kind": kind, "start": start, "end": end or start}
    return own | {"record_ac": acres, "acres_from": "whole_unit"} | told


def season_run(season, plans=(), records=(), *, units=SQUARES):
    """A run of a season that is looked at on 15 November before it."""
    book = [row | {"number": n} for n, row in enumerate(records, 1)]
    frames = {
        "units": gpd.GeoDataFrame({"unit_id": [*units]}, geometry=[*units.values()], crs=CRS),
        "planned_work": literal_layer(
            "planned_work", plans, [units[row["unit_id"]] for row in plans], CRS
        ),
        "seed_areas": literal_layer("seed_areas", crs=CRS),
        "record_book": literal_layer(
            "record_book", book, [units.get(row["unit_id"]) for row in book], CRS
        ),
    }
    as_of = pd.Timestamp(season - 1, 11, 15)
    return SeasonRun(Path(f"{season}.gpkg"), season, as_of, {"newest_source": ""}, frames)


def outcomes(*runs):
    """Outcomes of runs, the log, and the rows as dictionaries."""
    crs = runs[-1].frames["units"].crs
    outlines = drawn_outlines({run.season: run.frames["units"] for run in runs}, crs)
    log = joined_log(runs, outlines)
    return hold_plans_against_logs(runs, log, outlines), log


def told(*runs):
    """Outcome, differences and the acres of each class of the only plan."""
    rows, _ = outcomes(*runs)
    (row,) = rows[rows["outcome"] != "done_without_plan"].to_dict("records")
    assert sum(row[name] for name in CLASSES) == pytest.approx(row["planned_ac"])
    return row["outcome"], row["differs"], [row[name] for name in CLASSES]


EARLIER = record("2026-06-01", "hay", "B")  # so that the log speaks of 2026 on

ONE_PLAN = {
    "on the last day": (
        plan(),
        [record("2027-04-20")],
        ("done_as_planned", None, [40, 0, 0, 0, 0]),
    ),
    "a day late": (
        plan(),
        [record("2027-04-21")],
        ("done_otherwise", "day", [0, 40, 0, 0, 0]),
    ),
    "60 days late": (plan(), [record("2027-06-19")], ("done_otherwise", "day", [0, 40, 0, 0, 0])),
    "61 days late": (plan(), [record("2027-06-20")], ("not_done", None, [0, 0, 40, 0, 0])),
    "much later, named": (
        plan(),
        [record("2027-10-20", plan="burn:North")],
        ("done_otherwise", "day", [0, 40, 0, 0, 0]),
    ),
    # The year is not over yet on the day that the next plan is looked at from.
    "before the plan was made": (
        plan(days=("", "")),
        [record("2026-11-15")],
        ("untold", None, [0, 0, 0, 40, 0]),
    ),
    "planned for no day": (
        plan(days=("", "")),
        [record("2027-10-10")],
        ("done_as_planned", None, [40, 0, 0, 0, 0]),
    ),
    "begun some days before": (
        plan("graze", days=("06-01", "06-30")),
        [record("2027-05-28", "graze", end="2027-06-30")],
        ("done_otherwise", "day", [0, 40, 0, 0, 0]),
    ),
    "in part": (
        plan(),
        [record("2027-04-10", acres=12.5)],
        ("done_otherwise", "acres", [0, 12.5, 27.5, 0, 0]),
    ),
    "in two parts": (
        plan(),
        [record("2027-04-10", acres=12.5), record("2027-04-12", acres=27.5)],
        ("done_as_planned", None, [40, 0, 0, 0, 0]),
    ),
    "on more than was planned": (
        plan(work_ac=30.0),
        [record("2027-04-10")],
        ("done_as_planned", None, [30, 0, 0, 0, 0]),
    ),
    "on unknown acres": (
        plan(),
        [record("2027-04-10", acres=None, acres_from="unknown")],
        ("done_as_planned", None, [0, 0, 0, 40, 0]),
    ),
    "another kind": (
        plan(),
        [record("2027-04-10", "mow")],
        ("not_done", None, [0, 0, 40, 0, 0]),
    ),
    "on the next unit": (
        plan(),
        [record("2027-04-10", unit_id="B")],
        ("not_done", None, [0, 0, 40, 0, 0]),
    ),
    "other animals": (
        plan("graze", days=("06-01", "06-30"), head=40),
        [record("2027-06-01", "graze", head=30, end="2027-06-30")],
        ("done_otherwise", "animals", [0, 40, 0, 0, 0]),
    ),
    "another mix and method": (
        plan("seed", days=("05-20", "05-20"), mix="wet", method="drill"),
        [record("2027-05-20", "seed", mix="dry", method="broadcast")],
        ("done_otherwise", "method, mix", [0, 40, 0, 0, 0]),
    ),
}


@pytest.mark.parametrize("situation", ONE_PLAN)
def test_what_counts_as_done(situation):
    planned, records, (code, differs, acres) = ONE_PLAN[situation]
    found = told(season_run(2027, [planned]), season_run(2028, (), [EARLIER, *records]))
    assert found == (code, differs, pytest.approx(acres, abs=NEAR))


def test_days_that_no_later_log_speaks_of_are_not_told():
    assert told(season_run(2027, [plan()], [EARLIER]))[0] == "untold"
    assert told(season_run(2027, [plan()]), season_run(2028))[0] == "untold"
    # The later run is looked at before the days of the plan are over.
    late = plan(days=("11-20", "11-25"))
    assert told(season_run(2027, [late]), season_run(2028, (), [EARLIER]))[0] == "untold"


def test_log_that_begins_anew_each_season_speaks_of_its_own_days():
    runs = [
        season_run(2027, [plan()]),
        season_run(2028, (), [record("2027-04-10")]),
        season_run(2029, (), [record("2028-05-01", "hay", "B")]),
    ]
    assert told(*runs)[0] == "done_as_planned"
    _, log = outcomes(*runs)
    assert (log.rows["told_in"].tolist(), log.notes) == ([2028, 2029], ())


def test_record_that_the_newer_log_has_no_more_is_told_and_counts_as_not_done():
    runs = [
        season_run(2027, [plan()]),
        season_run(2028, (), [EARLIER, record("2027-04-10")]),
        season_run(2029, (), [EARLIER]),
    ]
    assert told(*runs)[0] == "not_done"
    _, log = outcomes(*runs)
    assert [note["code"] for note in log.notes] == ["record_withdrawn"]


def test_record_is_missed_though_another_unit_burned_on_the_same_day():
    both = [record("2027-04-10"), record("2027-04-10", unit_id="B")]
    runs = [
        season_run(2028, (), [EARLIER, *both]),
        season_run(2029, (), [EARLIER, both[0]]),
    ]
    _, log = outcomes(*runs)
    assert [(note["code"], note["about"]) for note in log.notes] == [("record_withdrawn", "B")]
    renamed = {"A1": SQUARES["A"], "B": SQUARES["B"]}
    runs[1] = season_run(2029, (), [EARLIER, both[0] | {"unit_id": "A1"}, both[1]], units=renamed)
    assert outcomes(*runs)[1].notes == ()


def test_record_that_grew_counts_once_and_as_the_newest_log_has_it():
    grazed = record("2027-06-01", "graze", end="2027-06-10")
    runs = [
        season_run(2028, (), [EARLIER, grazed]),
        season_run(2029, (), [EARLIER, grazed | {"end": "2027-07-30"}]),
    ]
    _, log = outcomes(*runs)
    (row,) = log.rows[log.rows["kind"] == "graze"].to_dict("records")
    assert row["end"] == pd.Timestamp(2027, 7, 30)


def test_plan_that_stands_again_for_the_same_days_is_carried_over():
    days = {"days": ("11-20", "11-25")}
    runs = [
        season_run(2027, [plan(**days)]),
        season_run(2028, [plan(**days)]),
        season_run(2029, (), [EARLIER, record("2027-11-21")]),
    ]
    rows, _ = outcomes(*runs)
    assert rows["season"].tolist() == [2028, 2027]
    assert rows["outcome"].tolist() == ["done_as_planned", "carried_over"]
    assert rows["carried_over_ac"].tolist() == pytest.approx([0, 40], abs=NEAR)


def test_what_is_left_of_work_under_way_counts_in_the_season_that_planned_it():
    rested = record("2027-01-01", "rest", end="2027-11-15")
    whole = plan("rest", days=("01-01", "12-31"), days_from="log", work_id="rest:A:2027-01-01")
    left = plan("rest", days=("11-16", "12-31"), days_from="log", work_id="rest:A:2027-11-16")
    rows, _ = outcomes(
        season_run(2027, [whole], [EARLIER]),
        season_run(2028, [left], [EARLIER, rested]),
        season_run(2029, (), [EARLIER, rested | {"end": "2027-12-31"}]),
    )
    assert rows.set_index("season")["outcome"].to_dict() == {
        2028: "carried_over",
        2027: "done_as_planned",
    }
    assert rows["records"].sum() == 1


def test_record_is_of_one_plan_alone():
    spring, fall = plan(work_id="burn:one"), plan(work_id="burn:two", days=("05-01", "05-10"))
    rows, _ = outcomes(
        season_run(2027, [spring, fall]), season_run(2028, (), [EARLIER, record("2027-04-25")])
    )
    assert rows.set_index("work_id")["outcome"].to_dict() == {
        "burn:one": "done_otherwise",
        "burn:two": "not_done",
    }
    assert rows["records"].sum() == 1


def test_work_of_a_time_that_nobody_planned_is_not_without_a_plan():
    past = record("2025-04-10")
    rows, _ = outcomes(season_run(2028), season_run(2030, (), [past, record("2028-04-10")]))
    assert rows[["season", "outcome"]].values.tolist() == [[2028, "done_without_plan"]]


BOTH = {"AB": box(0, 0, 2 * SIDE, SIDE)}


def test_record_of_a_larger_unit_counts_by_its_share_of_the_ground():
    burned = record("2027-04-10", unit_id="AB", acres=80.0)
    rows, _ = outcomes(season_run(2027, [plan()]), season_run(2028, (), [burned], units=BOTH))
    columns = ["outcome", "done_ac", "without_plan_ac"]
    assert rows[columns].values.tolist() == [
        ["done_as_planned", pytest.approx(40, abs=NEAR), 0],
        ["done_without_plan", pytest.approx(40, abs=NEAR), pytest.approx(40, abs=NEAR)],
    ]


def test_record_of_units_that_were_merged_is_of_the_plan_of_each():
    """Two forties planned apart, burned in a day as one of eighty: nothing was left undone."""
    plans = [plan(), plan(unit_id="B", work_id="burn:South")]
    burned = record("2027-04-10", unit_id="AB", acres=80.0)
    rows, _ = outcomes(season_run(2027, plans), season_run(2028, (), [burned], units=BOTH))
    assert rows["outcome"].tolist() == ["done_as_planned"] * 2
    assert rows["done_ac"].tolist() == pytest.approx([40, 40], abs=NEAR)


days = st.integers(1, 28)
plans = st.lists(
    st.tuples(st.sampled_from("AB"), st.sampled_from(["burn", "mow"]), days, st.floats(0.1, 40)),
    max_size=4,
    unique_by=lambda row: row[:3],
)
records = st.lists(
    st.tuples(
        st.sampled_from("AB"),
        st.sampled_from(["burn", "mow"]),
        st.integers(1, 12),
        st.none() | st.floats(0.1, 60),
    ),
    max_size=5,
)


@settings(max_examples=15, deadline=None)
@given(plans, plans, records)
def test_acres_planned_are_the_sum_of_the_classes_and_each_record_counts_once(first, then, done):
    runs = [
        season_run(
            season,
            [
                plan(k, u, (f"04-{d:02d}", "04-28"), season=season, work_ac=ac, work_id=f"{k}:{d}")
                for u, k, d, ac in drawn
            ],
        )
        for season, drawn in ((2027, first), (2028, then))
    ]
    book = [record(f"2027-{m:02d}-15", k, u, ac) for u, k, m, ac in done if m < 11]
    rows, log = outcomes(*runs, season_run(2029, (), [EARLIER, *book]))
    assert len(rows[rows["outcome"] != "done_without_plan"]) == len(first) + len(then)
    sums = rows[CLASSES].astype(float).sum(axis=1)
    assert sums.tolist() == pytest.approx(rows["planned_ac"].tolist())
    assert rows["records"].sum() == len(log.rows) - 1  # the one before any plan
