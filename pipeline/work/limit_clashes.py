"""Work against what a unit's limits, the nesting season and the season plan's option ask."""

from collections.abc import Collection, Iterator, Mapping
from typing import Any

import pandas as pd

from pipeline.log.days import day_of, first_common_day
from pipeline.season.options.past_work import grazing_time
from pipeline.season.settings import SeasonSettings
from pipeline.work.clashes import Clash

Row = Mapping[Any, Any]


NO_WORK = "rest"


NESTING_CODE = {
    "burn": "nesting_season",
    "mow": "nesting_season",
    "hay": "nesting_season",
    "spray": "nesting_season",
    "till": "nesting_season",
    "cut": "nesting_season",
    "drag": "nesting_season",
    "harvest": "nesting_season",
    "graze": "nesting_grazed",
}
"""What stands against each kind of work whose days meet the nesting season."""


CONTRADICTED = {
    "burn": ("graze", "hay"),
    "seed": ("burn", "graze", "hay"),
    "establish": ("burn", "graze", "hay"),
    "rest": ("burn", "graze", "hay", "mow"),
    "rest_or_graze": ("burn", "hay", "mow"),
    "graze": ("burn", "hay"),
    "defer": ("burn", "hay"),
    "burn_or_graze": ("rest",),
    "hay": ("graze",),
    "harvest": ("graze", "hay", "mow"),
    "overseed": ("burn", "hay"),
}
"""Kinds of work that go against what the season plan's option comes to."""


CARRIED_OUT_BY = {
    "burn": ("burn",),
    "burn_or_graze": ("burn", "graze"),
    "graze": ("graze",),
    "defer": ("graze",),
    "rest_or_graze": ("rest", "graze"),
    "rest": ("rest",),
    "hay": ("hay",),
    "seed": ("seed",),
    "overseed": ("seed",),
    "cut": ("cut",),
    "weeds": ("mow", "cut"),
    "establish": ("mow",),
}
"""Kinds of work that an option may be carried out by."""


def limit_clashes(work: Row, limits: pd.DataFrame) -> Iterator[Clash]:
    """Limits of the unit that work is planned on, whatever the date; one approved is told too."""
    if work["kind"] == NO_WORK:
        return
    for limit in limits[limits["unit_id"] == work["unit_id"]].to_dict("records"):
        words, meets = _limit_words(work, limit)
        if limit["approval"]:
            yield Clash(code="approved_limit", day=meets, names=f"{limit['approval']}; {words}")
        else:
            yield Clash(code=f"{limit['kind']}_limit", day=meets, names=words)


def _limit_words(work: Row, limit: Row) -> tuple[str, pd.Timestamp | None]:
    """What a limit says with its days, and the first planned day that meets them."""
    if not limit["first_day"]:
        return f"all year: {limit['note']}", work["first_day"]
    days = f"{limit['first_day']} to {limit['last_day']}"
    if not has_days(work):
        return f"{days}, planned days not known: {limit['note']}", None
    meets = first_common_day(
        work["first_day"], work["last_day"], limit["first_day"], limit["last_day"]
    )
    how = "no planned day is in it" if meets is None else f"planned days meet it on {meets.date()}"
    return f"{days}, {how}: {limit['note']}", meets


def has_days(work: Row) -> bool:
    """Whether both ends of the planned days are known."""
    return not (pd.isna(work["first_day"]) or pd.isna(work["last_day"]))


def nesting_clashes(work: Row, nesting: pd.DataFrame) -> Iterator[Clash]:
    """The nesting season of the property's state, where planned days meet it."""
    code = NESTING_CODE.get(work["kind"])
    if code is None or not has_days(work):
        return
    if code == "nesting_season" and work["days_from"] == "fuel_window":
        code = "nesting_in_window"
    for row in nesting.dropna(subset=["first_day", "last_day"]).to_dict("records"):
        meets = first_common_day(
            work["first_day"], work["last_day"], row["first_day"], row["last_day"]
        )
        if meets is not None:
            days = f"{row['state']}, {row['first_day']} to {row['last_day']}"
            yield Clash(code=code, day=meets, names=days)


def carries_out(work: Row, option: Row, settings: SeasonSettings) -> bool:
    """Whether planned work is of the kind that an option comes to, and grazing at its time."""
    if work["kind"] not in CARRIED_OUT_BY.get(option["leads_to"], ()):
        return False
    if work["kind"] != "graze" or not option["time"] or not has_days(work):
        return True
    stay = pd.Series([work["first_day"]]), pd.Series([work["last_day"]])
    return grazing_time(*stay, int(option["year"]), settings) == option["time"]


def plan_clashes(
    work: Row, plan: Row | None, options: Collection[Row], settings: SeasonSettings
) -> Iterator[Clash]:
    """The first option of a unit, where the planned work goes against it.

    Work that carries out another of the unit's ``options`` was chosen among them.
    """
    if plan is None or not plan["leads_to"]:
        return
    chosen = any(carries_out(work, option, settings) for option in options)
    leads_to, kind = plan["leads_to"], work["kind"]
    told = Clash(code="", figure=float(plan["rule"]), names=plan["suggestion"])
    if leads_to == "ask" and kind != NO_WORK:
        yield told | Clash(code="plan_asks_first")
    elif leads_to == "record" and kind != NO_WORK:
        yield told | Clash(code="plan_wants_record")
    elif not chosen and kind in CONTRADICTED.get(leads_to, ()) and _counts(work, plan, settings):
        yield told | Clash(code="plan_otherwise")


def _counts(work: Row, plan: Row, settings: SeasonSettings) -> bool:
    """Whether the work is enough to go against an option.

    Mowing of a part, such as breaks, does not; a rest does in the growing season of the plan.
    """
    if work["kind"] == "mow":
        return bool(work["whole_unit"])
    if work["kind"] != NO_WORK:
        return True
    first, last = (
        day_of(int(plan["year"]), day) for day in (settings.growing_from, settings.growing_until)
    )
    return has_days(work) and work["first_day"] <= last and work["last_day"] >= first
