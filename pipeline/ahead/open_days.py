"""Days of a year that limits of a unit, such as a contract's, leave open for a treatment."""

import numpy as np
import pandas as pd

from pipeline.ahead.treatments import TREATMENTS, Treatment, treatment_days
from pipeline.log.days import day_of
from pipeline.season.settings import HerdSettings, SeasonSettings

Span = tuple[pd.Timestamp, pd.Timestamp]
"""First and last day."""


def asked_limits(unit_limits: pd.DataFrame, unit_id: str, year: int) -> pd.DataFrame:
    """Limits of a unit without an approval on record that hold from a year on."""
    last = unit_limits["last_year"]
    holds = unit_limits["approval"].isna() & (last.isna() | (last >= year))
    return unit_limits[holds & (unit_limits["unit_id"] == unit_id)]


def open_days(days: Span, limits: pd.DataFrame) -> Span | None:
    """The longest run of days that no limit closes, of equal ones the first; None without any day.

    Limits close together what none of them closes alone. One without a first day holds all year.
    """
    every = pd.date_range(*days)
    if not len(every):
        return None
    shut = np.zeros(len(every), dtype=bool)
    for limit in limits.itertuples():
        if pd.isna(limit.first_day):
            return None
        until = limit.first_day if pd.isna(limit.last_day) else limit.last_day
        for year in range(days[0].year - 1, days[1].year + 1):
            begin, end = day_of(year, limit.first_day), day_of(year, until)
            end = end if begin <= end else day_of(year + 1, until)
            shut |= (every >= begin) & (every <= end)
    runs = np.split(np.arange(len(every)), np.flatnonzero(shut[1:] != shut[:-1]) + 1)
    left = [run for run in runs if not shut[run[0]]]
    if not left:
        return None
    longest = max(left, key=len)
    first, last = (days[0] + pd.Timedelta(days=int(longest[n])) for n in (0, -1))
    return first, last


def closes(treatment: Treatment, days: Span, limits: pd.DataFrame) -> bool:
    """Whether limits keep a treatment from its days: a grazing needs the greater part of them.

    Its forage is counted for the whole of its time. Judgment of this program, no source.
    """
    left = open_days(days, limits)
    if left is None:
        return True
    return treatment.kind == "graze" and 2 * (left[1] - left[0]) < days[1] - days[0]


def closed_until(
    limits: pd.DataFrame, years: range, settings: SeasonSettings, herd: HerdSettings
) -> dict[str, int]:
    """Last year in which limits close each treatment that they close in the first one.

    Limits end and none begins, so that between two ends nothing changes.
    """
    last = limits["last_year"]
    ends = sorted({int(year) for year in last.dropna() if year < years[-1]} | {years[-1]})
    closed: dict[str, int] = {}
    for treatment in TREATMENTS:
        for begin, end in zip([years[0], *(end + 1 for end in ends)], ends, strict=False):
            days = treatment_days(treatment, begin, settings, herd)
            held = limits[last.isna() | (last >= begin)]
            if begin > end or days is None or not closes(treatment, days, held):
                break
            closed[treatment.code] = end
    return closed
