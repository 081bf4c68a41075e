"""Findings on the rasters: how their numbers were read, where a person might not expect it."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.scene_names import AS_IT_STANDS, Scaling

LEAST_NDVI = 0.1
"""An NDVI raster without values above this shows no plants, or is scaled too far; no source."""


TENTH = 0.09
"""Plants and wet ground are darker than this in red light; with the tenth that newer Sentinel-2
files add, nothing is. Judgment, no source."""


def note(
    code: str,
    message: str,
    source: str,
    *,
    row: int | None = None,
    subject: str | None = None,
    amount: float | None = None,
) -> Finding:
    """A finding that is good to know."""
    return Finding(
        severity="note",
        source=source,
        row=row,
        subject=subject,
        message=message,
        code=code,
        amount=amount,
    )


def warning(
    code: str,
    message: str,
    source: str,
    *,
    row: int | None = None,
    subject: str | None = None,
    amount: float | None = None,
) -> Finding:
    """A finding that a person should look at."""
    told = note(code, message, source, row=row, subject=subject, amount=amount)
    return {**told, "severity": "warning"}


def scene_findings(scenes: pd.DataFrame) -> list[Finding]:
    """How the values of each raster were read, rasters given twice, and scenes without a mask."""
    findings = [
        finding
        for scene in scenes.itertuples()
        for finding in (*_of_scaling(scene), *_of_offset(scene), *_of_values(scene))
    ]
    findings += _of_one_raster_twice(scenes)
    unmasked = scenes[scenes["mask_path"].isna()]
    if len(unmasked):
        days = listed(f"{day:%Y-%m-%d}" for day in unmasked["date"].drop_duplicates())
        message = (
            f"no cloud mask is given for the scenes of {days}; haze and cloud shadow that the file "
            "itself does not leave out are in the figures"
        )
        findings.append(note("no_mask", message, "scenes"))
    return findings


def _of_one_raster_twice(scenes: pd.DataFrame) -> Iterator[Finding]:
    """Rasters that stand for two dates: one of them is likely the wrong file.

    Different bands of one file are different pictures.
    """
    bands = [name for name in scenes.columns if name.endswith("_band")]
    same = [scenes["sha256"], scenes["variable"], *(scenes[name] for name in bands)]
    for _, rows in scenes.groupby(same, dropna=False):
        days = rows["date"].drop_duplicates()
        if len(days) > 1:
            names = " and ".join(dict.fromkeys(rows["name"]))
            message = (
                f"one and the same raster stands for {listed(f'{day:%Y-%m-%d}' for day in days)}: "
                "nothing can have changed between them"
            )
            yield warning("one_raster_twice", message, "scenes", subject=names)


def _of_scaling(scene) -> Iterator[Finding]:  # type: ignore[no-untyped-def]
    """Which scale and offset were applied to a scene, and where others were told."""
    place = {"row": scene.scene, "subject": scene.name}
    applied = Scaling(scene.scale, scene.offset)
    of_file = Scaling(scene.file_scale, scene.file_offset)
    if scene.scale_origin == "property_file" and of_file not in (AS_IT_STANDS, applied):
        message = (
            f"the file says {_words(of_file)}, the property file {_words(applied)}; the property "
            "file's were used, once"
        )
        yield warning("scale_of_two", message, "scenes", **place)
    elif scene.scale_origin == "file":
        message = f"{_words(applied)} of the file itself were applied"
        yield note("scale_of_file", message, "scenes", **place)
    elif scene.scale_origin == "product_name":
        message = f"{_words(applied)} were applied, as published for the product its name tells"
        yield note("scale_of_product", message, "scenes", **place)
    published = Scaling(scene.product_scale, scene.product_offset)
    if pd.notna(scene.product_scale) and published != applied:
        message = (
            f"{_words(applied)} were applied; published for the product its name tells are "
            f"{_words(published)}: right only if the file was worked over since"
        )
        yield warning("scale_not_as_published", message, "scenes", **place)


def _of_offset(scene) -> Iterator[Finding]:  # type: ignore[no-untyped-def]
    """Sentinel-2 without the offset that newer products need, which nobody spoke of."""
    if not scene.offset_unknown or scene.kind != "reflectance" or scene.offset != 0.0:
        return
    dark = scene.low >= TENTH
    if scene.scale_origin == "none_needed" and not dark:
        return  # reflectance as decimals: whoever made it took the tenth away
    sign = f"; its darkest pixels are {scene.low:.2f}, as with the tenth" if dark else ""
    message = (
        "Sentinel-2 since 25 January 2022 stores reflectance plus 0.1, unless it was taken away, "
        f"as harmonized collections do; no offset was applied{sign}: say offset = -0.1, or "
        "offset = 0.0 if you know it was taken away"
    )
    yield warning("offset_untold", message, "scenes", row=scene.scene, subject=scene.name)


def _words(scaling: Scaling) -> str:
    """Scale and offset as words."""
    return f"scale {scaling.scale:g} and offset {scaling.offset:g}"


def _of_values(scene) -> Iterator[Finding]:  # type: ignore[no-untyped-def]
    """Zeros taken as missing, numbers likely scaled too far, NDVI on another sensor's scale."""
    place = {"row": scene.scene, "subject": scene.name}
    if scene.kind == "ndvi" and scene.high < LEAST_NDVI:
        message = (
            f"hardly a pixel is above {scene.high:.3g}: is its scale of {scene.scale:g} right?"
        )
        yield warning("scale_too_small", message, "scenes", **place)
    if scene.zero_is_fill:
        message = "the file names no value for missing pixels; 0 in all bands was taken as missing"
        yield note("zero_is_missing", message, "scenes", **place)
    line = Scaling(scene.line_scale, scene.line_offset)
    if line != AS_IT_STANDS:
        message = (
            f"its NDVI was put on the scale of Landsat 8 and 9: {line.offset:g} plus "
            f"{line.scale:g} times it (Roy et al. 2016)"
        )
        yield note("other_sensor", message, "scenes", **place)
