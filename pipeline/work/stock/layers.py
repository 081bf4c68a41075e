"""The layers of the stock's season: days on which units are closed, and the feed that is left."""

from dataclasses import replace

from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_date,
    optional_number,
    optional_text,
)
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.work.causes import CAUSES
from pipeline.work.layers import WORK_ID

CLOSED_BY = (
    "grows_fuel",
    "burn_recovery",
    "new_seeding",
    "rest",
    "contract",
    "nesting",
    "hay",
    "plan_option",
    "deferral",
)
"""Why a unit is closed to stock. Where two close it for as long, the first is told."""


CLOSED_DAYS = Layer(
    "closed_days",
    None,
    "Days on which a unit is closed to stock under the season's plan, and why: it grows the fuel "
    "of a planned burn, recovers from one, is newly seeded, is to rest or to be cut for hay, lies "
    "under a contract without an approval (which the nesting season closes too), or is deferred.",
    (
        UNIT_ID,
        Column("closed_by", "text", "Why it is closed.", "Closed for", choices=CLOSED_BY),
        Column("number", "integer", "Number of the row of this unit and reason, from 1.", "Number"),
        Column("first_day", "date", "First day.", "From"),
        Column("last_day", "date", "Last day.", "To"),
        Column("closed_ac", "number", "Acres that are closed.", "Acres", 1, lowest=0),
        replace(WORK_ID, nullable=True, meaning="Planned work that closes it, where one does."),
        optional_count("rule", "Rule of the season plan that closes it, where one does.", "Rule"),
    ),
    key=("unit_id", "closed_by", "number"),
)


PLAN_FEED = Layer(
    "plan_feed",
    None,
    "Feed of each unit that is there under the season's plan. Units that rest, burn, are seeded "
    "or deferred count only for the days of the herd's season on which they are open; ground "
    "that two units cover counts once.",
    (
        UNIT_ID,
        Column("ground_ac", "number", "Acres of it, none counted twice.", "Ground", 1, lowest=0),
        optional_number("full_aum", "Its feed if it were grazed all season.", "If all grazed", 1),
        Column(
            "open_pct",
            "number",
            "Share of its acres and of the herd's season that is open to stock.",
            "Open",
            0,
            lowest=0,
            highest=100,
        ),
        optional_number("plan_aum", "Feed of it under the plan.", "Under the plan", 1),
        Column(
            "reason",
            "text",
            "Whether it counts, and for how much of the season.",
            "Counts",
            choices=("all_season", "part_of_season", "not_at_all"),
        ),
        optional_text(
            "closed_by", "What closes it for most of the season.", "Closed for", choices=CLOSED_BY
        ),
    ),
    key=("unit_id",),
)


MOVE_RULES = (
    "row_on_record",
    "row_planned",
    "cool_ground_in_shoulder",
    "native_ground_in_summer",
    "next_open",
    "stays_on",
    "none_open",
    "no_feed",
    "not_told",
)
"""What a row of the herd's moves rests on. Of those proposed, the order is common practice."""


HERD_MOVES = Layer(
    "herd_moves",
    None,
    "Where the herd stands from day to day through the season: moves on record and planned in the "
    "log, and for the days and head for which the log has none a proposed order that keeps to the "
    "closed days and takes no more than grows. Days without ground or feed have rows of their own.",
    (
        Column("number", "integer", "Place in the order of days, from 1.", "Number"),
        Column(
            "move",
            "text",
            "Whether it is on record, planned in the log, proposed, or no move at all.",
            "Move",
            choices=("on_record", "planned", "proposed", "nowhere"),
        ),
        replace(UNIT_ID, nullable=True, meaning="Unit; empty where the herd has none."),
        Column("stock_on", "date", "First day.", "Stock on"),
        Column("stock_off", "date", "Last day.", "Stock off"),
        Column("days", "integer", "Days, both ends counted.", "Days", 0),
        optional_number("head", "Animals.", "Animals", 0, dimensionless=True),
        optional_number(
            "aum", "What they eat there; a month is that of the herd's season.", "Takes", 1
        ),
        optional_number(
            "allowed_aum",
            "What the growth of the unit allows (harvest efficiency) and earlier moves left; for "
            "proposed moves, of the share that the plan leaves open.",
            "Growth allows",
            1,
        ),
        optional_number("left_aum", "What of that is left when they go.", "Left of it", 1),
        optional_number(
            "left_lb_ac",
            "Grass of the year's growth left standing then: growth less all that moves up to this "
            "one made disappear.",
            "Left standing",
            0,
        ),
        optional_number("demand_aum", "Its part of what the herd needs.", "Of the demand", 1),
        optional_number("short_aum", "What of that part is not fed.", "Not fed", 1),
        optional_count(
            "closed_days", "Days of it on which the plan closes the unit.", "Days closed", 0
        ),
        optional_count(
            "nesting_days",
            "Days of it in the nesting season of the state; empty where the table has none.",
            "Days in nesting season",
            0,
        ),
        Column("rule", "text", "What the row rests on.", "Rests on", choices=MOVE_RULES),
        Column(
            "verdict",
            "text",
            "Whether the growth carries it.",
            "Verdict",
            choices=("within_growth", "above_growth", "feed_unknown", "not_fed", "not_told"),
        ),
    ),
    key=("number",),
)


HERD_FEED = Layer(
    "herd_feed",
    None,
    "Feed under the season's plan against what the herd needs, one row.",
    (
        Column("season", "integer", "Season.", "Season"),
        Column("first_day", "date", "First day of the herd's season.", "From"),
        Column("last_day", "date", "Last day of the herd's season.", "To"),
        optional_number("herd_au", "Animal units of the herd.", "Herd", 1),
        optional_number("demand_aum", "What the herd needs in its season.", "Demand", 1),
        optional_number("full_aum", "Feed if every unit were grazed.", "If all were grazed", 1),
        optional_number("plan_aum", "Feed of what the plan leaves open.", "Under the plan", 1),
        optional_number("fed_aum", "What of the demand the moves feed.", "Fed", 1),
        optional_number("short_aum", "What of the demand they do not feed.", "Not fed", 1),
        optional_count("season_days", "Days of the herd's season.", "Days of the season", 0),
        optional_count("days_short", "Days of it for which feed is lacking.", "Days short", 0),
        optional_count(
            "head_fed",
            "Head that the same feed would carry through all days on which a unit is open.",
            "Head it carries",
            0,
        ),
        optional_count(
            "days_fed", "Days that it would carry the whole herd.", "Days it carries", 0
        ),
        optional_number(
            "hay_tons", "Dry hay in its place, in short tons of 2,000 lb.", "Or dry hay", 1
        ),
        optional_count(
            "days_without_unit",
            "Days of it on which the plan leaves no unit open.",
            "Days without an open unit",
            0,
        ),
        optional_date("none_open_from", "First of these days.", "None open from"),
        optional_count(
            "units_unknown",
            "Open units whose feed is unknown; they count as nothing.",
            "Open units without a figure",
            0,
        ),
        Column(
            "verdict",
            "text",
            "Whether the feed under the plan lasts.",
            "Verdict",
            choices=("lasts", "short", "needs_herd"),
        ),
    ),
    key=("season",),
)


FEED_FINDINGS = findings_layer("feed_findings", CAUSES)
