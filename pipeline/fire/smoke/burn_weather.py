"""Past weather against the burn boss's prescription: hours and days, by unit and month.

Counts what was. It predicts neither weather nor fire, and permits nothing.
"""

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.layer import empty
from pipeline.core.names import listed
from pipeline.fire.smoke.arcs import wind_in
from pipeline.fire.smoke.layers import BURN_WEATHER
from pipeline.fire.smoke.settings import WeatherSettings
from pipeline.fire.smoke.winds import told_arcs

READINGS = ("temperature_f", "humidity_pct", "wind_mph", "wind_from_deg")


Range = tuple[float | None, float | None]


def prescribed_ranges(settings: WeatherSettings) -> dict[str, Range]:
    """Lowest and highest value of each reading that the prescription limits."""
    return {
        "temperature_f": (settings.lowest_temperature_f, settings.highest_temperature_f),
        "humidity_pct": (settings.lowest_humidity_pct, settings.highest_humidity_pct),
        "wind_mph": (settings.lowest_wind_mph, settings.highest_wind_mph),
    }


def prescription_needs(settings: WeatherSettings) -> list[str]:
    """Settings that a count cannot do without."""
    needs = ["wind_height_ft"] if settings.wind_height_ft is None else []
    return needs + [
        f"lowest_{reading} or highest_{reading}"
        for reading, ends in prescribed_ranges(settings).items()
        if ends == (None, None)
    ]


def in_prescription(weather: pd.DataFrame, settings: WeatherSettings) -> np.ndarray:
    """Whether each hour lies in every range of the prescription, both ends counted."""
    inside = np.ones(len(weather), dtype=bool)
    for reading, (low, high) in prescribed_ranges(settings).items():
        values = weather[reading].to_numpy("float64")
        inside &= values >= (-np.inf if low is None else low)
        inside &= values <= (np.inf if high is None else high)
    first, last = settings.first_wind_from_deg, settings.last_wind_from_deg
    if first is not None and last is not None and last - first < 360:
        turn = np.mod(weather["wind_from_deg"].to_numpy("float64") - first, 360.0)
        inside &= turn <= np.mod(last - first, 360.0)
    return inside


def read_times(texts: pd.Series) -> pd.Series:
    """Local times that texts such as 2026-04-14T13:00 stand for; missing where one is no time."""
    return pd.to_datetime(texts, format="ISO8601", errors="coerce")


def read_hours(hourly_weather: pd.DataFrame) -> pd.DataFrame:
    """The weather table with its hours as times."""
    times = read_times(hourly_weather["time"])
    return hourly_weather.assign(time=times, hour=times.dt.hour, date=times.dt.normalize())


def count_burn_weather(
    fuel: pd.DataFrame,
    smoke_points: gpd.GeoDataFrame,
    smoke_arcs: pd.DataFrame,
    hourly_weather: pd.DataFrame,
    settings: WeatherSettings,
) -> pd.DataFrame:
    """Table ``burn_weather``: hours and days in prescription inside each unit's window.

    The window's month and day are looked up in each year of the weather. Hours with a gap in the
    record count as not read. Hours whose wind carries no smoke onto a place are counted where
    places are named. Empty without a complete prescription: none is assumed.
    """
    if prescription_needs(settings) or hourly_weather.empty:
        return empty(BURN_WEATHER)
    hours = judged_hours(hourly_weather, settings)
    counted = []
    for unit in fuel.dropna(subset=["burn_from", "burn_until"]).itertuples(index=False):
        window = within_window(hours, unit.burn_from, unit.burn_until)
        if len(smoke_points):
            arcs = told_arcs(smoke_arcs[smoke_arcs["unit_id"] == unit.unit_id])
            carries = wind_in(arcs, window["wind_from_deg"].to_numpy("float64"))
            window = window.assign(both=window["inside"] & ~carries)
        if len(window):
            counted.append(_monthly(window, settings.least_run).assign(unit_id=unit.unit_id))
    return pd.concat(counted) if counted else empty(BURN_WEATHER)


def judged_hours(hourly_weather: pd.DataFrame, settings: WeatherSettings) -> pd.DataFrame:
    """Complete hours of the part of the day that counts, and whether each is in prescription."""
    hours = read_hours(hourly_weather).dropna(subset=[*READINGS])
    hours = hours[hours["hour"].between(settings.first_hour, settings.last_hour)]
    return hours.assign(inside=in_prescription(hours, settings)).sort_values("time")


def days_in_prescription(
    hourly_weather: pd.DataFrame,
    first_day: pd.Timestamp,
    last_day: pd.Timestamp,
    winds: np.ndarray,
    settings: WeatherSettings,
) -> pd.Series:
    """Days of each year between two days of the calendar that offered a prescribed wind and hour.

    ``winds`` are arcs [degree] of first and last; only hours with a wind in one of them count. A
    year without a complete hour in that time has no row. The prescription must be complete.
    """
    hours = within_window(judged_hours(hourly_weather, settings), first_day, last_day)
    offered = hours["inside"] & wind_in(winds, hours["wind_from_deg"].to_numpy("float64"))
    days: pd.Series = _days(hours, offered, settings.least_run).groupby(level="year").sum()
    return days


def within_window(
    hours: pd.DataFrame, first_day: pd.Timestamp, last_day: pd.Timestamp
) -> pd.DataFrame:
    """Hours between two days of the calendar, whatever their year; the days may pass New Year."""
    day = hours["time"].dt.strftime("%m-%d")
    first, last = first_day.strftime("%m-%d"), last_day.strftime("%m-%d")
    within = (day >= first) & (day <= last) if first <= last else (day >= first) | (day <= last)
    return hours[within]


def _monthly(hours: pd.DataFrame, least_run: int) -> pd.DataFrame:
    """Counts of one unit by year and month."""
    groups = [hours["time"].dt.year.rename("year"), hours["time"].dt.month.rename("month")]
    counts = pd.DataFrame(
        {
            "hours_read": hours.groupby(groups)["inside"].size(),
            "hours_in": hours.groupby(groups)["inside"].sum(),
            "days_in": _days(hours, hours["inside"], least_run),
        }
    )
    has_winds = "both" in hours
    counts["hours_in_and_wind"] = hours.groupby(groups)["both"].sum() if has_winds else None
    counts["days_in_and_wind"] = _days(hours, hours["both"], least_run) if has_winds else None
    return counts.reset_index()


def _days(hours: pd.DataFrame, inside: pd.Series, least_run: int) -> pd.Series:
    """Days by year and month with a long enough run of such hours on end."""
    groups = [hours["time"].dt.year.rename("year"), hours["time"].dt.month.rename("month")]
    return dates_of_runs(hours, inside, least_run).groupby(groups).nunique()


def dates_of_runs(hours: pd.DataFrame, inside: pd.Series, least_run: int) -> pd.Series:
    """Date of each hour that is in a long enough run of such hours on end; else missing."""
    step = hours["time"].diff() != pd.Timedelta(hours=1)
    run = (step | (inside != inside.shift()) | (hours["date"] != hours["date"].shift())).cumsum()
    length = inside.groupby(run).transform("sum")
    dates: pd.Series = hours["date"].where(inside & (length >= least_run))
    return dates


def find_weather(
    units: gpd.GeoDataFrame, hourly_weather: pd.DataFrame, settings: WeatherSettings
) -> gpd.GeoDataFrame:
    """Findings of the burn weather: hours that cannot be counted without a whole prescription."""
    needs = prescription_needs(settings)
    if hourly_weather.empty or not needs:
        return findings_frame([], units.crs)
    message = f"not counted: needs {listed(needs)} of [weather]"
    code = "prescription_incomplete"
    note = Finding(severity="note", source="hourly_weather", message=message, code=code)
    return findings_frame([note], units.crs)
