"""Plans whose days are over, held against what the log has as done."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from pipeline.core.layer import empty
from pipeline.log.treatment_log import NO_TREATMENTS
from pipeline.records.layers import PLAN_RECORDS
from pipeline.work.planned import NEAR_DAYS, WHOLE_SHARE, work_of_file

NEAR = pd.Timedelta(days=NEAR_DAYS)


Plan = dict[str, Any]
"""Planned work on one unit: kind, unit, work, first and last day, row of the log if it has one,
and acres where the property file plans it."""


def hold_plans_against_records(
    record_book: pd.DataFrame,
    open_plans: pd.DataFrame,
    units: pd.DataFrame,
    burns: pd.DataFrame,
    seedings: pd.DataFrame,
    fuel: pd.DataFrame,
    property: pd.DataFrame,
) -> pd.DataFrame:
    """Table ``plan_records``: each plan whose last day is over, and what was done without one.

    Records of the same kind and unit are of a plan from 60 days before its first day to 60 days
    after its last, unless they name another plan. Only years with a plan are asked for unplanned
    work. Without a day that the plan is looked at from nothing is over.
    """
    as_of = property["as_of"].iloc[0]
    if pd.isna(as_of):
        return empty(PLAN_RECORDS)
    used = pd.DataFrame(record_book[record_book["left_out"].isna()])
    gross = units.set_index("unit_id")["gross_ac"]
    plans = [*_of_file(units, burns, seedings, fuel), *_of_log(used, open_plans)]
    over = [plan for plan in plans if plan["planned_end"] < as_of or plan["own"] is not None]
    taken: set[int] = set()
    rows = [_outcome(plan, used, taken, gross) for plan in _each_once(over)]
    years = {row["year"] for row in rows}
    rest = used[~used["number"].isin(taken) & ~used["kind"].isin(NO_TREATMENTS)]
    rows += [
        {name: row.get(name) for name in PLAN_RECORDS.column_names}
        | {"outcome": "done_unplanned", "planned_start": None, "planned_end": None}
        for row in rest[rest["year"].isin(years)].to_dict("records")
    ]
    if not rows:
        return empty(PLAN_RECORDS)
    rows.sort(key=lambda row: (-row["year"], row["outcome"] == "done_unplanned", _day(row)))
    table = pd.DataFrame(rows, columns=PLAN_RECORDS.column_names)
    return table.assign(number=range(1, len(table) + 1))


def _day(row: Plan) -> tuple[pd.Timestamp, str, str]:
    first = row["start"] if pd.isna(row["planned_start"]) else row["planned_start"]
    return first, row["unit_id"], row["kind"]


def _of_file(*of_file: pd.DataFrame) -> Iterator[Plan]:
    """Burns and seedings of the property file that have days."""
    for part in work_of_file(*of_file):
        for row in part[part["last_day"].notna()].to_dict("records"):
            told = {name: row[name] for name in ("kind", "unit_id", "work_id", "work_ac")}
            days = {"planned_start": row["first_day"], "planned_end": row["last_day"]}
            yield told | days | {"own": None}


def _of_log(used: pd.DataFrame, open_plans: pd.DataFrame) -> Iterator[Plan]:
    """Rows of the log with a planned day: those done, with their own row, and those still open."""
    done = used[used["planned_start"].notna()]
    ends = done["planned_end"].fillna(done["planned_start"])
    for row, end in zip(done.to_dict("records"), ends, strict=True):
        days = {"planned_start": row["planned_start"], "planned_end": end}
        yield _told(row) | days | {"own": row["number"]}
    for row in open_plans.to_dict("records"):
        days = {"planned_start": row["start"], "planned_end": row["end"]}
        yield _told(row) | days | {"own": None}


def _told(row: Plan) -> Plan:
    return {"kind": row["kind"], "unit_id": row["unit_id"], "work_id": row["plan"]}


def _each_once(plans: list[Plan]) -> Iterator[Plan]:
    """Plans without those that the log repeats of the property file; those done come first."""
    seen = set()
    for plan in sorted(plans, key=lambda plan: plan["own"] is None):
        key = (plan["work_id"], plan["unit_id"])
        if plan["work_id"] is None or key not in seen:
            yield plan
        seen.add(key)


def _outcome(plan: Plan, used: pd.DataFrame, taken: set[int], gross: pd.Series) -> Plan:
    """A plan with the records of it, which are ``taken`` from then on."""
    if plan["own"] is not None:
        of_it = used["number"].eq(plan["own"])
    else:
        own_plan = used["plan"].notna() | used["planned_start"].notna()
        near = used["start"].between(plan["planned_start"] - NEAR, plan["planned_end"] + NEAR)
        of_it = used["unit_id"].eq(plan["unit_id"]) & used["kind"].eq(plan["kind"])
        of_it &= near & ~own_plan & ~used["number"].isin(taken)
    records = used[of_it]
    taken.update(records["number"])
    acres = records["record_ac"].sum(skipna=False) if len(records) else float("nan")
    asked = plan.get("work_ac", gross.get(plan["unit_id"]))
    whole = acres >= WHOLE_SHARE * asked
    return {
        **plan,
        "year": plan["planned_start"].year,
        "start": records["start"].min(),
        "end": records["end"].max(),
        "record_ac": acres,
        "outcome": ("done" if whole else "done_in_part") if len(records) else "not_done",
    }
