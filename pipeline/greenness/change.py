"""Did the fire do it? Change of burned units against the change of units that were not burned.

What happened to the weather, the season and the sensor happened to the reference units too; what
is left is the burn, plus whatever made single units differ. How much that is, the references tell
by their own spread: the unit is the replicate, not the pixel.
"""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.student_t import t_multiplier
from pipeline.core.units import half_up
from pipeline.greenness.burn_doubts import burn_words, burned_references, loss_is_explained
from pipeline.greenness.comparisons import season_gap_days
from pipeline.greenness.picture_doubts import (
    burned_within,
    cloud_suspicion,
    composite_words,
    last_days,
)
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import HistoryEffect, earlier_pictures, history_effect


def change_against(changes: np.ndarray, reference_changes: np.ndarray) -> np.ndarray:
    """Change of each unit less the mean change of the reference units (difference in differences).

    *Source*: A. P. Christie et al., Journal of Applied Ecology (2019), doi 10.1111/1365-2664.13499
    (56, 2742-2754: from memory, to be checked): before-after-control-impact designs are the least
    misleading ones.
    """
    return np.asarray(changes) - np.mean(reference_changes)


def half_width(reference_changes: np.ndarray, confidence_pct: float, least: int) -> float:
    """Half width of the interval around one unit's change against the references.

    t(m − 1)·s·√(1 + 1/m) with the sample standard deviation s of m reference changes: a
    prediction interval for one more unit. NaN with fewer than ``least`` references.
    """
    m = len(reference_changes)
    if m < max(least, 2):
        return np.nan
    spread = float(np.std(reference_changes, ddof=1))
    return t_multiplier(m - 1, confidence_pct) * spread * float(np.sqrt(1.0 + 1.0 / m))


@dataclass(frozen=True, slots=True)
class Judged:
    """What is said of one unit."""

    against: float
    low: float
    high: float
    references: int
    verdict: str
    caution: str | None
    past: HistoryEffect | None = None


def compare_greenness(
    units: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    zone_changes: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> gpd.GeoDataFrame:
    """Layer ``greenness``: change of each unit of each comparison, and what it means."""
    both = chosen_comparisons.merge(zone_changes, on=["comparison", "unit_id"])
    parts = [
        _judged_comparison(own, zone_scenes, treatment_log, settings)
        for _, own in both.groupby("comparison")
    ]
    if not parts:
        empty = chosen_comparisons.iloc[:0].reindex(columns=_COLUMNS)
        return gpd.GeoDataFrame(empty, geometry=gpd.GeoSeries([], crs=units.crs), crs=units.crs)
    rows = pd.concat(parts, ignore_index=True)
    shapes = units.set_index("unit_id").geometry.loc[rows["unit_id"]].to_numpy()
    return gpd.GeoDataFrame(rows[_COLUMNS], geometry=shapes, crs=units.crs)


_COLUMNS = [
    "comparison", "unit_id", "role", "before", "after", "before_mean", "after_mean", "change",
    "change_vs_reference", "interval_low", "interval_high", "relative_pct", "references",
    "noise_floor", "years_before", "gaps_before", "valid_pct", "pixels", "effective_pixels",
    "range_m", "alike_pct", "range_from", "verdict", "caution",
]  # fmt: skip


def with_reasons(
    own: pd.DataFrame, zone_scenes: pd.DataFrame, treatment_log: pd.DataFrame
) -> pd.DataFrame:
    """Rows of a comparison with what the log says against them where the pixels say nothing."""
    by_picture = burned_within(own, last_days(zone_scenes), treatment_log)
    reason = own["reason"].fillna(by_picture).fillna(burned_references(own, treatment_log))
    return own.assign(reason=reason)


def usable_references(own: pd.DataFrame, settings: GreennessSettings) -> pd.Series:
    """Whether each row of a comparison is a reference unit good enough to be held against."""
    return (
        (own["role"] == "reference")
        & own["reason"].isna()
        & (own["valid_pct"] >= settings.sure_valid_pct)
    )


def _judged_comparison(
    own: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Rows of one comparison."""
    last_day = last_days(zone_scenes)
    own = with_reasons(own, zone_scenes, treatment_log)
    good = usable_references(own, settings)
    shown = earlier_pictures(own["before"].iloc[0], zone_scenes, treatment_log, settings)
    judged = []
    for _, row in own.iterrows():
        references = own[good & (own["unit_id"] != row["unit_id"])]
        names = references["unit_id"].to_list()
        past = history_effect(row, names, shown, settings)
        doubts = [
            composite_words(row, last_day),
            *burn_words(row, treatment_log),
            _cloud_words(row, own, treatment_log, settings),
        ]
        judged.append(_judged(row, references, past, list(filter(None, doubts)), settings))
    expected = own["after_mean"] - np.array([j.against for j in judged])
    return own.assign(
        change_vs_reference=[j.against for j in judged],
        interval_low=[j.low for j in judged],
        interval_high=[j.high for j in judged],
        relative_pct=100.0 * np.array([j.against for j in judged]) / expected.where(expected > 0),
        references=[j.references for j in judged],
        noise_floor=[_floor(row, settings) for _, row in own.iterrows()],
        years_before=[j.past.years if j.past else 0 for j in judged],
        gaps_before=[j.past.strip if j.past else None for j in judged],
        verdict=[j.verdict for j in judged],
        caution=[j.caution for j in judged],
    )


def _floor(row: pd.Series, settings: GreennessSettings) -> float:
    """Change that may be noise of the sensors."""
    return settings.mixed_noise_floor if row["mixed"] else settings.noise_floor


def _judged(
    row: pd.Series,
    references: pd.DataFrame,
    past: HistoryEffect | None,
    doubts: list[str],
    settings: GreennessSettings,
) -> Judged:
    """One unit against the reference units (a reference unit against the others)."""
    m, nothing = len(references), np.nan
    if row["reason"] is not None:
        words = f"cannot be judged: {row['reason']}"
        return Judged(nothing, nothing, nothing, m, words, None)
    if m == 0:
        words = "cannot be judged: no usable reference unit"
        return Judged(nothing, nothing, nothing, m, words, None)
    changes = references["change"].to_numpy()
    against = float(change_against(row["change"], changes))
    half = half_width(changes, settings.confidence_pct, settings.least_references)
    if past is not None and np.isfinite(half):
        half = max(half, past.half)
    words = verdict(against, half, _floor(row, settings), settings)
    if past is not None and abs(past.effect) <= past.half and "than unburned units" in words:
        words = "within what it did against the references in earlier years"
    gap = season_gap_days(row["before"], row["after"])
    if gap > settings.most_date_gap_days:
        against = half = nothing
        words = (
            f"seasonal difference, not a change after the burn: the pictures are {gap} days "
            "apart in the course of the year"
        )
    if row["role"] == "reference":
        words = f"reference unit: {words}"
    cautions = [*doubts, *_cautions(row, references, gap, past, settings)]
    caution = "; ".join(cautions) or None
    return Judged(against, against - half, against + half, m, words, caution, past)


def _cloud_words(
    row: pd.Series, own: pd.DataFrame, treatment_log: pd.DataFrame, settings: GreennessSettings
) -> str | None:
    """That cloud is likely on a picture of a unit, None where the log tells of its loss."""
    others = own.loc[own["reason"].isna() & (own["unit_id"] != row["unit_id"]), "change"].to_numpy()
    told = cloud_suspicion(row["change"], others, row["before"], row["after"], settings.cloud_drop)
    lost = len(others) > 0 and row["change"] < others.min()
    return None if lost and loss_is_explained(row, treatment_log) else told


def verdict(against: float, half: float, floor: float, settings: GreennessSettings) -> str:
    """What may be said of a change against the references; no more than the spread allows."""
    if np.isnan(half):
        return f"no interval: fewer than {settings.least_references} usable reference units"
    if abs(against) <= half:
        return "within what unburned units did"
    if abs(against) < floor:
        return f"no clear difference: smaller than the noise of the pictures ({floor:g})"
    return f"{'greener' if against > 0 else 'less green'} than unburned units did"


def _past_words(past: HistoryEffect | None, references: int, floor: float) -> dict[str, bool]:
    """What the earlier years say, and whether it is worth saying."""
    if past is None:
        return {}
    return {
        f"in earlier years its gap to the references varied by {half_up(past.reach, 3)}, more than "
        f"the {half_up(abs(past.effect), 3)} that it differs from their mean now":
            past.reach > abs(past.effect) and past.reach >= floor,
        f"the earlier years show {past.references} of the {references} references":
            past.references < references,
    }  # fmt: skip


def _cautions(
    row: pd.Series,
    references: pd.DataFrame,
    gap: int,
    past: HistoryEffect | None,
    settings: GreennessSettings,
) -> list[str]:
    """What to keep in mind beside the verdict."""
    before = float(references["before_mean"].mean())
    apart = row["before_mean"] - before
    told = {
        f"only {half_up(row['valid_pct'], 0)} percent of the unit is usable on both dates":
            row["valid_pct"] < settings.sure_valid_pct,
        f"the pictures are {gap} days apart in the course of the year":
            settings.date_gap_days < gap,
        "the pictures have different pixels, so each mean rests on its own": not row["paired"],
        "the pictures are from different sensors, or one is NDVI as delivered":
            row["mixed"] and row["paired"],
        f"its NDVI before was {half_up(abs(apart), 3)} {'above' if apart > 0 else 'below'} the "
        "references': a low one tends to rise, a high one to fall, without any burn":
            abs(apart) > settings.similar_before,
        **_past_words(past, len(references), _floor(row, settings)),
    }  # fmt: skip
    return [text for text, holds in told.items() if holds]
