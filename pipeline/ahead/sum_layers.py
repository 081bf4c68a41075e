"""Layers of sums: what each year takes, the plan in one row, and what-ifs beside it."""

from dataclasses import replace

from pipeline.ahead.layers import CASE, FOUND_BY, NO_PERMISSION, OWN_SEED, TREATMENT, YEAR
from pipeline.core.layer import Column, Layer, optional_count, optional_number, optional_text
from pipeline.core.layers import UNIT_ID
from pipeline.season.road.layers import EVENTS, STATES

PLAN_TOTALS = Layer(
    "plan_totals",
    None,
    f"What each of the years ahead takes and gives. {NO_PERMISSION}",
    (
        YEAR,
        Column("burns", "integer", "Units to burn.", "Burns", 0, lowest=0),
        Column("burned_ac", "number", "Acres to burn.", "Burn", 1, lowest=0),
        Column("most_ac", "number", "Most acres by the cap, less its margin.", "Cap", 1, lowest=0),
        Column("line_ft", "number", "Line to make.", "Line", 0, lowest=0),
        Column(
            "alone_ft",
            "number",
            "Line if each unit were burned on its own.",
            "Line, each alone",
            0,
            lowest=0,
        ),
        Column("crew_days", "number", "Days of the burn crew.", "Crew", 0, lowest=0),
        Column("cost_usd", "number", "Cost of burns, lines and seeding.", "Cost", 0, lowest=0),
        Column("seeded_ac", "number", "Acres to sow.", "Sow", 1, lowest=0),
        optional_number("demand_aum", "What the herd needs.", "Herd needs", 1),
        optional_number("supply_aum", "What the grazed units give.", "Given", 1),
        optional_number("short_aum", "What the herd is short of.", "Short", 1),
        Column(
            "late_units", "integer", "Units past their longest return.", "Units late", 0, lowest=0
        ),
        Column("late_ac", "number", "Acres of these.", "Late", 1, lowest=0),
        Column("undecided_units", "integer", "Units undecided.", "Undecided", 0, lowest=0),
        optional_number(
            "fit_pct",
            "Share of the years of weather in which all burns of the year found days with one "
            "crew; those at times that the plan leaves out are not asked.",
            "Fits the crew",
            0,
            highest=100,
        ),
        optional_count(
            "weather_years", "Years of weather that it rests on.", "Years of weather", 0
        ),
    ),
    key=("year",),
)


PLAN_SUMMARY = Layer(
    "plan_summary",
    None,
    f"The plan of years in one row: how good it is, and how good any could be. {NO_PERMISSION}",
    (
        replace(YEAR, name="first_year", heading="From"),
        Column("years", "integer", "Years planned.", "Years", 0, lowest=1),
        Column("units", "integer", "Units planned.", "Units", 0, lowest=0),
        Column("undecided_units", "integer", "Units undecided.", "Undecided", 0, lowest=0),
        optional_number(
            "value_usd", "Worth of the plan by your weights.", "Worth", 0, lowest=-1e12
        ),
        optional_number("bound_usd", "No plan is worth more.", "At most", 0, lowest=-1e12),
        optional_number("gap_pct", "How much less it is worth than that.", "Gap", 2),
        Column("found_by", "text", "What found it.", "Found by", choices=FOUND_BY),
        *OWN_SEED,
        optional_count("changed_choices", "Choices other than in the former plan.", "Changed", 0),
        optional_number(
            "no_touching_usd", "What the rule that units must not touch costs.", "Its cost", 0
        ),
    ),
    key=("first_year",),
)


PLAN_CASE_YEARS = Layer(
    "plan_case_years",
    None,
    f"What each unit would get in each of the years, case by case. {NO_PERMISSION}",
    (
        CASE,
        UNIT_ID,
        YEAR,
        TREATMENT,
        optional_count("years_since_burn", "Years since the burn before this year.", "Since", 0),
        optional_number("burned_ac", "Acres to burn.", "Burn", 1),
        optional_number("line_ft", "Line to make around it.", "Line", 0),
        optional_number("crew_days", "Days of the burn crew.", "Crew", 0),
        optional_number("cost_usd", "Cost of burn, line and seeding.", "Cost", 0),
        optional_number("supply_aum", "Forage that it gives the herd.", "Forage", 1),
        optional_number(
            "gap_pct", "How much less the case is worth than its bound; in each row.", "Gap", 2
        ),
    ),
    key=("case", "unit_id", "year"),
)


def _end_share(name: str, meaning: str, heading: str) -> Column:
    return Column(name, "number", meaning, heading, 0, lowest=0, highest=100)


PLAN_CASES = Layer(
    "plan_cases",
    None,
    f"The plan beside your what-ifs: what all years together take, and what stands at their end. "
    f"What will grow there by then no plan can tell: a survey must. {NO_PERMISSION}",
    (
        CASE,
        Column("most_burned_pct", "number", "Cap on the ground burned in a year.", "Cap", 0),
        optional_number("demand_aum", "What the herd needs a year.", "Herd needs", 1),
        Column("burned_ac", "number", "Acres to burn in all years.", "Burn", 1, lowest=0),
        Column("burns", "integer", "Burns of units in all years.", "Burns", 0, lowest=0),
        Column("line_ft", "number", "Line to make.", "Line", 0, lowest=0),
        Column("mower_hours", "number", "Hours to mow these lines.", "Mower", 1, lowest=0),
        Column("crew_days", "number", "Days of the burn crew.", "Crew", 0, lowest=0),
        Column("cost_usd", "number", "Cost of burns, lines and seeding.", "Cost", 0, lowest=0),
        optional_number("short_aum", "What the herd is short of in all years.", "Short", 1),
        Column(
            "late_unit_years",
            "integer",
            "Years of units past their longest return without a burn, all units summed.",
            "Unit-years late",
            0,
            lowest=0,
        ),
        _end_share("burned_end_pct", "Ground burned within its return.", "Within return"),
        _end_share("late_end_pct", "Ground past its longest return.", "Past return"),
        _end_share("young_end_pct", "Ground sown and not yet a sward.", "Young"),
        _end_share("bare_end_pct", "Cropland that was never sown.", "Cropland"),
        _end_share("untold_end_pct", "Ground without a burn on record, or undecided.", "Not told"),
        optional_number("gap_pct", "How much less it is worth than the bound.", "Gap", 2),
    ),
    key=("case",),
)


EXPECTED = (
    "Expected by the road rules if every choice were done on the whole of its unit, and no "
    "promise: no survey and no greenness is foreseen, so no unit comes to a state that only these "
    "can show."
)


PLAN_ROAD = Layer(
    "plan_road",
    None,
    f"Where each unit would stand on the road at the end of each of the years, case by case. "
    f"{EXPECTED} {NO_PERMISSION}",
    (
        CASE,
        UNIT_ID,
        YEAR,
        Column("state", "text", "Where it would stand.", "Expected", choices=STATES),
        optional_text("event", "Work or time that moved it in the year.", "By", choices=EVENTS),
        optional_count("rule", "Rule of the table that moved it.", "Rule", 0),
        optional_text("reason", "Why, in the words of the rule.", "Why"),
        optional_text("source", "Where the rule comes from.", "Source"),
    ),
    key=("case", "unit_id", "year"),
)


PLAN_STATES = Layer(
    "plan_states",
    None,
    f"Shares of the ground by state on the road, today and after the last year, case by case. "
    f"{EXPECTED}",
    (
        CASE,
        Column("state", "text", "Where it stands.", "State", choices=STATES),
        Column(
            "today_pct",
            "number",
            "Share of the burnable ground.",
            "Today",
            0,
            lowest=0,
            highest=100,
        ),
        Column(
            "end_pct",
            "number",
            "Share expected after the last year.",
            "Expected at the end",
            0,
            lowest=0,
            highest=100,
        ),
    ),
    key=("case", "state"),
)
