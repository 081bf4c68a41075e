"""How far spring growth has come on each day: from degree-days, or from dates of a region."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.places import place_key
from pipeline.log.days import day_of, is_month_day
from pipeline.season.settings import FuelSettings

DEFAULT_REGION = "central plains"
"""Region whose dates stand where the property names none; *source*: common practice, no source."""


BASE_F = 32.0


MILD_DAYS = 5


DATES = ("cured_from", "green_from", "green_full")


COUNT_FROM = "03-15"


LAST_DAY = "07-31"


@dataclass(frozen=True, slots=True)
class Spring:
    """Spring of the season: its days and the share of the green flush that has come on each.

    ``temperature_years`` are the years of the temperatures that it rests on, none where it rests
    on the dates of a region. ``cured_from`` is always a date of the region.
    """

    cured_from: pd.Timestamp | None
    days: pd.DatetimeIndex
    green_share: np.ndarray
    temperature_years: tuple[int, ...] = ()


def region_of(property: pd.DataFrame) -> str:
    """Region of the property, or the one that stands for it where it names none."""
    region = property["region"].iloc[0]
    return DEFAULT_REGION if pd.isna(region) else str(region)


def dates_of_region(green_up: pd.DataFrame, property: pd.DataFrame) -> pd.DataFrame:
    """Row of the table ``green_up`` for the property's region; empty where it has none."""
    return green_up[green_up["region"].map(place_key) == place_key(region_of(property))]


def degree_days(tmax_f: np.ndarray, tmin_f: np.ndarray) -> np.ndarray:
    """Degree-days [°F] above 32 °F of each day, from its highest and lowest temperature.

    *Source*: (70 + 40) ÷ 2 − 32 = 23 (NDSU column, 2012).
    """
    return np.maximum((tmax_f + tmin_f) / 2.0 - BASE_F, 0.0)


def counting_start(means_f: np.ndarray) -> int | None:
    """Position of the first of five days on end with a mean above freezing, None without any.

    *Source*: NDSU: degree-days count from the first day after 15 March with five such days on end.
    """
    mild = np.convolve(means_f > BASE_F, np.ones(MILD_DAYS, int), "valid") == MILD_DAYS
    return int(mild.argmax()) if mild.any() else None


def ramp(values: np.ndarray, start: float, full: float) -> np.ndarray:
    """Share from 0 at ``start`` to 1 at ``full``, straight between."""
    return np.clip((values - start) / (full - start), 0.0, 1.0)


def spring_of(
    season: int, temperatures: pd.DataFrame, dates: pd.DataFrame, settings: FuelSettings
) -> Spring | None:
    """Spring of the season, None where neither temperatures nor dates of the region are given.

    Temperatures go before dates. Those of the season's year are used where they are complete, else
    the mean course of the years given stands for it. ``dates`` is the row of the region, if any.
    """
    days = pd.date_range(f"{season}-01-01", day_of(season, LAST_DAY))
    cured = day_of(season, dates["cured_from"].iloc[0]) if len(dates) else None
    courses = {
        int(year): course
        for year, rows in temperatures.groupby(temperatures["date"].dt.year)
        if (course := _course(rows, int(year), len(days), settings)) is not None
    }
    if courses:
        years = (season,) if season in courses else tuple(sorted(courses))
        share = np.mean([courses[year] for year in years], axis=0)
        return Spring(cured, days, share, years)
    if dates.empty:
        return None
    from_day, full_day = (
        (day_of(season, dates[column].iloc[0]) - days[0]).days
        for column in ("green_from", "green_full")
    )
    return Spring(cured, days, ramp(np.arange(len(days)), from_day, full_day))


def _course(
    temperatures: pd.DataFrame, year: int, length: int, settings: FuelSettings
) -> np.ndarray | None:
    """Share of the flush on each day of one year from 1 January, None where days are missing."""
    days = pd.date_range(day_of(year, COUNT_FROM), day_of(year, LAST_DAY))
    table = temperatures.set_index("date").reindex(days)
    if table[["tmax_f", "tmin_f"]].isna().to_numpy().any():
        return None
    high, low = (table[c].to_numpy("float64") for c in ("tmax_f", "tmin_f"))
    start = counting_start((high + low) / 2.0)
    if start is None:
        return None
    daily = degree_days(high, low)
    daily[:start] = 0.0
    share = ramp(np.cumsum(daily), settings.green_degree_days, settings.full_degree_days)
    # Day of the year decides, so a leap day more or less is padded in winter.
    return np.concatenate([np.zeros(length - len(share)), share])


def close_day(spring: Spring, dead_lb_ac: float, settings: FuelSettings) -> pd.Timestamp | None:
    """Last day on which green growth is no more than the share allowed of all fuel.

    Green load is the share of the flush times ``green_load_lb_ac``; it may reach
    dead × g ÷ (1 − g). More dead grass carries green growth longer, so the day never comes earlier
    with a heavier load. None where green is over the limit from the first day; with a load that
    the whole flush cannot dilute, the day the flush is full.
    """
    most = settings.most_green_pct / 100.0
    allowed = dead_lb_ac * most / (1.0 - most) / settings.green_load_lb_ac
    inside = spring.green_share <= min(allowed, 1.0 - 1e-9)
    return spring.days[inside][-1] if inside.any() else None


def green_up_faults(green_up: pd.DataFrame) -> list[Fault]:
    """Dates of the table that are no days of the year, and springs that end before they begin."""
    faults = []
    for row in green_up.to_dict("records"):
        where = f"[sources.green_up] region {row['region']}"
        odd = [column for column in DATES if not is_month_day(str(row[column]))]
        for column in odd:
            found, expected = f'{column} "{row[column]}"', "month and day, such as 04-10"
            faults.append(Fault(where, found, expected, "write it that way"))
        if not odd and row["green_from"] >= row["green_full"]:
            found = f"green_from {row['green_from']} is not before green_full {row['green_full']}"
            faults.append(Fault(where, found, "growth that begins and then is full", "mend them"))
    return faults
