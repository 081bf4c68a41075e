"""Words of the season's work: every code has some, and no task reads as leave to light a fire."""

import pandas as pd
import pytest

from pipeline.pages.work_words import (
    AMOUNT_WORDS,
    SERIOUSNESS_WORDS,
    TASK_WORDS,
    WHO_WORDS,
    WORK_WORDS,
    amount_words,
    task_days,
    task_line,
)
from pipeline.work.codes import WORK_KINDS
from pipeline.work.layers import AMOUNT_UNITS, DECIDERS, SERIOUSNESS, TASK_KINDS

TASK = {
    "kind": "mow_breaks",
    "block": "North",
    "area": None,
    "unit_id": None,
    "amount": 8580.4,
    "amount_unit": "ft",
    "names": None,
    "first_day": pd.NaT,
    "due": pd.Timestamp("2027-02-15"),
    "overdue": False,
}


def test_every_code_has_words():
    assert tuple(TASK_WORDS) == TASK_KINDS
    assert set(WHO_WORDS) == {*DECIDERS, "crew"}
    assert tuple(AMOUNT_WORDS) == AMOUNT_UNITS
    assert tuple(SERIOUSNESS_WORDS) == SERIOUSNESS
    assert set(WORK_WORDS) == set(WORK_KINDS)


@pytest.mark.parametrize("kind", TASK_KINDS)
def test_no_task_tells_anyone_to_burn(kind):
    words = TASK_WORDS[kind].lower()
    assert not any(word in words for word in ("burn", "ignite", "light a", "fire may"))
    if kind.startswith("window"):
        assert "no permission to light anything" in task_line(TASK | {"kind": kind})


def test_task_in_one_line():
    assert task_line(TASK) == "Mow the breaks: block North, 8,580 ft"
    lot = TASK | {"kind": "test_lot", "block": None, "amount": 1.0, "amount_unit": "lots"}
    assert task_line(lot | {"names": "L-1\u202e"}) == "Have the lot tested again: 1 lot, L-1"
    assert amount_words(TASK | {"amount": 4.05, "amount_unit": "places"}) == "4 places"
    assert amount_words(TASK | {"amount": None}) == ""


@pytest.mark.parametrize(
    ("first", "due", "past", "words"),
    [
        (None, "2027-02-15", False, "by 2027-02-15"),
        (None, "2027-02-15", True, "by 2027-02-15 (past)"),
        ("2027-02-10", "2027-02-15", False, "2027-02-10 to 2027-02-15"),
        ("2027-02-15", "2027-02-15", False, "2027-02-15"),
        ("2027-02-15", None, False, "from 2027-02-15"),
        (None, None, False, "no day known"),
    ],
)
def test_days_of_a_task(first, due, past, words):
    days = {"first_day": pd.to_datetime(first), "due": pd.to_datetime(due), "overdue": past}
    assert task_days(TASK | days) == words
