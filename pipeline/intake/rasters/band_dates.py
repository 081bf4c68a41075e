"""Days of the bands of a raster: from their descriptions, or from a netCDF axis of time."""

import re
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from rasterio.io import DatasetReader

from pipeline.core.scene_names import days_in

SINCE = re.compile(
    r"(?i)^\s*(second|minute|hour|day)s?\s+since\s+(\d{4})-(\d{1,2})-(\d{1,2})"
    r"(?:[T ]+(\d{1,2}):(\d{2}))?"
)
"""How the unit of an axis of time is written (*Source*: CF conventions, section 4.4)."""

DAYS_BY_UNIT = {"second": 1 / 86400, "minute": 1 / 1440, "hour": 1 / 24, "day": 1.0}

CALENDARS = ("standard", "gregorian", "proleptic_gregorian")
"""Calendars in which a day has the date of every day life; others of models do not."""


def band_dates(raster: DatasetReader) -> list[date | None]:
    """The day of each band, None where nothing tells one, or several stand in its description."""
    of_axis = _axis_dates(raster)
    if of_axis is not None:
        return of_axis
    days = [days_in(text or "") for text in raster.descriptions]
    return [found[0] if len(found) == 1 else None for found in days]


def _axis_dates(raster: DatasetReader) -> list[date | None] | None:
    """Days of the bands by an axis of time, None where there is no such axis."""
    tags = raster.tags()
    units = tags.get("time#units", "")
    if SINCE.match(units) is None or tags.get("time#calendar", "standard") not in CALENDARS:
        return None
    texts = [raster.tags(band).get("NETCDF_DIM_time") for band in raster.indexes]
    return None if None in texts else dates_since(units, [float(text) for text in texts if text])


def dates_since(units: str, times: Sequence[float]) -> list[date | None]:
    """Days of times that count from a first day, in the words of ``units``; None beyond years."""
    match = SINCE.match(units)
    if match is None:
        return [None] * len(times)
    unit, *first = match.groups()
    year, month, day, hour, minute = (int(part or 0) for part in first)
    start = datetime(year, month, day, hour, minute)
    return [_after(start, time * DAYS_BY_UNIT[unit.lower()]) for time in times]


def _after(start: datetime, days: float) -> date | None:
    """The day so many days after a moment, None where the calendar has none."""
    try:
        return (start + timedelta(days=days)).date()
    except (OverflowError, ValueError):
        return None
