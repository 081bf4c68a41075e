"""Planned work: every row of burns, seedings and the log's future once, with its acres and days."""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.log.treatment_log import keep_done, keep_open_plans, keep_planned, keep_usable_rows
from pipeline.work.planned import list_planned_work
from pipeline.work.planned_findings import find_planned
from tests.literal_layers import literal_layer
from tests.made_season import fuel_rows, property_row, square_units
from tests.work.made_plan import burn, logged

UNITS = square_units(A=80, B=60, C=40, D=20)
LEFT_OUT = UNITS.assign(burnable_ac=UNITS["gross_ac"] - 2, seedable_ac=UNITS["gross_ac"] - 3)
WINDOW = ("2027-03-01", "2027-05-20")
TOLD = []
"""Findings of the plan that was made last."""


def planned(burns=(), seedings=(), log=(), as_of="2026-11-15", fuel=None, perimeters=()):
    """Layer ``planned_work`` of four units, with the gates of the log before it."""
    place = property_row(as_of=as_of)
    told_rows = literal_layer("treatments", log)
    usable, plans = keep_usable_rows(told_rows, LEFT_OUT), keep_open_plans(told_rows, LEFT_OUT)
    future = conform(keep_planned(usable, place, plans), LAYERS["planned_log"])
    if fuel is None:
        fuel = fuel_rows(UNITS, burn_from=WINDOW[0], burn_until=WINDOW[1])
    of_file = literal_layer("burns", burns), literal_layer("seedings", seedings)
    done = conform(keep_done(usable, place), LAYERS["treatment_log"])
    told_of, shapes = [row for row, _ in perimeters], [shape for _, shape in perimeters]
    drawn = literal_layer("burned_areas", told_of, shapes or None, UNITS.crs)
    rows = list_planned_work(LEFT_OUT, *of_file, future, done, drawn, fuel, place)
    told = find_planned(LEFT_OUT, *of_file, usable, done, drawn, fuel, place)
    TOLD[:] = told["message"].to_list()
    return conform(rows, LAYERS["planned_work"], UNITS.crs)


def days_of(row):
    return str(row["first_day"].date()), str(row["last_day"].date()), row["days_from"]


def test_nothing_planned_is_an_empty_layer():
    assert planned().empty
    assert planned().crs == UNITS.crs


def test_burn_has_its_own_days_or_those_of_its_units_window():
    work = planned([*burn("b", "A", "B"), *burn("c", "C", days=None)])
    assert work["work_id"].to_list() == ["burn:b", "burn:b", "burn:c"]
    assert [days_of(row) for row in work.to_dict("records")] == [
        ("2027-04-01", "2027-04-20", "property_file"),
        ("2027-04-01", "2027-04-20", "property_file"),
        (*WINDOW, "fuel_window"),
    ]
    assert work["work_ac"].to_list() == [78, 58, 38]  # burnable acres


@pytest.mark.parametrize(("share", "is_done"), [(0.3, False), (0.97, True)])
def test_burn_that_was_drawn_on_part_of_its_unit_has_not_burned_all_of_it(share, is_done):
    unit = UNITS.geometry.iloc[0]
    west, south, east, north = unit.bounds
    perimeter = box(west, south, west + share * (east - west), north)
    work = planned(
        burn("b", "A"),
        log=[logged("A", "burn", "2027-04-02")],
        as_of="2027-04-20",
        perimeters=[({"unit_id": "A", "date": "2027-04-02"}, perimeter)],
    )
    assert work.empty == is_done


def test_burn_without_a_window_has_no_days():
    work = planned(burn("b", "A", days=None), fuel=fuel_rows(UNITS))
    assert work.loc[0, ["first_day", "last_day"]].isna().all()
    assert work.loc[0, "days_from"] == "none"


def test_window_whose_first_day_is_not_known_keeps_its_last_day():
    work = planned(burn("b", "A", days=None), fuel=fuel_rows(UNITS, burn_until=WINDOW[1]))
    assert pd.isna(work.loc[0, "first_day"])
    assert (str(work.loc[0, "last_day"].date()), work.loc[0, "days_from"]) == (
        WINDOW[1],
        "fuel_window",
    )


def test_two_rows_of_one_unit_and_day_are_two_pieces_of_work():
    row = logged("A", "graze", "2027-05-01", "2027-06-01", head=10)
    work = planned(log=[row, row | {"acres_treated_ac": 12.5}])
    assert work["work_id"].to_list() == ["graze:A:2027-05-01", "graze:A:2027-05-01:2"]
    assert work["work_ac"].to_list() == [80, 12.5]


def test_block_with_the_name_of_a_logged_burn_is_another_piece_of_work():
    work = planned(burn("A:2027-04-10", "A"), log=[logged("A", "burn", "2027-04-10")])
    assert work["work_id"].nunique() == 2


def test_row_under_way_is_planned_from_the_next_day_on():
    work = planned(log=[logged("A", "rest", "2026-01-01", "2026-12-31")])
    assert work["work_id"].to_list() == ["rest:A:2026-11-16"]
    assert days_of(work.iloc[0]) == ("2026-11-16", "2026-12-31", "log")


def test_seeding_falls_on_its_planting_day():
    row = {"area": "s", "mix": "m", "method": "drill", "planting": "2027-05-20"}
    work = planned(seedings=[row | {"unit_id": "A"}, row | {"unit_id": "D"}])
    assert work["work_id"].to_list() == ["seed:s", "seed:s"]
    assert work["work_ac"].to_list() == [77, 17]  # seedable acres
    assert days_of(work.iloc[1]) == ("2027-05-20", "2027-05-20", "property_file")


BURNED = logged("A", "burn", "2027-04-08")


@pytest.mark.parametrize(
    ("days", "record", "as_of", "left"),
    [
        (None, BURNED, "2027-04-20", ["B"]),
        (("2027-04-10", "2027-04-20"), BURNED, "2027-04-20", ["B"]),
        (("2027-04-10", "2027-04-20"), BURNED | {"acres_treated_ac": 80.0}, "2027-04-20", ["B"]),
        # A blackline is no burn of the unit, one last spring none of this season's, and one
        # that is planned itself is not done. A burn in fall is another one.
        (None, BURNED | {"acres_treated_ac": 6.0}, "2027-04-20", ["A", "B"]),
        (None, logged("A", "burn", "2026-04-08"), "2027-04-20", ["A", "B"]),
        (None, logged("A", "hay", "2027-04-08"), "2027-04-20", ["A", "B"]),
        (("2027-04-10", "2027-04-20"), BURNED, "2027-04-07", ["A", "B"]),
        (("2027-10-10", "2027-10-20"), BURNED, "2027-04-20", ["A", "B"]),
    ],
)
def test_what_the_log_has_as_done_is_planned_no_longer(days, record, as_of, left):
    work = planned(burn("b", "A", "B", days=days), log=[record], as_of=as_of)
    assert work.loc[work["block"].notna(), "unit_id"].to_list() == left
    done = [line for line in TOLD if "has it done: A on 2027-04-08" in line]
    assert len(done) == 2 - len(left)


NEXT_DAY = logged("A", "burn", "2027-04-09")


@pytest.mark.parametrize(
    ("acres", "left_ac"),
    # 78 of the 80 acres of the unit can burn.
    [
        ((6.0,), 72),
        ((40.0, 30.0), 8),
        ((40.0, 38.0), None),
        ((40.0, 40.0), None),
        ((78.0,), None),
        ((30.0, None), None),
    ],
)
def test_acres_told_of_several_days_add_up_and_what_is_left_is_planned(acres, left_ac):
    rows = zip((BURNED, NEXT_DAY), acres, strict=False)
    log = [row | {"acres_treated_ac": told} for row, told in rows]
    work = planned(burn("b", "A"), log=log, as_of="2027-04-20")
    assert work["work_ac"].to_list() == ([] if left_ac is None else [left_ac])
    if left_ac is None:
        assert f"has it done: A on {log[-1]['start']}" in TOLD[0]


def part_of_a(low, high):
    """The unit A between two shares of its width."""
    west, south, east, north = UNITS.geometry.iloc[0].bounds
    return box(west + low * (east - west), south, west + high * (east - west), north)


@pytest.mark.parametrize(
    ("second", "left_ac"),
    [((0.5, 1.0), None), ((0.0, 0.5), 38), ((0.25, 0.75), 18), ((0.5, 0.97), None)],
)
def test_drawn_parts_of_two_days_count_once_where_they_lie_on_each_other(second, left_ac):
    drawn = [("2027-04-08", (0.0, 0.5)), ("2027-04-09", second)]
    perimeters = [({"unit_id": "A", "date": day}, part_of_a(*part)) for day, part in drawn]
    log = [BURNED, NEXT_DAY]
    work = planned(burn("b", "A"), log=log, as_of="2027-04-20", perimeters=perimeters)
    left = [] if left_ac is None else [left_ac]
    assert work["work_ac"].to_list() == pytest.approx(left, abs=0.01)


def test_a_perimeter_beside_its_unit_takes_no_acres_of_it():
    aside = part_of_a(1.5, 1.8)
    perimeters = [({"unit_id": "A", "date": day}, aside) for day in ("2027-04-08", "2027-04-09")]
    log = [BURNED, NEXT_DAY]
    work = planned(burn("b", "A"), log=log, as_of="2027-04-20", perimeters=perimeters)
    assert work["work_ac"].to_list() == [78]


def test_sowings_of_two_days_are_not_added_up():
    row = {"area": "s", "mix": "m", "method": "drill", "planting": "2027-04-10", "unit_id": "A"}
    log = [logged("A", "seed", f"2027-04-0{n}", acres_treated_ac=39.0) for n in (8, 9)]
    assert planned(seedings=[row], log=log, as_of="2027-04-20")["work_ac"].to_list() == [77]


@pytest.mark.parametrize(
    ("start", "as_of", "ahead"),
    [
        ("2027-12-31", "2026-11-15", 1),
        ("2028-01-01", "2026-11-15", 0),
        ("2030-04-05", "2026-11-15", 0),
    ],
)
def test_what_begins_after_the_year_of_the_season_is_told_and_left(start, as_of, ahead):
    assert len(planned(log=[logged("A", "burn", start)], as_of=as_of)) == ahead
    assert len(TOLD) == 1 - ahead
    assert all(f"burn of A {start}" in line for line in TOLD)


ROWS = st.lists(
    st.tuples(
        st.sampled_from("ABCD"),
        st.sampled_from(["burn", "graze", "rest", "mow", "hay", "spray", "seed"]),
        st.integers(-40, 400),
        st.integers(0, 60),
        st.none() | st.floats(0.5, 100),
    ),
    max_size=12,
    unique=True,  # grazing that stands twice, alike in every cell, counts once
)
BLOCKS = st.dictionaries(st.sampled_from("ABCD"), st.sampled_from(["x", "y"]), max_size=4)


@settings(deadline=None, max_examples=40)
@given(rows=ROWS, block_of=BLOCKS, own_days=st.booleans())
def test_rows_and_acres_in_are_rows_and_acres_out(rows, block_of, own_days):
    as_of = pd.Timestamp("2026-11-15")
    told = [
        logged(unit, kind, as_of + pd.Timedelta(days=first), as_of + pd.Timedelta(days=first + run),
               acres_treated_ac=acres)
        for unit, kind, first, run, acres in rows
    ]  # fmt: skip
    days = ("2027-04-01", "2027-04-20") if own_days else None
    burns = [row for unit, block in block_of.items() for row in burn(block, unit, days=days)]
    work = planned(burns, log=told)
    ahead = [row for row in rows if row[2] + row[3] > 0]
    gross = UNITS.set_index("unit_id")["gross_ac"]
    of_log = [gross[unit] if acres is None else acres for unit, _, _, _, acres in ahead]
    assert len(work) == len(ahead) + len(burns)
    burned = sum(gross[unit] - 2 for unit in block_of)
    assert work["work_ac"].sum() == pytest.approx(sum(of_log) + burned)
    assert (work["first_day"] > as_of).all()
    assert (work["last_day"] >= work["first_day"]).all()
    assert set(work.loc[work["block"].notna(), "days_from"]) <= {
        "property_file" if own_days else "fuel_window"
    }


def test_empty_sources_leave_the_others_alone():
    assert len(planned(burn("b", "A"))) == 1
    assert len(planned(log=[logged("A", "mow", "2027-06-01")])) == 1
    assert empty(LAYERS["planned_work"], UNITS.crs).columns.to_list() == planned().columns.to_list()
