"""Tasks: the season as a dated list, in the order of its days."""

from collections.abc import Iterable

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.names import natural_key
from pipeline.work.layers import ASKING_TASKS, TASK_KINDS, TASKS, WINDOW_KINDS
from pipeline.work.settings import CostSettings
from pipeline.work.tasks.task_rows import (
    COMMA,
    TaskRow,
    Work,
    days_before,
    listed_in,
    task_frame,
    works_of,
)

HEADS = {
    "burn": "window_opens",
    "seed": "sow",
    "graze": "stock_on",
    "mow": "mow",
    "hay": "hay",
    "spray": "spray",
}
"""Task that stands for the planned work itself, and waits for all that prepares it."""


BEFORE_SOWING = ("mow", "hay", "spray")
"""Planned work on a unit that is done before the unit is sown."""


ASKING = ("ask_agency", "ask_contract_office", "ask_permit")


def list_tasks(
    planned_work: gpd.GeoDataFrame,
    conflicts: gpd.GeoDataFrame,
    burn_tasks: gpd.GeoDataFrame,
    seed_tasks: gpd.GeoDataFrame,
    ground_tasks: gpd.GeoDataFrame,
    asking_tasks: gpd.GeoDataFrame,
    photo_tasks: gpd.GeoDataFrame,
    property: pd.DataFrame,
    costs: CostSettings,
) -> gpd.GeoDataFrame:
    """Layer ``tasks``: all tasks by their days, each with what it waits for and what it costs."""
    works = works_of(planned_work)
    parts = [burn_tasks, seed_tasks, ground_tasks, asking_tasks, photo_tasks]
    parts.append(_settling(works, conflicts))
    parts = [part for part in parts if len(part)]
    if not parts:
        return empty(TASKS, planned_work.crs)
    tasks = pd.concat(parts, ignore_index=True)
    tasks = _in_order(tasks.assign(waits_for=_waits(tasks, works)))
    as_of = property["as_of"].iloc[0]
    tasks["overdue"] = tasks["due"].lt(as_of) & ~tasks["kind"].isin(WINDOW_KINDS)
    priced = tasks.join(_costs(tasks, costs))
    return priced.assign(number=range(1, len(priced) + 1))[[*TASKS.column_names, "geometry"]]


def _settling(works: list[Work], conflicts: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Conflicts of the first kind, each to be settled before the first day planned."""
    by_id = {work.work_id: work for work in works}
    rows = []
    for conflict in conflicts[conflicts["seriousness"] == "stop_and_ask"].itertuples():
        work = by_id[conflict.work_id]
        row = TaskRow(
            f"settle_conflict:{work.key}:{conflict.code}",
            "settle_conflict",
            conflict.who_decides,
            "the day before the first day planned",
            (work.key,),
            unit_id=conflict.unit_id,
            block=work.block,
            area=work.area,
            due=days_before(work.first, 1),
            names=conflict.against,
        )
        shape = conflict.geometry
        rows.append((row, work.ground if shape is None or shape.is_empty else shape))
    return task_frame(rows, ASKING_TASKS, conflicts.crs)


def _waits(tasks: pd.DataFrame, works: list[Work]) -> list[str | None]:
    """What each task waits for: what it says itself, and for planned work all that prepares it."""
    rows = [
        {
            "task_id": row["task_id"],
            "kind": row["kind"],
            "who": row["who"],
            "serves": set(listed_in(row["serves"])),
            "waits_for": listed_in(row["waits_for"]),
        }
        for row in tasks.to_dict("records")
    ]
    by_key = {work.key: work for work in works}
    heads = {
        key: row["task_id"]
        for row in rows
        for key in row["serves"]
        if key in by_key and HEADS.get(by_key[key].kind) == row["kind"]
    }
    waits = []
    for row in rows:
        is_head = row["task_id"] in {heads.get(key) for key in row["serves"]}
        before = set(row["waits_for"])
        for other in rows:
            shared = row["serves"] & other["serves"] and other["task_id"] != row["task_id"]
            if shared and (_prepares(other["kind"]) if is_head else _is_asked_first(row, other)):
                before.add(other["task_id"])
        if row["kind"] == "sow":
            before |= _done_before(by_key, row["serves"], heads)
        waits.append(COMMA.join(sorted(before, key=natural_key)) or None)
    return waits


def _prepares(kind: str) -> bool:
    """Whether a task of a kind prepares planned work, rather than being it or following it."""
    return kind not in (*HEADS.values(), "window_closes", "look_again", "stock_off", "take_photo")


def _is_asked_first(row: dict[str, object], other: dict[str, object]) -> bool:
    """Whether a conflict is settled with those whom another task asks."""
    settles = row["kind"] == "settle_conflict" and other["kind"] in ASKING
    return settles and row["who"] == other["who"]


def _done_before(by_key: dict[str, Work], keys: Iterable[str], heads: dict[str, str]) -> set[str]:
    """Mowing, haying and spraying on the units of a seeding that end before it is sown."""
    found = set()
    for sown in (by_key[key] for key in keys if key in by_key):
        for work in by_key.values():
            on_it = work.kind in BEFORE_SOWING and set(work.units) & set(sown.units)
            if not on_it or work.last is None or sown.first is None:
                continue
            if work.last < sown.first and work.key in heads:
                found.add(heads[work.key])
    return found


def _in_order(tasks: pd.DataFrame) -> pd.DataFrame:
    """Tasks by day, then by kind, then by place as people count; those without a day last."""
    day = _day_of(tasks)
    place = tasks["block"].fillna(tasks["area"]).fillna(tasks["unit_id"]).fillna("")
    keys = zip(
        day.isna(),
        day.dt.strftime("%Y-%m-%d").fillna(""),
        tasks["kind"].map(TASK_KINDS.index),
        place.map(natural_key),
        tasks["task_id"].map(natural_key),
        tasks["task_id"],
        strict=True,
    )
    order = [number for _, number in sorted((key, number) for number, key in enumerate(keys))]
    return tasks.iloc[order].reset_index(drop=True)


def _day_of(tasks: pd.DataFrame) -> pd.Series:
    """Day that a task is due, or else the first that it can be done."""
    return tasks["due"].fillna(tasks["first_day"])


def _costs(tasks: pd.DataFrame, costs: CostSettings) -> pd.DataFrame:
    """Dollars of each task as far as prices are known, and the price that is missing."""
    prices = {
        "mower_usd_hour": costs.mower_usd_hour,
        "bare_line_usd_mi": costs.bare_line_usd_mi,
        "blackline_usd_mi": costs.blackline_usd_mi,
        "burn_crew_usd_day": costs.burn_crew_usd_day,
        "mow_usd_ac": costs.mow_usd_ac,
        "hay_usd_ac": costs.hay_usd_ac,
        "spray_usd_ac": costs.spray_usd_ac,
        "drill_usd_ac": costs.drill_usd_ac,
        "broadcast_usd_ac": costs.broadcast_usd_ac,
        "seed_test_usd_lot": costs.seed_test_usd_lot,
        "graze_usd_head_day": costs.graze_usd_head_day,
    }
    price = tasks["price"].map(prices).astype("float64")
    worked = price * tasks["price_times"]
    known = tasks["bought_usd"].notna() | worked.notna()
    dollars = tasks["bought_usd"].fillna(0.0) + worked.fillna(0.0)
    return pd.DataFrame(
        {
            "cost_usd": dollars.where(known),
            "without_price": tasks["price"].where(tasks["price"].notna() & worked.isna()),
        }
    )
