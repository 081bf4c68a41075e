"""The tables of the report on the season and grazing."""

from pipeline.pages.report_tables import Sheet, day, flag, long, number, text, year

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
        number("burned_share_pct", "Share burned in the year of the last burn", "%"),
        number("years_since_burn", "Years since the last burn"),
        number(
            "mean_years_since_burn_years", "Years since fire, mean of burned ground", "years", 1
        ),
        number("never_burned_pct", "Share with no burn on record", "%"),
        number("burns_in_10_years", "Burns in 10 years"),
        number("mean_interval_years", "Mean interval", "years", 1),
        day("last_grazed", "Last grazed"),
        number("days_grazed", "Days grazed, last season"),
        number("rested_seasons", "Seasons of rest"),
        day("last_hayed", "Last hayed"),
        day("last_sprayed", "Last sprayed"),
        day("last_seeded", "Last seeded"),
    ),
    "Dates and counts of burns are of any burn in the unit, whatever share of it burned; the rest "
    "burned longer ago or has no burn on record. The map shows the record of each part.",
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


HERD = Sheet(
    "herd_balance",
    "Feed and herd",
    (
        year("season", "Season"),
        number("demand_aum", "Demand", "AUM", 1),
        number("supply_aum", "Supply", "AUM", 1),
        number("difference_pct", "Difference", "% of supply"),
        number("units_unknown", "Open units without a figure"),
        long("verdict", "Verdict"),
    ),
)


FORAGE = Sheet(
    "forage",
    "Feed of each unit",
    (
        text("unit_id", "Unit"),
        flag("open", "Open to grazing"),
        number("production_lb_ac", "Growth", "lb/ac"),
        number("harvest_efficiency_pct", "Taken as feed", "%"),
        number("supply_aum", "Supply", "AUM", 1, total=True),
        number("used_aum", "Used", "AUM", 1),
        number("stay_days", "Lasts", "days", 0),
        long("reason", "Why"),
    ),
)
