"""The season's tasks for a calendar program: one all-day entry a task.

*Source*: RFC 5545 (2009), Internet Calendaring and Scheduling; RFC 7986 (2016), section 5.3: a UID
that is a UUID tells nobody where it was made.
"""

from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, uuid5

import pandas as pd
from icalendar import Calendar, Event, vText

from pipeline.core.run import Run
from pipeline.pages.cautions import CAUTION
from pipeline.pages.conflict_lines import stop_lines
from pipeline.pages.words import date_words, plain, rows, sentence
from pipeline.pages.work_words import WHO_WORDS, place_words, task_days, task_line
from pipeline.work.tasks.task_rows import listed_in

MAKER = "-//Swardline//Season//EN"


SPANNING = ("sow", "mow", "hay", "spray", "take_photo")
"""Tasks whose entry covers all days from the first to the last; others stand on one day."""


def write_season_calendar(run: Run, path: Path) -> None:
    """Write ``season.ics``: every task that has a day, the same bytes for the same layers."""
    tasks = rows(pd.DataFrame(run.frames["tasks"].drop(columns="geometry")))
    lines = {task["task_id"]: task_line(task) for task in tasks}
    days = {task["task_id"]: _days(task) for task in tasks}
    dated = [task for task in tasks if days[task["task_id"]] is not None]
    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("x-wr-calname", vText(plain(f"{run.name}, season {run.season}")))
    calendar.add("x-wr-caldesc", vText(_about(run, len(tasks) - len(dated))))
    for task in dated:
        calendar.add_component(_event(run, task, lines))
    path.write_bytes(calendar.to_ical())


def _about(run: Run, without_day: int) -> str:
    """What stands over the calendar: what to stop and ask for, the caution, and tasks left out."""
    left_out = f" Tasks without a day, left out here: {without_day}; see tasks.csv."
    on_top = ". ".join([*stop_lines(run.frames["conflicts"]), CAUTION])
    return on_top + (left_out if without_day else "")


def _days(task: dict[str, Any]) -> tuple[date, date] | None:
    """First and last day of a task's entry, None where it has no day."""
    days = [task[name].date() for name in ("first_day", "due") if pd.notna(task[name])]
    if not days:
        return None
    return days[0] if task["kind"] in SPANNING else days[-1], days[-1]


def _event(run: Run, task: dict[str, Any], lines: dict[str, str]) -> Event:
    """One task as an all-day entry that takes nobody's time; its end is the day after the last."""
    first, last = _days(task) or (date.min, date.min)
    event = Event()
    event.add("uid", str(uuid5(NAMESPACE_URL, f"{run.name}/{run.season}/{task['task_id']}")))
    event.add("dtstamp", datetime.fromisoformat(run.stamp))
    event.add("dtstart", first)
    event.add("dtend", last + timedelta(days=1))
    event.add("summary", lines[task["task_id"]])
    if place := plain(place_words(task)):
        event.add("location", sentence(place))
    event.add("transp", "TRANSPARENT")
    event.add("description", _description(task, lines))
    return event


def _description(task: dict[str, Any], lines: dict[str, str]) -> str:
    """Days, who, what comes first, what the day rests on, and the caution."""
    told = [sentence(task_days(task)), f"Who: {WHO_WORDS[task['who']]}"]
    ends = {"due_low": "With less fuel or more exotics", "due_high": "With more fuel or fewer"}
    for name, words in ends.items():
        if pd.notna(task[name]):
            told.append(f"{words}: {date_words(task[name])}")
    if first := listed_in(task["waits_for"]):
        told += ["First:", *(f"- {lines[each]}" for each in first)]
    if pd.notna(task["source"]):
        told.append(f"Rests on: {plain(task['source'])}")
    return "\n".join([*told, CAUTION])
