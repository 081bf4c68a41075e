"""Did the fire do it? Change of burned units against the change of units that were not burned.

What happened to the weather, the season and the sensor happened to the reference units too; what
is left is the burn, plus whatever made single units differ. How much that is, the references tell
by their own spread: the unit is the replicate, not the pixel.
"""

from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.student_t import t_multiplier
from pipeline.greenness.change_layers import GREENNESS
from pipeline.greenness.columns import joined_codes
from pipeline.greenness.comparisons import season_gap_days
from pipeline.greenness.disturbances import (
    burn_cautions,
    cloud_caution,
    is_composite,
    loss_is_explained,
    with_disturbances,
)
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import HistoryEffect, earlier_pictures, history_effect

Row = dict[str, Any]


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


def verdict(against: float, half: float, floor: float, *, greater: str, less: str) -> str:
    """Code of what may be said of a change against the references; no more than they allow.

    ``half`` is the half width of the interval, NaN where there is none, ``floor`` the change that
    may be noise; ``greater`` and ``less`` are the codes of a change that stands out.
    """
    if np.isnan(half):
        return "no_interval"
    if abs(against) <= half:
        return "within"
    if abs(against) < floor:
        return "below_noise"
    return greater if against > 0 else less


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
        _judged_comparison(rows, zone_scenes, treatment_log, settings)
        for _, rows in both.groupby("comparison")
    ]
    columns = GREENNESS.column_names
    if not parts:
        empty = chosen_comparisons.iloc[:0].reindex(columns=columns)
        return gpd.GeoDataFrame(empty, geometry=gpd.GeoSeries([], crs=units.crs), crs=units.crs)
    rows = pd.concat(parts, ignore_index=True)
    shapes = units.set_index("unit_id").geometry.loc[rows["unit_id"]].to_numpy()
    return gpd.GeoDataFrame(rows[columns], geometry=shapes, crs=units.crs)


def usable_references(rows: pd.DataFrame, settings: GreennessSettings) -> pd.Series:
    """Whether each row of a comparison is a reference unit good enough to be held against."""
    return (
        (rows["role"] == "reference")
        & rows["reason"].isna()
        & ~(rows["valid_pct"] < settings.sure_valid_pct)  # a table of means may not tell it
    )


def _judged_comparison(
    rows: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Rows of one comparison with what is said of each unit."""
    rows = with_disturbances(rows, zone_scenes, treatment_log)
    good = usable_references(rows, settings)
    pictures = earlier_pictures(rows["before"].iloc[0], zone_scenes, treatment_log, settings)
    judged = []
    for _, row in rows.iterrows():
        references = rows[good & (rows["unit_id"] != row["unit_id"])]
        past = history_effect(row, references["unit_id"].to_list(), pictures, settings)
        answer = _judged(row, references, past, settings)
        if answer["verdict"] != "cannot_judge":
            others = rows[rows["unit_id"] != row["unit_id"]]
            doubts = _log_and_cloud_cautions(row, others, treatment_log, settings)
            doubts += _figure_cautions(row, answer, past, settings)
            answer["caution"] = joined_codes(doubts)
        judged.append(answer)
    answers = pd.DataFrame(judged, index=rows.index).astype({"reason": object, "caution": object})
    expected = rows["after_mean"] - answers["change_vs_reference"]
    relative = 100.0 * answers["change_vs_reference"] / expected.where(expected > 0)
    return rows.drop(columns="reason").join(answers).assign(relative_pct=relative)


def _judged(
    row: pd.Series,
    references: pd.DataFrame,
    past: HistoryEffect | None,
    settings: GreennessSettings,
) -> Row:
    """One unit against the reference units (a reference unit against the others)."""
    floor = settings.mixed_noise_floor if row["mixed"] else settings.noise_floor
    gap = season_gap_days(row["before"], row["after"])
    answer = _UNJUDGED | {"noise_floor": floor, "references": len(references)}
    answer |= {"season_gap_days": gap, "reason": row["reason"]}
    if row["reason"] is None and references.empty:
        answer["reason"] = "no_reference"
    if answer["reason"] is not None:
        return answer
    changes = references["change"].to_numpy()
    against = float(change_against(row["change"], changes))
    half = half_width(changes, settings.confidence_pct, settings.least_references)
    if past is not None:
        half = max(half, past.half) if np.isfinite(half) else half
        answer |= {
            "years_before": past.years,
            "gaps_before": past.strip,
            "years_effect": past.effect,
            "years_reach": past.reach,
            "years_references": past.references,
        }
    answer["before_gap"] = row["before_mean"] - references["before_mean"].mean()
    answer["verdict"] = verdict(against, half, floor, greater="greener", less="less_green")
    if past is not None and abs(past.effect) <= past.half:
        stands_out = answer["verdict"] in ("greener", "less_green")
        answer |= {"verdict": "within", "within_earlier_years": True} if stands_out else {}
    if gap > settings.most_date_gap_days:
        return answer | {"verdict": "seasonal", "within_earlier_years": False}
    return answer | {
        "change_vs_reference": against,
        "interval_low": against - half,
        "interval_high": against + half,
    }


_UNJUDGED: Row = {
    "change_vs_reference": np.nan,
    "interval_low": np.nan,
    "interval_high": np.nan,
    "years_before": 0,
    "gaps_before": None,
    "years_effect": np.nan,
    "years_reach": np.nan,
    "years_references": 0,
    "within_earlier_years": False,
    "before_gap": np.nan,
    "verdict": "cannot_judge",
    "caution": None,
}
"""What is said of a unit that cannot be judged."""


def _log_and_cloud_cautions(
    row: pd.Series, others: pd.DataFrame, treatment_log: pd.DataFrame, settings: GreennessSettings
) -> list[str]:
    """Codes of what the log and the days of the pictures say against a row, and of likely cloud.

    A loss that the log explains is none of cloud.
    """
    changes = others.loc[others["reason"].isna(), "change"].to_numpy()
    cloud = cloud_caution(row["change"], changes, settings.cloud_drop)
    if cloud == "cloud_after" and loss_is_explained(row, treatment_log):
        cloud = None
    composite = ["composite"] if is_composite(row) else []
    return [*composite, *burn_cautions(row, treatment_log), *([cloud] if cloud else [])]


def _figure_cautions(
    row: pd.Series, answer: Row, past: HistoryEffect | None, settings: GreennessSettings
) -> list[str]:
    """Codes of what the figures themselves say against a row."""
    cautions = {
        "part_usable": row["valid_pct"] < settings.sure_valid_pct,
        "season_gap": answer["season_gap_days"] > settings.date_gap_days,
        "unpaired": not row["paired"],
        "mixed_sensors": row["mixed"] and row["paired"],
        "unlike_before": abs(answer["before_gap"]) > settings.similar_before,
        "restless_years": past is not None
        and past.reach > abs(past.effect)
        and past.reach >= answer["noise_floor"],
        "years_of_part": past is not None and past.references < answer["references"],
    }
    return [code for code, holds in cautions.items() if holds]
