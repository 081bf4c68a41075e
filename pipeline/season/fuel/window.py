"""The burn window of a unit: from when last year's grass is cured until green dilutes it."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from pipeline.season.fuel.balance import DAY, FuelState
from pipeline.season.fuel.green_up import Spring
from pipeline.season.fuel.settings import FuelSettings
from pipeline.season.fuel.sward import Sward, green_load_lb_ac


@dataclass(frozen=True, slots=True)
class BurnWindow:
    """First and last day of a burn window.

    ``last_low`` and ``last_high`` are the last day at the low load with the larger share of
    exotics and at the high load with the smaller one; ``last_early`` and ``last_late`` that of an
    early and of a late spring.
    """

    first: pd.Timestamp | None = None
    last: pd.Timestamp | None = None
    last_low: pd.Timestamp | None = None
    last_high: pd.Timestamp | None = None
    last_early: pd.Timestamp | None = None
    last_late: pd.Timestamp | None = None


def close_day(
    spring: Spring,
    degree_days: np.ndarray,
    dead_lb_ac: np.ndarray,
    cool_exotic_share_pct: float,
    settings: FuelSettings,
) -> pd.Timestamp | None:
    """Last day on which dead grass carries a fire through the green growth, None where none does.

    Each pound of green cancels one of dead: what is left must carry at least patchily. Green may be
    no more than its largest share of all fuel, and the sum of degree-days no more than the last one
    at which burns still spread. ``dead_lb_ac`` and ``degree_days`` are told for each day of spring.
    """
    green = green_load_lb_ac(degree_days, cool_exotic_share_pct, settings)
    most = settings.most_green_pct / 100.0
    inside = (
        (dead_lb_ac - green >= settings.patchy_lb_ac)
        & (green <= dead_lb_ac * most / (1.0 - most))
        & (degree_days <= settings.last_degree_days)
    )
    return spring.days[inside][-1] if inside.any() else None


def burn_window(
    state: FuelState, spring: Spring | None, sward: Sward, settings: FuelSettings
) -> BurnWindow:
    """First and last day of the burn window of a unit, with what load, sward and year change."""
    if state.needs is not None or spring is None:
        return BurnWindow()
    shares = (sward.most_pct, sward.likely_pct, sward.least_pct)

    def closes(end: int, sums: Any = spring.degree_days) -> pd.Timestamp | None:
        last = close_day(spring, sums, state.dead[end], shares[end], settings)
        # Past this day nobody knows what is left.
        return last if last is None or state.untold_from is None else min(last, state.untold_from)

    low, last, high = (closes(end) for end in (0, 1, 2))
    if last is None:
        return BurnWindow(last_low=low, last_high=high)
    cured = None if spring.dates is None else spring.dates.cured_from
    first = None if cured is None else min(cured, last)
    early, late = _by_year(last, spring, [closes(1, course) for course in spring.courses.values()])
    if early is None and not spring.courses.keys() & {last.year}:
        scatter = settings.year_scatter_days * DAY
        early, late = last - scatter, last + scatter
    return BurnWindow(first, last, low, high, early, late)


def _by_year(
    last: pd.Timestamp, spring: Spring, closes: list[pd.Timestamp | None]
) -> tuple[pd.Timestamp | None, pd.Timestamp | None]:
    """Earliest and latest last day by the years of the temperatures; none with a single year."""
    days = [day for day in closes if day is not None]
    return (min(days), max(days)) if len(spring.courses) > 1 and days else (None, None)
