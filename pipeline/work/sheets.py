"""The tables of the season's work that people read."""

from pipeline.core.table import Table
from pipeline.work.layers import CONFLICTS, SEASON_COSTS, TASKS

TASKS_TABLE = Table(
    TASKS,
    "What to do by when",
    (
        "number",
        "due",
        "kind",
        "block",
        "area",
        "unit_id",
        "first_day",
        "overdue",
        "amount",
        "amount_unit",
        "work_hours",
        "cost_usd",
        "who",
        "waits_for",
    ),
    totals=("work_hours", "cost_usd"),
    below=("names", "source"),
    about="Days are planning arithmetic and no permission to light anything. A task waits for "
    "those whose numbers it names.",
)


CONFLICTS_TABLE = Table(
    CONFLICTS,
    "What stands against the plan",
    ("number", "seriousness", "kind", "block", "area", "unit_id", "first_day", "last_day"),
    below=("against", "who_decides", "resolve", "source"),
    about="What is not listed is not thereby allowed: permits, burn bans and the burn boss's own "
    "judgment stand above it.",
)


COSTS_TABLE = Table(
    SEASON_COSTS,
    "What the season costs",
    ("kind", "place", "work_hours", "work_ac", "length_ft", "seed_lb", "cost_usd", "priced"),
    totals=("work_hours", "seed_lb", "cost_usd"),
    below=("without_price",),
    about="Dollars come from your own prices ([costs] and the seed lots) alone; what has none is "
    "told, and left out of the total.",
)
