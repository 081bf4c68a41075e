"""What a burn window meets: nesting season, contracts, species. Shown, not resolved."""

from typing import TypeAlias

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.log.days import day_of, is_month_day

Day: TypeAlias = pd.Timestamp | None


def overlap(first: Day, last: Day, year: int, from_day: str, to_day: str) -> bool:
    """Whether a window meets a part of the year; one that passes New Year counts on both sides."""
    if first is None or last is None:
        return False
    start, end = day_of(year, from_day), day_of(year, to_day)
    if start <= end:
        return first <= end and last >= start
    return first <= end or last >= start


def window_conflicts(
    unit_id: str,
    first: Day,
    last: Day,
    nesting_seasons: pd.DataFrame,
    unit_limits: pd.DataFrame,
    state: str | None,
) -> str | None:
    """Nesting season and limits that a window of a unit meets, in words; None without any.

    Limits without a window of their own hold all year and are told even without a burn window.
    """
    nesting = nesting_seasons[nesting_seasons["state"] == state]
    words = [
        f"nesting season {row.first_day} to {row.last_day} ({row.state}): on contract land ask "
        "the county office first"
        for row in nesting.dropna(subset=["first_day", "last_day"]).itertuples(index=False)
        if first is not None and overlap(first, last, first.year, row.first_day, row.last_day)
    ]
    if state is not None and nesting["first_day"].isna().all():
        words.append(f"nesting season of {state}: not in the table, look it up")
    for row in unit_limits[unit_limits["unit_id"] == unit_id].itertuples(index=False):
        words += limit_words(
            row.kind, row.first_day, row.last_day, row.approval, row.note, first, last
        )
    return "; ".join(words) or None


def limit_words(
    kind: str, from_day: str | None, to_day: str | None, approval: str | None, note: str,
    first: Day = None, last: Day = None,
) -> list[str]:  # fmt: skip
    """A limit of a unit in words; empty where its days lie outside the window."""
    when = ""
    if from_day and to_day:
        if first is not None and not overlap(first, last, first.year, from_day, to_day):
            return []
        when = f" {from_day} to {to_day}"
    approved = f" (approval {approval})" if approval else " (no approval on record)"
    return [f"{kind}{when}{approved}: {note}"]


def day_faults(nesting_seasons: pd.DataFrame, unit_limits: pd.DataFrame) -> list[Fault]:
    """Days in the two tables that are no days of the year, or stand without their partner."""
    faults = []
    for name, table, key in (
        ("nesting_seasons", nesting_seasons, "state"), ("unit_limits", unit_limits, "unit_id"),
    ):  # fmt: skip
        for row in table.to_dict("records"):
            days = [row["first_day"], row["last_day"]]
            given = [day for day in days if day]
            if len(given) == 1 or not all(is_month_day(str(day)) for day in given):
                faults.append(
                    Fault(f"[sources.{name}] {row[key]}", f"days {days[0]} to {days[1]}",
                          "month and day, such as 04-15, for both or neither",
                          "write them that way")
                )  # fmt: skip
    return faults
