"""Findings of the greenness steps: what a person should look at before trusting the figures."""

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.greenness.change import usable_references, with_reasons
from pipeline.greenness.scene_findings import scene_findings, told_of, zone_scene_findings
from pipeline.greenness.settings import GreennessSettings
from pipeline.log.treatment_log import YEAR, event_words, treatments_of, within

GOOD_REFERENCES = 5


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
    findings = [
        *scene_findings(scenes),
        *zone_scene_findings(zone_scenes, treatment_log, settings),
        *_of_proposals(proposed_comparisons, chosen_comparisons, zone_scenes, settings),
        *_of_comparisons(
            with_reasons(chosen_comparisons.merge(zone_changes), zone_scenes, treatment_log),
            greenness,
            settings,
        ),
        *_of_treated_references(chosen_comparisons, treatment_log),
        *_of_change_maps(chosen_comparisons, change_maps, settings),
    ]
    return findings_frame(findings, greenness.crs)


def _of_proposals(
    proposed: pd.DataFrame,
    comparisons: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    settings: GreennessSettings,
) -> list[Finding]:
    """Which units were proposed as references and why, or what a comparison would need."""
    if comparisons.empty and len(zone_scenes):
        return [
            told_of(
                "no unit was held against others: needs [[comparisons]], or a burn in the "
                "treatments table with usable pictures before and after it that lie within "
                f"{settings.date_gap_days} days of each other in the course of the year",
                source="comparisons",
            )
        ]
    findings = []
    for name, rows in proposed.groupby("comparison"):
        parts = {
            role: listed(f"{r.unit_id} ({r.why})" for r in own.itertuples()) or "none"
            for role in ("burned", "reference", "left out")
            for own in [rows[rows["role"] == role]]
        }
        pair = rows.iloc[0]
        findings.append(
            told_of(
                f"proposed from the treatments table, since no [[comparisons]] is given; "
                f"pictures of {pair['before']:%Y-%m-%d} and {pair['after']:%Y-%m-%d}; burned: "
                f"{parts['burned']}; references: {parts['reference']}; left out: "
                f"{parts['left out']}. A treatment that is not in the table is not known, and "
                "how hard units were grazed is not compared: look the references over (all of "
                "them, with the reasons, are in the table proposed_comparisons)",
                source="comparisons", subject=str(name), severity="warning",
            )
        )  # fmt: skip
    return findings


def _of_treated_references(comparisons: pd.DataFrame, treatment_log: pd.DataFrame) -> list[Finding]:
    """References to which the log says something was done from a year before until after."""
    events, findings = treatments_of(treatment_log), []
    for name, rows in comparisons[comparisons["role"] == "reference"].groupby("comparison"):
        near = within(events, rows["before"].min() - YEAR, rows["after"].max())
        near = near[near["unit_id"].isin(rows["unit_id"])]
        words = "; ".join(f"{unit}: {event_words(own)}" for unit, own in near.groupby("unit_id"))
        if len(near):
            findings.append(
                told_of(
                    "references that were not left alone, from a year before the first picture to "
                    f"the second: {words}; what that did is in the comparison",
                    source="comparisons", subject=str(name),
                    severity="warning" if (near["kind"] == "burn").any() else "note",
                )
            )  # fmt: skip
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
        told_of(
            f"the change from {row.before:%Y-%m-%d} to {row.after:%Y-%m-%d} is not in "
            "greenness_change.tif: a picture is missing or shows nothing of the property, its "
            "pixels do not match the others', or the units lie so far apart that it would be vast",
            source="scenes", severity="warning",
        )
        for row in both[both["_merge"] == "left_only"].itertuples()
    ]  # fmt: skip


def _of_comparisons(
    own: pd.DataFrame, greenness: gpd.GeoDataFrame, settings: GreennessSettings
) -> list[Finding]:
    """Comparisons with too few references, left-out references, and how many calls are chance."""
    findings = []
    for name, rows in own.groupby("comparison"):
        good = usable_references(rows, settings)
        left_out = rows[(rows["role"] == "reference") & ~good]
        count = int(good.sum())
        if count < GOOD_REFERENCES:
            findings.append(
                told_of(
                    f"{count} usable reference unit{'' if count == 1 else 's'}; "
                    f"{settings.least_references} are "
                    f"needed for an interval, {GOOD_REFERENCES} or more make it useful",
                    source="comparisons", subject=str(name), severity="warning",
                )
            )  # fmt: skip
        if len(left_out):
            little = f"less than {settings.sure_valid_pct:g} percent usable on both dates"
            why = zip(left_out["unit_id"], left_out["reason"].fillna(little), strict=True)
            findings.append(
                told_of(
                    f"not used as references: {'; '.join(f'{u} ({words})' for u, words in why)}",
                    source="comparisons", subject=str(name), severity="warning",
                )
            )  # fmt: skip
        judged = greenness[(greenness["comparison"] == name) & (greenness["role"] == "burned")]
        count = int(judged["interval_low"].notna().sum())
        if count > 1:
            chance = count * (1.0 - settings.confidence_pct / 100.0)
            findings.append(
                told_of(
                    f"{count} burned units were judged, each at {settings.confidence_pct:g} "
                    f"percent: about {half_up(chance, 1)} would stand out by chance alone",
                    source="comparisons", subject=str(name),
                )
            )  # fmt: skip
    return findings
