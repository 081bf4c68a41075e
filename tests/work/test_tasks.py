"""The list of tasks: what waits for what, their order, what is past; days by python-dateutil.

What waits for what is a graph, and the standard library's own sorter says whether it has a circle.
"""

from datetime import date

import geopandas as gpd
import pandas as pd
import pytest
import shapely
from dateutil.relativedelta import relativedelta
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.names import natural_key
from pipeline.work.layers import TASK_KINDS
from pipeline.work.settings import TaskSettings
from pipeline.work.tasks.task_rows import key_part, work_keys
from tests.literal_layers import literal_layer
from tests.made_season import fuel_rows, square_units, unit_rows
from tests.made_work import assert_whole, planned, row_of, season_work, waits

LEADS = TaskSettings()


def test_days_that_are_past_are_told_and_not_dropped():
    units = square_units(A=40)
    work = planned(
        units,
        {
            "work_id": "burn:Hill",
            "unit_id": "A",
            "kind": "burn",
            "block": "Hill",
            "first_day": "2027-03-20",
            "last_day": "2027-04-25",
        },
    )
    before = season_work({"units": units, "planned_work": work}, as_of="2026-11-15")["tasks"]
    after = season_work({"units": units, "planned_work": work}, as_of="2027-02-19")["tasks"]
    assert list(before["task_id"]) == list(after["task_id"])
    # 20 March less 30 days is 18 February (2027 is a common year).
    assert row_of(after, "ask_permit:burn:hill")["overdue"]
    assert not row_of(after, "give_notice:burn:hill")["overdue"]
    assert not before["overdue"].any()


def test_window_that_passed_and_a_day_from_which_on_something_may_be_done_are_not_overdue():
    units = square_units(A=40)
    work = planned(
        units,
        {
            "work_id": "burn:Hill",
            "unit_id": "A",
            "kind": "burn",
            "block": "Hill",
            "first_day": "2027-03-20",
            "last_day": "2027-04-25",
        },
    )
    fuel = fuel_rows(units, reason="no_window", burn_from="2027-03-01", burn_until="2027-04-25")
    history = unit_rows("history", units, record="on_record", days_grazed=30)
    days = {"stock_off_from": "2027-07-01", "stock_off_until": "2027-08-15", "year": 2027}
    days["outcome"] = "no_rule_holds"
    plan = unit_rows("season_plan", units, **days)
    layers = {"units": units, "planned_work": work, "fuel": fuel}
    layers |= {"history": history, "season_plan": plan}
    late = season_work(layers, as_of="2027-08-15")["tasks"].set_index("task_id")
    assert late.loc["ask_permit:burn:hill", "overdue"]
    assert late.loc["stock_off:2027-07-01:2027-08-15", "overdue"]
    assert not late.loc["window_opens:burn:hill", "overdue"]
    assert not late.loc["window_closes:burn:hill", "overdue"]
    assert not late.loc["stock_on:2027-07-01:2027-08-15", "overdue"]
    # The deferral is over: nobody takes stock off for it, nor waits for its end.
    over = season_work(layers, as_of="2027-08-16")["tasks"]
    assert not over["kind"].isin(["stock_off", "stock_on"]).any()


def test_part_of_a_unit_that_the_log_plans_keeps_its_acres():
    units = square_units(A=40)
    work = planned(
        units,
        {
            "work_id": "spray:A:2027-05-01",
            "unit_id": "A",
            "kind": "spray",
            "first_day": "2027-05-01",
            "last_day": "2027-05-03",
            "work_ac": 3.5,
        },
    )
    layers = season_work({"units": units, "planned_work": work}, costs={"spray_usd_ac": 42.0})
    row = row_of(layers["tasks"], "spray:spray:a-2027-05-01")
    assert (row["amount"], row["amount_unit"], row["who"]) == (3.5, "ac", "licensed_applicator")
    assert row["cost_usd"] == pytest.approx(3.5 * 42)
    assert (row["first_day"], row["due"]) == (
        pd.Timestamp("2027-05-01"),
        pd.Timestamp("2027-05-03"),
    )


def test_planned_grazing_goes_on_and_off_and_pays_by_head_and_day():
    units = square_units(A=40)
    grazing = {
        "work_id": "graze:A:2027-05-01",
        "unit_id": "A",
        "kind": "graze",
        "first_day": "2027-05-01",
        "last_day": "2027-05-30",
        "head": 20,
    }
    told = {"units": units, "planned_work": planned(units, grazing)}
    layers = season_work(told, costs={"graze_usd_head_day": 0.5})
    on = row_of(layers["tasks"], "stock_on:graze:a-2027-05-01")
    off = row_of(layers["tasks"], "stock_off:graze:a-2027-05-01")
    assert on["cost_usd"] == pytest.approx(20 * 30 * 0.5)  # both ends count: 30 days
    assert off["due"] == pd.Timestamp("2027-05-30")
    assert waits(off["waits_for"]) == [on["task_id"]]
    unknown = planned(units, grazing | {"head": None})
    on = row_of(
        season_work(told | {"planned_work": unknown}, costs={"graze_usd_head_day": 0.5})["tasks"],
        "stock_on:graze:a-2027-05-01",
    )
    assert pd.isna(on["cost_usd"])
    assert on["without_price"] == "head"


def test_stock_is_off_in_the_deferral_where_there_is_stock():
    units = square_units(A=40, B=40, C=40)
    plan = unit_rows(
        "season_plan",
        units,
        year=2027,
        outcome="no_rule_holds",
        stock_off_from="2027-07-01",
        stock_off_until="2027-08-15",
    )
    days = pd.Series([30, 0, 12], dtype="Int64")
    history = unit_rows("history", units, record="on_record").assign(days_grazed=days)
    tasks = season_work({"units": units, "season_plan": plan, "history": history})["tasks"]
    assert list(tasks["kind"]) == ["stock_off", "stock_on"]
    off, on = tasks.to_dict("records")
    assert off["names"] == on["names"] == "units A, C"
    assert (off["due"], on["first_day"]) == (pd.Timestamp("2027-07-01"), pd.Timestamp("2027-08-16"))
    assert pd.isna(on["due"]), "nobody has to bring them back on that day"
    assert off["geometry"].equals(shapely.union_all(units.geometry.iloc[[0, 2]].to_numpy()))


def test_the_end_of_the_deferral_puts_no_stock_on_a_unit_that_stays_closed():
    # A rests all season and B from the deferral on; D is closed in a part, which shuts no unit.
    units = square_units(A=40, B=40, C=40, D=40)
    plan = unit_rows(
        "season_plan",
        units,
        year=2027,
        outcome="no_rule_holds",
        stock_off_from="2027-07-01",
        stock_off_until="2027-08-15",
    )
    history = unit_rows("history", units, record="on_record", days_grazed=30)
    closed = literal_layer(
        "closed_days",
        [
            {"unit_id": unit_id, "closed_by": "plan_option", "number": 1, "closed_ac": acres}
            | {"first_day": first, "last_day": "2027-12-31"}
            for unit_id, first, acres in (
                ("A", "2027-04-15", 40.0),
                ("B", "2027-07-01", 40.0),
                ("D", "2027-04-15", 10.0),
            )
        ],
    )
    layers = {"units": units, "season_plan": plan, "history": history, "closed_days": closed}
    off, on = season_work(layers)["tasks"].to_dict("records")
    assert off["names"] == "units B, C, D"
    assert on["names"] == "units C, D"


LIMITS = {
    "contract": ("ask_contract_office", "contract_office", LEADS.office_days),
    "easement": ("ask_contract_office", "contract_office", LEADS.office_days),
    "species": ("ask_agency", "wildlife_agency", LEADS.agency_days),
}


@pytest.mark.parametrize("limit", LIMITS)
@pytest.mark.parametrize("approval", [None, "letter of 3 May"])
def test_whoever_has_the_word_on_a_limit_is_asked_in_time(limit, approval):
    units = square_units(A=40, B=40)
    work = planned(
        units,
        {
            "work_id": "mow:A:2027-08-20",
            "unit_id": "A",
            "kind": "mow",
            "first_day": "2027-08-20",
            "last_day": "2027-08-25",
        },
    )
    rows = [
        {"unit_id": u, "number": 1, "limit": limit, "note": "ask first", "approval": approval}
        for u in "AB"
    ]
    limits = literal_layer("season_limits", rows)
    tasks = season_work({"units": units, "planned_work": work, "season_limits": limits})["tasks"]
    kind, who, days = LIMITS[limit]
    asked = tasks[tasks["kind"] == kind]
    assert list(asked["unit_id"]) == ([] if approval else ["A"])
    if not approval:
        assert list(asked["who"]) == [who]
        assert asked["due"].iloc[0].date() == date(2027, 8, 20) + relativedelta(days=-days)
        head = row_of(tasks, "mow:mow:a-2027-08-20")
        assert waits(head["waits_for"]) == list(asked["task_id"])


def test_conflict_of_the_first_kind_is_settled_the_day_before():
    units = square_units(A=40)
    burn = {
        "work_id": "burn:Hill",
        "unit_id": "A",
        "kind": "burn",
        "block": "Hill",
        "first_day": "2027-03-01",
        "last_day": "2027-04-25",
    }
    one = {
        "number": 1,
        "seriousness": "stop_and_ask",
        "code": "species_limit",
        "work_id": "burn:Hill",
        "kind": "burn",
        "block": "Hill",
        "unit_id": "A",
        "against": "a rare butterfly",
        "who_decides": "wildlife_agency",
        "resolve": "ask",
        "source": "made",
    }
    rows = [
        one,
        one | {"number": 2, "against": "another one"},
        one | {"number": 3, "seriousness": "think_again", "code": "fuel_patchy"},
    ]
    conflicts = literal_layer("conflicts", rows, shapes=[units.geometry.iloc[0]] * 3, crs=units.crs)
    limits = literal_layer(
        "season_limits", [{"unit_id": "A", "number": 1, "limit": "species", "note": "ask"}]
    )
    tasks = season_work(
        {
            "units": units,
            "planned_work": planned(units, burn),
            "conflicts": conflicts,
            "season_limits": limits,
        }
    )["tasks"]
    settled = tasks[tasks["kind"] == "settle_conflict"]
    assert sorted(settled["names"]) == ["a rare butterfly", "another one"]
    assert set(settled["due"]) == {pd.Timestamp("2027-02-28")}
    assert set(settled["waits_for"]) == {"ask_agency:a:1"}
    opens = row_of(tasks, "window_opens:burn:hill")
    assert set(settled["task_id"]) <= set(waits(opens["waits_for"]))
    assert_whole(tasks)


def test_tasks_stand_by_day_then_kind_then_place_as_people_count():
    names = [f"North-{n}" for n in (10, 2, 1)]
    units = square_units(**dict.fromkeys(names, 40))
    rows = [
        {
            "work_id": f"burn:{name}",
            "unit_id": name,
            "kind": "burn",
            "block": name,
            "first_day": "2027-03-20",
            "last_day": "2027-04-25",
        }
        for name in names
    ]
    tasks = season_work({"units": units, "planned_work": planned(units, *rows)})["tasks"]
    permits = tasks[tasks["kind"] == "ask_permit"]
    assert list(permits["block"]) == ["North-1", "North-2", "North-10"]
    days = tasks["due"].fillna(pd.Timestamp("2999-01-01"))
    kinds = tasks["kind"].map(TASK_KINDS.index)
    assert list(zip(days, kinds, strict=True)) == sorted(zip(days, kinds, strict=True))


NAMES = st.text(st.characters(min_codepoint=1), max_size=8)
"""Any letters but the one that ends a text in C: tables of libraries do not tell it apart."""


@given(st.lists(NAMES, min_size=1, max_size=6, unique=True))
def test_no_two_works_share_a_key_and_none_holds_a_comma(names):
    keys = work_keys(pd.DataFrame({"work_id": [f"burn:{name}" for name in names]}))
    assert len(set(keys.values())) == len(names)
    assert not any("," in key or " " in key for key in keys.values())


DAYS = st.one_of(st.none(), st.dates(date(2026, 1, 1), date(2028, 12, 31)))


@st.composite
def works(draw):
    """A few pieces of planned work of any kind on three units, with days or without."""
    rows = []
    for number in range(draw(st.integers(1, 6))):
        kind = draw(st.sampled_from(["burn", "seed", "graze", "mow", "hay", "spray", "rest"]))
        days = sorted(filter(None, [draw(DAYS), draw(DAYS)])) or [None]
        places = {"burn": {"block": f"Block {number}"}, "seed": {"area": f"Area {number}"}}
        rows += [
            {
                "work_id": f"{kind}:{number}",
                "unit_id": unit,
                "kind": kind,
                "first_day": days[0],
                "last_day": days[-1],
                "days_from": "none" if days[0] is None else "log",
                **places.get(kind, {}),
            }
            for unit in draw(st.sets(st.sampled_from("ABC"), min_size=1))
        ]
    return rows


@settings(max_examples=20, deadline=None)
@given(works(), st.sampled_from(["contract", "species"]))
def test_list_holds_together_whatever_is_planned(rows, limit):
    units = square_units(A=40, B=40, C=40)
    limits = literal_layer(
        "season_limits", [{"unit_id": u, "number": 1, "limit": limit} for u in "AB"]
    )
    layers = {
        "units": units,
        "planned_work": planned(units, *rows),
        "season_limits": limits,
        "fuel": fuel_rows(units),
    }
    tasks = season_work(layers)["tasks"]
    assert_whole(tasks)
    shuffled = layers | {"planned_work": layers["planned_work"].sample(frac=1, random_state=1)}
    again = season_work(shuffled)["tasks"]
    pd.testing.assert_frame_equal(
        pd.DataFrame(tasks.drop(columns="geometry")), pd.DataFrame(again.drop(columns="geometry"))
    )
    # One task stands for each piece of work itself, but for a rest.
    heads = {"burn": "window_opens", "seed": "sow", "graze": "stock_on"}
    wanted = [heads.get(r, r) for r in {x["work_id"]: x["kind"] for x in rows}.values()]
    for kind in set(wanted) - {"rest"}:
        assert (tasks["kind"] == kind).sum() == wanted.count(kind)


def test_sample_holds_together(sample_run):
    frames = sample_run.frames
    tasks = frames["tasks"]
    assert_whole(tasks)
    assert isinstance(tasks, gpd.GeoDataFrame)
    stops = frames["conflicts"]["seriousness"].eq("stop_and_ask").sum()
    assert (tasks["kind"] == "settle_conflict").sum() == stops
    orders = tasks[tasks["kind"] == "order_seed"]
    need_by = frames["seed_order"]["need_by"].dropna().unique()
    assert set(orders["due"]) == {day - pd.Timedelta(days=30) for day in need_by}


def test_keys_of_names_stay_readable():
    assert key_part("North-2 (Höhe)") == "north-2-höhe"
    assert natural_key("North-2") < natural_key("North-10")


def test_proposed_moves_are_tasks_on_their_days_and_rows_without_ground_are_none():
    units = square_units(A=40, B=40)
    stay = {"move": "proposed", "stock_on": "2027-05-01", "stock_off": "2027-05-10", "days": 10}
    stay |= {"head": 12.0, "rule": "next_open", "verdict": "within_growth"}
    moves = [
        stay | {"number": 1, "unit_id": "B"},
        stay | {"number": 2, "unit_id": None, "move": "nowhere", "rule": "none_open"},
        stay | {"number": 3, "unit_id": "A", "move": "planned", "rule": "row_planned"},
    ]
    layers = {"units": units, "herd_moves": literal_layer("herd_moves", moves)}
    tasks = season_work(layers, costs={"graze_usd_head_day": 0.5})["tasks"]
    on, off = tasks.to_dict("records")
    assert (on["task_id"], on["unit_id"], on["amount"]) == (
        "stock_on:proposed:b-2027-05-01",
        "B",
        12,
    )
    assert (on["due"], off["due"]) == (pd.Timestamp("2027-05-01"), pd.Timestamp("2027-05-10"))
    assert off["waits_for"] == on["task_id"]
    assert tasks["cost_usd"].isna().all(), "a proposal costs nothing"
    assert "common practice, no source" in on["source"]
    assert on["geometry"].equals(units.geometry.iloc[1])
