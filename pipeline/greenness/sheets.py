"""The tables of greenness that people read.

Verdicts, reasons and cautions are sentences there, which the page makes of the codes and figures
of a row.
"""

from pipeline.core.table import Table
from pipeline.greenness.change_layers import BURN_EFFECTS, BURNED_SHARES, GREENNESS
from pipeline.greenness.cool_season import LIMITS
from pipeline.greenness.cool_season_layers import COOL_SEASON, COOL_SEASON_CHANGES
from pipeline.greenness.layers import ZONE_SCENES
from pipeline.greenness.readings.layers import WITHIN_UNIT

CONFIDENCE = (
    "The interval is made to hold 95 times in 100, or as often as the settings say instead."
)


VERDICT_AND_CAUTION = (("verdict", "Verdict"), ("caution", "Caution"))


GREENNESS_TABLE = Table(
    GREENNESS,
    "Greenness before and after",
    (
        "unit_id",
        "comparison",
        "role",
        "before",
        "after",
        "before_mean",
        "after_mean",
        "change",
        "change_vs_reference",
        "interval_low",
        "interval_high",
        "noise_floor",
        "references",
        "pixels",
        "effective_pixels",
        "valid_pct",
    ),
    below=("gaps_before",),
    sentences=VERDICT_AND_CAUTION,
    about="A change speaks of greenness on two days. It is not a measure of plants, and not of "
    f"success. {CONFIDENCE} It comes from how much the reference units differ, not from the "
    "pixels: what those are worth tells only how well a unit's own mean is known.",
)


BURN_EFFECTS_TABLE = Table(
    BURN_EFFECTS,
    "All burned units of a burn together",
    (
        "comparison",
        "units",
        "burned_pct",
        "change_vs_reference",
        "interval_low",
        "interval_high",
        "noise_floor",
        "references",
        "years_before",
    ),
    below=("unit_ids",),
    sentences=(("verdict", "Verdict"),),
    about="Per fully burned ground. What is common to several units stands out better than in one; "
    "that they answered alike is not said.",
)


BURNED_SHARES_TABLE = Table(
    BURNED_SHARES,
    "Share of a unit that burned, as seen from above",
    (
        "unit_id",
        "burned",
        "picture_before",
        "picture_after",
        "burned_pct",
        "low_pct",
        "high_pct",
        "burned_ac",
        "dnbr",
    ),
    below=("reference_units",),
    sentences=VERDICT_AND_CAUTION,
    about="The loss of the burn ratio is no measure of severity: the published classes are for "
    "forest.",
)


WITHIN_UNIT_TABLE = Table(
    WITHIN_UNIT,
    "Burned against unburned ground of the same unit",
    (
        "unit_id",
        "comparison",
        "before",
        "after",
        "burned_pixels",
        "unburned_pixels",
        "burned_effective_pixels",
        "unburned_effective_pixels",
        "burned_change",
        "unburned_change",
        "difference",
        "interval_low",
        "interval_high",
    ),
    sentences=(("caution", "Caution"),),
    about="Only where fire took a part of a unit, by a perimeter or by pictures of the burn. A "
    "second line of evidence beside other units, not a test of its own: fire stops where ground "
    "differs, as at a wet, bare or grazed place. The interval comes from the pixels of this one "
    "unit, so that it says nothing of other units.",
)


COOL_SEASON_TABLE = Table(
    COOL_SEASON,
    "Cool-season or warm-season stand",
    (
        "unit_id",
        "year",
        "early_date",
        "midsummer_date",
        "late_date",
        "early",
        "midsummer",
        "late",
        "dormant",
        "dormant_from",
        "cool_index",
        "early_to_midsummer",
        "shoulder_index",
        "position",
    ),
    sentences=(("reason", "No index"),),
    about="Above 0 a unit greens up more in spring than in midsummer, like a cool-season stand. "
    + LIMITS,
)


COOL_SEASON_CHANGES_TABLE = Table(
    COOL_SEASON_CHANGES,
    "Cool-season index before and after a burn",
    (
        "unit_id",
        "comparison",
        "role",
        "before_year",
        "after_year",
        "before_index",
        "after_index",
        "change",
        "change_vs_reference",
        "interval_low",
        "interval_high",
        "noise_floor",
        "references",
        "years_before",
    ),
    sentences=VERDICT_AND_CAUTION,
    about=f"How a stand greens up, not what grows there. {CONFIDENCE} {LIMITS}",
)


SCENES_TABLE = Table(
    ZONE_SCENES,
    "Every reading behind the charts",
    ("unit_id", "date", "kind", "mean", "sd", "pixels", "valid_pct"),
    sentences=(("reason", "Left out because"),),
)
