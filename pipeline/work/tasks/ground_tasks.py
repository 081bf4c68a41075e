"""Tasks of stock and of field work such as mowing: the deferral, and what the log plans."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.names import listed, natural_key
from pipeline.ground.overlays import united
from pipeline.work.layers import GROUND_TASKS
from pipeline.work.planned import WHOLE_SHARE
from pipeline.work.tasks.task_rows import TaskRow, Work, key_part, task_frame, works_of

Drawn = tuple[TaskRow, shapely.Geometry | None]


DAY = pd.Timedelta(days=1)


WHO = {
    "mow": "crew",
    "hay": "crew",
    "spray": "licensed_applicator",
    "cut": "crew",
    "drag": "crew",
    "move": "crew",
}


PRICES = {"mow": "mow_usd_ac", "hay": "hay_usd_ac", "spray": "spray_usd_ac"}


THE_LOG = "log, a row of days to come"


PROPOSED = "a proposed order of moves (table herd_moves); common practice, no source"


def list_ground_tasks(
    planned_work: gpd.GeoDataFrame,
    units: gpd.GeoDataFrame,
    season_plan: gpd.GeoDataFrame,
    history: gpd.GeoDataFrame,
    closed_days: pd.DataFrame,
    herd_moves: pd.DataFrame,
    property: pd.DataFrame,
) -> gpd.GeoDataFrame:
    """Layer ``ground_tasks``: stock off and on, and field work that is planned."""
    as_of = property["as_of"].iloc[0]
    gross = closed_days["unit_id"].map(units.set_index("unit_id")["gross_ac"])
    whole = closed_days["closed_ac"] >= WHOLE_SHARE * gross
    rows = [
        *_deferrals(planned_work, season_plan, history, closed_days[whole], as_of),
        *(drawn for work in works_of(planned_work, "graze") for drawn in _grazing(work)),
        *_proposed(herd_moves, units),
        *(_field_work(work) for work in works_of(planned_work, *WHO)),
    ]
    return task_frame(rows, GROUND_TASKS, planned_work.crs)


def _deferrals(
    planned_work: gpd.GeoDataFrame,
    season_plan: gpd.GeoDataFrame,
    history: gpd.GeoDataFrame,
    shut: pd.DataFrame,
    as_of: pd.Timestamp,
) -> Iterator[Drawn]:
    """Stock off and on again of the units that have stock, those of the same days together.

    A deferral that is over on the day the plan is looked at from asks for nothing. A unit that is
    ``shut`` before it needs no stock taken off, unless the log plans some there; one that is shut
    after it gets none back.
    """
    planned = set(planned_work.loc[planned_work["kind"] == "graze", "unit_id"])
    grazed = {*planned, *history.loc[history["days_grazed"].fillna(0) > 0, "unit_id"]}
    deferred = season_plan[
        season_plan["unit_id"].isin(grazed) & ~(season_plan["stock_off_until"] < as_of)
    ]
    for (off, until), units in deferred.groupby(["stock_off_from", "stock_off_until"]):
        days = f"{off:%Y-%m-%d}:{until:%Y-%m-%d}"
        taken_off = units[~units["unit_id"].isin(_shut_on(shut, off - DAY) - planned)]
        if len(taken_off):
            yield _moved_by_deferral("stock_off", days, taken_off, due=off)
        put_on = taken_off[~taken_off["unit_id"].isin(_shut_on(shut, until + DAY))]
        if len(put_on):
            yield _moved_by_deferral(
                "stock_on",
                days,
                put_on,
                first_day=until + DAY,
                waits_for=(f"stock_off:{days}",),
            )


def _shut_on(shut: pd.DataFrame, day: pd.Timestamp) -> set[str]:
    """Units that are closed to stock on a day."""
    return set(shut.loc[(shut["first_day"] <= day) & (shut["last_day"] >= day), "unit_id"])


def _moved_by_deferral(kind: str, days: str, units: gpd.GeoDataFrame, **cells: Any) -> Drawn:
    """Stock of some units off or on at the end of a deferral, and their ground."""
    names = sorted(units["unit_id"], key=natural_key)
    row = TaskRow(
        f"{kind}:{days}",
        kind,
        "crew",
        "deferral of the settings ([season])",
        unit_id=names[0] if len(names) == 1 else None,
        names=None if len(names) == 1 else f"units {listed(names, 40)}",
        **cells,
    )
    return row, united(units.geometry.to_numpy())


def _grazing(work: Work) -> Iterator[Drawn]:
    """Stock on and off again as the log plans it."""
    days = None if work.first is None or work.last is None else (work.last - work.first).days + 1
    known = work.head is not None and days is not None
    plain = TaskRow(
        f"stock_on:{work.key}",
        "stock_on",
        "crew",
        THE_LOG,
        (work.key,),
        unit_id=work.unit_id,
        first_day=work.first,
        due=work.first,
        amount=work.head,
        amount_unit=None if work.head is None else "head",
        price="graze_usd_head_day" if known else "head",
        price_times=work.head * days if work.head is not None and days is not None else None,
    )
    yield plain, work.ground
    off = replace(
        plain,
        task_id=f"stock_off:{work.key}",
        kind="stock_off",
        serves=(),
        first_day=None,
        due=work.last,
        price=None,
        price_times=None,
        waits_for=(plain.task_id,),
    )
    yield off, work.ground


def _proposed(herd_moves: pd.DataFrame, units: gpd.GeoDataFrame) -> Iterator[Drawn]:
    """Stock on and off as the order of moves proposes it; a proposal costs nothing."""
    ground = units.set_index("unit_id").geometry
    proposed = herd_moves[herd_moves["move"] == "proposed"]
    for move in proposed.itertuples(index=False):
        on = TaskRow(
            f"stock_on:proposed:{key_part(move.unit_id)}-{move.stock_on:%Y-%m-%d}",
            "stock_on",
            "crew",
            PROPOSED,
            unit_id=move.unit_id,
            first_day=move.stock_on,
            due=move.stock_on,
            amount=float(move.head),
            amount_unit="head",
            names="proposed move",
        )
        yield on, ground[move.unit_id]
        off = replace(
            on,
            task_id=f"stock_off:proposed:{key_part(move.unit_id)}-{move.stock_on:%Y-%m-%d}",
            kind="stock_off",
            first_day=None,
            due=move.stock_off,
            waits_for=(on.task_id,),
        )
        yield off, ground[move.unit_id]


def _field_work(work: Work) -> Drawn:
    """Mowing or other field work as the log plans it, on the acres that it tells."""
    row = TaskRow(
        f"{work.kind}:{work.key}",
        work.kind,
        WHO[work.kind],
        THE_LOG,
        (work.key,),
        unit_id=work.unit_id,
        first_day=work.first,
        due=work.last,
        amount=work.work_ac,
        amount_unit=None if work.work_ac is None else "ac",
        work_ac=work.work_ac,
        price=PRICES.get(work.kind),
        price_times=work.work_ac if work.kind in PRICES else None,
    )
    return row, work.ground
