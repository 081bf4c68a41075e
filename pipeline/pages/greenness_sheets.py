"""The tables of the report on greenness: change, burned share, cool-season index, readings."""

from pipeline.greenness.cool_season import LIMITS
from pipeline.pages.older_tables import Sheet, day, long, number, signed, text, year

CONFIDENCE = (
    "The interval is made to hold 95 times in 100, or as often as the settings say instead."
)


GREENNESS = Sheet(
    "greenness",
    "Greenness before and after",
    (
        text("unit_id", "Unit"),
        text("comparison", "Comparison"),
        text("role", "Role"),
        day("before", "Before"),
        day("after", "After"),
        number("before_mean", "Mean before", "index", 3),
        number("after_mean", "Mean after", "index", 3),
        signed("change", "Change"),
        signed("change_vs_reference", "Beyond the unburned units"),
        signed("interval_low", "Interval from"),
        signed("interval_high", "to"),
        number("noise_floor", "Noise floor", "±", 3),
        number("references", "Reference units"),
        number("pixels", "Pixels"),
        number("effective_pixels", "Worth", "independent pixels"),
        number("valid_pct", "Usable", "%"),
        long("verdict", "Verdict"),
        long("gaps_before", "Beyond the references in earlier years"),
        long("caution", "Caution"),
    ),
    "A change speaks of greenness on two days. It is not a measure of plants, and not of success. "
    f"{CONFIDENCE} It comes from how much the reference units differ, not from the pixels: what "
    "those are worth tells only how well a unit's own mean is known.",
)


BURNED_SHARES = Sheet(
    "burned_shares",
    "Share of a unit that burned, as seen from above",
    (
        text("unit_id", "Unit"),
        day("burned", "Burn"),
        day("picture_before", "Picture before"),
        day("picture_after", "Picture after"),
        number("burned_pct", "Burned", "%"),
        number("low_pct", "at least", "%"),
        number("high_pct", "at most", "%"),
        number("burned_ac", "Burned", "ac", 1),
        number("dnbr", "Loss of burn ratio", "× 1000"),
        long("verdict", "Verdict"),
        long("reference_units", "Held against"),
        long("caution", "Caution"),
    ),
    "The loss of the burn ratio is no measure of severity: the published classes are for forest.",
)


COOL_SEASON = Sheet(
    "cool_season",
    "Cool-season or warm-season stand",
    (
        text("unit_id", "Unit"),
        year("year", "Year"),
        day("early_date", "Early picture"),
        day("mid_date", "Midsummer picture"),
        day("late_date", "Late picture"),
        number("early", "Early", "NDVI", 3),
        number("mid", "Midsummer", "NDVI", 3),
        number("late", "Late", "NDVI", 3),
        number("base", "Dormant", "NDVI", 3),
        text("base_from", "from"),
        signed("cool_index", "Cool-season index", "−1 to 1"),
        number("early_to_mid", "Early by midsummer", "", 2),
        number("shoulder_index", "Shoulder index", "", 2),
        number("position", "Position", "0 warm, 1 cool", 2),
        long("reason", "No index"),
    ),
    "Above 0 a unit greens up more in spring than in midsummer, like a cool-season stand. "
    + LIMITS,
)


COOL_SEASON_CHANGES = Sheet(
    "cool_season_changes",
    "Cool-season index before and after a burn",
    (
        text("unit_id", "Unit"),
        text("comparison", "Comparison"),
        text("role", "Role"),
        year("before_year", "Before"),
        year("after_year", "After"),
        signed("before_index", "Index before"),
        signed("after_index", "Index after"),
        signed("change", "Change"),
        signed("change_vs_reference", "Beyond the unburned units"),
        signed("interval_low", "Interval from"),
        signed("interval_high", "to"),
        number("noise_floor", "Noise floor", "±", 3),
        number("references", "Reference units"),
        number("years_before", "Earlier years"),
        long("verdict", "Verdict"),
        long("caution", "Caution"),
    ),
    f"How a stand greens up, not what grows there. {CONFIDENCE} {LIMITS}",
)


SCENES = Sheet(
    "zone_scenes",
    "Every reading behind the charts",
    (
        text("unit_id", "Unit"),
        day("date", "Date"),
        text("kind", "Index"),
        number("mean", "Mean", "index", 3),
        number("sd", "Spread", "index", 3),
        number("pixels", "Pixels"),
        number("valid_pct", "Usable", "%"),
        text("reason", "Left out because"),
    ),
)
