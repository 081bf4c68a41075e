"""Frames and layers of the fuel, history, herd and season steps."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import findings_layer
from pipeline.log.layers import TREATMENTS

UNIT_ID = Column("unit_id", "text", "Unit.")


def text(name: str, meaning: str, *choices: str) -> Column:
    """A text column that may be empty."""
    return Column(name, "text", meaning, nullable=True, choices=choices)


def number(name: str, meaning: str) -> Column:
    """A number column, not negative, that may be empty."""
    return Column(name, "number", meaning, nullable=True, lowest=0)


def count(name: str, meaning: str) -> Column:
    """A whole number that may be empty."""
    return Column(name, "integer", meaning, nullable=True)


def day(name: str, meaning: str) -> Column:
    """A date that may be empty."""
    return Column(name, "date", meaning, nullable=True)


TREATMENT_LOG = Layer(
    "treatment_log",
    None,
    "Rows of the treatments table that can be used, in the order of their days: what every step "
    "reads of it.",
    tuple(
        replace(column, nullable=column.nullable and column.name not in ("unit_id", "start", "end"))
        for column in TREATMENTS.columns
    ),
    internal=True,
)


STANDING = Layer(
    "standing",
    None,
    "Dry load of each unit on the day it was clipped, read or stated.",
    (
        UNIT_ID,
        Column("date", "date", "Last day of the measurement."),
        Column("method", "text", "How it was found.", choices=("clipped", "pole", "stated")),
        Column("measure", "text", "What stands there, or what grew before animals ate of it.",
               choices=("standing", "production")),
        count("plots", "Frames or readings."),
        Column("mean_lb_ac", "number", "Mean dry load.", lowest=0),
        number("sd_lb_ac", "Spread between plots (sample standard deviation)."),
        number("low_lb_ac", "Lower end of the interval of the mean; empty with one plot."),
        number("high_lb_ac", "Upper end of the interval of the mean."),
        number("carryover_lb_ac", "Dead grass of earlier years, beside production."),
        number("bare_ground_pct", "Mean bare ground."),
        Column("reference", "text", "Where the figure comes from."),
    ),
    key=("unit_id", "date", "method", "measure"),
)  # fmt: skip


FIRE_HISTORY = Layer(
    "fire_history",
    "MultiPolygon",
    "Ground with one and the same record of burns: the faces of all burned ground laid over each "
    "other.",
    (
        UNIT_ID,
        Column("face", "integer", "Number of the face within the unit, from 1."),
        Column("area_ac", "number", "Area of the face.", lowest=0),
        text("burn_years", "Years it burned; empty: none on record."),
        Column("burns", "integer", "Burns on record."),
        count("last_burn_year", "Year it burned last; empty: none on record."),
        count("years_since_burn", "Season less that year; empty: none on record, not zero."),
        Column("burned_again_soon", "flag",
               "Whether two of its burns lie closer than the least interval."),
    ),
    key=("unit_id", "face"),
)  # fmt: skip


GRAZING_RATES = Layer(
    "grazing_rates",
    None,
    "What the animals of each grazing on record take in a day.",
    (
        UNIT_ID,
        Column("start", "date", "First day."),
        Column("last", "date", "Last day."),
        Column("head", "number", "Animals.", nullable=True, lowest=0, dimensionless=True),
        number("au", "Animal units of all of them."),
        number("aum_day", "Animal-unit months in a day."),
        number("eaten_lb_ac_day", "Dry forage eaten in a day."),
        number("disappeared_lb_ac_day", "Dry forage eaten, trampled and fouled in a day."),
    ),
    internal=True,
)


GRAZING = Layer(
    "grazing",
    None,
    "Grazing on record by unit, year and part of the season.",
    (
        UNIT_ID,
        Column("year", "integer", "Calendar year."),
        Column("window", "text", "Part of the season.",
               choices=("early", "midsummer", "late", "dormant")),
        Column("days", "integer", "Days with animals on the unit."),
        number("head_days", "Days times animals; empty where the head is not told."),
        number("au_days", "Animal-unit days; empty where the animals are not told."),
        number("aum", "Animal-unit months."),
        number("eaten_lb_ac", "Dry forage eaten."),
        number("disappeared_lb_ac", "Dry forage eaten, trampled and fouled."),
    ),
    key=("unit_id", "year", "window"),
)  # fmt: skip


HISTORY = Layer(
    "history",
    "MultiPolygon",
    "What was done to each unit, as far as it is on record. Empty means none on record, not zero. "
    "Burns are any burn in the unit, whatever share of it burned: burned_share_pct tells the "
    "share, fire_history the record of each part.",
    (
        UNIT_ID,
        Column("record", "text", "Years that the log speaks of this unit."),
        day("last_burn", "Day of the last burn."),
        text("burn_dates", "Days of all burns on record, oldest first."),
        text("last_burn_window", "Time of the year of the last burn."),
        count("years_since_burn", "Season less the year of the last burn; the rest of the unit "
              "burned longer ago or has no burn on record."),
        count("burns_in_5_years", "Burns in the five calendar years that end with the season."),
        count("burns_in_10_years", "Burns in the ten calendar years that end with the season."),
        number("mean_interval_years", "Mean time between burns."),
        number("burned_share_pct", "Share of the unit that burned in the year of its last burn."),
        number("mean_years_since_burn_years", "Years since fire, mean over the ground with a burn "
               "on record."),
        number("never_burned_pct", "Share of the unit with no burn on record."),
        day("last_grazed", "Last day with animals."),
        count("days_grazed", "Days with animals in the year before the season."),
        number("au_days", "Animal-unit days in the year before the season."),
        count("days_grazed_early", "Of these days, before midsummer."),
        count("days_grazed_midsummer", "Of these days, in the midsummer deferral."),
        count("days_grazed_late", "Of these days, after the deferral."),
        count("rested_seasons", "Growing seasons on record without animals or mower, counted back "
              "from the season."),
        day("last_hayed", "Last day of haying."),
        day("last_sprayed", "Last day of spraying."),
        day("last_seeded", "Last day of seeding."),
        count("years_since_seeding", "Season less the year of the last seeding."),
    ),
    key=("unit_id",),
)  # fmt: skip


FUEL = Layer(
    "fuel",
    "MultiPolygon",
    "Whether last year's grass will carry a fire this spring, and until when. A planning aid: no "
    "burn plan, no prescription, no permission to light anything.",
    (
        UNIT_ID,
        day("load_date", "Day of the load that was used."),
        number("fall_load_lb_ac", "Dry load going into winter, or as measured in spring."),
        number("disappeared_lb_ac", "Taken off it for animals after that day."),
        number("winter_loss_pct", "Share taken off for the winter, likely."),
        number("spring_load_low_lb_ac", "Dry load in spring, low."),
        number("spring_load_lb_ac", "Dry load in spring, likely."),
        number("spring_load_high_lb_ac", "Dry load in spring, high."),
        Column("carries", "text", "Whether the likely load carries a fire.",
               choices=("yes", "patchy", "no", "unknown")),
        text("carries_range", "The same at the low and the high load."),
        text("load_class", "Class of the likely load; a heavy one asks for wider breaks."),
        Column("continuity", "text", "Whether bare ground breaks up the fuel.",
               choices=("even", "broken", "unknown")),
        number("bare_ground_pct", "Bare ground as read on the plots."),
        day("burn_from", "Fuel is cured and free of snow, in an ordinary year."),
        day("burn_until", "Green growth dilutes the fuel after this day, at the likely load."),
        day("burn_until_low", "The same at the low load."),
        day("burn_until_high", "The same at the high load."),
        text("conflicts", "Nesting season and limits that the window meets. Shown, not resolved."),
        Column("reason", "text", "How the answer came about, or what it needs."),
    ),
    key=("unit_id",),
)  # fmt: skip


FORAGE = Layer(
    "forage",
    None,
    "What each unit offers the herd, and how long the herd can stay.",
    (
        UNIT_ID,
        Column("open", "flag", "Whether it is in no burn block this season."),
        number("production_lb_ac", "Dry forage grown, as last measured or stated."),
        number("harvest_efficiency_pct", "Share of it that may go into animals."),
        number("supply_lb", "Forage for animals."),
        number("supply_aum", "The same in animal-unit months."),
        number("stay_days", "Days the whole herd can stay."),
        number("used_aum", "Animal-unit months on record for the year before."),
        Column("reason", "text", "How it came about, or what it needs."),
    ),
    key=("unit_id",),
)  # fmt: skip


HERD_BALANCE = Layer(
    "herd_balance",
    None,
    "Supply of all open units against the herd's demand.",
    (
        Column("season", "integer", "Season."),
        number("herd_au", "Animal units of the herd."),
        number("animal_unit_lb_au_day", "Dry forage that one animal unit eats."),
        number("month_lb_aum", "Dry forage that one animal-unit month stands for."),
        number("demand_aum", "Animal-unit months the herd needs."),
        number("supply_aum", "Animal-unit months of the open units."),
        count("units_unknown", "Open units whose supply is unknown."),
        Column("difference_pct", "number", "Supply less demand, in percent of supply.",
               nullable=True),
        Column("verdict", "text", "What it says."),
    ),
    key=("season",),
)  # fmt: skip


SEASON_PLAN = Layer(
    "season_plan",
    "MultiPolygon",
    "An option for each unit, with its reason: something to talk over, never an order, and no "
    "permission to light anything.",
    (
        UNIT_ID,
        Column("year", "integer", "Season."),
        Column("rule", "integer", "Rule that made the suggestion.", nullable=True),
        Column("suggestion", "text", "The option."),
        text("window", "When in the year."),
        Column("reason", "text", "Why, with the figures it rests on."),
        text("missing", "Rules tried before it that could not be decided, and what they need."),
        day("stock_off_from", "Begin of the midsummer deferral."),
        day("stock_off_until", "End of the deferral; later after a burn."),
        text("conflicts", "Limits that hold for the unit. Shown, not resolved."),
        text("source", "Where the rule comes from."),
    ),
    key=("unit_id",),
)  # fmt: skip


COMMUNITY = Layer(
    "community",
    "MultiPolygon",
    "Share of native and of exotic cool-season plants in the cover of each unit, by survey. Shares "
    "are of all plant cover, not of the ground.",
    (
        UNIT_ID,
        Column("date", "date", "Last day of the survey."),
        Column("transects", "integer", "Transects, which are the sample."),
        number("cover_pct", "Cover of all plants together, mean of the transects."),
        number("native_share_pct", "Share of native plants."),
        number("native_low_pct", "Lower end of its interval."),
        number("native_high_pct", "Upper end of its interval."),
        number("cool_exotic_share_pct", "Share of introduced cool-season grasses."),
        number("unknown_share_pct", "Share of plants whose nativity is not known."),
        number("warm_grass_share_pct", "Share of native warm-season grasses."),
        number("brome_part_pct", "Brome in percent of brome and bluegrass."),
        text("lead_invader", "Which of the two leads.", "brome", "bluegrass", "both", "neither"),
        Column("species", "integer", "Species found."),
        text("note", "What to keep in mind."),
    ),
    key=("unit_id", "date"),
)  # fmt: skip


SEASON_FINDINGS = findings_layer("season_findings")
