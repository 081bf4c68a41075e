"""The layers of the cool-season index, year by year and before and after a burn."""

from pipeline.core.layer import Column, Layer
from pipeline.greenness.columns import (
    AGAINST,
    COMPARISON,
    INDEX_CHANGE_CAUTIONS,
    INDEX_CHANGE_REASONS,
    INDEX_CHANGE_VERDICTS,
    INDEX_REASONS,
    INTERVAL_HIGH,
    INTERVAL_LOW,
    OTHER_WORK,
    ROLE,
    SEASON_GAP,
    SHOULDER_REASONS,
    UNIT_ID,
    YEARS_BEFORE,
    code,
    codes,
    count,
    day,
    index_value,
    words,
)

BURNED_FROM = day(
    "burned_from",
    "First day that the burn in the way may have been; the same as the last where the log has it.",
    "Burned from",
    nullable=True,
)


BURNED_UNTIL = day(
    "burned_until",
    "Last day that the burn in the way may have been.",
    "Burned until",
    nullable=True,
)


LIMITS = words("limits", "What the index cannot tell.", "Limits", nullable=False)


COOL_SEASON = Layer(
    "cool_season",
    None,
    "Whether each unit greens up like a cool-season or a warm-season stand, year by year.",
    (
        UNIT_ID,
        Column("year", "integer", "Year.", "Year"),
        day("early_date", "First picture of the early window.", "Early picture"),
        day(
            "early_last_date",
            "Last picture of the early window.",
            "Last early picture",
            nullable=True,
        ),
        day("midsummer_date", "First picture of the midsummer window.", "Midsummer picture"),
        day("late_date", "First picture of the late window.", "Late picture", nullable=True),
        words(
            "pictures", "Days of all pictures that the index rests on.", "Pictures", nullable=False
        ),
        index_value("early", "Mean NDVI in the early window.", "Early", nullable=False),
        index_value("midsummer", "Mean NDVI in the midsummer window.", "Midsummer", nullable=False),
        index_value("late", "Mean NDVI in the late window.", "Late"),
        index_value("dormant", "NDVI of dormant ground.", "Dormant", nullable=False),
        code(
            "dormant_from",
            "Whether the NDVI of dormant ground is from a picture or the setting.",
            "Dormant from",
            ("scene", "setting"),
        ),
        index_value(
            "cool_index",
            "Green-up in spring less that in midsummer, by their sum: −1 (warm) to 1 (cool).",
            "Cool-season index",
            signed=True,
        ),
        Column(
            "early_to_midsummer",
            "number",
            "Early NDVI by midsummer NDVI.",
            "Early by midsummer",
            places=2,
            nullable=True,
            dimensionless=True,
        ),
        Column(
            "shoulder_index",
            "number",
            "Green-up of spring or fall, the greater of them, by that of midsummer.",
            "Shoulder index",
            places=2,
            nullable=True,
            dimensionless=True,
        ),
        Column(
            "position",
            "number",
            "Position between the two units the user knows: 0 the warm, 1 the cool one.",
            "Position, 0 warm to 1 cool",
            places=2,
            nullable=True,
            dimensionless=True,
        ),
        code(
            "reason",
            "Why there is no index; empty where there is one.",
            "No index",
            INDEX_REASONS,
            nullable=True,
        ),
        code(
            "shoulder_reason",
            "Why there is no shoulder index; empty where there is one.",
            "No shoulder index",
            SHOULDER_REASONS,
            nullable=True,
        ),
        BURNED_FROM,
        BURNED_UNTIL,
        LIMITS,
    ),
    key=("unit_id", "year"),
)


COOL_SEASON_CHANGES = Layer(
    "cool_season_changes",
    None,
    "How the cool-season index of each burned unit changed from the last year before the burn to "
    "the first year after it that has one, against units that were not burned. Reference units "
    "have rows where a burned unit has both years.",
    (
        COMPARISON,
        UNIT_ID,
        ROLE,
        Column(
            "before_year", "integer", "Year of the index before the burn.", "Before", nullable=True
        ),
        Column(
            "after_year", "integer", "Year of the index after the burn.", "After", nullable=True
        ),
        index_value("before_index", "Cool-season index before.", "Index before", signed=True),
        index_value("after_index", "Cool-season index after.", "Index after", signed=True),
        index_value("change", "After less before.", "Change", signed=True),
        AGAINST,
        INTERVAL_LOW,
        INTERVAL_HIGH,
        count(
            "references",
            "Reference units it is held against: those with pictures of the same days and no burn "
            "between them.",
            "Reference units",
        ),
        index_value(
            "noise_floor", "Changes below this are not told as a difference.", "Noise floor ±"
        ),
        YEARS_BEFORE,
        SEASON_GAP,
        index_value(
            "before_gap",
            "Index before, less the mean index of the reference units.",
            "Before, beyond the references",
            signed=True,
        ),
        words(
            "burns",
            "Burns between the pictures of the two years, where there are several.",
            "Burns",
        ),
        OTHER_WORK,
        words(
            "years_without_index",
            "Years that have no index, where that is in the way, separated by commas; the table "
            "cool_season says why.",
            "Years without an index",
        ),
        BURNED_FROM,
        BURNED_UNTIL,
        code("verdict", "What may be said.", "Verdict", INDEX_CHANGE_VERDICTS),
        code(
            "reason",
            "Why it cannot be judged; empty where it can.",
            "Cannot be judged because",
            INDEX_CHANGE_REASONS,
            nullable=True,
        ),
        codes(
            "caution", "What to keep in mind beside the verdict.", "Caution", INDEX_CHANGE_CAUTIONS
        ),
        LIMITS,
    ),
    key=("comparison", "unit_id"),
)
