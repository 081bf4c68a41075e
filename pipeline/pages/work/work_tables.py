"""Tables of the report on the season's work: tasks by their state, costs by task and by place."""

from dataclasses import replace

import pandas as pd

from pipeline.core.layer import Column, Layer
from pipeline.core.table import Table
from pipeline.work.layers import SEASON_COSTS, TASKS, WINDOW_KINDS

SPAN_WEEKS = 8
"""Weeks from the day of the plan on whose tasks the report opens with. *Source*: common practice,
no source: long enough to book a contractor or order seed, short enough for one screen."""


STATES = ("overdue", "soon", "later", "passed", "no_day")
"""How a task lies to the day of the plan; a window that passed is no task left undone."""


def task_states(tasks: pd.DataFrame, as_of: pd.Timestamp) -> pd.DataFrame:
    """Tasks with their ``state``, in the order in which they call for somebody.

    A task without a day to be done by counts from the first day that it can be done.
    """
    day = tasks["due"].fillna(tasks["first_day"])
    state = pd.Series("later", tasks.index, dtype=object)
    state[day <= as_of + pd.Timedelta(weeks=SPAN_WEEKS)] = "soon"
    state[day.isna()] = "no_day"
    state[tasks["overdue"].astype(bool)] = "overdue"
    state[(day < as_of) & tasks["kind"].isin(WINDOW_KINDS)] = "passed"
    order = pd.DataFrame({"rank": state.map(STATES.index), "day": day, "number": tasks["number"]})
    return tasks.assign(state=state).loc[order.sort_values(["rank", "day", "number"]).index]


def _worded(column: Column) -> Column:
    """A column of codes that the page fills with words."""
    return replace(column, choices=())


TASK_SHEET = Layer(
    "task_sheet",
    None,
    TASKS.meaning,
    (
        *(_worded(c) if c.name == "kind" else c for c in TASKS.columns),
        Column("state", "text", "How it lies to the day of the plan.", "State", choices=STATES),
        Column("when", "text", "When it is due, counted from the day of the plan.", "When"),
        Column("how_much", "text", "How much, with what it counts.", "How much", nullable=True),
    ),
    key=TASKS.key,
)


TASKS_TABLE = Table(
    TASK_SHEET,
    "Tasks of the season",
    (
        "kind",
        "when",
        "block",
        "area",
        "unit_id",
        "first_day",
        "due",
        "how_much",
        "work_hours",
        "cost_usd",
        "who",
    ),
    totals=("work_hours", "cost_usd"),
    below=("names", "due_low", "due_high", "waits_for", "without_price", "source"),
    about="What is overdue first, then in the order of their days. A day here is planning "
    "arithmetic and no permission to light anything.",
)


SUMMED = ("work_hours", "work_ac", "length_ft", "seed_lb", "cost_usd")


def _cost_table(by: str, title: str, about: str = "") -> Table:
    """Costs of the season summed by one column of ``season_costs``."""
    unpriced = Column("unpriced", "integer", "Rows that miss a price.", "Not all priced", 0)
    columns = (
        _worded(SEASON_COSTS.column(by)),
        *map(SEASON_COSTS.column, SUMMED),
        unpriced,
        SEASON_COSTS.column("without_price"),
    )
    layer = Layer(f"costs_by_{by}", None, SEASON_COSTS.meaning, columns, key=(by,))
    return Table(
        layer,
        title,
        (by, *SUMMED, "unpriced"),
        totals=(*SUMMED, "unpriced"),
        below=("without_price",),
        about=about,
    )


COSTS_BY_TASK = _cost_table("kind", "What the season costs, by task")


COSTS_BY_PLACE = _cost_table(
    "place",
    "What the season costs, by place",
    "Dollars come from the prices that were given and from nothing else. A sum leaves out what has "
    "no price and counts it.",
)


def sum_costs(season_costs: pd.DataFrame, by: str) -> pd.DataFrame:
    """Hours, acres, feet, pounds and dollars summed by ``kind`` or ``place``.

    ``unpriced`` counts the rows that miss a price, and ``without_price`` names what would give
    them. A sum of nothing known stays unknown.
    """
    groups = season_costs.groupby(by, sort=False)
    sums = groups[list(SUMMED)].sum(min_count=1)
    sums["unpriced"] = groups["priced"].agg(lambda priced: int((~priced.astype(bool)).sum()))
    sums["without_price"] = groups["without_price"].agg(
        lambda names: ", ".join(dict.fromkeys(names.dropna())) or None
    )
    return sums.reset_index()
