"""What stands against work on a unit: nesting season, contracts, species. Shown, not resolved."""

from collections.abc import Iterator
from typing import Any, TypeAlias

import geopandas as gpd
import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.places import place_key
from pipeline.log.days import day_of, is_month_day
from pipeline.season.plan_layers import SEASON_LIMITS

Day: TypeAlias = pd.Timestamp | None


def overlap(first: pd.Timestamp, last: pd.Timestamp, from_day: str, to_day: str) -> bool:
    """Whether a burn window meets a part of the year; both ends count.

    A part that passes New Year counts at both ends of the window's year.
    """
    start, end = day_of(first.year, from_day), day_of(first.year, to_day)
    if start <= end:
        return first <= end and last >= start
    return first <= end or last >= start


def keep_held(unit_limits: pd.DataFrame, property: pd.DataFrame) -> pd.DataFrame:
    """Table ``held_limits``: limits that have no last year before the season."""
    return unit_limits[~is_over(unit_limits, property)]


def is_over(unit_limits: pd.DataFrame, property: pd.DataFrame) -> "pd.Series[bool]":
    """Whether the last year of each limit is before the season."""
    over: pd.Series[bool] = unit_limits["last_year"].lt(property["season"].iloc[0]).fillna(False)
    return over.astype(bool)


def list_limits(
    fuel: gpd.GeoDataFrame,
    nesting_seasons: pd.DataFrame,
    held_limits: pd.DataFrame,
    property: pd.DataFrame,
) -> pd.DataFrame:
    """Table ``season_limits``: nesting season and limits of each unit.

    The nesting season of the property's state is listed where a burn window meets it; every limit
    of the table ``held_limits`` is listed, and whether the window meets it is told beside it.
    """
    nesting = nesting_of_state(nesting_seasons, property)
    nests = nesting.dropna(subset=["first_day", "last_day"]).to_dict("records")
    rows = [
        {"unit_id": unit.unit_id, "number": number, **limit}
        for unit in fuel.itertuples(index=False)
        for number, limit in enumerate(
            [
                *_nesting(nests, unit.burn_from, unit.burn_until),
                *_limits(
                    held_limits[held_limits["unit_id"] == unit.unit_id],
                    unit.burn_from,
                    unit.burn_until,
                ),
            ],
            1,
        )
    ]
    return pd.DataFrame(rows, columns=SEASON_LIMITS.column_names)


def nesting_of_state(nesting_seasons: pd.DataFrame, property: pd.DataFrame) -> pd.DataFrame:
    """Rows of the table ``nesting_seasons`` for the property's state; none where it names none."""
    state = property["state"].iloc[0]
    key = "" if pd.isna(state) else place_key(state)
    return nesting_seasons[nesting_seasons["state"].map(place_key) == key]


def _nesting(nests: list[dict[Any, Any]], first: Day, last: Day) -> Iterator[dict[str, Any]]:
    """The nesting season, where a burn window meets it."""
    for row in nests:
        if _meets(row["first_day"], row["last_day"], first, last):
            days = {name: row[name] for name in ("first_day", "last_day", "state")}
            yield {"limit": "nesting", "meets_window": True, **days}


def _limits(limits: pd.DataFrame, first: Day, last: Day) -> Iterator[dict[str, Any]]:
    """Limits of one unit; one without days holds all year."""
    for row in limits.to_dict("records"):
        yield {
            "limit": row["kind"],
            "meets_window": _meets(row["first_day"], row["last_day"], first, last),
            **{name: row[name] for name in ("first_day", "last_day", "approval", "note")},
        }


def _meets(from_day: str | None, to_day: str | None, first: Day, last: Day) -> bool | None:
    """Whether a burn window meets the days of a limit, None without a window."""
    if first is None or last is None or pd.isna(first) or pd.isna(last):
        return None
    return overlap(first, last, from_day, to_day) if from_day and to_day else True


def limit_words(limit: dict[Any, Any]) -> str:
    """One row of ``season_limits`` as a person reads it."""
    days = f" {limit['first_day']} to {limit['last_day']}" if limit["first_day"] else ""
    if limit["limit"] == "nesting":
        office = "on contract land ask the county office first"
        return f"nesting season{days} ({limit['state']}): {office}"
    approval = limit["approval"]
    approved = f"approval {approval}" if approval else "no approval on record"
    return f"{limit['limit']}{days} ({approved}): {limit['note']}"


def day_faults(nesting_seasons: pd.DataFrame, unit_limits: pd.DataFrame) -> list[Fault]:
    """Days in the two tables that are no days of the year, or stand without their partner."""
    rows = [
        *((f"nesting_seasons] {row['state']}", row) for row in nesting_seasons.to_dict("records")),
        *((f"unit_limits] {row['unit_id']}", row) for row in unit_limits.to_dict("records")),
    ]
    return [
        Fault(
            f"[sources.{where}",
            f"days {row['first_day']} to {row['last_day']}",
            "month and day, such as 04-15, for both or neither",
            "write them that way",
        )
        for where, row in rows
        if not _days_can_be_read(row["first_day"], row["last_day"])
    ]


def _days_can_be_read(first_day: str | None, last_day: str | None) -> bool:
    """Whether both days are days of the year, or both are empty."""
    days = [day for day in (first_day, last_day) if day]
    return len(days) != 1 and all(is_month_day(str(day)) for day in days)
