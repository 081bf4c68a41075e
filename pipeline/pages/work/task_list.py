"""Tasks as the report tells them: the next weeks on its first screen, all of them in a table."""

from collections.abc import Mapping
from textwrap import shorten
from typing import Any

import pandas as pd

from pipeline.pages.markup import Markup, escaped, given, joined, tag
from pipeline.pages.packing import fold, packed_fold
from pipeline.pages.words import code_words, date_words, plain, rows, sentence
from pipeline.pages.work.work_tables import SPAN_WEEKS, task_states
from pipeline.pages.work_words import TASK_WORDS, WINDOW_NOTE, amount_words, place_words, task_line
from pipeline.work.layers import WINDOW_KINDS
from pipeline.work.tasks.task_rows import listed_in

MOST_TASKS = 5
"""Tasks on the first screen; the others are folded, and counted."""


MOST_LETTERS = 44
"""Letters of what a task is about on the first screen; the table of tasks has all of them."""


MOST_LISTED = 60
"""Tasks that are laid out in the fold before it is opened."""


LEAST_TASKS = 3
"""Where the next weeks have fewer, those that come after them fill up to it."""


def task_sheet(tasks: pd.DataFrame, as_of: pd.Timestamp) -> pd.DataFrame:
    """Rows of the table of tasks: codes as words, what is overdue said in words."""
    stated = task_states(tasks, as_of)
    told = rows(stated)
    lines = {row["task_id"]: task_line(row) for row in told}
    return stated.assign(
        waits_for=[_waits(row["waits_for"], lines) for row in told],
        kind=[TASK_WORDS[row["kind"]] for row in told],
        when=[when_words(row, as_of) for row in told],
        how_much=[amount_words(row) or None for row in told],
    )


def _waits(waits_for: Any, lines: Mapping[str, str]) -> str | None:
    """The tasks that come first, each in a line."""
    return "; ".join(lines.get(name, name) for name in listed_in(waits_for)) or None


def when_words(row: dict[str, Any], as_of: pd.Timestamp) -> str:
    """When a task is due: ``overdue by 12 days``, ``in 16 days``, ``can begin now``."""
    first, due = row["first_day"], row["due"]
    if row["state"] == "no_day":
        return "no day known"
    if pd.isna(due):
        return f"from {date_words(first)} on" if first > as_of else "can begin now"
    days = (due - as_of).days
    if row["state"] == "overdue":
        return f"overdue by {_days(-days)}" if days < 0 else "overdue"
    if row["state"] == "passed":
        return f"passed {_days(-days)} ago"
    return f"in {_days(days)}" if days > 0 else "today"


def _days(days: int) -> str:
    return f"{days:,} day{'s' * (days != 1)}"


def draw_task_list(tasks: pd.DataFrame, as_of: pd.Timestamp) -> Markup:
    """What there is to do: overdue first, then the next weeks; the rest of the season folded."""
    stated = rows(task_states(tasks, as_of))
    if not stated:
        return tag("p", "No task follows from what was given.")
    due = sum(row["state"] in ("overdue", "soon") for row in stated)
    shown = min(MOST_TASKS, max(due, LEAST_TASKS))
    parts = [_listed(stated[:shown], as_of)]
    if rest := stated[shown:]:
        counts, folded = escaped(_counts(rest)), _listed(rest, as_of)
        many = len(rest) > MOST_LISTED
        parts.append(packed_fold(counts, folded) if many else fold(counts, folded))
    return joined(parts)


def tasks_heading(tasks: pd.DataFrame, as_of: pd.Timestamp) -> str:
    """Heading of the list with its counts: what is overdue, what the next weeks bring."""
    states = task_states(tasks, as_of)["state"]
    overdue, soon = int((states == "overdue").sum()), int((states == "soon").sum())
    late = f"{overdue} overdue, " if overdue else ""
    return f"To do: {late}{soon} within {SPAN_WEEKS} weeks"


REST_WORDS = {
    "overdue": "overdue",
    "soon": "in these weeks",
    "later": "later this season",
    "passed": "with a window that passed",
    "no_day": "without a day",
}


def _counts(rest: list[dict[str, Any]]) -> str:
    """How many tasks are folded, by their state."""
    states = [row["state"] for row in rest]
    told = [f"{states.count(s)} {words}" for s, words in REST_WORDS.items() if s in states]
    return f"{len(rest)} more: {', '.join(told)}"


def _listed(stated: list[dict[str, Any]], as_of: pd.Timestamp) -> Markup:
    return tag("ol", *(_item(row, as_of) for row in stated), attributes={"class": "todo"})


def _item(row: dict[str, Any], as_of: pd.Timestamp) -> Markup:
    """One task: its day, what to do where, how much, and by whom."""
    style = "late day" if row["state"] == "overdue" else "day"
    names = shorten(
        "" if pd.isna(row["names"]) else plain(row["names"]), MOST_LETTERS, placeholder=" …"
    )
    told = [plain(place_words(row)), amount_words(row), names]
    if row["kind"] in WINDOW_KINDS:
        told.append(WINDOW_NOTE)
    about = joined((given(words) for words in told if words), ", ")
    return tag(
        "li",
        tag("span", *_day(row, as_of), attributes={"class": style}),
        tag(
            "span",
            tag("b", TASK_WORDS[row["kind"]]),
            joined((": ", about)) if about else "",
            " " if about.endswith("…</bdi>") else ". ",
            tag("span", f"{sentence(code_words(row['who']))}.", attributes={"class": "who"}),
        ),
    )


def _day(row: dict[str, Any], as_of: pd.Timestamp) -> list[Markup]:
    """Day of a task, and how it lies to the day of the plan."""
    if pd.isna(row["due"]) and row["first_day"] > as_of:
        return [tag("b", date_words(row["first_day"])), tag("span", "Or later")]
    day = row["first_day"] if pd.isna(row["due"]) else row["due"]
    first = "Any day" if pd.isna(day) else date_words(day)
    return [tag("b", first), tag("span", sentence(when_words(row, as_of)))]
