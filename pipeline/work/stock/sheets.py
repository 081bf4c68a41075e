"""The tables of the stock's season that people read."""

from pipeline.core.table import Table
from pipeline.work.stock.layers import CLOSED_DAYS, HERD_FEED, HERD_MOVES, PLAN_FEED

HERD_FEED_TABLE = Table(
    HERD_FEED,
    "Feed and herd under this season's plan",
    (
        "season",
        "first_day",
        "last_day",
        "demand_aum",
        "fed_aum",
        "short_aum",
        "days_short",
        "days_without_unit",
        "head_fed",
        "days_fed",
        "hay_tons",
        "plan_aum",
        "full_aum",
        "units_unknown",
        "verdict",
    ),
    about="Burns, rests, seedings and deferrals are taken off, each for the days it closes a unit.",
)


HERD_MOVES_TABLE = Table(
    HERD_MOVES,
    "Where the herd stands from day to day",
    (
        "number",
        "unit_id",
        "stock_on",
        "stock_off",
        "days",
        "head",
        "move",
        "aum",
        "allowed_aum",
        "left_aum",
        "left_lb_ac",
        "demand_aum",
        "short_aum",
        "closed_days",
        "nesting_days",
        "verdict",
    ),
    totals=("demand_aum", "short_aum"),
    below=("rule",),
    about="Moves of the log are as planned there. Proposed ones fill the days and head for which "
    "the log has none; their order is common practice, no source: look at the ground before each. "
    "The growth of the year is taken to be there when the herd comes.",
)


PLAN_FEED_TABLE = Table(
    PLAN_FEED,
    "Feed of each unit under this season's plan",
    ("unit_id", "ground_ac", "full_aum", "open_pct", "plan_aum", "reason", "closed_by"),
    totals=("ground_ac", "full_aum", "plan_aum"),
    about="Ground that two units cover counts once, in the one that is closed longer.",
)


CLOSED_DAYS_TABLE = Table(
    CLOSED_DAYS,
    "Days on which units are closed to stock",
    ("unit_id", "closed_by", "first_day", "last_day", "closed_ac", "rule"),
)
