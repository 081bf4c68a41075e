"""Layers of the plan of years: what it rests on, what it chooses and why, what each year takes."""

from typing import get_args

from pipeline.ahead.causes import CAUSES
from pipeline.ahead.own_seed import OwnSeedFrom
from pipeline.ahead.treatments import CODES, UNDECIDED
from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_date,
    optional_number,
    optional_text,
)
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.season.road.layers import STATES

NO_PERMISSION = "A plan of years, and no permission to light anything: the season decides."


YEAR = Column("year", "integer", "Calendar year.", "Year")


CASE = Column("case", "text", "The plan, or a what-if of yours.", "Case")


PLANNED = (*CODES, UNDECIDED)


FIXABLE = (*CODES, "burn", "graze")
"""What a year may be fixed to: a treatment, or a kind of one at whatever time."""


UNDECIDED_BY = ("needs_record", "needs_fuel")
"""Why nothing is chosen for a unit."""


NO_BURN_BY = ("no_fire", "fuel_never_carries")
"""Why no burn is planned on a unit for which other work may be."""


STATIC_BARS = (
    "no_fire",
    "fuel_never_carries",
    "limit",
    "not_wanted",
    "no_supply",
    "no_herd",
    "time_left_out",
    "window_passed",
    "fixed_otherwise",
)
"""Why a treatment is no choice of a unit in a year, whatever else is done. limit: a contract,
easement or species without an approval on record closes all of its days."""


OWNERS_CHOICE = ("no_herd", "time_left_out")
"""Bars that a settled year does not break: other people's stock, a burn at a time of your own."""


UNIT_RULES = ("least_return", "fuel_rest", "same_time", "burned_rest", "establishing")
"""Rules between the years of one unit."""


SHARED_RULES = (
    "cap_whole",
    "cap_cover",
    "crew_days",
    "money",
    "own_seed",
    "refuge",
    "apart",
)
"""Rules that the units of a year share."""


WEIGHED = ("herd", "line", "smoke", "worth")
"""What is weighed in dollars and not ruled. worth: it is worth more in another year."""


REASONS = (
    "fixed",
    *UNDECIDED_BY,
    "overdue",
    "within_return",
    "burns_with_neighbor",
    "grows_fuel",
    "after_burn",
    "establishing",
    "feeds_herd",
    "ends_rest",
    "hay_wanted",
    "sows_field",
    "waits_for_seed",
    "former_plan",
    "nothing_better",
    "nothing_else",
)
"""Why a treatment was chosen."""


FORMER_PLAN = Layer(
    "former_plan",
    None,
    "The plan made last year: kept unless a change pays.",
    (UNIT_ID, YEAR, Column("treatment", "text", "What it chose.", choices=PLANNED)),
    key=("unit_id", "year"),
    internal=True,
)


FIXED_YEARS = Layer(
    "fixed_years",
    None,
    "Years of units that are settled: the plan keeps them whatever its rules say, and tells where "
    "they break one.",
    (
        UNIT_ID,
        YEAR,
        Column("treatment", "text", "What it is settled to be.", choices=FIXABLE),
        optional_text("note", "Why, in your words."),
    ),
    key=("unit_id", "year"),
    internal=True,
)


PLAN_EDGES = Layer(
    "plan_edges",
    None,
    "Lines to be made around each unit by neighbor: what it takes to burn the one without the "
    "other. Where both burn at one time the line between them is not made.",
    (
        UNIT_ID,
        optional_text("neighbor", "Unit beyond the edge; empty: none of yours.", "Neighbor"),
        Column("shared_ft", "number", "Length of the edge.", "Edge", 0, lowest=0),
        Column(
            "line_ft",
            "number",
            "Part of it without an existing break, where a line is made.",
            "Line to make",
            0,
            lowest=0,
        ),
    ),
    key=("unit_id", "neighbor"),
)


PLAN_UNITS = Layer(
    "plan_units",
    None,
    f"What the plan of years rests on, unit by unit. {NO_PERMISSION}",
    (
        UNIT_ID,
        Column(
            "state",
            "text",
            "Where it stands on the road today; returns and worth keep it in all years, plan_road "
            "tells where it would stand.",
            "State",
            choices=STATES,
        ),
        optional_text("cover", "Kind of ground, in the user's words.", "Ground"),
        Column("burnable_ac", "number", "Burnable ground.", "Burnable", 1, lowest=0),
        optional_text(
            "undecided_by", "Why nothing is chosen for it.", "Undecided", choices=UNDECIDED_BY
        ),
        optional_text("no_burn_by", "Why no burn is planned on it.", "No burn", choices=NO_BURN_BY),
        optional_count(
            "years_since_burn",
            "Years from the last burn to the season; without a burn on record the years that the "
            "record goes back, which it is at least.",
            "Since burn",
            0,
        ),
        Column("burn_on_record", "flag", "Whether a burn is on record.", "Burn on record"),
        optional_text("last_burn_time", "Time of the year of the last burn.", "Last burn in"),
        optional_date("last_burn", "Day of the last burn.", "Last burn"),
        Column(
            "rested_seasons",
            "integer",
            "Growing seasons of rest behind it that count for fuel: at least rest_years where the "
            "fuel of the season carries, fewer where it does not.",
            "Rested",
            0,
            lowest=0,
        ),
        optional_text("last_grazed", "Time of last year's grazing or hay.", "Grazed last"),
        optional_count("years_since_seeding", "Seasons since it was sown.", "Since sowing", 0),
        Column("least_years", "integer", "Fewest years between burns.", "Return from", 0),
        Column("most_years", "integer", "Most years between burns.", "Return to", 0),
        Column(
            "rest_years",
            "integer",
            "Growing seasons of rest that grow the fuel of a burn.",
            "Rest before burn",
            0,
            lowest=0,
        ),
        optional_number(
            "supply_aum", "Forage for animals in a year; empty: not known.", "Forage", 1
        ),
        Column(
            "smoke_closed",
            "flag",
            "Whether on past burn days the smoke would have met a place each time.",
            "Smoke closes all days",
            nullable=True,
        ),
        optional_text("closed_by", "Kinds of limits without an approval on record.", "Limits"),
        optional_text("closed", "Treatments that those limits close, with semicolons.", "Closed"),
        optional_text(
            "closed_until",
            "Last year of the plan in which each of these is closed, with semicolons.",
            "Closed until",
        ),
        optional_text(
            "open_times", "Burn times left in the season's window, with semicolons.", "Times left"
        ),
    ),
    key=("unit_id",),
)


BURN_DAYS = Layer(
    "burn_days",
    None,
    "Days that past springs offered for a burn of each unit: within your weather limits, its "
    "window and the winds that keep its smoke off places. A count of what was, not a forecast, "
    "and no permission to light anything.",
    (
        UNIT_ID,
        Column("treatment", "text", "Burn, by its time.", "Burn", choices=CODES),
        Column("weather_years", "integer", "Years of weather read.", "Years", 0, lowest=1),
        Column("low_days", "number", "Days in one spring in ten or fewer.", "Low", 1, lowest=0),
        Column("middle_days", "number", "Days in the middle spring.", "Middle", 1, lowest=0),
        Column(
            "within_days",
            "number",
            "Days in the middle spring within your limits, whatever the smoke meets.",
            "Without smoke",
            1,
            lowest=0,
        ),
        Column("high_days", "number", "Days in nine springs in ten or fewer.", "High", 1, lowest=0),
        Column(
            "none_pct",
            "number",
            "Springs without such a day.",
            "Springs with none",
            0,
            lowest=0,
            highest=100,
        ),
    ),
    key=("unit_id", "treatment"),
)


OFFERED_DAYS = Layer(
    "offered_days",
    None,
    "Each past day that offered a burn of a unit.",
    (
        UNIT_ID,
        Column("treatment", "text", "Burn, by its time.", choices=CODES),
        Column("weather_year", "integer", "Year of the weather."),
        Column("day", "date", "Day; empty: the year offered none.", nullable=True),
        Column("smoke_free", "flag", "Whether a wind kept the smoke off places long enough."),
    ),
    internal=True,
)


OWN_SEED = (
    optional_number(
        "own_seed_ac", "Acres a year that own seed is counted to sow.", "Own seed, a year", 1
    ),
    optional_text(
        "own_seed_from",
        "Where that comes from: your setting, or the low estimate of your harvests.",
        "Own seed by",
        choices=get_args(OwnSeedFrom),
    ),
    optional_text("scarce_species", "Species of the harvests that runs out first.", "Scarcest"),
)
"""What the plan counts on of own seed."""


FOUND_BY = ("prices", "solver")
"""What may find a plan: the engine by prices and sweeps, or the solver."""


TREATMENT = Column("treatment", "text", "What the plan chooses.", "Choice", choices=PLANNED)


CHOSEN = (
    UNIT_ID,
    YEAR,
    TREATMENT,
    Column("reason", "text", "Why.", "Why", choices=REASONS),
    optional_text(
        "no_burn_by",
        "Why it does not burn in the year: a rule, or what weighs more.",
        "No burn by",
        choices=(*STATIC_BARS, *UNIT_RULES, *SHARED_RULES, *WEIGHED),
    ),
    optional_text(
        "competes_with",
        "Units that burn instead of it within the same limit; of a burn, those it goes before.",
        "Competes with",
    ),
    optional_text(
        "next_best", "Next best for the unit, all else kept.", "Next best", choices=CODES
    ),
    optional_number("ahead_usd", "How much better the choice is than that.", "Better by", 0),
    optional_count(
        "years_since_burn",
        "Years since the burn before this year; empty on ground sown since, until it burns.",
        "Since",
        0,
    ),
    optional_number("burned_ac", "Acres to burn.", "Burn", 1),
    optional_number(
        "line_ft",
        "Line to make around it; a line that two burns of a year share counts half at each.",
        "Line",
        0,
    ),
    optional_number("crew_days", "Days of the burn crew.", "Crew", 0),
    optional_number("cost_usd", "Cost of burn, line and seeding.", "Cost", 0),
    optional_number("supply_aum", "Forage that it gives the herd.", "Forage", 1),
    Column(
        "breaks_rule",
        "text",
        "Rule that a fixed year breaks.",
        "Breaks",
        nullable=True,
        choices=(*STATIC_BARS, *UNIT_RULES),
    ),
)
"""What is told of each choice."""


PLAN_YEARS = Layer(
    "plan_years",
    "MultiPolygon",
    f"What each unit gets in each of the years ahead, and why. {NO_PERMISSION}",
    (
        *CHOSEN,
        Column("first_day", "date", "First day that the choice may take.", "From", nullable=True),
        Column("last_day", "date", "Last day that it may take.", "To", nullable=True),
    ),
    key=("unit_id", "year"),
)


PLAN_CHOICES = Layer(
    "plan_choices",
    None,
    "What the plan of years and each what-if choose, with their worth and bound, the same in each "
    "row of a case.",
    (
        CASE,
        *CHOSEN,
        optional_date("settled_from", "First day that settled work names."),
        optional_date("settled_until", "Last day that it names."),
        Column(
            "settled_by_fuel",
            "flag",
            "Whether it names no days, and these are those in which the fuel carries.",
            nullable=True,
        ),
        Column("value_usd", "number", "Worth of the whole plan."),
        Column("bound_usd", "number", "No plan is worth more."),
        Column("found_by", "text", "What found the plan.", choices=FOUND_BY),
        *OWN_SEED,
        optional_number("free_value_usd", "Worth of the plan if units might touch.", lowest=-1e15),
        Column("changed", "flag", "Whether the former plan has something else.", nullable=True),
    ),
    key=("case", "unit_id", "year"),
    internal=True,
)


PLAN_FINDINGS = findings_layer("plan_findings", CAUSES)
