"""Findings of the greenness steps: what a person should look at before trusting the figures."""

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.greenness.columns import reason_words
from pipeline.greenness.comparison_findings import comparison_findings
from pipeline.greenness.comparisons import part_words
from pipeline.greenness.disturbances import cloudy_units
from pipeline.greenness.scene_findings import note, scene_findings, warning
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import of_one_kind


def find_greenness(
    units: gpd.GeoDataFrame,
    scenes: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    proposed_comparisons: pd.DataFrame,
    chosen_comparisons: pd.DataFrame,
    change_maps: pd.DataFrame,
    treatment_log: pd.DataFrame,
    greenness: gpd.GeoDataFrame,
    settings: GreennessSettings,
) -> gpd.GeoDataFrame:
    """Findings of the greenness steps."""
    findings = [
        *scene_findings(scenes),
        *zone_scene_findings(zone_scenes, treatment_log, settings),
        *_of_proposals(proposed_comparisons, chosen_comparisons, zone_scenes, settings),
        *comparison_findings(greenness, units, treatment_log, settings),
        *_of_change_maps(chosen_comparisons, change_maps, settings),
    ]
    return findings_frame(findings, greenness.crs)


def zone_scene_findings(
    zone_scenes: pd.DataFrame, treatment_log: pd.DataFrame, settings: GreennessSettings
) -> list[Finding]:
    """Impossible values, likely clouds, and units that no figure can be given for."""
    findings = []
    most = settings.most_out_of_range_pct
    odd = zone_scenes[zone_scenes["out_of_range_pct"] > most]
    for (date, scene), rows in odd.groupby(["date", "scene"]):
        message = (
            f"{date:%Y-%m-%d}: more than {most:g} percent of the pixels of "
            f"{listed(rows['unit_id'])} are outside the valid range and were left out"
        )
        lost = float((rows["pixels"] * rows["out_of_range_pct"] / rows["valid_pct"]).sum())
        told = warning("out_of_range", message, "scenes", row=int(scene), amount=lost)
        findings.append(told)
    usable = of_one_kind(zone_scenes[zone_scenes["reason"].isna()])
    for row in cloudy_units(usable, treatment_log, settings.cloud_drop).itertuples():
        message = (
            f"{row.date:%Y-%m-%d}: {row.unit_id} lost {half_up(row.drop, 2)} more NDVI since the "
            "picture before than any other unit, and nothing is on record that was done to it: "
            "cloud or haze? Look at the picture"
        )
        findings.append(warning("cloud_suspected", message, "scenes", subject=row.unit_id))
    most_pixels = zone_scenes.groupby(["date", "scene"])["pixels"].max()
    for date, scene in most_pixels.index[most_pixels == 0.0]:
        message = (
            f"{date:%Y-%m-%d}: no unit has a usable pixel: is it the right file, its reference "
            "system right, and its quality raster?"
        )
        findings.append(warning("no_usable_pixel", message, "scenes", row=int(scene)))
    left_out = zone_scenes[zone_scenes["reason"].notna()]
    for (date, scene), rows in left_out.groupby(["date", "scene"]):
        units = rows.to_dict("records")
        words = "; ".join(
            f"{r['unit_id']}: {reason_words(r, settings.least_full_pixels)}" for r in units
        )
        message = f"{date:%Y-%m-%d}: not to be used: {words}"
        findings.append(note("not_usable", message, "scenes", row=int(scene)))
    return findings


def _of_proposals(
    proposed: pd.DataFrame,
    comparisons: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    settings: GreennessSettings,
) -> list[Finding]:
    """Which units were proposed as references and why, or what a comparison would need."""
    if comparisons.empty and len(zone_scenes):
        message = (
            "no unit was held against others: needs [[comparisons]], or a burn in the treatments "
            "table with usable pictures before and after it that lie within "
            f"{settings.date_gap_days} days of each other in the course of the year"
        )
        return [note("no_comparison", message, "comparisons")]
    findings = []
    for name, rows in proposed.groupby("comparison"):
        parts = {}
        for role in ("burned", "reference", "left_out"):
            units = rows[rows["role"] == role].to_dict("records")
            parts[role] = listed(f"{r['unit_id']} ({part_words(r)})" for r in units) or "none"
        pair = rows.iloc[0]
        message = (
            "proposed from the treatments table, since no [[comparisons]] is given; pictures of "
            f"{pair['before']:%Y-%m-%d} and {pair['after']:%Y-%m-%d}; burned: {parts['burned']}; "
            f"references: {parts['reference']}; left out: {parts['left_out']}. A treatment that "
            "is not in the table is not known, and how hard units were grazed is not compared: "
            "look the references over (all of them, with the reasons, are in the table "
            "proposed_comparisons)"
        )
        findings.append(warning("comparison_proposed", message, "comparisons", subject=str(name)))
    return findings


def _of_change_maps(
    comparisons: pd.DataFrame, change_maps: pd.DataFrame, settings: GreennessSettings
) -> list[Finding]:
    """Pairs of dates whose change was asked for and could not be drawn."""
    if not settings.change_map:
        return []
    if comparisons.empty:
        message = (
            "change_map is on, but no two pictures are held against each other, so there is no "
            "change to draw: give [[comparisons]], or turn it off"
        )
        return [warning("no_comparison", message, "comparisons")]
    pairs = comparisons[["before", "after"]].drop_duplicates()
    both = pairs.merge(change_maps, how="left", indicator=True)
    return [
        warning(
            "change_not_drawn",
            f"the change from {row.before:%Y-%m-%d} to {row.after:%Y-%m-%d} is not in "
            "greenness_change.tif: a picture is missing or shows nothing of the property, its "
            "pixels do not match the others', or the units lie so far apart that it would be vast",
            "scenes",
        )
        for row in both[both["_merge"] == "left_only"].itertuples()
    ]
