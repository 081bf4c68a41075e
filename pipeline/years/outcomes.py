"""What was planned in each season against what later logs tell was done: acres in and out."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from pipeline.log.treatment_log import NO_TREATMENTS
from pipeline.work.planned import NEAR_DAYS, WHOLE_SHARE
from pipeline.years.ground import PART_PCT, Outlines
from pipeline.years.layers import CLASS_ACRES, OUTCOME_ROWS
from pipeline.years.records import JoinedLog
from pipeline.years.runs import SeasonRun

NAMED_DAYS = 366
"""A record that names its plan is of it, also when it was done much later, up to a year."""


Plan = dict[str, Any]
"""A row of planned work with its season, ground, days and pounds."""


Row = Mapping[Any, Any]


def hold_plans_against_logs(
    runs: Sequence[SeasonRun], log: JoinedLog, outlines: Outlines
) -> pd.DataFrame:
    """Table ``outcomes``: each planned row with what came of it, then what was done beside.

    The acres of the classes add up to the acres planned. On each piece of its ground a record is of
    one plan: of the one that it names, else of the nearest in time, up to 60 days off. What of its
    ground is of no plan was done without one.
    """
    plans = [plan for run in runs for plan in _plans(run, outlines)]
    records = log.rows.to_dict("records")
    of_plan: dict[int, list[Row]] = {}
    beside: list[Row] = []
    for record in records:
        numbers = _plans_of(record, plans, outlines)
        for number in numbers:
            of_plan.setdefault(number, []).append(record)
        beside += _beside(record, [plans[number] for number in numbers], outlines)
    rows = [
        _told(plan, of_plan.get(number, []), plans, log, outlines)
        for number, plan in enumerate(plans)
    ]
    rows += [row for record in beside for row in _without_plan(record, runs)]
    rows.sort(key=lambda row: (-row["season"], row["outcome"] == "done_without_plan"))
    table = pd.DataFrame(rows, columns=OUTCOME_ROWS.column_names)
    return table.assign(number=range(1, len(table) + 1))


def _plans(run: SeasonRun, outlines: Outlines) -> Iterator[Plan]:
    """Planned work of a season; what has no day may fall on any day left of the season's year."""
    work = run.frames["planned_work"]
    areas = run.frames["seed_areas"].set_index("area")["pls_lb"].to_dict()
    of_area = work.groupby("area")["work_ac"].sum().to_dict()
    for row in work.to_dict("records"):
        outline = outlines.numbers[run.season, row["unit_id"]]
        acres = outlines.acres[outline] if pd.isna(row["work_ac"]) else float(row["work_ac"])
        pounds = areas.get(row["area"], np.nan)
        whole = of_area.get(row["area"], 0.0)
        dated = pd.notna(row["first_day"]) or pd.notna(row["last_day"])
        first = row["first_day"] if pd.notna(row["first_day"]) else row["last_day"]
        last = row["last_day"] if pd.notna(row["last_day"]) else row["first_day"]
        yield row | {
            "season": run.season,
            "as_of": run.as_of,
            "outline": outline,
            "planned_ac": acres,
            "planned_pls_lb": pounds * acres / whole if whole else np.nan,
            "dated": dated,
            "under_way": _is_under_way(row, run),
            "from": first if dated else run.as_of + pd.Timedelta(days=1),
            "until": last if dated else pd.Timestamp(run.season, 12, 31),
        }


def _is_under_way(row: Row, run: SeasonRun) -> bool:
    """Whether planned work is what is left of a row of the log that began before the plan."""
    if row["days_from"] != "log" or row["first_day"] != run.as_of + pd.Timedelta(days=1):
        return False
    book = run.frames["record_book"]
    own = book["unit_id"].eq(row["unit_id"]) & book["kind"].eq(row["kind"])
    return bool((own & (book["start"] <= run.as_of) & (book["end"] >= run.as_of)).any())


def _plans_of(record: Row, plans: Sequence[Plan], outlines: Outlines) -> list[int]:
    """Numbers of the plans that a record is of: several where they lie beside one another."""
    names = pd.notna(record["plan"])
    known = names and any(plan["work_id"] == record["plan"] for plan in plans)
    found = []
    for number, plan in enumerate(plans):
        if not _may_be_of(record, plan, outlines):
            continue
        named = names and plan["work_id"] == record["plan"]
        if known and not named:
            continue
        days = _days_off(record, plan)
        if days > (NAMED_DAYS if named else NEAR_DAYS):
            continue
        # Of two plans for the same days the later one is the newer word.
        found.append((days, -plan["season"], number))
    chosen: list[int] = []
    for _, _, number in sorted(found):
        own = plans[number]["outline"]
        if not any(outlines.share(own, plans[n]["outline"]) for n in chosen):
            chosen.append(number)
    return chosen


def _beside(record: Row, plans: Sequence[Plan], outlines: Outlines) -> Iterator[Row]:
    """The record with its acres on ground of none of its plans; nothing where they take it all."""
    if not plans:
        yield record
        return
    taken = sum(outlines.pct(int(record["outline"]), plan["outline"]) for plan in plans)
    if taken <= 100.0 - PART_PCT:
        yield {**record, "record_ac": record["record_ac"] * (1.0 - taken / 100.0)}


def _may_be_of(record: Row, plan: Plan, outlines: Outlines) -> bool:
    """Whether a record is of the kind and ground of a plan, and began after it was made."""
    if record["kind"] != plan["kind"] or record["start"] <= plan["as_of"] or plan["under_way"]:
        return False
    if pd.isna(record["outline"]) or record["told_in"] <= plan["season"]:
        return False
    return outlines.are_mostly_one(int(record["outline"]), plan["outline"])


def _days_off(record: Row, plan: Plan) -> int:
    """Days between the days of a record and those of a plan; 0 where they meet."""
    before = (plan["from"] - record["end"]).days
    after = (record["start"] - plan["until"]).days
    return int(max(before, after, 0))


def _on_other_days(record: Row, plan: Plan) -> bool:
    """Whether work was begun on a day off the plan."""
    return not plan["from"] <= record["start"] <= plan["until"]


def _told(
    plan: Plan,
    records: Sequence[Row],
    plans: Sequence[Plan],
    log: JoinedLog,
    outlines: Outlines,
) -> dict[str, Any]:
    """A plan with what came of it."""
    row = {name: plan.get(name) for name in OUTCOME_ROWS.column_names}
    row |= {"records": len(records), "without_plan_ac": 0.0}
    if not records:
        outcome = _why_no_record(plan, plans, log, outlines)
        return row | {"outcome": outcome} | _classes(plan, **{outcome: plan["planned_ac"]})
    done_ac = sum(_acres_on(record, plan["outline"], outlines) for record in records)
    covered = min(done_ac, plan["planned_ac"])
    differs = _differences(plan, records, done_ac)
    outcome = "done_otherwise" if differs else "done_as_planned"
    if np.isnan(done_ac):
        acres = _classes(plan, untold=plan["planned_ac"])
    elif differs:
        acres = _classes(plan, done_otherwise=covered, not_done=plan["planned_ac"] - covered)
    else:
        acres = _classes(plan, done_as_planned=plan["planned_ac"])
    return (
        row
        | acres
        | {
            "outcome": outcome,
            "differs": ", ".join(differs) or None,
            "start": min(record["start"] for record in records),
            "end": max(record["end"] for record in records),
            "done_ac": done_ac,
            "done_pls_lb": plan["planned_pls_lb"] * covered / plan["planned_ac"]
            if plan["planned_ac"]
            else np.nan,
            "taken_lb": pd.Series([record["taken_lb"] for record in records]).sum(min_count=1),
            "told_in": max(record["told_in"] for record in records),
        }
    )


CLASS_OF_OUTCOME = dict(
    zip(
        ("done_as_planned", "done_otherwise", "not_done", "untold", "carried_over"),
        (column.name for column in CLASS_ACRES),
        strict=True,
    )
)


def _classes(plan: Plan, **acres: float) -> dict[str, float]:
    """Acres of a plan by class."""
    return {column: acres.get(code, 0.0) for code, column in CLASS_OF_OUTCOME.items()}


def _acres_on(record: Row, outline: int, outlines: Outlines) -> float:
    """Acres of a record on a piece of ground: of one that lies partly on it, that part."""
    return float(record["record_ac"]) * outlines.share(int(record["outline"]), outline)


def _differences(plan: Plan, records: Sequence[Row], done_ac: float) -> list[str]:
    """How what was done differs from the plan; unknown acres do not count as fewer."""
    differs = {
        "day": plan["dated"] and any(_on_other_days(record, plan) for record in records),
        "acres": done_ac < WHOLE_SHARE * plan["planned_ac"],
        "method": _told_otherwise(plan, records, "method"),
        "mix": _told_otherwise(plan, records, "mix"),
        "animals": _told_otherwise(plan, records, "head"),
    }
    return [code for code, met in differs.items() if met]


def _told_otherwise(plan: Plan, records: Sequence[Row], column: str) -> bool:
    """Whether plan and some record both tell something, and not the same."""
    return pd.notna(plan[column]) and any(
        pd.notna(record[column]) and record[column] != plan[column] for record in records
    )


def _why_no_record(plan: Plan, plans: Sequence[Plan], log: JoinedLog, outlines: Outlines) -> str:
    """What it means that no record is of a plan; what was under way is of the season before."""
    if plan["under_way"]:
        return "carried_over"
    again = any(
        later["season"] > plan["season"]
        and later["kind"] == plan["kind"]
        and plan["dated"]
        and later["dated"]
        and later["from"] <= plan["until"]
        and plan["from"] <= later["until"]
        and outlines.are_mostly_one(plan["outline"], later["outline"])
        for later in plans
    )
    if again:
        return "carried_over"
    return "not_done" if log.tells_of(plan["until"], after=plan["season"]) else "untold"


def _without_plan(record: Row, runs: Sequence[SeasonRun]) -> Iterator[dict[str, Any]]:
    """A record that no plan has, as of the season whose plan could have had it; none without."""
    seasons = [
        run.season
        for run in runs
        if run.as_of < record["start"] <= pd.Timestamp(run.season, 12, 31)
        and run.season < record["told_in"]
    ]
    if not seasons or record["kind"] in NO_TREATMENTS:
        return
    acres = float(record["record_ac"])
    blank = dict.fromkeys((*CLASS_OF_OUTCOME.values(), "planned_ac"), 0.0)
    row = {name: record.get(name) for name in OUTCOME_ROWS.column_names}
    yield (
        row
        | blank
        | {
            "season": max(seasons),
            "outcome": "done_without_plan",
            "work_id": record["plan"],
            "without_plan_ac": 0.0 if np.isnan(acres) else acres,
            "done_ac": acres,
            "records": 1,
        }
    )


def season_sums(outcomes: pd.DataFrame) -> pd.DataFrame:
    """Acres and pounds of each season: planned, and by what came of them."""
    acres = ["planned_ac", *CLASS_OF_OUTCOME.values(), "without_plan_ac"]
    sums = outcomes.groupby("season")[acres].sum()
    pounds = outcomes.groupby("season")[["planned_pls_lb", "done_pls_lb"]].sum(min_count=1)
    plans = outcomes[outcomes["outcome"] != "done_without_plan"].groupby("season").size()
    return sums.join(pounds).assign(plans=plans).fillna({"plans": 0})
