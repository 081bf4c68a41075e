"""The layers of a batch: a row a property, a row a unit, and work and seed of all of them by week.

They are of many runs and so stand beside those of a run: in ``batch.gpkg`` and ``batch.html``.
"""

from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_date,
    optional_number,
    optional_text,
)
from pipeline.greenness.change_columns import CHANGE_VERDICTS
from pipeline.work.layers import TASK_KINDS

CREW_DAY_HOURS = 8.0
"""Hours of work in a crew day. *Source*: common practice, no source."""


PROPERTY = Column("property", "text", "Name of the property.", "Property")


SEASON = Column("season", "integer", "Calendar year of the season being prepared.", "Season")


CONFLICT_COUNTS = (
    optional_count("stop_and_ask", "Conflicts to stop and ask for.", "Stop and ask", 0),
    optional_count("think_again", "Conflicts to think about again.", "Think again", 0),
    optional_count("know", "Conflicts to know of.", "Know", 0),
)


WORK_FIGURES = (
    optional_number("work_hours", "Hours of work.", "Time", 1),
    optional_number("seed_lb", "Pounds of seed to be bought, as weighed.", "Seed", 1),
    optional_number("cost_usd", "Dollars, as far as prices are known.", "Cost", 0),
)


PROPERTIES = Layer(
    "properties",
    "Geometry",
    "A row a property of the batch, those that failed with their reasons. A property without a "
    "conflict is not thereby allowed to burn: permits, burn bans and the burn boss decide.",
    (
        Column("property_file", "text", "Property file, from beside this file.", "Property file"),
        Column(
            "state",
            "text",
            "What became of it: written now, kept since it would come out the same, or failed.",
            "State",
            choices=("written", "kept", "failed"),
        ),
        optional_text("property", "Name of the property.", "Property"),
        optional_count("season", "Calendar year of the season being prepared.", "Season"),
        optional_text("folder", "Run folder, from beside this file.", "Run folder"),
        *CONFLICT_COUNTS,
        optional_count("warnings", "Findings that are warnings.", "Warnings", 0),
        optional_count("units", "Units.", "Units", 0),
        optional_number("units_ac", "Acres of all units, added up.", "Units summed", 1),
        optional_number("ground_ac", "Acres of ground that they cover.", "Ground covered", 1),
        optional_number("burnable_ac", "Burnable acres of that ground.", "Burnable", 1),
        optional_number(
            "prepare_ft",
            "Edge of its burn blocks to be prepared; one that two blocks share counts once.",
            "To prepare",
            0,
        ),
        *WORK_FIGURES,
        optional_count(
            "without_price", "Rows of the season's costs that lack a price.", "Without price", 0
        ),
        optional_count("greener", "Burned units that became greener.", "Greener", 0),
        optional_count("less_green", "Burned units that became less green.", "Less green", 0),
        optional_count(
            "not_clear", "Burned units of which neither can be said.", "Change not clear", 0
        ),
        optional_text("reasons", "Why it failed, a line a fault.", "Why it failed"),
    ),
)


UNITS = Layer(
    "units",
    "MultiPolygon",
    "A row a unit of all properties. Feet, hours, pounds and dollars belong to blocks, areas and "
    "properties, since most of them serve several units.",
    (
        PROPERTY,
        SEASON,
        Column("unit_id", "text", "Name of the unit.", "Unit"),
        optional_text("name", "What it is called.", "Name"),
        optional_text("blocks", "Burn blocks that it is part of.", "Block"),
        optional_text("areas", "Seeding areas that it is part of.", "Seeding area"),
        *CONFLICT_COUNTS,
        optional_number("gross_ac", "Whole area.", "Gross", 1),
        optional_number("burnable_ac", "Gross less what is left out for burning.", "Burnable", 1),
        optional_number("seedable_ac", "Gross less what is left out for seeding.", "Seedable", 1),
        optional_text(
            "carries",
            "Whether its fuel carries a fire in spring.",
            "Carries",
            choices=("yes", "patchy", "no", "unknown"),
        ),
        optional_date("last_burn", "Last burn on record.", "Last burn"),
        optional_text(
            "verdict",
            "What is said of its change in greenness around its newest burn that was compared.",
            "Greenness",
            choices=CHANGE_VERDICTS,
        ),
    ),
    key=("property", "season", "unit_id"),
)


SEASON_COSTS = Layer(
    "season_costs",
    None,
    "Hours, acres, feet, pounds and dollars of all properties by task and place; no row is a "
    "total.",
    (
        PROPERTY,
        SEASON,
        Column("kind", "text", "What is done.", "Task", choices=TASK_KINDS),
        Column("place", "text", "Unit, block or seeding area.", "Place"),
        optional_number("work_ac", "Acres.", "Acres", 1),
        optional_number("length_ft", "Length of line.", "Length", 0),
        *WORK_FIGURES,
    ),
    key=("property", "season", "kind", "place"),
)


WEEK = optional_date(
    "week",
    "Monday of the week that it is due in; empty where it has no day.",
    "Week from",
)


CREW_WEEKS = Layer(
    "crew_weeks",
    None,
    "Work of all properties by the week that it is due in. Planning arithmetic: a week here is no "
    "permission to light anything.",
    (
        WEEK,
        Column("tasks", "integer", "Tasks that take hours.", "Tasks", 0),
        Column("properties", "integer", "Properties that they are of.", "Properties", 0),
        Column("work_hours", "number", "Hours of work.", "Time", 1, lowest=0),
        Column(
            "crew_days",
            "number",
            f"Crew days of {CREW_DAY_HOURS:g} hours (common practice, no source).",
            "Crew days",
            1,
            lowest=0,
        ),
    ),
    key=("week",),
)


SEED_WEEKS = Layer(
    "seed_weeks",
    None,
    "Seed that is to be bought for all properties, by vendor, the week it is needed in, and "
    "species.",
    (
        optional_text("vendor", "Who sells it; empty where no lot says.", "Vendor"),
        WEEK,
        Column("species", "text", "Scientific name.", "Species"),
        optional_text("common_name", "Common name.", "Common name"),
        Column("properties", "integer", "Properties that need it.", "Properties", 0),
        optional_number("pls_to_order_lb", "Pure live seed to order.", "PLS to order", 2),
        optional_number("bulk_to_order_lb", "Bulk to order, as weighed.", "Bulk to order", 2),
        optional_number("cost_usd", "Dollars, as far as prices are known.", "Cost", 2),
        Column("without_price", "integer", "Rows of orders without a price.", "Without price", 0),
    ),
    key=("vendor", "week", "species"),
)


LAYERS = {layer.name: layer for layer in (PROPERTIES, UNITS, SEASON_COSTS, CREW_WEEKS, SEED_WEEKS)}
"""Every layer of ``batch.gpkg`` by name."""
