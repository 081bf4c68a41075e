"""Findings on the rasters: how their numbers were read, and what in them to look at."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.greenness.picture_doubts import cloudy_units
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import of_one_kind
from pipeline.intake.scene_names import AS_IT_STANDS, Scaling

LEAST_NDVI = 0.1
"""An NDVI raster without values above this shows no plants, or is scaled too far; no source."""


def told_of(
    message: str, *, source: str, subject: str | None = None, row: int | None = None,
    severity: str = "note",
) -> Finding:  # fmt: skip
    """One finding."""
    return Finding(severity=severity, source=source, row=row, subject=subject, message=message)


def scene_findings(scenes: pd.DataFrame) -> list[Finding]:
    """How the values of each raster were read, where a person might not expect it."""
    findings = [
        told_of(words, source="scenes", row=scene.scene, subject=scene.name, severity=severity)
        for scene in scenes.itertuples()
        for severity, words in (*_scaling_words(scene), *_other_words(scene))
    ]
    findings += _one_raster_twice(scenes)
    unmasked = scenes[scenes["mask_path"].isna()]
    if len(unmasked):
        days = listed(f"{day:%Y-%m-%d}" for day in unmasked["date"].drop_duplicates())
        message = (
            f"no cloud mask is given for the scenes of {days}; haze and cloud shadow that the file "
            "itself does not leave out are in the figures"
        )
        findings.append(told_of(message, source="scenes"))
    return findings


def _one_raster_twice(scenes: pd.DataFrame) -> Iterator[Finding]:
    """Rasters that stand for two dates: one of them is likely the wrong file."""
    for _, own in scenes.groupby("sha256"):
        days = own["date"].drop_duplicates()
        if len(days) > 1:
            names = " and ".join(dict.fromkeys(own["name"]))
            message = (
                f"one and the same raster stands for {listed(f'{day:%Y-%m-%d}' for day in days)}: "
                "nothing can have changed between them"
            )
            yield told_of(message, source="scenes", subject=names, severity="warning")


Words = Iterator[tuple[str, str]]
"""Severities and messages."""


def _scaling_words(scene) -> Words:  # type: ignore[no-untyped-def]
    """Which scale and offset were applied, and where others were told."""
    applied = Scaling(scene.scale, scene.offset)
    of_file = Scaling(scene.file_scale, scene.file_offset)
    if scene.scale_origin == "property file" and of_file not in (AS_IT_STANDS, applied):
        message = f"the file says {_words(of_file)}, the property file {_words(applied)}; the "
        yield "warning", message + "property file's were used, once"
    elif scene.scale_origin == "file":
        yield "note", f"{_words(applied)} of the file itself were applied"
    elif scene.scale_origin == "product name":
        message = f"{_words(applied)} were applied, as published for the product its name tells"
        yield "note", message
    if pd.notna(scene.product_scale):
        published = Scaling(scene.product_scale, scene.product_offset)
        if published != applied:
            message = f"{_words(applied)} were applied; published for the product its name tells "
            yield (
                "warning",
                (f"{message}are {_words(published)}: right only if the file was worked over since"),
            )


def _words(scaling: Scaling) -> str:
    """Scale and offset as words."""
    return f"scale {scaling.scale:g} and offset {scaling.offset:g}"


def _other_words(scene) -> Words:  # type: ignore[no-untyped-def]
    """Zeros taken as missing, numbers likely scaled too far, NDVI on another sensor's scale."""
    if scene.kind == "ndvi" and scene.high < LEAST_NDVI:
        yield (
            "warning",
            (f"hardly a pixel is above {scene.high:.3g}: is its scale of {scene.scale:g} right?"),
        )
    if scene.zero_is_fill:
        message = "the file names no value for missing pixels; 0 in all bands was taken as missing"
        yield "note", message
    line = Scaling(scene.line_scale, scene.line_offset)
    if line != AS_IT_STANDS:
        yield (
            "note",
            (
                f"its NDVI was put on the scale of Landsat 8 and 9: {line.offset:g} plus "
                f"{line.scale:g} times it (Roy et al. 2016)"
            ),
        )


def zone_scene_findings(
    zone_scenes: pd.DataFrame, treatment_log: pd.DataFrame, settings: GreennessSettings
) -> list[Finding]:
    """Impossible values, likely clouds, and units that no figure can be given for."""
    findings = []
    odd = zone_scenes[zone_scenes["out_of_range_pct"] > settings.most_out_of_range_pct]
    for (date, scene), own in odd.groupby(["date", "scene"]):
        message = (
            f"{date:%Y-%m-%d}: more than {settings.most_out_of_range_pct:g} percent of the pixels "
            f"of {listed(own['unit_id'])} are outside the valid range and were left out"
        )
        findings.append(told_of(message, source="scenes", row=int(scene), severity="warning"))
    usable = of_one_kind(zone_scenes[zone_scenes["reason"].isna()])
    for row in cloudy_units(usable, treatment_log, settings.cloud_drop).itertuples():
        message = (
            f"{row.date:%Y-%m-%d}: {row.unit_id} lost {half_up(row.drop, 2)} more NDVI since the "
            "picture before than any other unit, and nothing is on record that was done to it: "
            "cloud or haze? Look at the picture"
        )
        findings.append(told_of(message, source="scenes", subject=row.unit_id, severity="warning"))
    empty = zone_scenes.groupby(["date", "scene"])["pixels"].max()
    for date, scene in empty.index[empty == 0.0]:
        message = (
            f"{date:%Y-%m-%d}: no unit has a usable pixel: is it the right file, its reference "
            "system right, and its quality raster?"
        )
        findings.append(told_of(message, source="scenes", row=int(scene), severity="warning"))
    left_out = zone_scenes[zone_scenes["reason"].notna()]
    for (date, scene), own in left_out.groupby(["date", "scene"]):
        why = "; ".join(f"{r.unit_id}: {r.reason}" for r in own.itertuples())
        message = f"{date:%Y-%m-%d}: not to be used: {why}"
        findings.append(told_of(message, source="scenes", row=int(scene)))
    return findings
