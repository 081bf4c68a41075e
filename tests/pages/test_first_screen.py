"""What the report opens with: conflicts, tasks and map, their counts and their words.

Outside source of days: Python's own calendar. The rest is counted by hand on made rows.
"""

import datetime
import re

import pandas as pd
import pytest
from lxml import html

from pipeline.catalog import LAYERS
from pipeline.pages.report_page import report_page
from pipeline.pages.work.conflict_list import (
    alike,
    conflict_facts,
    counted,
    days_words,
    draw_conflicts,
)
from pipeline.pages.work.first_screen import draw_first_screen, plan_day
from pipeline.pages.work.task_list import draw_task_list, task_sheet, tasks_heading
from pipeline.pages.work.work_tables import COSTS_BY_TASK, TASKS_TABLE, sum_costs, task_states
from tests.literal_layers import literal_layer
from tests.made_plan import AS_OF, conflicts, planned, tasks, with_work
from tests.made_report import grid_layers, report, unpacked


@pytest.fixture(scope="module")
def ground():
    return grid_layers(4, scenes=0)


def words(element):
    return " ".join(" ".join(element.itertext()).split())


def page_of(markup):
    return html.fromstring(f"<main>{markup}</main>")


def items(markup):
    """Texts of a list that stand open, and of those that are folded."""
    page = page_of(markup)
    folded = page.xpath("//details//li")
    return [words(i) for i in page.iter("li") if i not in folded], [words(i) for i in folded]


def test_tasks_are_told_apart_by_their_days(ground):
    days = [-12, 0, 56, 57, None]
    stated = task_states(tasks(days, ground[1]), AS_OF)
    assert dict(zip(stated["number"], stated["state"], strict=True)) == {
        1: "overdue",
        2: "soon",
        3: "soon",  # the last day of the eighth week
        4: "later",
        5: "no_day",
    }
    late = tasks(days, ground[1]).assign(kind="window_opens")
    assert task_states(late, AS_OF)["state"].iloc[-2] == "passed", "a window is no deed left undone"


def test_a_task_without_a_last_day_counts_from_its_first(ground):
    told = tasks([None, None], ground[1]).assign(
        first_day=[AS_OF - pd.Timedelta(days=3), AS_OF + pd.Timedelta(days=80)]
    )
    sheet = task_sheet(told, AS_OF)
    assert list(sheet["state"]) == ["soon", "later"]
    assert list(sheet["when"]) == ["can begin now", "from 2027-02-03 on"]


@pytest.mark.parametrize("day", ["2026-11-03", "2026-11-14", "2027-01-01", "2027-03-01"])
def test_days_are_counted_as_the_calendar_counts_them(ground, day):
    told = tasks([1], ground[1]).assign(due=pd.Timestamp(day), overdue=pd.Timestamp(day) < AS_OF)
    away = (datetime.date.fromisoformat(day) - AS_OF.date()).days
    said = task_sheet(told, AS_OF)["when"].iloc[0]
    assert int(re.search(r"\d+", said)[0]) == abs(away)
    assert said.startswith("overdue by" if away < 0 else "in")
    assert said.endswith("day" if abs(away) == 1 else "days")


def test_overdue_stands_first_and_every_task_is_shown_or_folded_and_counted(ground):
    days = [100, 3, -3, 30, -12, 12, 200, None, 5]
    told = tasks(days, ground[1])
    shown, folded = items(draw_task_list(told, AS_OF))
    assert [re.search(r"Area (\d)", text)[1] for text in shown] == ["5", "3", "2", "9", "6"]
    assert len(shown) + len(folded) == len(days)
    (summary,) = page_of(draw_task_list(told, AS_OF)).iter("summary")
    assert words(summary) == "4 more: 1 in these weeks, 2 later this season, 1 without a day"
    assert tasks_heading(told, AS_OF) == "To do: 2 overdue, 4 within 8 weeks"


def test_where_the_next_weeks_are_empty_the_tasks_after_them_are_shown(ground):
    shown, folded = items(draw_task_list(tasks([90, 100, 110, 120], ground[1]), AS_OF))
    assert (len(shown), len(folded)) == (3, 1)
    assert "No task follows" in draw_task_list(tasks([], ground[1]), AS_OF)


def test_a_window_on_the_first_screen_is_no_permission(ground):
    told = tasks([3], ground[1]).assign(kind="window_opens", amount=None)
    (shown,), _ = items(draw_task_list(told, AS_OF))
    assert "no permission to light anything" in shown


def test_the_table_of_tasks_says_in_words_what_is_overdue_and_names_what_comes_first(ground):
    told = tasks([-2, 9], ground[1], kind="sow").assign(waits_for=[None, "made 0001"])
    sheet = task_sheet(told, AS_OF)
    assert list(sheet["when"]) == ["overdue by 2 days", "in 9 days"]
    assert sheet["waits_for"].iloc[1] == "Sow: area Area 1, 12 lots"
    assert {*TASKS_TABLE.columns, *TASKS_TABLE.below} <= set(sheet.columns)
    assert list(sheet["kind"]) == ["Sow", "Sow"]


def test_what_asks_to_stop_is_open_and_the_rest_is_folded(ground):
    frames, crs = ground
    work = planned(frames["units"], crs)
    told = conflicts(work, crs, (2, 9, 1))
    page = page_of(draw_conflicts(told))
    box, think, know = page
    assert (box.tag, box.get("class")) == ("section", "stop")
    assert words(box.find("h2")) == "Stop and ask: 2"
    assert [think.get("open"), know.get("open")] == [None, None]
    assert words(think.find("summary")).startswith("Think again: 9 . Burn of unit U000 (3);")
    assert len(box.findall(".//li")) == 2
    shown = words(box)
    for said in ("Burn of unit U000 , 2027-03-20 to 2027-04-10", "no approval in writing"):
        assert said in shown
    assert "Who decides: contract office . To resolve it: ask the contract office" in shown


def test_where_nothing_asks_to_stop_what_to_think_about_stands_open(ground):
    frames, crs = ground
    told = conflicts(planned(frames["units"], crs), crs, (0, 2, 1))
    think, know = page_of(draw_conflicts(told))
    assert [think.get("open") is not None, know.get("open") is not None] == [True, False]


def test_where_nothing_was_found_that_is_no_leave_to_go_ahead(ground):
    nothing = conflicts(planned(ground[0]["units"], ground[1]), ground[1], (0, 0, 0))
    said = words(page_of(draw_conflicts(nothing)))
    assert "That allows nothing" in said
    assert "burn boss" in said


def test_many_conflicts_are_folded_counted_and_named(ground):
    frames, crs = ground
    told = conflicts(planned(frames["units"], crs), crs, (40, 0, 0))
    shown, folded = items(draw_conflicts(told))
    assert 1 <= len(shown) <= 5
    assert len(shown) + len(folded) == 40
    summary = words(page_of(draw_conflicts(told)).find(".//section/details/summary"))
    more = int(re.match(r"(\d+) more to stop for", summary)[1])
    assert more == len(folded)
    assert sum(map(int, re.findall(r"\((\d+)\)", summary))) == more


def test_one_long_conflict_is_never_folded(ground):
    frames, crs = ground
    told = conflicts(planned(frames["units"], crs), crs, (2, 0, 0))
    told["against"] = [f"{n} long " + "word " * 400 for n in range(2)]
    shown, folded = items(draw_conflicts(told))
    assert (len(shown), len(folded)) == (1, 1)


def test_conflicts_in_the_same_words_are_told_once_with_all_their_numbers(ground):
    frames, crs = ground
    told = conflicts(planned(frames["units"], crs), crs, (3, 0, 0))
    told["against"] = ["one", "two", "one"]
    rows = told.to_dict("records")
    assert [[row["number"] for row in group] for group in alike(rows)] == [[1, 3], [2]]
    first, _ = page_of(draw_conflicts(told)).findall(".//li")
    assert [t.text for t in first.iter("text")] == ["1", "3"]
    assert words(first).count("Burn of unit") == 2
    assert words(first).count("One") == 1


def test_work_is_named_by_its_block_and_counted():
    rows = [
        {"kind": "burn", "block": "North", "area": None, "unit_id": unit} for unit in ("A", "B")
    ]
    rows.append({"kind": "seed", "block": None, "area": "Windmill", "unit_id": None})
    assert counted(rows) == "burn of block North (2); seeding of area Windmill (1)"


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ("2027-03-01", "2027-04-10", "2027-03-01 to 2027-04-10"),
        ("2027-03-01", "2027-03-01", "2027-03-01"),
        ("2027-03-01", None, "2027-03-01"),
        (None, None, ""),
    ],
)
def test_days_of_the_work(first, last, said):
    days = {"first_day": pd.Timestamp(first or "NaT"), "last_day": pd.Timestamp(last or "NaT")}
    assert days_words(days) == said


def test_the_card_of_a_unit_tells_its_conflicts_and_those_of_all_its_work(ground):
    frames, crs = ground
    work = planned(frames["units"], crs)
    work["work_id"] = ["burn:A", "burn:A", "burn:B", "burn:B"]
    told = conflicts(work, crs, (1, 1, 1))
    told.loc[0, "unit_id"] = None
    facts = conflict_facts(told, work)
    assert {unit: [term for term, _ in of_unit] for unit, of_unit in facts.items()} == {
        "U000": ["Stop and ask (1)", "Think again (2)", "Know"],
        "U001": ["Stop and ask (1)"],
    }
    assert "contract office decides" in facts["U001"][0][1]
    assert facts["U000"][2] == ("Know", "conflicts 3, see the table")
    page = unpacked(report({**frames, "planned_work": work, "conflicts": told}, crs))
    card = page.partition('id="cards"')[2].split("<h3>")[2]
    assert card.startswith("<bdi>U001")
    assert "Stop and ask (1)" in card


def test_costs_are_summed_by_task_and_by_place_and_what_has_no_price_is_counted():
    costs = literal_layer(
        "season_costs",
        [
            {"number": 1, "kind": "mow", "place": "A", "work_hours": 2.0, "cost_usd": 100.0}
            | {"priced": True},
            {"number": 2, "kind": "mow", "place": "B", "work_hours": 3.0, "priced": False}
            | {"without_price": "mow_usd_per_ac"},
            {"number": 3, "kind": "spray", "place": "A", "priced": False}
            | {"without_price": "spray_usd_per_ac"},
        ],
    )
    by_task = sum_costs(costs, "kind").set_index("kind")
    assert by_task.loc["mow", ["work_hours", "cost_usd", "unpriced"]].tolist() == [5.0, 100.0, 1]
    assert pd.isna(by_task.loc["spray", "cost_usd"])
    assert by_task.loc["spray", "unpriced"] == 1
    by_place = sum_costs(costs, "place").set_index("place")
    assert by_place.loc["A", "unpriced"] == 1
    assert by_place.loc["A", "without_price"] == "spray_usd_per_ac"
    assert set(COSTS_BY_TASK.columns) <= {"kind", *by_task.columns}


def test_nothing_planned_is_said_and_draws_no_map(ground):
    frames, _ = ground
    said = words(page_of(draw_first_screen(frames, AS_OF)))
    assert said.startswith("No burn, seeding or other work is planned")
    assert "season-map" not in draw_first_screen(frames, AS_OF)


def test_the_day_of_the_plan_is_the_property_s_own_or_that_of_the_newest_source(ground):
    frames, crs = ground
    assert plan_day(frames, "2026-11-02T10:00:00.000Z") == pd.Timestamp(2026, 11, 2)
    page = report(with_work(frames, crs), crs)
    assert "Season 2027, as of 2026-11-15" in page


def test_every_conflict_and_task_has_its_row_in_the_tables(sample_layers):
    frames, crs = sample_layers
    page = html.fromstring(report(frames, crs))
    for layer, columns in (("conflicts", ("against", "resolve")), ("tasks", ())):
        (table,) = page.xpath(f'//section[@id="{layer}"]//table')
        rows = table.xpath('./tbody/tr[not(@class="under")]')
        assert len(rows) == len(frames[layer]) > 10
        told = words(table)
        for column in columns:
            assert all(text in told for text in frames[layer][column])
    captions = page.xpath('//section[@id="costs"]//caption')
    assert [words(c) for c in captions] == [
        "What the season costs, by task",
        "What the season costs, by place",
    ]


def test_no_wind_fits_is_said_near_the_block(sample_layers):
    frames, crs = sample_layers
    left = frames["winds_left"]
    none = set(left.loc[left["from_deg"].isna(), "block"])
    assert none, "no wind fits a block of the sample"
    page = html.fromstring(report(frames, crs))
    captions = [words(c) for c in page.xpath('//section[@id="burning"]//figcaption')]
    for block in none:
        (said,) = [c for c in captions if c.startswith(f"{block} :")]
        assert "No wind fits" in said


def test_hostile_names_are_only_text(ground):
    frames, crs = ground
    hostile = "</script><script>alert(1)</script>\u202e"
    told = with_work(frames, crs, counts=(2, 1, 1))
    for layer in ("conflicts", "tasks", "planned_work"):
        free = [c.name for c in LAYERS[layer].columns if c.kind == "text" and not c.choices]
        told[layer] = told[layer].assign(
            **{c: told[layer][c].map(lambda t: t if t is None else hostile + t) for c in free}
        )
    page = report_page(told, stamp="2026-11-02T10:00:00.000Z", crs_name="", style="", script="")
    assert page.count("<script>") == 1
    assert "\u202e" not in page
