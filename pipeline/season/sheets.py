"""The tables of the season that people read."""

from pipeline.core.table import Table
from pipeline.season.fuel.layers import FUEL
from pipeline.season.layers import COMMUNITY, FORAGE, HERD_BALANCE, HISTORY
from pipeline.season.options.layers import SEASON_OPTIONS
from pipeline.season.plan_layers import SEASON_PLAN

FUEL_TABLE = Table(
    FUEL,
    "Standing fuel and the end of its window",
    (
        "unit_id",
        "carries",
        "carries_low",
        "carries_high",
        "fall_load_lb_ac",
        "disappeared_lb_ac",
        "spring_load_low_lb_ac",
        "spring_load_lb_ac",
        "spring_load_high_lb_ac",
        "load_class",
        "continuity",
        "burn_from",
        "burn_until_low",
        "burn_until",
        "burn_until_high",
    ),
    sentences=(("limits", "Limits met"), ("why", "Why")),
    about="Whether fuel stands there says nothing on whether a day is fit to burn.",
)


HISTORY_TABLE = Table(
    HISTORY,
    "History",
    (
        "unit_id",
        "record",
        "first_record_year",
        "last_record_year",
        "last_burn",
        "last_burn_window",
        "burned_share_pct",
        "years_since_burn",
        "mean_since_burn_years",
        "never_burned_pct",
        "burns_in_10_years",
        "mean_interval_years",
        "last_grazed",
        "days_grazed",
        "rested_seasons",
        "last_hayed",
        "last_sprayed",
        "last_seeded",
    ),
    about="Dates and counts of burns are of any burn in the unit, whatever share of it burned; "
    "the rest burned longer ago or has no burn on record. The map shows the record of each part.",
)


SEASON_TABLE = Table(
    SEASON_PLAN,
    "Suggestions for the season",
    ("unit_id", "suggestion", "window", "stock_off_from", "stock_off_until"),
    below=("source",),
    sentences=(("why", "Why"), ("missing", "Could not be decided"), ("limits", "Limits met")),
    about="The first option of each unit, to weigh. The people who know the ground decide.",
)


OPTIONS_ABOUT = (
    "Up to three options for each unit, best first by the rules, what was done last year and your "
    "aims. Limits are told beside an option; the people who know the ground decide. Spray is never "
    "an option."
)


OPTIONS_TABLE = Table(
    SEASON_OPTIONS,
    "Options for each unit",
    ("unit_id", "rank", "suggestion", "window"),
    below=("reason", "rules_out", "would_lose", "source"),
    sentences=(
        ("needs", "Needs"),
        ("against", "Ask first"),
        ("planned", "Plan"),
        ("feed", "The herd goes without"),
    ),
    about=OPTIONS_ABOUT,
)
"""What stands below the suggestions of the report."""


OPTIONS_SHEET = Table(
    SEASON_OPTIONS,
    "Options for each unit",
    (
        "unit_id",
        "rank",
        "suggestion",
        "window",
        "reason",
        "needs_fuel",
        "needs_stock",
        "needs_seed",
        "needs_approval",
        "leaves_no_refuge",
        "rules_out",
        "limits",
        "would_lose",
    ),
    below=("source",),
    about=OPTIONS_ABOUT,
)


COMMUNITY_TABLE = Table(
    COMMUNITY,
    "Plants on the transects",
    (
        "unit_id",
        "date",
        "transects",
        "species",
        "native_share_pct",
        "native_low_pct",
        "native_high_pct",
        "interval",
        "cool_exotic_share_pct",
        "unknown_share_pct",
        "native_may_be_more",
        "lead_invader",
        "mean_c_native",
        "c_list",
    ),
    about="Shares are of all plant cover, not of the ground.",
)


HERD_TABLE = Table(
    HERD_BALANCE,
    "Feed and herd if every open unit were grazed all season",
    (
        "season",
        "demand_aum",
        "supply_aum",
        "difference_pct",
        "units_unknown",
        "verdict",
    ),
    about="Burn blocks, rests of the log and contracts without an approval are left out; options "
    "of the plan, seedings and deferrals are not taken off here.",
)


FORAGE_TABLE = Table(
    FORAGE,
    "Feed of each unit",
    (
        "unit_id",
        "open",
        "production_lb_ac",
        "disappeared_lb_ac",
        "growth",
        "supply_aum",
        "open_aum",
        "used_aum",
        "stay_days",
    ),
    totals=("supply_aum", "open_aum"),
    below=("reason",),
    about="Units in a burn block, at rest by the log or under a contract without an approval are "
    "not open.",
)
