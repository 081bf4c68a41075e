"""Frames and layers of the greenness steps: comparisons, burned shares, cool-season stands."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import findings_layer

UNIT_ID = Column("unit_id", "text", "Unit.")


VALID = Column("valid_pct", "number", "Share of the ground used that has usable pixels.",
               nullable=True, lowest=0, highest=100)  # fmt: skip


PIXELS = Column("pixels", "number", "Usable pixels, each counted by the share of it inside.",
                lowest=0)  # fmt: skip


REASON = Column("reason", "text", "Why the figure is not to be used; empty where it is.",
                nullable=True)  # fmt: skip


ZONE_SCENES = Layer(
    "zone_scenes",
    None,
    "Greenness of each unit on each date: mean NDVI of its pixels, edge and no-burn ground left "
    "out.",
    (
        UNIT_ID,
        Column("scene", "integer", "Number of the scene; of several tiles of a date the first."),
        Column("date", "date", "Day the picture was taken, the first day of a composite."),
        Column("last_day", "date", "The same day, or the last one its pixels may be from."),
        Column("kind", "text", "What the raster holds.", choices=("ndvi", "reflectance")),
        Column("mean", "number", "Mean NDVI.", nullable=True, dimensionless=True),
        Column("sd", "number", "Spread of the pixels' NDVI (population standard deviation).",
               nullable=True, dimensionless=True),
        PIXELS,
        VALID,
        Column("full_pixels", "integer", "Pixels wholly inside the ground used."),
        Column("lost_pct", "number", "Share of the unit lost to the left-out edge.", lowest=0,
               highest=100),
        Column("out_of_range_pct", "number", "Share of the ground used with impossible values.",
               lowest=0, highest=100),
        Column("pixel_m", "number", "Longer side of a pixel."),
        Column("treated_since_last", "text",
               "What the log says was done since the picture before (a year for the first).",
               nullable=True),
        REASON,
    ),
    key=("unit_id", "date", "scene"),
)  # fmt: skip


EFFECTIVE = Column("effective_pixels", "number",
                   "Independent pixels that the unit's pixels are worth, neighbors being alike: "
                   "precision of the unit's own mean, not of the comparison.",
                   nullable=True, lowest=0)  # fmt: skip


RANGE = Column("range_m", "number",
               "Distance beyond which pixels hardly change alike.", nullable=True)  # fmt: skip


ALIKE = Column("alike_pct", "number",
               "Share of the spread of the changes that near pixels have in common; where it is "
               "small the range says little. Empty where no range was fitted.",
               nullable=True, lowest=0, highest=100)  # fmt: skip


RANGE_FROM = Column("range_from", "text",
                    "Whether it was fitted to the change of all units between the two pictures, "
                    "or is the setting fallback_range_m.", nullable=True,
                    choices=("pictures", "setting"))  # fmt: skip


COMPARISONS = Layer(
    "comparisons",
    None,
    "Burned and reference units of each before-after comparison: one row for each unit.",
    (
        Column("comparison", "text", "Name of the comparison."),
        Column("before", "date", "Date of the scene before the burn."),
        Column("after", "date", "Date of the scene after the burn."),
        Column("unit_id", "text", "Unit that takes part."),
        Column("role", "text", "What the unit stands for.", choices=("burned", "reference")),
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
        Column("role", "text", "What the unit stands for.",
               choices=("burned", "reference", "left out")),
        Column("why", "text", "Why it stands for that."),
    ),
    key=("comparison", "unit_id"),
)  # fmt: skip


CHOSEN_COMPARISONS = replace(
    COMPARISONS,
    name="chosen_comparisons",
    meaning="Comparisons that were made: the user's, or proposed.",
)


CHANGE_MAPS = Layer(
    "change_maps",
    None,
    "Pairs of dates whose change is drawn as a raster, where the property file asks for it.",
    (
        Column("before", "date", "Date of the scene before the burn."),
        Column("after", "date", "Date of the scene after the burn."),
    ),
    key=("before", "after"),
    internal=True,
)


ZONE_CHANGES = Layer(
    "zone_changes",
    None,
    "Greenness of each unit of each comparison before and after, on pixels usable both times.",
    (
        Column("comparison", "text", "Name of the comparison."),
        UNIT_ID,
        Column("before_mean", "number", "Mean NDVI before.", nullable=True, dimensionless=True),
        Column("after_mean", "number", "Mean NDVI after.", nullable=True, dimensionless=True),
        Column("change", "number", "Mean change of the pixels.", nullable=True, dimensionless=True),
        Column("change_sd", "number", "Spread of the pixels' changes.", nullable=True,
               dimensionless=True),
        PIXELS,
        VALID,
        Column("full_pixels", "integer", "Pixels wholly inside the ground used."),
        Column("lost_pct", "number", "Share of the unit lost to the left-out edge.", lowest=0,
               highest=100),
        Column("pixel_m", "number", "Longer side of a pixel, of the coarser picture."),
        EFFECTIVE,
        RANGE,
        ALIKE,
        RANGE_FROM,
        Column("paired", "flag", "Whether both pictures have the same pixels."),
        Column("mixed", "flag", "Whether the pictures differ in sensor, grid or kind."),
        REASON,
    ),
    key=("comparison", "unit_id"),
    internal=True,
)  # fmt: skip


GREENNESS = Layer(
    "greenness",
    "MultiPolygon",
    "How each unit's greenness changed from before a burn to after it, against units that were not "
    "burned. Greener is a signal, not proof of more growth: NDVI also rises when thatch is gone.",
    (
        Column("comparison", "text", "Name of the comparison."),
        UNIT_ID,
        Column("role", "text", "What the unit stands for.", choices=("burned", "reference")),
        Column("before", "date", "Date of the scene before the burn."),
        Column("after", "date", "Date of the scene after the burn."),
        Column("before_mean", "number", "Mean NDVI before, on pixels usable both times.",
               nullable=True, dimensionless=True),
        Column("after_mean", "number", "Mean NDVI after, on pixels usable both times.",
               nullable=True, dimensionless=True),
        Column("change", "number", "After less before, mean of the pixels usable both times.",
               nullable=True, dimensionless=True),
        Column("change_vs_reference", "number",
               "Change less the mean change of the reference units (a reference unit is held "
               "against the others).", nullable=True, dimensionless=True),
        Column("interval_low", "number", "Lower end of the interval around it.", nullable=True,
               dimensionless=True),
        Column("interval_high", "number", "Upper end of the interval around it.", nullable=True,
               dimensionless=True),
        Column("relative_pct", "number",
               "Change against the references, in percent of what would have been expected.",
               nullable=True),
        Column("references", "integer", "Reference units it is held against."),
        Column("noise_floor", "number", "Changes below this are not told as a difference.",
               dimensionless=True),
        Column("years_before", "integer", "Earlier years that the second interval rests on."),
        Column("gaps_before", "text",
               "Mean less that of the references in each of those years: what differs when nothing "
               "was burned.", nullable=True),
        Column("valid_pct", "number", "Share of the ground used that is usable both times.",
               nullable=True, lowest=0, highest=100),
        PIXELS,
        EFFECTIVE,
        RANGE,
        ALIKE,
        RANGE_FROM,
        Column("verdict", "text", "What may be said, in words."),
        Column("caution", "text", "What to keep in mind beside the verdict.", nullable=True),
    ),
    key=("comparison", "role", "unit_id"),
)  # fmt: skip


BURNED_SHARES = Layer(
    "burned_shares",
    None,
    "How much of a unit each burn of the log took, by near-infrared or short-wave infrared held "
    "against ground that was not burned.",
    (
        UNIT_ID,
        Column("burned", "date", "First day of the burn; empty where the log does not tell it.",
               nullable=True),
        Column("picture_before", "date", "Date of the picture before the burn.", nullable=True),
        Column("picture_after", "date", "Date of the picture after the burn.", nullable=True),
        Column("read_from", "text", "What it was read from.", nullable=True,
               choices=("near-infrared", "MIRBI")),
        Column("burned_pct", "number", "Share that burned, each pixel by how much of it did.",
               nullable=True, lowest=0, highest=100),
        Column("mostly_pct", "number", "Share in pixels at least half burned.", nullable=True,
               lowest=0, highest=100),
        Column("low_pct", "number", "Share if every pixel without data is unburned.", nullable=True,
               lowest=0, highest=100),
        Column("high_pct", "number", "Share if every pixel without data burned.", nullable=True,
               lowest=0, highest=100),
        Column("burned_ac", "number", "Share of the unit's burnable acres.", nullable=True,
               lowest=0),
        VALID,
        Column("dnbr", "number",
               "Mean loss of the normalized burn ratio beyond that of unburned ground, times 1000. "
               "Not a class of severity: those were made for forest.", nullable=True,
               dimensionless=True),
        Column("rbr", "number",
               "The same loss relative to the ratio before (plus 1.001), mean of the pixels. Not a "
               "class of severity either.", nullable=True, dimensionless=True),
        Column("reference_units", "text", "Units that stand for unburned ground.", nullable=True),
        Column("verdict", "text", "What may be said, in words."),
        Column("caution", "text", "What to keep in mind beside it.", nullable=True),
    ),
    key=("unit_id", "burned"),
)  # fmt: skip


COOL_SEASON = Layer(
    "cool_season",
    None,
    "Whether each unit greens up like a cool-season or a warm-season stand, year by year.",
    (
        UNIT_ID,
        Column("year", "integer", "Year."),
        Column("early_date", "date", "First picture of the early window."),
        Column("mid_date", "date", "First picture of the midsummer window."),
        Column("late_date", "date", "First picture of the late window.", nullable=True),
        Column("pictures", "text", "Days of all pictures that the index rests on."),
        Column("early", "number", "Mean NDVI in the early window.", dimensionless=True),
        Column("mid", "number", "Mean NDVI in the midsummer window.", dimensionless=True),
        Column("late", "number", "Mean NDVI in the late window.", nullable=True,
               dimensionless=True),
        Column("base", "number", "NDVI of dormant ground.", dimensionless=True),
        Column("base_from", "text", "Where the base comes from.", choices=("scene", "setting")),
        Column("cool_index", "number",
               "Green-up in spring less that in midsummer, by their sum: −1 (warm) to 1 (cool).",
               nullable=True, dimensionless=True, lowest=-1, highest=1),
        Column("early_to_mid", "number", "Early NDVI by midsummer NDVI.", nullable=True,
               dimensionless=True),
        Column("shoulder_index", "number",
               "Green-up of spring or fall, the greater of them, by that of midsummer.",
               nullable=True, dimensionless=True),
        Column("position", "number",
               "Position between the two units the user knows: 0 the warm, 1 the cool one.",
               nullable=True, dimensionless=True),
        REASON,
        Column("shoulder_reason", "text", "Why there is no shoulder index; empty where there is.",
               nullable=True),
        Column("limits", "text", "What the index cannot tell."),
    ),
    key=("unit_id", "year"),
)  # fmt: skip


COOL_SEASON_CHANGES = Layer(
    "cool_season_changes",
    None,
    "How the cool-season index of each burned unit changed from the last year before the burn to "
    "the first year after it that has one, against units that were not burned. Reference units "
    "have rows where a burned unit has both years.",
    (
        Column("comparison", "text", "Name of the comparison."),
        UNIT_ID,
        Column("role", "text", "What the unit stands for.", choices=("burned", "reference")),
        Column("before_year", "integer", "Year of the index before the burn.", nullable=True),
        Column("after_year", "integer", "Year of the index after the burn.", nullable=True),
        Column("before_index", "number", "Cool-season index before.", nullable=True,
               dimensionless=True, lowest=-1, highest=1),
        Column("after_index", "number", "Cool-season index after.", nullable=True,
               dimensionless=True, lowest=-1, highest=1),
        Column("change", "number", "After less before.", nullable=True, dimensionless=True,
               lowest=-2, highest=2),
        Column("change_vs_reference", "number",
               "Change less the mean change of the reference units (a reference unit is held "
               "against the others).", nullable=True, dimensionless=True),
        Column("interval_low", "number", "Lower end of the interval around it.", nullable=True,
               dimensionless=True),
        Column("interval_high", "number", "Upper end of the interval around it.", nullable=True,
               dimensionless=True),
        Column("references", "integer",
               "Reference units it is held against: those with pictures of the same days and no "
               "burn between them."),
        Column("noise_floor", "number", "Changes below this are not told as a difference.",
               nullable=True, dimensionless=True),
        Column("years_before", "integer", "Earlier years that the second interval rests on."),
        Column("verdict", "text", "What may be said, in words."),
        Column("caution", "text", "What to keep in mind beside the verdict.", nullable=True),
        Column("limits", "text", "What the index cannot tell."),
    ),
    key=("comparison", "unit_id"),
)  # fmt: skip


GREENNESS_FINDINGS = findings_layer("greenness_findings")
