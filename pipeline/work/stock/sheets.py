"""The tables of the stock's season that people read."""

from pipeline.core.table import Table
from pipeline.work.stock.layers import CLOSED_DAYS, HERD_FEED, PLAN_FEED

HERD_FEED_TABLE = Table(
    HERD_FEED,
    "Feed and herd under this season's plan",
    (
        "season",
        "first_day",
        "last_day",
        "demand_aum",
        "plan_aum",
        "days_short",
        "days_without_unit",
        "full_aum",
        "units_unknown",
        "verdict",
    ),
    about="Burns, rests, seedings and deferrals are taken off, each for the days it closes a unit.",
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
    ("unit_id", "closed_by", "first_day", "last_day", "closed_ac", "work_id", "rule"),
)
