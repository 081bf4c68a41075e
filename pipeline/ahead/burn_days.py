"""Burnable days: how many days past springs offered for a burn of each unit."""

from collections.abc import Iterator

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.ahead.layers import BURN_DAYS, OFFERED_DAYS
from pipeline.ahead.settings import PlanSettings
from pipeline.ahead.treatments import DAYS_BY_BURN_TIME, TREATMENTS
from pipeline.core.layer import empty
from pipeline.fire.smoke.burn_weather import (
    dates_of_runs,
    judged_hours,
    prescription_needs,
    within_window,
)
from pipeline.fire.smoke.settings import WeatherSettings
from pipeline.fire.smoke.winds import told_arcs, wind_in
from pipeline.log.days import day_of

LOW_SHARE, HIGH_SHARE = 0.1, 0.9
"""Springs in ten that the low and the high count of days stand for. Common practice, no source."""


def list_offered_days(
    units: gpd.GeoDataFrame,
    fuel: pd.DataFrame,
    smoke_points: gpd.GeoDataFrame,
    smoke_arcs: pd.DataFrame,
    hourly_weather: pd.DataFrame,
    property: pd.DataFrame,
    weather: WeatherSettings,
    plan: PlanSettings,
) -> pd.DataFrame:
    """Table ``offered_days``: days within the weather limits and the days of each burn time.

    A unit with a window this season has its burn times cut to it; what the window of a later year
    will be is not known. A year of weather without a complete hour in the time has no row. Empty
    without a complete prescription: none is assumed.
    """
    if not plan.years or prescription_needs(weather) or hourly_weather.empty:
        return empty(OFFERED_DAYS)
    hours = judged_hours(hourly_weather, weather)
    windows = fuel.set_index("unit_id")[["burn_from", "burn_until"]]
    season = int(property["season"].iloc[0])
    times = [t for t in TREATMENTS if t.kind == "burn" and t.time in plan.burn_times]
    rows = []
    for unit_id in units["unit_id"]:
        arcs = told_arcs(smoke_arcs[smoke_arcs["unit_id"] == unit_id])
        carries = wind_in(arcs, hours["wind_from_deg"].to_numpy("float64"))
        free = hours["inside"] & ~(carries if len(smoke_points) else np.zeros(len(hours), bool))
        of_unit = hours.assign(free=free)
        for time in times:
            days = _days_of(str(time.time), season, windows.loc[unit_id])
            if days is not None:
                part = within_window(of_unit, *days)
                rows += [
                    {"unit_id": unit_id, "treatment": time.code} | row
                    for row in _offered(part, weather.least_run)
                ]
    return pd.DataFrame(rows, columns=OFFERED_DAYS.column_names) if rows else empty(OFFERED_DAYS)


def _days_of(time: str, season: int, window: pd.Series) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    """First and last day of a burn time, within the window where there is one; None without any."""
    first, last = (day_of(season, text) for text in DAYS_BY_BURN_TIME[time])
    if pd.notna(window["burn_from"]):
        first, last = max(first, window["burn_from"]), min(last, window["burn_until"])
    return (first, last) if first <= last else None


def _offered(hours: pd.DataFrame, least_run: int) -> Iterator[dict[str, object]]:
    """Days of each year that offered a burn, and whether a wind kept the smoke off."""
    within = dates_of_runs(hours, hours["inside"], least_run)
    free = set(dates_of_runs(hours, hours["free"], least_run).dropna())
    for year, of_year in within.groupby(hours["time"].dt.year):
        days = sorted(set(of_year.dropna()))
        told = {"weather_year": int(year)}
        yield from (told | {"day": day, "smoke_free": day in free} for day in days)
        if not days:
            yield told | {"day": None, "smoke_free": False}


def count_burn_days(offered_days: pd.DataFrame) -> pd.DataFrame:
    """Table ``burn_days``: days of a spring by unit and burn time, over the years of weather."""
    if offered_days.empty:
        return empty(BURN_DAYS)
    rows = []
    for (unit_id, treatment), days in offered_days.groupby(["unit_id", "treatment"]):
        told = days["day"].notna()
        within = told.groupby(days["weather_year"]).sum().to_numpy(float)
        free = (told & days["smoke_free"].astype(bool)).groupby(days["weather_year"]).sum()
        counts = free.to_numpy(float)
        rows.append(
            {
                "unit_id": unit_id,
                "treatment": treatment,
                "weather_years": len(counts),
                "low_days": np.quantile(counts, LOW_SHARE),
                "middle_days": np.quantile(counts, 0.5),
                "within_days": np.quantile(within, 0.5),
                "high_days": np.quantile(counts, HIGH_SHARE),
                "none_pct": 100.0 * (counts == 0).mean(),
            }
        )
    return pd.DataFrame(rows)
