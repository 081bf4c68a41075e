"""Layers on the pictures themselves, and on units of which a part burned."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer, optional_number
from pipeline.core.layers import findings_layer
from pipeline.greenness.causes import CAUSES
from pipeline.greenness.columns import (
    AFTER,
    BEFORE,
    COMPARISON,
    UNIT_ID,
    code,
    codes,
    day,
    index_value,
    share,
    words,
)
from pipeline.greenness.layers import ZONE_CHANGES

WITHIN_CAUTIONS = (
    "by_pictures",
    "few_effective",
    "unlike_before",
    "part_usable",
    "season_gap",
    "mixed_sensors",
)
"""What to keep in mind beside burned and unburned ground of one unit."""


PICTURE_SAMPLES = Layer(
    "picture_samples",
    None,
    "What a sample of the pixels of each picture around the units shows.",
    (
        Column("scene", "integer", "Number of the scene."),
        words("name", "Path as in the property file.", nullable=False),
        day("date", "Day the picture was taken."),
        code("kind", "What the raster holds.", "", ("ndvi", "reflectance")),
        Column("pixels", "integer", "Usable pixels of the sample.", lowest=0),
        index_value("commonest_stored", "Number that most of them hold, as it is stored."),
        index_value("commonest_value", "What it stands for."),
        share("commonest_pct", "Share of them that hold it."),
        index_value("times_its_neighbors", "How much commoner it is than the values near it."),
        share(
            "unmarked_pct",
            "Share of the data lost since the quality raster has no data there, by a number that "
            "its rule would keep.",
        ),
        index_value("quality_nodata", "Number that the quality raster has for no data."),
        words("same_ground_as", "Earlier raster of that date that shows the same units."),
    ),
    key=("scene",),
    internal=True,
)


PICTURE_FINDINGS = findings_layer("picture_findings", CAUSES)


def _part_columns(part: str) -> tuple[Column, ...]:
    """Columns of the burned or the unburned ground of a unit that a perimeter splits."""
    name, of_part = part, f"of the {part} ground, where a perimeter splits the unit."
    return (
        optional_number(f"{name}_pixels", f"Usable pixels {of_part}"),
        optional_number(f"{name}_full_pixels", f"Pixels wholly inside {of_part}"),
        share(f"{name}_valid_pct", f"Usable share {of_part}"),
        index_value(f"{name}_before", f"Mean NDVI before {of_part}"),
        index_value(f"{name}_change", f"Mean change {of_part}"),
        index_value(f"{name}_sd", f"Spread of the changes {of_part}"),
        optional_number(f"{name}_effective_pixels", f"Independent pixels {of_part}"),
    )


BURNED_GROUND = Layer(
    "burned_ground",
    "MultiPolygon",
    "Ground that a burn took: as a perimeter has it, or by pictures just before and after it.",
    (
        UNIT_ID,
        day("date", "First day of the burn."),
        code("told_by", "What tells it.", "", ("perimeter", "pictures")),
    ),
    internal=True,
)


PIXEL_CHANGES = replace(
    ZONE_CHANGES,
    name="pixel_changes",
    meaning="The same as zone_changes, with the burned and the unburned ground of each unit that a "
    "perimeter splits, summed in one pass.",
    columns=(
        *ZONE_CHANGES.columns,
        *(column for part in ("burned", "unburned") for column in _part_columns(part)),
    ),
)


def _count(part: str, name: str, meaning: str, heading: str) -> Column:
    """Pixels of one part of a unit."""
    return Column(f"{part}_{name}", "number", meaning, heading, places=0, lowest=0)


def _part(part: str) -> tuple[Column, ...]:
    """Columns of the burned or of the unburned ground of a unit."""
    title = part.capitalize()
    return (
        _count(part, "pixels", f"Usable pixels of {part} ground, by coverage.", title),
        _count(
            part,
            "effective_pixels",
            f"Independent pixels that those of {part} ground are worth.",
            f"{title}, worth independent",
        ),
        index_value(
            f"{part}_change", f"Mean change of {part} ground.", f"{title} change", signed=True
        ),
    )


WITHIN_UNIT = Layer(
    "within_unit",
    None,
    "Burned against unburned ground of the same unit, where fire took a part of it by a perimeter "
    "or by pictures of the burn: the change of both on the same dates. A second line of evidence "
    "beside other units, no experiment: fire stops where something differs.",
    (
        COMPARISON,
        UNIT_ID,
        BEFORE,
        AFTER,
        *_part("burned"),
        *_part("unburned"),
        index_value(
            "difference",
            "Change of the burned ground less that of the unburned ground.",
            "Difference",
            signed=True,
        ),
        index_value(
            "interval_low",
            "Lower end of the interval around it, by the independent pixels; empty where either "
            "part is worth fewer than two.",
            "Interval from",
            signed=True,
        ),
        index_value(
            "interval_high", "Upper end of the interval around it.", "Interval to", signed=True
        ),
        index_value(
            "before_gap",
            "Mean before of the burned ground less that of the unburned ground.",
            "Before, burned less unburned",
            signed=True,
        ),
        codes("caution", "What to keep in mind beside it.", "Caution", WITHIN_CAUTIONS),
    ),
    key=("comparison", "unit_id"),
)


WITHIN_UNIT_FINDINGS = findings_layer("within_unit_findings", CAUSES)
