"""What earlier years tell: how far a unit strayed from its references when nothing was burned."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pipeline.core.student_t import t_multiplier
from pipeline.greenness.disturbances import last_days
from pipeline.greenness.settings import GreennessSettings
from pipeline.log.treatment_log import YEAR, burns_of


@dataclass(frozen=True, slots=True)
class HistoryEffect:
    """Effect against the mean of earlier years, half width of its interval, and their reach.

    ``strip`` tells the gap to the references in each of those years; ``references`` is how many
    references those are.
    """

    effect: float
    half: float
    reach: float
    years: int
    strip: str = ""
    references: int = 0


def effect_of_years(
    gaps_before: Sequence[float], gap_after: float, confidence_pct: float
) -> HistoryEffect:
    """Gap to the references after the burn against the gaps of Y earlier years.

    The half width is t(Y − 1)·s·√(1 + 1/Y) with the sample standard deviation s of the gaps.
    """
    gaps, count = np.asarray(gaps_before, dtype=float), len(gaps_before)
    spread = float(np.std(gaps, ddof=1))
    half = t_multiplier(count - 1, confidence_pct) * spread * float(np.sqrt(1.0 + 1.0 / count))
    return HistoryEffect(gap_after - float(gaps.mean()), half, float(np.ptp(gaps)), count)


def of_one_kind(zone_scenes: pd.DataFrame) -> pd.DataFrame:
    """Scenes that may be held against each other: of each date those of its best kind.

    NDVI of rasters, of stacks and of a table is one quantity: a kind is set aside only where a
    better one shows the same day.
    """
    rank = zone_scenes["kind"].map({"ndvi": 0, "reflectance": 1, "series": 2}).astype(float)
    return zone_scenes[rank == rank.groupby(zone_scenes["date"]).transform("min")]


@dataclass(frozen=True, slots=True)
class EarlierPictures:
    """Means of all units (columns) by date, and those of the years before a comparison.

    ``earlier`` are pictures of the same season, empty where a burn was less than a year ago;
    ``off_days`` is how far each is from the season of the picture before the burn, ``season`` how
    many years before it.
    """

    means: pd.DataFrame
    earlier: pd.DataFrame
    off_days: np.ndarray
    season: np.ndarray


def earlier_pictures(
    before: pd.Timestamp,
    zone_scenes: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> EarlierPictures:
    """Pictures of the season of ``before`` up to that date, without years after a burn."""
    usable = of_one_kind(zone_scenes[zone_scenes["reason"].isna()])
    means = usable.pivot_table(index="date", columns="unit_id", values="mean", aggfunc="first")
    burns, last_day = burns_of(treatment_log), last_days(usable)
    off = np.abs(means.index.day_of_year.to_numpy() - before.day_of_year)
    off = np.minimum(off, YEAR.days - off)
    past = np.asarray(means.index <= before) & (off <= settings.date_gap_days)
    earlier = means[past].copy()
    for name, unit_burns in burns.groupby("unit_id"):
        if name in earlier.columns:
            soon = _soon_after(earlier.index, last_day[earlier.index], unit_burns)
            earlier[name] = earlier[name].mask(soon)
    season = np.rint((earlier.index - before).days.to_numpy() / YEAR.days)
    return EarlierPictures(means, earlier, off[past], season)


def history_effect(
    row: pd.Series, references: list[str], pictures: EarlierPictures, settings: GreennessSettings
) -> HistoryEffect | None:
    """Effect of a burn by the years before it, None where there are too few.

    One picture a year counts: the one nearest to the season of the picture before the burn.
    Pictures within a year after a burn do not count for the unit or reference that burned: they
    do not tell how units differ when nothing was burned. The years must show the same references,
    so those that are missing in too many of them are left out.
    """
    unit, means, earlier = row["unit_id"], pictures.means, pictures.earlier
    if unit not in means.columns or row["after"] not in means.index:
        return None
    chosen = _lasting(earlier, pictures.season, unit, references, settings.least_years_before)
    after = means.loc[row["after"]]
    if not chosen or after[[unit, *chosen]].isna().any():
        return None
    gaps = earlier[unit] - earlier[chosen].mean(axis=1, skipna=False)
    there = gaps.notna().to_numpy()
    off = pd.Series(pictures.off_days, gaps.index)[there]
    yearly = gaps[off.groupby(pictures.season[there]).idxmin()]
    gap_after = float(after[unit] - after[chosen].mean())
    effect = effect_of_years(yearly.to_list(), gap_after, settings.confidence_pct)
    strip = "; ".join(f"{day.year} {gap:+.3f}" for day, gap in yearly.items())
    return replace(effect, strip=strip, references=len(chosen))


def _lasting(
    earlier: pd.DataFrame, season: np.ndarray, unit: str, references: list[str], least: int
) -> list[str]:
    """As many references as have enough years in common with each other and the unit."""
    there = earlier[earlier[unit].notna()]
    known = [name for name in references if name in there.columns]
    known.sort(key=lambda name: (-int(there[name].notna().sum()), name))
    for count in range(len(known), 0, -1):
        complete = earlier[[unit, *known[:count]]].notna().all(axis=1).to_numpy()
        if len(np.unique(season[complete])) >= least:
            return known[:count]
    return []


def _soon_after(first: pd.DatetimeIndex, last: pd.Series, burns: pd.DataFrame) -> np.ndarray:
    """Whether any of the days of each picture lies within a year after any of the burns."""
    start, end = burns["start"].to_numpy(), burns["end"].to_numpy()
    begins, ends = (days.to_numpy()[:, None] for days in (first, last))
    return ((ends >= start) & (begins <= end + YEAR.to_timedelta64())).any(axis=1)
