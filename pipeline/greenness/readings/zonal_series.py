"""Means of units by date that somebody else computed, as rows beside those of pictures.

There are no pixels: how many a mean rests on, and how they spread, is known only where the table
says so.
"""

import numpy as np
import pandas as pd

from pipeline.greenness.layers import ZONE_SCENES
from pipeline.greenness.settings import GreennessSettings
from pipeline.pictures.autocorrelation import Range, effective_pixels


def series_scenes(
    zonal_series: pd.DataFrame, scene: int, settings: GreennessSettings
) -> pd.DataFrame:
    """Rows of the layer ``zone_scenes`` of a table of means, all as the scene of one number."""
    last_day = zonal_series["date"] + pd.to_timedelta(_spans(zonal_series) - 1, unit="D")
    stats = _stats(zonal_series, settings).assign(
        date=zonal_series["date"],
        last_day=last_day,
        kind="series",
        scene=scene,
        unit_id=zonal_series["unit_id"],
        out_of_range_pct=0.0,
    )
    columns = [name for name in ZONE_SCENES.column_names if name != "treated_since_last"]
    return stats[columns]


def series_stats(
    zonal_series: pd.DataFrame, unit_ids: pd.Series, date: pd.Timestamp, settings: GreennessSettings
) -> pd.DataFrame | None:
    """Statistics of units on a date by a table of means, None where it has none of that date.

    A unit that the table leaves out has no mean.
    """
    of_date = zonal_series[zonal_series["date"] == date]
    if of_date.empty:
        return None
    rows = of_date.set_index("unit_id").reindex(unit_ids.to_numpy()).reset_index()
    return _stats(rows, settings)


def _spans(rows: pd.DataFrame) -> pd.Series:
    """Days that each mean may be from."""
    return rows["span_days"].fillna(1).astype(int)


def _stats(rows: pd.DataFrame, settings: GreennessSettings) -> pd.DataFrame:
    """What is known of each mean; what the table does not tell stays empty.

    So many usable pixels as it tells are taken for whole ones, and no gate is asked of what is
    unknown.
    """
    stats = rows[["mean", "sd", "pixels", "valid_pct", "pixel_m"]].astype(float)
    stats = stats.assign(full_pixels=np.floor(stats["pixels"]), lost_pct=np.nan)
    reason = pd.Series(None, index=stats.index, dtype=object)
    reason[stats["valid_pct"] < settings.least_valid_pct] = "too_little_usable"
    reason[stats["full_pixels"] < settings.least_full_pixels] = "too_few_pixels"
    return stats.assign(reason=reason)


def series_change(before: pd.DataFrame, after: pd.DataFrame, range_m: float) -> pd.DataFrame:
    """Differences of means of which at least one comes from a table, and what they are worth.

    The spread of a change is known where both spreads are: √(sd² before + sd² after), as if the
    pixels of the two dates had nothing in common, which is the most it is unless they change
    contrarily. Effective pixels need the number and the size of the pixels.
    """
    least = {
        name: np.minimum(before[name], after[name])
        for name in ("pixels", "valid_pct", "full_pixels")
    }
    coarsest = np.maximum(before["pixel_m"], after["pixel_m"])
    assumed = Range(range_m)
    worth = [
        effective_pixels(pixels, side_m, assumed) if np.isfinite([pixels, side_m]).all() else np.nan
        for pixels, side_m in zip(least["pixels"], coarsest, strict=True)
    ]
    return pd.DataFrame(
        {
            "before_mean": before["mean"],
            "after_mean": after["mean"],
            "change": after["mean"] - before["mean"],
            "change_sd": np.sqrt(before["sd"] ** 2 + after["sd"] ** 2),
            "lost_pct": np.fmax(before["lost_pct"], after["lost_pct"]),
            "pixel_m": coarsest,
            "effective_pixels": worth,
            "range_m": range_m,
            "alike_pct": np.nan,
            "range_from": "setting",
            **least,
        }
    )
