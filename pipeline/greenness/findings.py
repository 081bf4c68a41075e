"""Findings of the greenness steps: what a person should look at before trusting the figures."""

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.greenness.change import usable_references
from pipeline.greenness.columns import reason_words
from pipeline.greenness.comparisons import part_words
from pipeline.greenness.disturbances import cloudy_units, with_disturbances
from pipeline.greenness.scene_findings import note, scene_findings, warning
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import of_one_kind
from pipeline.log.treatment_log import YEAR, event_words, treatments_of, within

GOOD_REFERENCES = 5
"""References from which an interval is narrow enough to be of use; common practice, no source."""


def find_greenness(
    scenes: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    proposed_comparisons: pd.DataFrame,
    chosen_comparisons: pd.DataFrame,
    zone_changes: pd.DataFrame,
    change_maps: pd.DataFrame,
    treatment_log: pd.DataFrame,
    greenness: gpd.GeoDataFrame,
    settings: GreennessSettings,
) -> gpd.GeoDataFrame:
    """Findings of the greenness steps."""
    rows = chosen_comparisons.merge(zone_changes)
    findings = [
        *scene_findings(scenes),
        *zone_scene_findings(zone_scenes, treatment_log, settings),
        *_of_proposals(proposed_comparisons, chosen_comparisons, zone_scenes, settings),
        *_of_comparisons(with_disturbances(rows, zone_scenes, treatment_log), greenness, settings),
        *_of_treated_references(chosen_comparisons, treatment_log),
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


def _of_treated_references(comparisons: pd.DataFrame, treatment_log: pd.DataFrame) -> list[Finding]:
    """References to which the log says something was done from a year before until after."""
    events, findings = treatments_of(treatment_log), []
    for name, rows in comparisons[comparisons["role"] == "reference"].groupby("comparison"):
        near = within(events, rows["before"].min() - YEAR, rows["after"].max())
        near = near[near["unit_id"].isin(rows["unit_id"])]
        if near.empty:
            continue
        words = "; ".join(f"{unit}: {event_words(work)}" for unit, work in near.groupby("unit_id"))
        message = (
            "references that were not left alone, from a year before the first picture to the "
            f"second: {words}; what that did is in the comparison"
        )
        finding = warning if (near["kind"] == "burn").any() else note
        findings.append(finding("references_treated", message, "comparisons", subject=str(name)))
    return findings


def _of_change_maps(
    comparisons: pd.DataFrame, change_maps: pd.DataFrame, settings: GreennessSettings
) -> list[Finding]:
    """Pairs of dates whose change was asked for and could not be drawn."""
    if not settings.change_map:
        return []
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


def _of_comparisons(
    rows: pd.DataFrame, greenness: gpd.GeoDataFrame, settings: GreennessSettings
) -> list[Finding]:
    """Comparisons with too few references, left-out references, and how many calls are chance."""
    findings = []
    for name, units in rows.groupby("comparison"):
        judged = greenness[(greenness["comparison"] == name) & (greenness["role"] == "burned")]
        findings += _of_references(str(name), units, settings)
        findings += _of_chance(str(name), int(judged["interval_low"].notna().sum()), settings)
    return findings


def _of_references(name: str, units: pd.DataFrame, settings: GreennessSettings) -> list[Finding]:
    """Too few usable references of a comparison, and which ones were left out and why."""
    findings = []
    good = usable_references(units, settings)
    count = int(good.sum())
    if count < GOOD_REFERENCES:
        message = (
            f"{count} usable reference unit{'' if count == 1 else 's'}; "
            f"{settings.least_references} are needed for an interval, {GOOD_REFERENCES} or more "
            "make it useful"
        )
        findings.append(warning("few_references", message, "comparisons", subject=name))
    left_out = units[(units["role"] == "reference") & ~good]
    if len(left_out):
        little = f"less than {settings.sure_valid_pct:g} percent usable on both dates"
        least = settings.least_full_pixels
        words = [
            f"{r['unit_id']} ({reason_words(r, least) if r['reason'] else little})"
            for r in left_out.to_dict("records")
        ]
        message = f"not used as references: {'; '.join(words)}"
        findings.append(warning("references_left_out", message, "comparisons", subject=name))
    return findings


def _of_chance(name: str, count: int, settings: GreennessSettings) -> list[Finding]:
    """How many of the burned units that were judged would stand out by chance alone."""
    if count <= 1:
        return []
    chance = half_up(count * (1.0 - settings.confidence_pct / 100.0), 1)
    message = (
        f"{count} burned units were judged, each at {settings.confidence_pct:g} percent: about "
        f"{chance} would stand out by chance alone"
    )
    return [note("chance_alone", message, "comparisons", subject=name)]
