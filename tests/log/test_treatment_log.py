"""The log of treatments: a row that cannot be used is told once, and moves no figure.

There is no outside source here. What is checked is that one gate stands before all steps.
"""

import shutil
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal

from pipeline.catalog import LAYERS, chosen_settings
from pipeline.core.findings import findings_frame
from pipeline.core.layer import conform
from pipeline.log.findings import find_treatments
from pipeline.log.layers import KINDS
from pipeline.log.treatment_log import (
    burns_of,
    event_words,
    keep_done,
    keep_open_plans,
    keep_planned,
    keep_usable_rows,
    mark_treatments,
    treatments_of,
    why_left_out,
    within,
)
from pipeline.runner import gathered, read_property, step_layer
from pipeline.steps import STEPS
from tests.literal_layers import literal_layer
from tests.made_season import square_units

PROJECT = Path(__file__).parents[2]
UNITS = square_units(P1=80, P2=80)
RECORDS = ("record_book", "burn_reports", "seed_records", "work_records", "record_findings")
NO_PLANS = literal_layer("open_plans")
BAD = {
    "P2,2026-04-15,2026-04-01,burn,,,": "the burn ends on 2026-04-01, before it begins on "
    "2026-04-15: left out",
    "P4,2025-08-01,2024-08-01,graze,20,1.3,": "the graze ends on 2024-08-01, before it begins on "
    "2025-08-01: left out",
    "P1,,2026-04-20,burn,,,": "the burn has no first day: left out",
    "P3,,,hay,,,": "the hay has no first day: left out",
    ",2026-04-12,2026-04-12,burn,,,": "the burn names no unit: left out",
    "Q9,2026-04-12,2026-04-12,burn,,,": 'unit "Q9" is not on the map: left out; ',
    "p5 ,2026-04-12,2026-04-02,graze,,,": 'unit "p5" is not on the map and the graze ends on '
    '2026-04-02, before it begins on 2026-04-12: left out; did you mean "P5"?',
}


def gate(*rows):
    """The rows that are used, and what is told of the others."""
    treatments = literal_layer("treatments", rows)
    used = conform(keep_usable_rows(treatments, UNITS), LAYERS["usable_log"])
    return used, findings_frame(find_treatments(treatments, UNITS))


def test_only_the_gate_reads_the_table_as_it_was_written():
    readers = {step.writes for step in STEPS if "treatments" in step.reads}
    assert readers == {"usable_log", "open_plans", "record_book"}
    first = next(step for step in STEPS if step.writes == "treatment_log")
    others = [step for step in STEPS if "treatment_log" in step.reads]
    assert all(STEPS.index(first) < STEPS.index(step) for step in others)


def test_rows_that_cannot_be_used_change_nothing_but_the_findings(sample_layers, tmp_path):
    for name in ("sample_geo", "config"):
        shutil.copytree(PROJECT / name, tmp_path / name)
    table = tmp_path / "sample_geo" / "treatments.csv"
    lines = table.read_text("utf-8").splitlines()
    # In between, so that rows after them keep their own numbers.
    width = lines[0].count(",")
    bad = [row + "," * (width - row.count(",")) for row in BAD]
    table.write_text("\n".join([*lines[:40], *bad, *lines[40:]]) + "\n", "utf-8")
    told, intake = read_property(
        tmp_path / "sample_geo" / "larkspindle_prairie.toml", (tmp_path / "config",)
    )
    before, crs = sample_layers
    after = before | intake.frames
    # What reads no changed layer comes out as it did: steps are functions of what they read.
    moved = {n for n in intake.frames if not intake.frames[n].equals(before[n])}
    for step in STEPS:
        if moved & {*step.reads}:
            after[step.writes] = step_layer(step, after, chosen_settings(told), crs)
            if not after[step.writes].equals(before[step.writes]):
                moved.add(step.writes)
    after["findings"] = gathered([f for n, f in after.items() if n.endswith("_findings")], intake)
    # Layers of files hold the paths of the copy, sources the table's checksum too.
    changed = {name for name, layer in LAYERS.items() if "path" in layer.column_names}
    changed |= {"treatments", "findings", "intake_findings"}
    # What moves no figure is kept in the record book, and there its rows are numbered anew.
    changed |= {"findings_by_cause", *RECORDS}
    for name in [name for name in LAYERS if name not in changed]:
        assert_frame_equal(after[name], before[name])
    old = set(before["findings"]["message"])
    new = after["findings"][~after["findings"]["message"].isin(old)]
    read, used = after["sources"].set_index("source").loc["treatments", ["rows_read", "rows_used"]]
    assert read - used == len(BAD)
    assert len(new) == len(BAD) == len(after["findings"]) - len(before["findings"])
    assert set(new["source"]) == {"treatments"}
    assert set(new["severity"]) == {"warning"}
    for number, (row, words) in enumerate(BAD.items(), 40):
        message = new.loc[new["row"] == number, "message"].item()
        assert message.startswith(words), row


DAYS = st.dates(pd.Timestamp("2015-01-01").date(), pd.Timestamp("2027-12-31").date())
LENGTHS = st.integers(0, 200)
GOOD_ROW = st.fixed_dictionaries(
    {
        "unit_id": st.sampled_from(["P1", "P2"]),
        "start": DAYS,
        "days": st.none() | LENGTHS,
        "kind": st.sampled_from(KINDS),
    }
)
BAD_ROW = st.one_of(
    GOOD_ROW.map(lambda row: row | {"unit_id": None}),
    GOOD_ROW.map(lambda row: row | {"unit_id": "P3"}),
    GOOD_ROW.map(lambda row: row | {"start": None}),
    st.tuples(GOOD_ROW, st.integers(1, 999)).map(lambda both: both[0] | {"days": -both[1]}),
)


def written(row):
    """A row of the table from its first day and how many days later it ends."""
    start, days = row["start"] and pd.Timestamp(row["start"]), row["days"]
    end = None if start is None or days is None else start + pd.Timedelta(days=days)
    return {"unit_id": row["unit_id"], "start": start, "end": end, "kind": row["kind"]}


@settings(deadline=None)
@given(
    st.lists(GOOD_ROW, max_size=6, unique_by=lambda row: frozenset(row.items())),
    st.lists(BAD_ROW, min_size=1, max_size=4),
    st.randoms(),
)
def test_bad_rows_among_good_ones_are_told_once_and_used_nowhere(good, bad, random):
    marked = [(row, False) for row in good] + [(row, True) for row in bad]
    random.shuffle(marked)
    used, told = gate(*(written(row) for row, _ in marked))
    alone, quiet = gate(*(written(row) for row, is_bad in marked if not is_bad))
    assert_frame_equal(used, alone)
    assert len(used) == len(good)
    left_out = told[told["message"].str.contains("left out")]
    assert list(left_out["row"]) == [n for n, (_, is_bad) in enumerate(marked, 1) if is_bad]
    assert len(told) - len(left_out) == len(quiet)


@settings(deadline=None)
@given(st.lists(GOOD_ROW, max_size=6), st.randoms())
def test_order_of_the_rows_does_not_matter(rows, random):
    used, _ = gate(*map(written, rows))
    other = list(rows)
    random.shuffle(other)
    again, _ = gate(*map(written, other))
    assert sorted(map(str, used.to_dict("records"))) == sorted(map(str, again.to_dict("records")))
    assert list(used["start"]) == sorted(used["start"])


def test_row_without_a_last_day_ends_on_its_first():
    used, told = gate({"unit_id": "P1", "start": "2026-04-14", "kind": "burn"})
    assert list(used["end"]) == [pd.Timestamp("2026-04-14")]
    assert told.empty


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"head": None}, "animal-unit days are unknown"),
        ({"animal_unit_equivalent": 1.2}, "animal-unit days are unknown"),
        ({"head": 5}, "animal-unit days are unknown"),
        ({"head": 5, "animal_unit_equivalent": 20}, "is it the head?"),
    ],
)
def test_grazing_told_in_part_is_used_and_told(row, words):
    used, told = gate({"unit_id": "P1", "start": "2026-06-01", "kind": "graze", **row})
    assert len(used) == 1
    assert words in told["message"].item()


def test_rest_is_no_treatment():
    rest = {"unit_id": "P1", "start": "2026-01-01", "end": "2026-12-31", "kind": "rest"}
    burn = {"unit_id": "P1", "start": "2026-04-14", "kind": "burn"}
    mow = {"unit_id": "P1", "start": "2026-07-01", "kind": "mow"}
    used, _ = gate(rest, burn, mow)
    assert list(treatments_of(used)["kind"]) == ["burn", "mow"]
    assert list(burns_of(used)["kind"]) == ["burn"]


def test_what_keeps_a_row_out_is_a_code_for_each_obstacle():
    rows = [
        {"start": "2026-04-01"},
        {"unit_id": "P9", "start": "2026-04-02", "end": "2026-04-01"},
        {"unit_id": "P1"},
        {"unit_id": "P1", "start": "2026-04-02", "end": "2026-04-02"},
    ]
    table = literal_layer("treatments", [row | {"kind": "burn"} for row in rows])
    assert list(why_left_out(table, UNITS)) == [
        ("no_unit",),
        ("unknown_unit", "ends_before_it_begins"),
        ("no_first_day",),
        (),
    ]
    assert [f["code"] for f in find_treatments(table, UNITS)] == [
        "no_unit",
        "unknown_unit",
        "no_first_day",
    ]


@pytest.mark.parametrize(
    ("until", "words"),
    [
        ("2026-04-13", None),
        ("2026-04-14", "burn 2026-04-14"),
        ("2026-06-01", "burn 2026-04-14; graze 2026-06-01 to 2026-07-15"),
    ],
)
def test_events_within_a_span_reach_to_its_last_day(until, words):
    used, _ = gate(
        {"unit_id": "P1", "start": "2026-04-14", "kind": "burn"},
        {"unit_id": "P1", "start": "2026-06-01", "end": "2026-07-15", "kind": "graze"},
        {"unit_id": "P1", "start": "2025-06-01", "end": "2025-07-20", "kind": "graze"},
    )
    span = within(used, pd.Timestamp("2025-07-20"), pd.Timestamp(until))
    assert event_words(span) == words


def test_first_picture_looks_back_a_year_and_a_later_one_to_the_picture_before():
    used, _ = gate(
        {"unit_id": "P1", "start": "2024-07-20", "kind": "hay"},
        {"unit_id": "P1", "start": "2024-07-22", "kind": "mow"},
        {"unit_id": "P1", "start": "2026-04-14", "kind": "burn"},
    )
    days = pd.to_datetime(["2025-07-21", "2026-07-22", "2026-07-22"])
    scenes = pd.DataFrame({"unit_id": ["P1", "P1", "P2"], "date": days})
    assert mark_treatments(scenes, used) == ["mow 2024-07-22", "burn 2026-04-14", None]


def test_a_row_under_way_is_done_until_the_day_and_planned_from_the_next():
    days = {"start": pd.Timestamp("2026-05-01"), "end": pd.Timestamp("2026-05-10")}
    rows = [{"unit_id": "P1", "kind": "graze", **days}]
    log = keep_usable_rows(literal_layer("treatments", rows), UNITS)
    for as_of, done_days, planned_days in (
        ("2026-04-30", 0, 10),
        ("2026-05-01", 1, 9),
        ("2026-05-09", 9, 1),
        ("2026-05-10", 10, 0),
    ):
        place = literal_layer("property", [{"name": "P", "season": 2026, "as_of": as_of}])
        parts = keep_done(log, place), keep_planned(log, place, NO_PLANS)
        counted = [int(((p["end"] - p["start"]).dt.days + 1).sum()) for p in parts]
        assert counted == [done_days, planned_days]


def test_without_a_day_to_look_from_all_of_the_log_is_done():
    rows = [{"unit_id": "P1", "kind": "burn", "start": "2199-05-01"}]
    log = keep_usable_rows(literal_layer("treatments", rows), UNITS)
    place = literal_layer("property", [{"name": "P", "season": 2026}])
    assert len(keep_done(log, place)) == 1
    assert keep_planned(log, place, NO_PLANS).empty


def test_a_grazing_told_twice_counts_once_and_is_told():
    # No outside source: two rows alike in every cell are one grazing, or its animals count twice.
    row = {"unit_id": "P1", "kind": "graze", "start": "2026-05-01", "head": 20.0}
    treatments = literal_layer("treatments", [row, row, row | {"head": 10.0}])
    assert list(keep_usable_rows(treatments, UNITS)["head"]) == [20.0, 10.0]
    told = [f for f in find_treatments(treatments, UNITS) if f["code"] == "doubled"]
    assert [(f["row"], f["subject"]) for f in told] == [(2, "P1")]
    assert "stands in the log twice" in told[0]["message"]


def test_a_row_with_a_planned_day_alone_is_planned_and_never_done():
    rows = [
        {"unit_id": "P1", "kind": "burn", "planned_start": "2027-04-01"},
        {
            "unit_id": "P2",
            "kind": "hay",
            "planned_start": "2026-07-01",
            "planned_end": "2026-07-03",
        },
        {"unit_id": "P2", "kind": "mow", "planned_start": "2026-06-01", "start": "2026-06-09"},
    ]
    treatments = literal_layer("treatments", rows)
    assert why_left_out(treatments, UNITS).map(len).eq(0).all()
    log, plans = keep_usable_rows(treatments, UNITS), keep_open_plans(treatments, UNITS)
    assert log["kind"].to_list() == ["mow"]
    assert [str(day.date()) for day in plans["end"]] == ["2026-07-03", "2027-04-01"]
    place = literal_layer("property", [{"name": "P", "season": 2027, "as_of": "2026-11-15"}])
    assert keep_done(log, place)["kind"].to_list() == ["mow"]
    assert keep_planned(log, place, plans)["kind"].to_list() == ["burn"], "the hay's days are over"


def test_a_plan_that_ends_before_it_begins_or_has_no_day_is_told():
    rows = [
        {
            "unit_id": "P1",
            "kind": "hay",
            "planned_start": "2026-07-03",
            "planned_end": "2026-07-01",
        },
        {"unit_id": "P1", "kind": "hay", "planned_end": "2026-07-01"},
    ]
    treatments = literal_layer("treatments", rows)
    told = findings_frame(find_treatments(treatments, UNITS))
    assert told["code"].to_list() == ["ends_before_it_begins", "no_first_day"]
    assert "ends on 2026-07-01, before it begins on 2026-07-03" in told["message"].iloc[0]
    assert keep_open_plans(treatments, UNITS).empty
