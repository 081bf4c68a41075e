"""Layers and tables of what may be done this season: fuel, limits, and the season plan."""

from dataclasses import replace

from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_date,
    optional_number,
    optional_text,
)
from pipeline.core.layers import UNIT_ID
from pipeline.season.fuel.layers import FUEL
from pipeline.season.layers import COMMUNITY, HISTORY
from pipeline.season.options.layers import PAST_WORK, UNWANTED
from pipeline.season.road.layers import ROAD
from pipeline.season.source_layers import LEADS_TO, LIMIT_KINDS, UNIT_LIMITS

HELD_LIMITS = replace(
    UNIT_LIMITS,
    name="held_limits",
    meaning="Limits of units that hold in the season: those whose last year is not over.",
)


SEASON_LIMITS = Layer(
    "season_limits",
    None,
    "What stands against work on a unit in a part of the year: the nesting season that its burn "
    "window meets, and what contract, easement or species ask. Shown, not resolved.",
    (
        UNIT_ID,
        Column("number", "integer", "Number of the limit on the unit, from 1.", "Number"),
        Column(
            "limit",
            "text",
            "Where it comes from.",
            "Limit",
            choices=("nesting", *LIMIT_KINDS),
        ),
        optional_text(
            "first_day", "First day of the year, month and day; empty: all year.", "From"
        ),
        optional_text("last_day", "Last day of the year.", "To"),
        Column(
            "meets_window",
            "flag",
            "Whether it meets the burn window of the unit; empty where there is no window.",
            "Meets the burn window",
            nullable=True,
        ),
        optional_text("approval", "Written approval on record.", "Approval"),
        optional_text("state", "State whose nesting season it is.", "State"),
        optional_text("note", "What it says, and whom to ask.", "What it says"),
    ),
    key=("unit_id", "number"),
)


HISTORY_FACTS = (
    "mean_interval_years",
    "burned_share_pct",
    "never_burned_pct",
    "days_grazed",
    "au_days",
    "days_grazed_early",
    "days_grazed_midsummer",
    "days_grazed_late",
    "rested_seasons",
)


PAST_FACTS = (
    "years_since_burn",
    "burns_in_5_years",
    "burns_in_10_years",
    "last_burn_window",
    "years_since_seeding",
    "years_since_overseeding",
    "done_last_year",
)


UNWANTED_FACTS = ("woody_pct", "noxious_pct")


FUEL_FACTS = ("carries", "spring_load_lb_ac", "continuity", "bare_ground_pct")


COMMUNITY_FACTS = (
    "native_share_pct",
    "cool_exotic_share_pct",
    "unknown_share_pct",
    "warm_grass_share_pct",
    "brome_part_pct",
    "lead_invader",
)


GREENNESS_FACTS = ("change_vs_reference", "interval_low", "interval_high")


def _yes_or_no(name: str, meaning: str) -> Column:
    """A fact that is always told."""
    return Column(name, "text", meaning, choices=("yes", "no"))


def _index(name: str, meaning: str) -> Column:
    """A change of a vegetation index, which may be negative."""
    return Column(name, "number", meaning, nullable=True, dimensionless=True)


SEASON_FACTS = Layer(
    "season_facts",
    None,
    "All that a season rule may ask of a unit; empty where no layer tells it.",
    (
        UNIT_ID,
        optional_text("cover", "Kind of ground, in the user's words."),
        optional_number("burnable_ac", "Acres that can be burned."),
        *(
            replace(layer.column(name), nullable=True)
            for layer, names in (
                (PAST_WORK, PAST_FACTS),
                (HISTORY, HISTORY_FACTS),
                (UNWANTED, UNWANTED_FACTS),
                (FUEL, FUEL_FACTS),
                (COMMUNITY, COMMUNITY_FACTS),
            )
            for name in names
        ),
        _index("change_vs_reference", "Newest change in greenness against the reference units."),
        _index("interval_low", "Low end of its interval; never above zero for an unclear change."),
        _index("interval_high", "High end of its interval; never below zero for an unclear one."),
        optional_text(
            "road_state",
            "Where it stands on the road of recovery.",
            choices=ROAD.column("state").choices,
        ),
        _yes_or_no("recorded", "Whether any treatment is on record."),
        _yes_or_no("in_burn_block", "Whether it is in a burn block this season."),
        _yes_or_no("in_seeding", "Whether it is in a seeding this season."),
        _yes_or_no("contract", "Whether a contract or easement stands without an approval."),
        _yes_or_no("species_limit", "Whether a listed species stands without an approval."),
        _yes_or_no("fire_possible", "Whether the owner says that fire is possible."),
        _yes_or_no("herd_must_be_fed", "Whether the owner's herd must be fed."),
        _yes_or_no("hay_wanted", "Whether the owner wants hay of it."),
        _yes_or_no("seed_wanted", "Whether the owner wants to gather seed on it."),
        _yes_or_no("refuge_wanted", "Whether the owner wants a refuge kept."),
    ),
    key=("unit_id",),
    internal=True,
)


FACT_NAMES = tuple(name for name in SEASON_FACTS.column_names if name != "unit_id")


SEASON_PLAN = Layer(
    "season_plan",
    "MultiPolygon",
    "The first option for each unit, with its reason: something to talk over, never an order, and "
    "no permission to light anything.",
    (
        UNIT_ID,
        Column("year", "integer", "Season.", "Season"),
        Column(
            "outcome",
            "text",
            "Whether a rule holds; where none does, whether one might if more were known.",
            "Outcome",
            choices=("option", "unknown", "no_rule_holds"),
        ),
        optional_count("rule", "Rule of the table that made the suggestion.", "Rule"),
        optional_text(
            "leads_to",
            "What the option comes to; empty where the rule does not tell.",
            "Comes to",
            choices=LEADS_TO,
        ),
        optional_text("suggestion", "The option, in the words of the rule.", "Suggestion"),
        optional_text("window", "When in the year.", "When"),
        optional_text("reason", "Why, in the words of the rule.", "Why"),
        optional_date("stock_off_from", "Begin of the midsummer deferral.", "Stock off from"),
        optional_date(
            "stock_off_until", "End of the deferral; later after a burn.", "Stock off until"
        ),
        optional_text("source", "Where the rule comes from.", "Source"),
    ),
    key=("unit_id",),
)


PLAN_FACTS = Layer(
    "plan_facts",
    None,
    "What each option of the season plan rests on, and what the rules tried before it would have "
    "needed to be decided.",
    (
        UNIT_ID,
        Column("rule", "integer", "Rule of the table.", "Rule"),
        Column(
            "role",
            "text",
            "Whether the option rests on the fact, or the rule needs it.",
            "Role",
            choices=("rests_on", "needs"),
        ),
        Column("fact", "text", "What the rule asks for.", "Fact", choices=FACT_NAMES),
        Column(
            "figure",
            "number",
            "Its value, in the unit that its name ends in.",
            "Figure",
            2,
            nullable=True,
            dimensionless=True,
        ),
        optional_text("answer", "Its value where it is no number.", "Answer"),
    ),
    key=("unit_id", "rule", "role", "fact"),
)
