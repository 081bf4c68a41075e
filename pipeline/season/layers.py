"""Layers and tables that the fuel, herd, history, plant and season steps write."""

from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_date,
    optional_number,
    optional_text,
)
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.log.days import MONTHS_BY_BURN_TIME
from pipeline.season.causes import CAUSES

DATE = Column("date", "date", "Last day of the survey or measurement.", "Date")


FIRE_HISTORY = Layer(
    "fire_history",
    "MultiPolygon",
    "Ground with one and the same record of burns: the parts of all burned ground laid over each "
    "other.",
    (
        UNIT_ID,
        Column("part", "integer", "Number of the part within the unit, from 1.", "Part"),
        Column("area_ac", "number", "Area of the part.", "Area", 1, lowest=0),
        optional_text("burn_years", "Years it burned; empty: none on record.", "Years it burned"),
        Column("burns", "integer", "Burns on record.", "Burns", 0),
        optional_count(
            "last_burn_year", "Year it burned last; empty: none on record.", "Last burned"
        ),
        optional_count(
            "years_since_burn",
            "Season less that year; empty: none on record, not zero.",
            "Years since the last burn",
            0,
        ),
        Column(
            "burned_again_soon",
            "flag",
            "Whether two of its burns lie closer than the least interval.",
            "Burned again soon",
        ),
    ),
    key=("unit_id", "part"),
)


GRAZING_RATES = Layer(
    "grazing_rates",
    None,
    "What the animals of each grazing on record take in a day.",
    (
        UNIT_ID,
        Column("start", "date", "First day."),
        Column("last", "date", "Last day."),
        optional_number("head", "Animals.", dimensionless=True),
        optional_number("au", "Animal units of all of them."),
        optional_number("aum_day", "Animal-unit months in a day."),
        optional_number("eaten_lb_ac_day", "Dry forage eaten in a day."),
        optional_number("disappeared_lb_ac_day", "Dry forage eaten, trampled and fouled in a day."),
        optional_number(
            "grazed_share",
            "Part of the unit's acres that was grazed, 1 for all.",
            dimensionless=True,
        ),
    ),
    internal=True,
)


GRAZING = Layer(
    "grazing",
    None,
    "Grazing on record by unit, year and part of the season.",
    (
        UNIT_ID,
        Column("year", "integer", "Calendar year.", "Year"),
        Column(
            "window",
            "text",
            "Part of the season.",
            "Part of the season",
            choices=("early", "midsummer", "late", "dormant"),
        ),
        Column("days", "integer", "Days with animals on the unit.", "Days", 0),
        optional_number(
            "head_days", "Days times animals; empty where the head is not told.", "Head days", 0
        ),
        optional_number(
            "au_days", "Animal-unit days; empty where the animals are not told.", "Grazed", 0
        ),
        optional_number("aum", "Animal-unit months.", "Used", 1),
        optional_number("eaten_lb_ac", "Dry forage eaten.", "Eaten", 0),
        optional_number(
            "disappeared_lb_ac", "Dry forage eaten, trampled and fouled.", "Grazed off", 0
        ),
    ),
    key=("unit_id", "year", "window"),
)


HISTORY = Layer(
    "history",
    "MultiPolygon",
    "What was done to each unit, as far as it is on record. Empty means none on record, not zero. "
    "Burns are any burn in the unit, whatever share of it burned: burned_share_pct tells the "
    "share, fire_history the record of each part.",
    (
        UNIT_ID,
        Column(
            "record",
            "text",
            "Whether the log speaks of this unit.",
            "Record",
            choices=("on_record", "none_on_record"),
        ),
        optional_count("first_record_year", "First year that the log speaks of.", "Record from"),
        optional_count("last_record_year", "Last year that the log speaks of.", "Record to"),
        optional_date("last_burn", "Day of the last burn.", "Last burn"),
        optional_text("burn_dates", "Days of all burns on record, oldest first.", "All burns"),
        optional_text(
            "last_burn_window",
            "Time of the year of the last burn.",
            "Season of it",
            choices=tuple(MONTHS_BY_BURN_TIME),
        ),
        optional_count(
            "years_since_burn",
            "Season less the year of the last burn; the rest of the unit burned longer ago or has "
            "no burn on record.",
            "Years since the last burn",
            0,
        ),
        optional_count(
            "burns_in_5_years",
            "Burns in the five calendar years that end with the season.",
            "Burns in 5 years",
            0,
        ),
        optional_count(
            "burns_in_10_years",
            "Burns in the ten calendar years that end with the season.",
            "Burns in 10 years",
            0,
        ),
        optional_number("mean_interval_years", "Mean time between burns.", "Mean interval", 1),
        optional_number(
            "burned_share_pct",
            "Share of the unit that burned in the year of its last burn.",
            "Share burned in the year of the last burn",
            0,
        ),
        optional_number(
            "mean_since_burn_years",
            "Years since fire, mean over the ground with a burn on record.",
            "Years since fire, mean of burned ground",
            1,
        ),
        optional_number(
            "never_burned_pct",
            "Share of the unit with no burn on record.",
            "Share with no burn on record",
            0,
        ),
        optional_date("last_grazed", "Last day with animals.", "Last grazed"),
        optional_count(
            "days_grazed",
            "Days with animals in the year before the season.",
            "Days grazed, last season",
            0,
        ),
        optional_number(
            "au_days", "Animal-unit days in the year before the season.", "Grazed, last season", 0
        ),
        optional_count(
            "days_grazed_early", "Of these days, before midsummer.", "Days grazed early", 0
        ),
        optional_count(
            "days_grazed_midsummer",
            "Of these days, in the midsummer deferral.",
            "Days grazed in midsummer",
            0,
        ),
        optional_count(
            "days_grazed_late", "Of these days, after the deferral.", "Days grazed late", 0
        ),
        optional_count(
            "rested_seasons",
            "Growing seasons on record without animals or mower, counted back from the season.",
            "Seasons of rest",
            0,
        ),
        optional_date("last_hayed", "Last day of haying.", "Last hayed"),
        optional_date("last_sprayed", "Last day of spraying.", "Last sprayed"),
        optional_date("last_seeded", "Last day of seeding.", "Last seeded"),
        optional_count(
            "years_since_seeding",
            "Season less the year of the last seeding.",
            "Years since seeding",
            0,
        ),
    ),
    key=("unit_id",),
)


FORAGE = Layer(
    "forage",
    None,
    "What each unit offers the herd, and how long the herd can stay.",
    (
        UNIT_ID,
        Column(
            "open",
            "flag",
            "Whether nothing known closes it this season: a burn block (a burned unit supplies "
            "nothing until it regrows), a rest that the log plans, or a contract or easement "
            "without an approval.",
            "Open to grazing",
        ),
        optional_number(
            "production_lb_ac",
            "Dry forage grown, as last measured or stated, with what animals had taken before.",
            "Growth",
            0,
        ),
        optional_number(
            "disappeared_lb_ac",
            "Part of it that animals had eaten, trampled and fouled before it was measured.",
            "Of it grazed before",
            0,
        ),
        optional_text(
            "growth",
            "What the growth rests on: measured as growth, what stood on ground not grazed, what "
            "was left and what animals had taken, or what was left alone, the least that grew.",
            "Growth is",
            choices=("grown", "stood", "left_and_grazed", "left_over"),
        ),
        optional_number(
            "harvest_efficiency_pct", "Share of it that may go into animals.", "Taken as feed", 0
        ),
        optional_number("supply_lb", "Forage for animals.", "Feed", 0),
        optional_number("supply_aum", "The same in animal-unit months.", "Supply", 1),
        optional_number("open_aum", "What of it is open.", "Open supply", 1),
        optional_number("stay_days", "Days the whole herd can stay.", "Lasts", 0),
        optional_number("used_aum", "Animal-unit months on record for the year before.", "Used", 1),
        Column(
            "reason",
            "text",
            "How the supply came about, or what is needed to tell it or the days.",
            "Why",
            choices=("measured", "needs_load", "needs_herd", "needs_load_and_herd"),
        ),
    ),
    key=("unit_id",),
)


HERD_BALANCE = Layer(
    "herd_balance",
    None,
    "Supply against the herd's demand if every open unit of the layer forage were grazed all "
    "season; herd_feed tells what the plan leaves of it.",
    (
        Column("season", "integer", "Season.", "Season"),
        optional_number("herd_au", "Animal units of the herd.", "Herd", 1),
        optional_number(
            "animal_unit_lb_au_day", "Dry forage that one animal unit eats.", "Eats", 1
        ),
        optional_number(
            "month_lb_aum", "Dry forage that one animal-unit month stands for.", "A month's feed", 0
        ),
        optional_number("demand_aum", "Animal-unit months the herd needs.", "Demand", 1),
        optional_number("supply_aum", "Animal-unit months of these units.", "Supply", 1),
        optional_count(
            "units_unknown",
            "Open units whose supply is unknown; they count as nothing.",
            "Open units without a figure",
            0,
        ),
        Column(
            "difference_pct",
            "number",
            "Supply less demand, in percent of supply.",
            "Difference, of supply",
            0,
            nullable=True,
            signed=True,
        ),
        Column(
            "verdict",
            "text",
            "Whether supply and demand lie within the share that is tolerated.",
            "Verdict",
            choices=(
                "supply_and_demand_match",
                "demand_above_supply",
                "supply_above_demand",
                "needs_herd",
            ),
        ),
    ),
    key=("season",),
)


COMMUNITY = Layer(
    "community",
    "MultiPolygon",
    "Share of native and of exotic cool-season plants in the cover of each unit, by survey. Shares "
    "are of all plant cover, not of the ground.",
    (
        UNIT_ID,
        DATE,
        Column("transects", "integer", "Transects, which are the sample.", "Transects", 0),
        optional_number(
            "cover_pct", "Cover of all plants together, mean of the transects.", "Cover", 0
        ),
        optional_number("native_share_pct", "Share of native plants.", "Native", 0),
        optional_number("native_low_pct", "Low end of its interval.", "Native, from", 0),
        optional_number("native_high_pct", "High end of its interval.", "Native, to", 0),
        Column(
            "interval",
            "text",
            "How many transects the interval rests on.",
            "Interval",
            choices=("one_transect", "rests_on_two_transects", "rests_on_three_or_more"),
        ),
        Column(
            "interval_cut",
            "flag",
            "Whether the interval is cut off at 0 or 100 percent.",
            "Interval cut off",
        ),
        optional_number(
            "cool_exotic_share_pct",
            "Share of introduced cool-season grasses.",
            "Cool-season exotics",
            0,
        ),
        optional_number(
            "unknown_share_pct", "Share of plants whose nativity is not known.", "Unknown", 0
        ),
        Column(
            "native_may_be_more",
            "flag",
            "Whether so many plants are of unknown nativity that the native share may be higher.",
            "Native share may be higher",
        ),
        optional_number(
            "warm_grass_share_pct",
            "Share of native warm-season grasses.",
            "Native warm-season grasses",
            0,
        ),
        optional_number(
            "brome_part_pct", "Brome in percent of brome and bluegrass.", "Brome of the two", 0
        ),
        optional_text(
            "lead_invader",
            "Which of brome and bluegrass leads.",
            "Leading invader",
            choices=("brome", "bluegrass", "both", "neither"),
        ),
        Column("species", "integer", "Species found.", "Species", 0),
        optional_number(
            "mean_c_native",
            "Mean coefficient of conservatism of the native species, from the user's own list; "
            "empty without one, or with two at once.",
            "Mean C, native",
            2,
            highest=10,
            dimensionless=True,
        ),
        optional_count("c_species", "Native species with a coefficient.", "Rated species", 0),
        optional_text("c_list", "List that the coefficients are from.", "List of C"),
    ),
    key=("unit_id", "date"),
)


SEASON_FINDINGS = findings_layer("season_findings", CAUSES)
