"""The tables of the report, section by section."""

from pipeline.pages.report_tables import Sheet, Shown, day, flag, long, number, signed, text
from pipeline.pages.words import text_words, wind_words

UNITS = Sheet(
    "units",
    "Units",
    (
        text("unit_id", "Unit"),
        text("name", "Name"),
        text("cover", "Ground"),
        number("gross_ac", "Gross", "ac", 1, total=True),
        number("no_burn_ac", "Not to burn", "ac", 1, total=True),
        number("burnable_ac", "Burnable", "ac", 1, total=True),
        number("no_seed_ac", "Not to seed", "ac", 1, total=True),
        number("seedable_ac", "Seedable", "ac", 1, total=True),
        number("perimeter_ft", "Around", "ft"),
    ),
    "Acres and feet are measured on the ellipsoid from the boundaries given.",
)
EXCLUDED = Sheet(
    "excluded_ground",
    "Ground left out",
    (
        number("exclusion_id", "Row of the source"),
        text("kind", "What it is"),
        text("applies_to", "Left out of"),
        number("area_ac", "Area", "ac", 2, total=True),
    ),
)
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
        Shown("wind_from_deg", "Wind from", wind_words, kind="d"),
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
    "Widths are rules of thumb from the source named in the settings; slope, wind and volatile "
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
SEED_AREAS = Sheet(
    "seed_areas",
    "Seed areas",
    (
        text("area", "Area"),
        text("unit_ids", "Units"),
        text("mix", "Mix"),
        text("method", "Method"),
        day("planting", "Planting"),
        number("net_ac", "Net", "ac", 1, total=True),
        number("seeds_sqft", "Live seeds", "per ft²", 1),
        number("pls_lb_ac", "Rate", "lb PLS/ac", 2),
        number("pls_lb", "Pure live seed", "lb", 1, total=True),
        number("bulk_lb", "Bulk", "lb", 1, total=True),
        number("companion_lb", "Nurse and carrier", "lb", 0, total=True),
        number("cost_usd_ac", "Seed cost", "$/ac", 2),
    ),
)
SEED_ORDER = Sheet(
    "seed_order",
    "Seed order",
    (
        text("species", "Species"),
        text("common_name", "Common name"),
        text("lot", "Lot"),
        text("role", "Role"),
        number("pls_pct", "PLS", "%", 1),
        number("pls_needed_lb", "Needed", "lb PLS", 2, total=True),
        number("bulk_needed_lb", "Needed", "lb bulk", 2, total=True),
        number("bulk_on_hand_lb", "On hand", "lb bulk", 2, total=True),
        number("bulk_to_order_lb", "To order", "lb bulk", 2, total=True),
        number("price_usd", "Price", "$/lb", 2),
        number("cost_usd", "Cost", "$", 2, total=True),
        text("origin", "Origin"),
        day("tested", "Tested"),
    ),
    "Price is by the pound of pure live seed for seed, of bulk for nurse crops and carriers.",
)
SEED_RATES = Sheet(
    "seed_rates",
    "Rates in each seed area",
    (
        text("area", "Area"),
        text("mix", "Mix"),
        text("species", "Species"),
        text("common_name", "Common name"),
        number("seeds_sqft", "Live seeds", "per ft²", 2),
        number("pls_lb_ac", "Rate", "lb PLS/ac", 3),
        number("pls_oz_ac", "Rate", "oz PLS/ac", 2),
        number("pls_lb", "Pure live seed", "lb", 2, total=True),
    ),
)
SEED_BOXES = Sheet(
    "seed_boxes",
    "What goes into which box",
    (
        text("area", "Area"),
        text("box", "Box"),
        long("contents", "Contents"),
        number("setting_lb_ac", "Set to", "lb/ac", 2),
        number("fill_lb", "Fill", "lb", 1),
        number("row_spacing_in", "Row spacing", "in", 1),
        number("seeds_row_ft", "Live seeds", "per row ft", 1),
        number("catch_distance_ft", "Catch test over", "ft"),
        number("catch_g", "Catch", "g", 1),
    ),
)
FUEL = Sheet(
    "fuel",
    "Standing fuel and the end of its window",
    (
        text("unit_id", "Unit"),
        text("carries", "Carries"),
        text("carries_range", "Low to high"),
        number("fall_load_lb_ac", "Load before winter", "lb/ac"),
        number("disappeared_lb_ac", "Grazed off since", "lb/ac"),
        number("spring_load_low_lb_ac", "Spring, low", "lb/ac"),
        number("spring_load_lb_ac", "Spring, likely", "lb/ac"),
        number("spring_load_high_lb_ac", "Spring, high", "lb/ac"),
        text("continuity", "Cover"),
        day("burn_from", "Cured from"),
        day("burn_until", "Green dilutes it after"),
        long("conflicts", "Limits met"),
        long("reason", "Why"),
    ),
    "Whether fuel stands there says nothing on whether a day is fit to burn.",
)
HISTORY = Sheet(
    "history",
    "History",
    (
        text("unit_id", "Unit"),
        text("record", "Record"),
        day("last_burn", "Last burn"),
        text("last_burn_window", "Season of it"),
        number("years_since_burn", "Years since"),
        number("burns_in_10_years", "Burns in 10 years"),
        number("mean_interval_years", "Mean interval", "years", 1),
        number("burned_share_pct", "Share ever burned", "%"),
        day("last_grazed", "Last grazed"),
        number("days_grazed", "Days grazed, last season"),
        number("rested_seasons", "Seasons of rest"),
        day("last_hayed", "Last hayed"),
        day("last_sprayed", "Last sprayed"),
        day("last_seeded", "Last seeded"),
    ),
)
SEASON = Sheet(
    "season_plan",
    "Suggestions for the season",
    (
        text("unit_id", "Unit"),
        text("suggestion", "Suggestion"),
        text("window", "When"),
        long("reason", "Why"),
        long("missing", "Could not be decided"),
        long("conflicts", "Limits met"),
        day("stock_off_from", "Stock off from"),
        day("stock_off_until", "Stock off until"),
        long("source", "Source"),
    ),
    "An option to weigh, by the first rule that fits. The people who know the ground decide.",
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
        signed("interval_low", "Interval from", "95 %"),
        signed("interval_high", "to", "95 %"),
        number("noise_floor", "Noise floor", "±", 3),
        number("references", "Reference units"),
        number("pixels", "Pixels"),
        number("valid_pct", "Usable", "%"),
        long("verdict", "Verdict"),
        long("caution", "Caution"),
    ),
    "A change speaks of greenness on two days. It is not a measure of plants, and not of success.",
)
BURNED_SHARES = Sheet(
    "burned_shares",
    "Share of a unit that burned, as seen from above",
    (
        text("unit_id", "Unit"),
        text("comparison", "Comparison"),
        day("picture_before", "Picture before"),
        day("picture_after", "Picture after"),
        number("burned_pct", "Burned", "%"),
        number("low_pct", "at least", "%"),
        number("high_pct", "at most", "%"),
        number("burned_ac", "Burned", "ac", 1),
        long("verdict", "Verdict"),
        long("caution", "Caution"),
    ),
)
COMMUNITY = Sheet(
    "community",
    "Plants on the transects",
    (
        text("unit_id", "Unit"),
        day("date", "Date"),
        number("transects", "Transects"),
        number("species", "Species"),
        number("native_share_pct", "Native", "% of cover"),
        number("native_low_pct", "from", "%"),
        number("native_high_pct", "to", "%"),
        number("cool_exotic_share_pct", "Cool-season exotics", "% of cover"),
        number("unknown_share_pct", "Unknown", "% of cover"),
        text("lead_invader", "Leading invader"),
    ),
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
WEATHER = Sheet(
    "burn_weather",
    "Past hours inside the weather limits set",
    (
        text("unit_id", "Unit"),
        number("year", "Year"),
        number("month", "Month"),
        number("hours_read", "Hours read"),
        number("hours_in", "Hours inside"),
        number("days_in", "Days inside"),
        number("hours_in_and_wind", "Hours, wind too"),
        number("days_in_and_wind", "Days, wind too"),
    ),
    "Past weather, not a forecast.",
)
SETTINGS = Sheet(
    "settings",
    "Settings changed from their defaults",
    (
        text("setting", "Setting"),
        text("section", "Section"),
        text("value", "Value"),
        text("unit", "Unit of it"),
        text("meaning", "What it does"),
    ),
)
ALL_SETTINGS = Sheet(
    "settings", "Every setting of this run",
    (*SETTINGS.columns, text("origin", "From"), text("reference", "Source of the default")),
)  # fmt: skip
SOURCES = Sheet(
    "sources",
    "Files read",
    (
        text("source", "Role"),
        text("path", "File"),
        Shown("sha256", "SHA-256", text_words, kind="sha"),
        text("driver", "Read as"),
        text("crs", "CRS"),
        number("rows_read", "Rows read"),
        number("rows_used", "used"),
    ),
)
