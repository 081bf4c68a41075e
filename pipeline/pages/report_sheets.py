"""The tables of the report on ground, burning, the season and grazing."""

from pipeline.pages.older_tables import Sheet, flag, number, text, year

BLOCKS = Sheet(
    "burn_blocks",
    "Burn blocks",
    (
        text("block", "Block"),
        text("unit_ids", "Units"),
        number("gross_ac", "Gross", "ac", 1, total=True),
        number("excluded_ac", "Excluded", "ac", 1, total=True),
        number("break_ac", "Breaks", "ac", 1, total=True),
        number("burnable_ac", "Burnable", "ac", 1, total=True),
        number("perimeter_ft", "Around", "ft"),
        number("existing_ft", "Existing", "ft"),
        number("prepare_ft", "To prepare", "ft"),
        number("gap_ft", "Gaps", "ft"),
        number("shared_ft", "Shared with a neighbor block", "ft"),
        number("wind_from_deg", "Wind from"),
    ),
    "Feet of a side that two blocks share stand with both of them.",
)


BREAK_SUMS = Sheet(
    "firebreaks",
    "Breaks by block and status",
    (
        text("block", "Block"),
        text("status", "Status"),
        number("stretches", "Stretches"),
        number("length_ft", "Length", "ft", total=True),
        number("length_mi", "Length", "mi", 2, total=True),
        number("narrow_ft", "Of it too narrow", "ft", total=True),
        number("most_short_ft", "Short by up to", "ft"),
    ),
    "A stretch between two blocks stands once, with the block that it is listed under. Widths "
    "are rules of thumb from the source named in the settings; slope, wind and volatile "
    "trees override them.",
)


BREAKS = Sheet(
    "firebreaks",
    "Every stretch of break",
    (
        text("break_id", "Stretch"),
        text("block", "Block"),
        text("neighbor_block", "Block beyond"),
        text("beyond", "Beyond it"),
        text("ring", "Ring"),
        text("status", "Status"),
        text("kind", "Kind"),
        number("length_ft", "Length", "ft"),
        text("wind_side", "Side"),
        number("bare_ft", "Bare or wet", "ft", 1),
        number("mown_ft", "Mown", "ft", 1),
        number("blackline_ft", "Black line", "ft", 1),
        number("required_ft", "Rule asks", "ft", 1),
        number("planned_ft", "Planned", "ft", 1),
        number("short_ft", "Short by", "ft", 1),
        text("rule", "Rule"),
    ),
)


TIE_INS = Sheet(
    "tie_ins",
    "Tie-ins and gaps",
    (
        text("tie_in_id", "Place"),
        text("block", "Block"),
        text("kind", "Kind"),
        number("distance_ft", "Distance", "ft"),
        text("message", "What to do"),
    ),
)


STRIPS = Sheet(
    "mow_strips",
    "Mow strips",
    (
        text("strip_id", "Strip"),
        text("block", "Block"),
        number("width_ft", "Width", "ft", 1),
        number("area_ac", "Area", "ac", 2, total=True),
        number("passes", "Passes"),
        number("pass_length_ft", "Length of all passes", "ft", total=True),
        number("hours", "Hours", "h", 2, total=True),
        flag("narrow", "Narrower than wanted"),
    ),
)


WEATHER = Sheet(
    "burn_weather",
    "Past hours inside the weather limits set",
    (
        text("unit_id", "Unit"),
        year("year", "Year"),
        number("month", "Month"),
        number("hours_read", "Hours read"),
        number("hours_in", "Hours inside"),
        number("days_in", "Days inside"),
        number("hours_in_and_wind", "Hours, wind too"),
        number("days_in_and_wind", "Days, wind too"),
    ),
    "Past weather, not a forecast.",
)
