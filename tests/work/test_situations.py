"""Planned work through the real steps: each situation raises its conflict, near ones do not."""

import pandas as pd
import pytest

from pipeline.work.codes import FIRE_CODES, UNIT_CODES
from pipeline.work.conflicts import NOT_KNOWN
from tests.work.made_plan import burn, made_layers
from tests.work.situations import QUIET, SITUATIONS


def named(situation):
    """Name of a situation in the list of tests: its code, numbered among those of the code."""
    same = [other for other in SITUATIONS if other.code == situation.code]
    return f"{situation.code}-{[other is situation for other in same].index(True) + 1}"


RAISED = [pytest.param(s, id=named(s)) for s in SITUATIONS]
SILENT = [
    pytest.param(s, change, id=f"{named(s)}-{n}")
    for s in SITUATIONS
    for n, change in enumerate(s.silent, 1)
]


def found(situation, change):
    """Conflicts of the code of a situation, told as changes of the quiet burn."""
    told = QUIET | situation.common | change
    if "settings" in situation.common:
        told["settings"] = situation.common["settings"] | change.get("settings", {})
    rows = made_layers(**told)["conflicts"]
    return rows[rows["code"] == situation.code]


@pytest.mark.parametrize("situation", RAISED)
def test_situation_raises_its_conflict(situation):
    rows = found(situation, situation.raises)
    work_id, unit_id = situation.of
    units = rows["unit_id"].isna() if unit_id is None else rows["unit_id"] == unit_id
    mine = rows[(rows["work_id"] == work_id) & units]
    assert len(mine) == 1
    row = mine.iloc[0]
    if situation.figure is not None:
        assert row["figure"] == pytest.approx(
            situation.figure, abs=0.5 if row["figure"] > 1 else 1e-3
        )
    assert NOT_KNOWN not in row["against"].split()
    assert not row.geometry.is_empty


@pytest.mark.parametrize(("situation", "change"), SILENT)
def test_near_situation_stays_silent(situation, change):
    rows = found(situation, change)
    work_id, unit_id = situation.of
    mine = rows[rows["work_id"] == work_id]
    if unit_id is not None:
        mine = mine[mine["unit_id"] == unit_id]
    assert mine.empty, mine["against"].to_list()


# Told where a raster of heights, or an edge graph that is broken on purpose, is at hand.
IN_FIRE_CLASHES = {"block_refused", "unit_ground_lost", "break_short_on_slope", "head_of_slope"}


def test_every_code_has_its_situation():
    codes = {situation.code for situation in SITUATIONS}
    told_once = {code for code in FIRE_CODES if code.startswith("days_")} - {"days_before_cured"}
    assert {*FIRE_CODES, *UNIT_CODES} == codes | IN_FIRE_CLASHES | told_once


@pytest.fixture(scope="module")
def window():
    """Last day of the window of A with less fuel, in an early spring, and the likely one."""
    row = made_layers(**QUIET)["fuel"].iloc[0]
    return tuple(row[f"burn_until{end}"] for end in ("_low", "_early", ""))


def of_days(first, last):
    """Codes on the window that planned days raise."""
    told = QUIET | {"burns": burn("b", "A", days=(str(first.date()), str(last.date())))}
    codes = made_layers(**told)["conflicts"]["code"]
    return sorted(code for code in codes if "window" in code)


def test_planned_days_against_the_last_day_of_the_window(window):
    low, early, likely = window
    day = pd.Timedelta(days=1)
    assert early < low < likely
    assert of_days(early - 9 * day, early) == []
    assert of_days(early - 9 * day, early + day) == ["days_past_early_window"]
    assert of_days(early - 9 * day, low) == ["days_past_early_window"]
    assert of_days(low - 9 * day, low + day) == ["days_past_low_window"]
    assert of_days(low - 9 * day, likely) == ["days_past_low_window"]
    assert of_days(low - 9 * day, likely + day) == ["days_run_past_window"]
    assert of_days(likely, likely + 9 * day) == ["days_run_past_window"]
    assert of_days(likely + day, likely + 9 * day) == ["days_after_window"]


def test_days_of_the_window_itself_are_not_held_against_it():
    codes = made_layers(**QUIET | {"burns": burn("b", "A", days=None)})["conflicts"]["code"]
    assert [code for code in codes if code.startswith("days_")] == []
