"""What earlier years tell: how far a unit strayed from its references when nothing was burned."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pipeline.compute.picture_doubts import last_days
from pipeline.compute.student_t import t_multiplier
from pipeline.compute.treatment_log import YEAR, burns_of
from pipeline.settings.greenness import GreennessSettings


@dataclass(frozen=True, slots=True)
class HistoryEffect:
    """Effect against the mean of earlier years, half width of its interval, and their reach.

    ``strip`` tells the gap to the references in each of those years.
    """

    effect: float
    half: float
    reach: float
    years: int
    strip: str = ""


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
    """Scenes that may be held against each other: greenness rasters, or else reflectance."""
    ready = zone_scenes[zone_scenes["kind"] == "ndvi"]
    return zone_scenes if ready.empty else ready


def history_effect(
    row: pd.Series,
    references: list[str],
    zone_scenes: pd.DataFrame,
    treatments: pd.DataFrame,
    settings: GreennessSettings,
) -> HistoryEffect | None:
    """Effect of a burn by the years before it, None where there are too few.

    One picture a year counts: the one nearest to the season of the picture before the burn.
    Pictures within a year after a burn of the unit or of a reference do not count: they do not
    tell how the units differ when nothing was burned.
    """
    usable = of_one_kind(zone_scenes[zone_scenes["reason"].isna()])
    means = usable.pivot_table(index="date", columns="unit_id", values="mean", aggfunc="first")
    units = [row["unit_id"], *references]
    if not references or not set(units) <= set(means.columns):
        return None
    means = means[units].dropna()
    gaps = means[row["unit_id"]] - means[references].mean(axis=1)
    off = np.abs(gaps.index.day_of_year - row["before"].day_of_year)
    off = np.minimum(off, 365 - off)
    burns = burns_of(treatments[treatments["unit_id"].isin(units)])
    past = (gaps.index <= row["before"]) & (off <= settings.date_gap_days)
    past &= ~_soon_after(gaps.index, last_days(usable)[gaps.index], burns)
    nearest = pd.Series(off, gaps.index)[past].groupby(gaps.index[past].year).idxmin()
    if len(nearest) < settings.least_years_before or row["after"] not in gaps.index:
        return None
    told = gaps[nearest]
    effect = effect_of_years(told.to_list(), float(gaps[row["after"]]), settings.confidence_pct)
    strip = "; ".join(f"{day.year} {gap:+.3f}" for day, gap in told.items())
    return replace(effect, strip=strip)


def _soon_after(first: pd.DatetimeIndex, last: pd.Series, burns: pd.DataFrame) -> np.ndarray:
    """Whether any of the days of each picture lies within a year after any of the burns."""
    start, end = burns["start"].to_numpy(), burns["end"].to_numpy()
    begins, ends = (days.to_numpy()[:, None] for days in (first, last))
    return ((ends >= start) & (begins <= end + YEAR.to_timedelta64())).any(axis=1)
