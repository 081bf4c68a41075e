"""Whether the options of a season were taken, and what became of its tasks."""

from collections.abc import Iterator, Sequence
from typing import Any

import pandas as pd

from pipeline.log.treatment_log import NO_TREATMENTS
from pipeline.work.layers import WINDOW_KINDS
from pipeline.years.ground import Outlines
from pipeline.years.layers import OPTION_YEARS, TASK_YEARS
from pipeline.years.records import JoinedLog
from pipeline.years.runs import SeasonRun


def fall(year: int) -> pd.Timestamp:
    """First day of fall of a year: a log that reaches it tells of the growing season."""
    return pd.Timestamp(year, 10, 1)


ANY_OF = {
    "burn": {"burn"},
    "burn_or_graze": {"burn", "graze"},
    "graze": {"graze"},
    "hay": {"hay"},
    "seed": {"seed"},
    "overseed": {"seed"},
    "cut": {"cut"},
    "weeds": {"spray", "cut", "mow"},
}
"""Work by which an option is taken: any of it."""


NOTHING_BUT = {"rest": set(), "rest_or_graze": {"graze"}}
"""Options that are taken where nothing but this is done."""


def option_taken(
    option: str | None, run: SeasonRun, outline: int, log: JoinedLog, outlines: Outlines
) -> str:
    """Whether an option of a season was taken on a piece of ground, by the logs of later runs."""
    if option not in ANY_OF and option not in NOTHING_BUT:
        return "not_asked"
    rows = log.rows
    in_time = (rows["start"] > run.as_of) & (rows["start"] <= pd.Timestamp(run.season, 12, 31))
    later = rows[in_time & (rows["told_in"] > run.season) & rows["outline"].notna()]
    kinds = {
        row.kind
        for row in later.itertuples()
        if row.kind not in NO_TREATMENTS and outlines.share(int(row.outline), outline) > 0
    }
    if option in ANY_OF and kinds & ANY_OF[option]:
        return "taken"
    if option in NOTHING_BUT and kinds - NOTHING_BUT[option]:
        return "not_taken"
    if not log.tells_of(fall(run.season), after=run.season):
        return "untold"
    return "taken" if option in NOTHING_BUT else "not_taken"


def tell_option_years(
    runs: Sequence[SeasonRun], log: JoinedLog, outlines: Outlines
) -> pd.DataFrame:
    """Table ``option_years``: each option of each season, and whether it was taken."""
    rows = [
        {name: row.get(name) for name in OPTION_YEARS.column_names}
        | {
            "season": run.season,
            "taken": option_taken(
                row["leads_to"], run, outlines.numbers[run.season, row["unit_id"]], log, outlines
            ),
        }
        for run in runs
        for row in _options(run)
    ]
    return pd.DataFrame(rows, columns=OPTION_YEARS.column_names)


def _options(run: SeasonRun) -> list[dict[Any, Any]]:
    """Options of a season; an older schema has the first one alone, in words."""
    options = run.frames["season_options"]
    if len(options):
        return options.to_dict("records")
    plan = run.frames["season_plan"]
    return plan[plan["suggestion"].notna()].assign(rank=1).to_dict("records")


LOGGED_TASKS = {
    "sow": "seed",
    "mow": "mow",
    "hay": "hay",
    "spray": "spray",
    "cut": "cut",
    "drag": "drag",
    "move": "move",
    "stock_on": "graze",
}
"""Tasks that a log tells of, each with the kind of its rows."""


SEEN_TASKS = {"measure_fuel": "standing", "look_again": "plant_cover", "take_photo": "photos"}
"""Tasks that leave a row of their own in a later run, each with its layer; to look again at a
satellite picture leaves one among its readings."""


def tell_task_years(runs: Sequence[SeasonRun], log: JoinedLog) -> pd.DataFrame:
    """Table ``task_years``: each task of each season, and what shows that it was done."""
    rows = [
        _task(task, run, [other for other in runs if other.season > run.season], log)
        for run in runs
        for task in run.frames["tasks"].to_dict("records")
        if task["kind"] not in WINDOW_KINDS
    ]
    table = pd.DataFrame(rows, columns=TASK_YEARS.column_names)
    return table.assign(number=range(1, len(table) + 1))


def _task(
    task: dict[Any, Any], run: SeasonRun, later: Sequence[SeasonRun], log: JoinedLog
) -> dict[str, Any]:
    """One task with what came of it."""
    places = [task[name] for name in ("unit_id", "block", "area") if pd.notna(task[name])]
    until = max(pd.Timestamp(run.season, 12, 31), pd.Timestamp(task["due"]))
    days = [d for d in _days(task, run, later, log) if pd.notna(d) and run.as_of < d <= until]
    due = until if pd.isna(task["due"]) else task["due"]
    layer = _layer_of(task)
    told = any(other.as_of >= due and len(other.frames[layer]) for other in later if layer)
    if task["kind"] in LOGGED_TASKS:
        told = log.tells_of(due, after=run.season)
    outcome = "done" if days else "not_done" if told else "untold"
    return {
        "season": run.season,
        "kind": task["kind"],
        "place": ", ".join(places) or None,
        "due": task["due"],
        "outcome": outcome,
        "done_on": min(days) if days else None,
    }


def _days(
    task: dict[Any, Any], run: SeasonRun, later: Sequence[SeasonRun], log: JoinedLog
) -> Iterator[pd.Timestamp]:
    """Days of later records that show a task done on one of its units."""
    planned = run.frames["planned_work"]
    of_place = planned["block"].eq(task["block"]) | planned["area"].eq(task["area"])
    own = None if pd.isna(task["unit_id"]) else task["unit_id"]
    units = set(planned.loc[of_place, "unit_id"]) | {own}
    kind = LOGGED_TASKS.get(task["kind"])
    if kind is not None:
        rows = log.rows
        yield from rows.loc[rows["kind"].eq(kind) & rows["unit_id"].isin(units), "start"]
    layer = _layer_of(task)
    for other in later if layer else ():
        frame = other.frames[layer]
        anywhere = units == {None}
        yield from frame.loc[frame["unit_id"].isin(units) | anywhere, "date"]


def _layer_of(task: dict[Any, Any]) -> str:
    """Layer of a later run that would have a row of a task; empty where none would."""
    if str(task["task_id"]).endswith(":satellite"):
        return "zone_scenes"
    return SEEN_TASKS.get(task["kind"], "")
