"""Earlier years of the same season: how units stood to each other when nothing was burned."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from pipeline.greenness.disturbances import last_days
from pipeline.greenness.effect.carry_over import LEAST_REFERENCES
from pipeline.greenness.settings import GreennessSettings
from pipeline.log.treatment_log import YEAR, burns_of


def of_one_kind(zone_scenes: pd.DataFrame) -> pd.DataFrame:
    """Scenes that may be held against each other: of each date those of its best kind.

    NDVI of rasters, of stacks and of a table is one quantity: a kind is set aside only where a
    better one shows the same day.
    """
    rank = zone_scenes["kind"].map({"ndvi": 0, "reflectance": 1, "series": 2}).astype(float)
    return zone_scenes[rank == rank.groupby(zone_scenes["date"]).transform("min")]


@dataclass(frozen=True, slots=True)
class EarlierPictures:
    """NDVI of units (columns) on the pictures (rows) of a season in the years before a burn.

    NaN where a unit has no usable reading, or had burned less than a year before. ``season`` tells
    how many years each picture is before that of the comparison, ``dates`` its day.
    """

    ndvi: np.ndarray
    season: np.ndarray
    dates: pd.DatetimeIndex


def earlier_pictures(
    before: pd.Timestamp,
    unit_ids: pd.Series,
    zone_scenes: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> EarlierPictures:
    """Pictures near the day of the year of ``before`` in the years before it."""
    usable = of_one_kind(zone_scenes[zone_scenes["reason"].isna()])
    means = usable.pivot_table(index="date", columns="unit_id", values="mean", aggfunc="first")
    days = pd.DatetimeIndex(means.index)
    off = np.abs(days.day_of_year.to_numpy() - before.day_of_year)
    off = np.minimum(off, YEAR.days - off)
    season = np.rint((before - days).days.to_numpy() / YEAR.days)
    past = (season >= 1) & (off <= settings.most_date_gap_days)
    earlier, last_day = means[past].copy(), last_days(usable)
    for name, unit_burns in burns_of(treatment_log).groupby("unit_id"):
        if name in earlier.columns:
            soon = _soon_after(earlier.index, last_day[earlier.index], unit_burns)
            earlier[name] = earlier[name].mask(soon)
    ndvi = earlier.reindex(columns=unit_ids).to_numpy(dtype=float)
    return EarlierPictures(ndvi, season[past], days[past])


def _soon_after(first: pd.DatetimeIndex, last: pd.Series, burns: pd.DataFrame) -> np.ndarray:
    """Whether any of the days of each picture lies within a year after any of the burns."""
    start, end = burns["start"].to_numpy(), burns["end"].to_numpy()
    begins, ends = (days.to_numpy()[:, None] for days in (first, last))
    return ((ends >= start) & (begins <= end + YEAR.to_timedelta64())).any(axis=1)


@dataclass(frozen=True, slots=True)
class SharedYears:
    """Years that the burned units and their references share, newest first.

    ``ndvi`` has a unit a row and a year a column: the mean of the pictures that all of them have.
    ``references`` are those left, without the ones that lack half of the years or more.
    """

    references: np.ndarray
    ndvi: np.ndarray
    years: tuple[int, ...]


def shared_years(
    pictures: EarlierPictures, burned: np.ndarray, references: np.ndarray
) -> SharedYears:
    """Earlier years in which the same units are seen; both masks are over the units.

    A mean of other units in another year would tell what differs between units, not years. Where
    too few references would be left, no earlier year is used.
    """
    there, none = np.isfinite(pictures.ndvi), np.empty((pictures.ndvi.shape[1], 0))
    seen = there[:, burned].all(axis=1)
    seasons = np.unique(pictures.season[seen])
    known = sum(
        (there[seen & (pictures.season == season)].any(axis=0).astype(int) for season in seasons),
        np.zeros(len(references), dtype=int),
    )
    kept = references & (2 * known > len(seasons))
    shared = seen & there[:, kept].all(axis=1)
    rows = [np.flatnonzero(shared & (pictures.season == season)) for season in seasons]
    rows = [of_season for of_season in rows if len(of_season)]
    if kept.sum() < LEAST_REFERENCES or not rows:
        return SharedYears(references, none, ())
    means = np.column_stack([pictures.ndvi[of_season].mean(axis=0) for of_season in rows])
    return SharedYears(kept, means, tuple(pictures.dates[k[0]].year for k in rows))
