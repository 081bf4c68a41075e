"""Layers of what the pictures show: units by date, comparisons, changes by comparison."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer, optional_count, optional_number
from pipeline.core.layers import findings_layer
from pipeline.greenness.causes import CAUSES
from pipeline.greenness.columns import (
    AFTER,
    ALIKE,
    BEFORE,
    COMPARISON,
    EFFECTIVE,
    FULL_PIXELS,
    LOST,
    PAIR_REASONS,
    PIXELS,
    PROPOSAL_REASONS,
    RANGE,
    RANGE_FROM,
    ROLE,
    UNIT_ID,
    VALID,
    ZONE_REASONS,
    code,
    day,
    index_value,
    share,
    words,
)

ZONAL_SERIES = Layer(
    "zonal_series",
    None,
    "Means of NDVI of units by date that somebody else computed, as from a service of pictures.",
    (
        UNIT_ID,
        day("date", "Day of the picture, the first day of a composite."),
        Column(
            "mean",
            "number",
            "Mean NDVI of the unit's pixels.",
            dimensionless=True,
            lowest=-1,
            highest=1,
            aliases=("ndvi", "ndvi_mean", "mean_ndvi"),
        ),
        optional_number(
            "sd",
            "Spread of the pixels' NDVI (standard deviation).",
            dimensionless=True,
            aliases=("stddev", "std", "ndvi_sd"),
        ),
        optional_number("pixels", "Usable pixels that the mean rests on.", aliases=("count",)),
        optional_number("valid_pct", "Share of the unit that had usable pixels.", highest=100),
        optional_number("pixel_m", "Side of a pixel."),
        replace(
            optional_count("span_days", "Days that the pixels may be from, of a composite."),
            lowest=1,
            highest=366,
        ),
    ),
    key=("unit_id", "date"),
    internal=True,
)


ZONE_SCENES = Layer(
    "zone_scenes",
    None,
    "Greenness of each unit on each date: mean NDVI of its pixels, edge and no-burn ground left "
    "out.",
    (
        UNIT_ID,
        Column(
            "scene",
            "integer",
            "Number of the scene; of several tiles of a date the first, of a table of means one "
            "beyond the last.",
            "Scene",
        ),
        day("date", "Day the picture was taken, the first day of a composite.", "Date"),
        day("last_day", "The same day, or the last one its pixels may be from.", "Last day"),
        code("kind", "What it was read from.", "Index", ("ndvi", "reflectance", "series")),
        index_value("mean", "Mean NDVI.", "Mean"),
        index_value("sd", "Spread of the pixels' NDVI (population standard deviation).", "Spread"),
        PIXELS,
        VALID,
        FULL_PIXELS,
        LOST,
        share(
            "out_of_range_pct",
            "Share of the ground used with impossible values.",
            "Impossible",
            nullable=False,
        ),
        Column("pixel_m", "number", "Longer side of a pixel.", "Pixel", places=1, nullable=True),
        words(
            "treated_since_last",
            "What the log says was done since the picture before (a year for the first).",
            "Done since the picture before",
        ),
        code(
            "reason",
            "Why the figure is not to be used; empty where it is. The figures that it rests on "
            "stand beside it.",
            "Left out because",
            ZONE_REASONS,
            nullable=True,
        ),
    ),
    key=("unit_id", "date", "scene"),
)


COMPARISONS = Layer(
    "comparisons",
    None,
    "Burned and reference units of each before-after comparison: one row for each unit.",
    (
        COMPARISON,
        BEFORE,
        AFTER,
        replace(UNIT_ID, meaning="Unit that takes part."),
        ROLE,
    ),
    key=("comparison", "unit_id"),
    internal=True,
)


PROPOSED_COMPARISONS = Layer(
    "proposed_comparisons",
    None,
    "Comparisons proposed where the property file gives none: each unit's part, and why.",
    (
        *COMPARISONS.columns[:4],
        code("role", "What the unit stands for.", "Role", ("burned", "reference", "left_out")),
        code("why", "Why it stands for that.", "Why", PROPOSAL_REASONS),
        words(
            "treatments",
            "What the log has for the unit from a year before the first picture to the second.",
            "On record",
        ),
        index_value(
            "before_gap",
            "Mean NDVI before, less that of the burned units; empty for a burned unit.",
            "Before, beyond the burned units",
            signed=True,
        ),
    ),
    key=("comparison", "unit_id"),
)


CHOSEN_COMPARISONS = replace(
    COMPARISONS,
    name="chosen_comparisons",
    meaning="Comparisons that were made: the user's, or proposed.",
)


CHANGE_MAPS = Layer(
    "change_maps",
    None,
    "Pairs of dates whose change is drawn as a raster, where the property file asks for it.",
    (BEFORE, AFTER),
    key=("before", "after"),
    internal=True,
)


ZONE_CHANGES = Layer(
    "zone_changes",
    None,
    "Greenness of each unit of each comparison before and after, on pixels usable both times.",
    (
        COMPARISON,
        UNIT_ID,
        index_value("before_mean", "Mean NDVI before."),
        index_value("after_mean", "Mean NDVI after."),
        index_value("change", "Mean change of the pixels."),
        index_value("change_sd", "Spread of the pixels' changes."),
        PIXELS,
        VALID,
        FULL_PIXELS,
        LOST,
        Column(
            "pixel_m", "number", "Longer side of a pixel, of the coarser picture.", nullable=True
        ),
        EFFECTIVE,
        RANGE,
        ALIKE,
        RANGE_FROM,
        Column("paired", "flag", "Whether both pictures have the same pixels."),
        Column("mixed", "flag", "Whether the pictures differ in sensor, grid or kind."),
        code(
            "reason",
            "Why the figure is not to be used; empty where it is.",
            "",
            PAIR_REASONS,
            nullable=True,
        ),
    ),
    key=("comparison", "unit_id"),
    internal=True,
)


GREENNESS_FINDINGS = findings_layer("greenness_findings", CAUSES)
