"""The tables of the plan of years that people read."""

from pipeline.ahead.layers import BURN_DAYS, PLAN_UNITS, PLAN_YEARS
from pipeline.ahead.sum_layers import (
    EXPECTED,
    PLAN_CASES,
    PLAN_ROAD,
    PLAN_STATES,
    PLAN_SUMMARY,
    PLAN_TOTALS,
)
from pipeline.core.table import Table

NO_SEASON = (
    "A plan of years is no burn plan of a season and no permission to light anything: fuel, "
    "weather, permits and the burn boss decide each time."
)


PLAN_SUMMARY_TABLE = Table(
    PLAN_SUMMARY,
    "How good the plan of years is",
    (
        "first_year",
        "years",
        "units",
        "undecided_units",
        "value_usd",
        "bound_usd",
        "gap_pct",
        "found_by",
        "changed_choices",
        "no_touching_usd",
        "own_seed_ac",
        "own_seed_from",
        "scarce_species",
    ),
    about="Worth counts wishes in dollars, by the weights of [plan]: it is no income. No plan that "
    "keeps the rules is worth more than the bound. Own seed by the harvests is what they cover at "
    "their low estimate, each year ahead taken to bring as much; own_seed_ac says otherwise.",
)


PLAN_TOTALS_TABLE = Table(
    PLAN_TOTALS,
    "What each year ahead takes and gives",
    (
        "year",
        "burns",
        "burned_ac",
        "most_ac",
        "line_ft",
        "alone_ft",
        "crew_days",
        "cost_usd",
        "seeded_ac",
        "demand_aum",
        "supply_aum",
        "short_aum",
        "late_units",
        "late_ac",
        "fit_pct",
        "weather_years",
    ),
    about="Fits the crew: share of the years of weather in which all burns of the year found days, "
    "one crew going from burn to burn; a dash where no past days are counted for one of them. A "
    f"count of what was, not a forecast. {NO_SEASON}",
)


PLAN_YEARS_TABLE = Table(
    PLAN_YEARS,
    "Every choice and its reason",
    (
        "unit_id",
        "year",
        "treatment",
        "reason",
        "no_burn_by",
        "competes_with",
        "next_best",
        "ahead_usd",
        "years_since_burn",
        "burned_ac",
        "line_ft",
        "crew_days",
        "cost_usd",
        "supply_aum",
        "breaks_rule",
    ),
    about=NO_SEASON,
)


PLAN_UNITS_TABLE = Table(
    PLAN_UNITS,
    "What the plan of years rests on",
    (
        "unit_id",
        "state",
        "cover",
        "burnable_ac",
        "undecided_by",
        "no_burn_by",
        "years_since_burn",
        "last_burn_time",
        "rested_seasons",
        "last_grazed",
        "least_years",
        "most_years",
        "rest_years",
        "supply_aum",
        "smoke_closed",
        "closed_by",
    ),
)


BURN_DAYS_TABLE = Table(
    BURN_DAYS,
    "Days that past springs offered for a burn",
    (
        "unit_id",
        "treatment",
        "weather_years",
        "low_days",
        "middle_days",
        "high_days",
        "within_days",
        "none_pct",
    ),
    about="Days within your weather limits, the unit's window and the winds that keep its smoke "
    "off places. A count of what was, not a forecast, and no permission to light anything.",
)


PLAN_CASES_TABLE = Table(
    PLAN_CASES,
    "What if: the plan beside other limits and herds",
    (
        "case",
        "most_burned_pct",
        "demand_aum",
        "burned_ac",
        "burns",
        "line_ft",
        "mower_hours",
        "crew_days",
        "cost_usd",
        "short_aum",
        "late_unit_years",
        "burned_end_pct",
        "late_end_pct",
        "young_end_pct",
        "bare_end_pct",
        "untold_end_pct",
        "gap_pct",
    ),
    about="Sums of all years; the shares are of the ground that may burn, at the end of the last "
    "year, as far as work alone tells. What will grow there by then no plan can tell: a survey "
    "must.",
)


PLAN_STATES_TABLE = Table(
    PLAN_STATES,
    "Where the ground would stand on the road",
    ("case", "state", "today_pct", "end_pct"),
    about=f"{EXPECTED} The plan itself reckons returns and worth with the state of today in each "
    "year.",
)


PLAN_ROAD_TABLE = Table(
    PLAN_ROAD,
    "Steps on the road that the plan would bring",
    ("unit_id", "year", "state", "event", "reason", "source"),
    about=EXPECTED,
)
