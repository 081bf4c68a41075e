"""Steps on units of which a part burned: that part against the rest of the same unit.

A second line of evidence beside other units: soil, grazing and rain are nearly the same on both
sides of the line where a fire stopped. It is no experiment either: fire stops where something
differs.
"""

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.student_t import t_multiplier
from pipeline.greenness.columns import joined_codes
from pipeline.greenness.comparisons import season_gap_days
from pipeline.greenness.readings.layers import WITHIN_UNIT
from pipeline.greenness.readings.unit_parts import PARTS
from pipeline.greenness.scene_findings import note
from pipeline.greenness.settings import GreennessSettings

FEW_EFFECTIVE = 5.0
"""Fewer independent pixels than this make an interval that says little; judgment, no source."""


def compare_within_units(
    chosen_comparisons: pd.DataFrame,
    pixel_changes: pd.DataFrame,
    burned_ground: gpd.GeoDataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Layer ``within_unit``: burned against unburned ground of the same unit, on the same dates."""
    rows = split_rows(chosen_comparisons, pixel_changes)
    rows = rows[large_enough(rows, settings)]
    by_pictures = burned_ground[burned_ground["told_by"] == "pictures"]
    judged = [_judged(row, by_pictures, settings) for _, row in rows.iterrows()]
    return pd.DataFrame(judged, columns=WITHIN_UNIT.column_names)


def find_within_units(
    units: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    pixel_changes: pd.DataFrame,
    settings: GreennessSettings,
) -> gpd.GeoDataFrame:
    """Findings on units that a perimeter splits and of which one part is too small to be held."""
    rows = split_rows(chosen_comparisons, pixel_changes)
    findings: list[Finding] = []
    for row in rows[~large_enough(rows, settings)].itertuples():
        message = (
            f"{row.comparison}: fire took a part of {row.unit_id}; its burned ground has "
            f"{row.burned_full_pixels:.0f} whole pixels with {row.burned_valid_pct:.0f} percent "
            f"usable, its unburned ground {row.unburned_full_pixels:.0f} with "
            f"{row.unburned_valid_pct:.0f}: {settings.least_full_pixels} and "
            f"{settings.least_valid_pct:g} percent are needed to hold one against the other"
        )
        told = note("part_too_small", message, "burned_areas", subject=str(row.unit_id))
        findings.append(told)
    return findings_frame(findings, units.crs)


def split_rows(chosen_comparisons: pd.DataFrame, pixel_changes: pd.DataFrame) -> pd.DataFrame:
    """Burned units of comparisons that a perimeter splits, with the changes of both parts."""
    rows = chosen_comparisons.merge(pixel_changes, on=["comparison", "unit_id"])
    is_split = np.logical_and.reduce([rows[f"{part}_full_pixels"] > 0 for part in PARTS])
    return rows[is_split & (rows["role"] == "burned").to_numpy()]


def large_enough(rows: pd.DataFrame, settings: GreennessSettings) -> pd.Series:
    """Whether both parts of each row have enough pixels, and enough usable ones."""
    enough = pd.Series(True, index=rows.index)
    for part in PARTS:
        enough &= rows[f"{part}_full_pixels"] >= settings.least_full_pixels
        enough &= rows[f"{part}_valid_pct"] >= settings.least_valid_pct
    return enough


def _judged(
    row: pd.Series, by_pictures: pd.DataFrame, settings: GreennessSettings
) -> dict[str, object]:
    """One unit: its burned ground less its unburned ground, with interval and cautions."""
    difference = row["burned_change"] - row["unburned_change"]
    half = difference_half_width(
        (row["burned_sd"], row["unburned_sd"]),
        (row["burned_effective_pixels"], row["unburned_effective_pixels"]),
        settings.confidence_pct,
    )
    gap = season_gap_days(row["before"], row["after"])
    before_gap = row["burned_before"] - row["unburned_before"]
    effective = min(row["burned_effective_pixels"], row["unburned_effective_pixels"])
    of_unit = by_pictures.loc[by_pictures["unit_id"] == row["unit_id"], "date"]
    cautions = {
        "by_pictures": bool(((of_unit > row["before"]) & (of_unit < row["after"])).any()),
        "few_effective": effective < FEW_EFFECTIVE,
        "unlike_before": abs(before_gap) > settings.similar_before,
        "part_usable": min(row[f"{part}_valid_pct"] for part in PARTS) < settings.sure_valid_pct,
        "season_gap": gap > settings.date_gap_days,
        "mixed_sensors": bool(row["mixed"]),
    }
    return {
        **{name: row[name] for name in ("comparison", "unit_id", "before", "after")},
        **{f"{part}_{name}": row[f"{part}_{name}"] for part in PARTS for name in KEPT},
        "difference": difference,
        "interval_low": difference - half,
        "interval_high": difference + half,
        "before_gap": before_gap,
        "caution": joined_codes([code for code, holds in cautions.items() if holds]),
    }


KEPT = ("pixels", "effective_pixels", "change")


def difference_half_width(
    spreads: tuple[float, float], counts: tuple[float, float], confidence_pct: float
) -> float:
    """Half width of the interval of the difference of two means, NaN with fewer than two of either.

    ``counts`` are numbers of independent values, ``spreads`` their standard deviations. Whole
    degrees of freedom are taken, rounded down.

    *Source*: B. L. Welch, Biometrika 34 (1947) 28-35 (from memory, to be checked).
    """
    if min(counts) < 2.0:
        return np.nan
    parts = [spread**2 / count for spread, count in zip(spreads, counts, strict=True)]
    variance = sum(parts)
    if variance == 0.0:
        return 0.0
    least = sum(part**2 / (count - 1.0) for part, count in zip(parts, counts, strict=True))
    freedom = max(int(variance**2 / least), 1)
    return t_multiplier(freedom, confidence_pct) * float(np.sqrt(variance))
