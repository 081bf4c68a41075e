"""Spring by degree-days on each day: from daily temperatures, or from dates by latitude."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.places import place_key
from pipeline.log.days import day_of, is_month_day

DEFAULT_REGION = "central plains"
"""Region whose dates stand where the property names none; *source*: common practice, no source."""


BASE_F = 32.0


MILD_DAYS = 5


DATES = ("cured_from", "green_from", "green_full")


FROM_DEGREE_DAYS, FULL_DEGREE_DAYS = 300.0, 1900.0
"""Degree-days above 32 °F that the dates ``green_from`` and ``green_full`` of the table stand for.

They are what the table's columns mean, not settings: 300 lies between the first growth of
bluegrass and the 443 at which crested wheatgrass is ready for grazing (NDSU R1061), and 1,900 is
the middle of June at 40 to 42 N.
"""


DAYS_DEG = 3.1
"""Days by which spring comes later a degree north of the outermost rows, and earlier south of them.

*Source*: derived: 1,247 degree-days are reached 17 days later at Carrington (47.5 N) than at Ames
(42.0 N).
"""


COUNT_FROM = "03-15"


LAST_DAY = "07-31"


@dataclass(frozen=True, slots=True)
class SpringDates:
    """Days of an ordinary spring at one place, and the sward there where nobody has looked.

    ``latitude_deg`` is the latitude they were taken for, NaN where they are those of a region.
    """

    cured_from: pd.Timestamp
    green_from: pd.Timestamp
    green_full: pd.Timestamp
    cool_exotic_share_pct: float
    latitude_deg: float


@dataclass(frozen=True, slots=True)
class Spring:
    """Spring of the season at one place: its days and the degree-days [°F] summed up on each.

    ``courses`` are the sums by year of the temperatures that it rests on, none where it rests on
    dates; those of the years are kept since springs lie weeks apart. ``dates`` may be missing.
    """

    days: pd.DatetimeIndex
    degree_days: np.ndarray
    courses: dict[int, np.ndarray]
    dates: SpringDates | None

    def sum_on(self, day: pd.Timestamp) -> float:
        """Degree-days [°F] on a day of any year: that year's where given, else the season's."""
        course = self.courses.get(day.year, self.degree_days)
        position = (day_of(self.days[0].year, f"{day:%m-%d}") - self.days[0]).days
        return float(course[min(position, len(course) - 1)])


def region_of(property: pd.DataFrame) -> str:
    """Region of the property, or the one that stands for it where it names none."""
    region = property["region"].iloc[0]
    return DEFAULT_REGION if pd.isna(region) else str(region)


def dates_of_region(green_up: pd.DataFrame, property: pd.DataFrame) -> pd.DataFrame:
    """Rows of the table ``green_up`` for the property's region; empty where it has none."""
    return green_up[green_up["region"].map(place_key) == place_key(region_of(property))]


def rows_of_place(green_up: pd.DataFrame, property: pd.DataFrame) -> pd.DataFrame:
    """Rows of the table that speak of the property: those of its region that have no latitude.

    Where the region has rows by latitude only, all rows by latitude stand together, whatever
    region they name: a line between two regions is no step in spring. A region that the table
    does not have has none.
    """
    own = dates_of_region(green_up, property)
    everywhere = own[own["latitude_deg"].isna()]
    if own.empty or len(everywhere):
        return everywhere
    return green_up[green_up["latitude_deg"].notna()].sort_values("latitude_deg")


def latitudes_deg(units: gpd.GeoDataFrame) -> list[float]:
    """Latitude [degree] of a point in each unit."""
    points = gpd.GeoSeries(units.geometry.representative_point(), crs=units.crs)
    return list(points.to_crs("EPSG:4326").y)


def dates_at(rows: pd.DataFrame, season: int, latitude_deg: float) -> SpringDates | None:
    """Dates of spring at a latitude from ``rows_of_place``, None without rows.

    Straight between the two rows around the latitude; beyond the outermost rows so many days more
    or less for each degree.
    """
    if rows.empty:
        return None
    first = pd.Timestamp(season, 1, 1).as_unit("s")
    table = rows.head(1) if rows["latitude_deg"].isna().any() else rows
    at = table["latitude_deg"].fillna(latitude_deg).to_numpy("float64")
    known = min(max(latitude_deg, at[0]), at[-1])
    days = {
        name: float(
            np.interp(known, at, [(day_of(season, day) - first).days for day in table[name]])
        )
        for name in DATES
    }
    beyond = DAYS_DEG * (latitude_deg - known)
    share = np.interp(known, at, table["cool_exotic_share_pct"].to_numpy("float64"))
    by_latitude = table["latitude_deg"].notna().all()
    return SpringDates(
        **{name: first + pd.Timedelta(days=round(day + beyond)) for name, day in days.items()},
        cool_exotic_share_pct=float(share),
        latitude_deg=latitude_deg if by_latitude else np.nan,
    )


def green_from_in(
    units: gpd.GeoDataFrame, green_up: pd.DataFrame, property: pd.DataFrame
) -> str | None:
    """Month and day on which growth begins in an ordinary spring amid the units, None if untold."""
    middle_deg = float(np.mean(latitudes_deg(units)))
    season = int(property["season"].iloc[0])
    dates = dates_at(rows_of_place(green_up, property), season, middle_deg)
    return None if dates is None else f"{dates.green_from:%m-%d}"


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


def sums_between(
    days: pd.DatetimeIndex, green_from: pd.Timestamp, full: pd.Timestamp
) -> np.ndarray:
    """Degree-days [°F] summed up on each day of an ordinary spring, from two of its dates.

    *Assumes*: the sum grows with the square of the days, as it does where temperature rises evenly:
    so drawn, the median courses of Ames, Champion and Carrington are met within four days.
    """
    roots = np.sqrt([FROM_DEGREE_DAYS, FULL_DEGREE_DAYS])
    slope = (roots[1] - roots[0]) / (full - green_from).days
    elapsed = (days - green_from).days.to_numpy()
    return np.asarray(np.maximum(roots[0] + slope * elapsed, 0.0) ** 2)


def courses_of(season: int, temperatures: pd.DataFrame) -> dict[int, np.ndarray]:
    """Degree-days [°F] summed up on each day to the end of July, by year, as far as complete.

    Of several years the season's own goes alone.
    """
    length = len(spring_days(season))
    courses = {
        int(year): course
        for year, rows in temperatures.groupby(temperatures["date"].dt.year)
        if (course := _course(rows, int(year), length)) is not None
    }
    return {season: courses[season]} if season in courses else courses


def spring_of(
    season: int, courses: dict[int, np.ndarray], dates: SpringDates | None
) -> Spring | None:
    """Spring of the season at one place, None where neither temperatures nor dates are given.

    Temperatures go before dates; the mean course of the years given stands for the season.
    """
    days = spring_days(season)
    if courses:
        return Spring(days, np.mean(list(courses.values()), axis=0), courses, dates)
    if dates is None:
        return None
    return Spring(days, sums_between(days, dates.green_from, dates.green_full), {}, dates)


def spring_days(season: int) -> pd.DatetimeIndex:
    """Days from New Year to the end of July."""
    return pd.date_range(f"{season}-01-01", day_of(season, LAST_DAY))


def _course(temperatures: pd.DataFrame, year: int, length: int) -> np.ndarray | None:
    """Degree-days summed up on each day of one year, None where days are missing."""
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
    # Day of the year decides, so a leap day more or less is padded in winter.
    return np.concatenate([np.zeros(length - len(daily)), np.cumsum(daily)])


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
