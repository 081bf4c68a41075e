"""Tasks of the burns planned: breaks, lines, fuel and its window, and the look afterwards.

None of them is the burn. Whether a day is fit for it is decided on that day, by those who hold it.
"""

from collections.abc import Iterator
from dataclasses import replace

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.names import listed, natural_key
from pipeline.core.units import FT_PER_MI
from pipeline.ground.overlays import united
from pipeline.log.days import day_of
from pipeline.work.layers import BURN_TASKS
from pipeline.work.settings import TaskSettings
from pipeline.work.tasks.task_rows import (
    Day,
    TaskRow,
    Work,
    days_before,
    earliest,
    key_part,
    known,
    task_frame,
    works_of,
)

Drawn = tuple[TaskRow, shapely.Geometry | None]


WAYS = {"mown": "make_mown_ft", "bare": "make_bare_ft", "burned": "make_black_ft"}
"""Column of the width to be made, by the way that line_work names."""


LINE_NAMES = {"bare": "bare or wet line", "burned": "blackline, on the burn boss's word"}


LINE_OF_WAY = {"bare": "bare_line", "burned": "blackline"}


PRICE_OF_WAY = {"bare": "bare_line_usd_mi", "burned": "blackline_usd_mi"}


WINDOW_RESTS_ON = {
    "own_temperatures": "fuel, sward and own temperatures",
    "dates_of_the_region": "fuel, sward and green-up dates of the region",
    "dates_of_the_latitude": "fuel, sward and green-up dates of the latitude",
    "no_window": "fuel",
}
"""What a window rests on, by the reason that the layer fuel tells; others have no window."""


MEASURE = {
    "needs_measurement": "no load measured since last fall",
    "needs_new_measurement": "fuel was taken off after the last measurement",
}


def list_burn_tasks(
    planned_work: gpd.GeoDataFrame,
    fuel: gpd.GeoDataFrame,
    burn_blocks: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    line_work: pd.DataFrame,
    mow_strips: gpd.GeoDataFrame,
    made_lines: gpd.GeoDataFrame,
    zone_scenes: pd.DataFrame,
    community: gpd.GeoDataFrame,
    settings: TaskSettings,
) -> gpd.GeoDataFrame:
    """Layer ``burn_tasks``: what the burns of the plan ask for before and afterwards."""
    works = works_of(planned_work, "burn")
    rows = [
        *_line_tasks(works, firebreaks, line_work, mow_strips, made_lines, settings),
        *_fuel_tasks(works, fuel, settings),
        *_window_tasks(works, fuel, burn_blocks),
        *_look_tasks(works, zone_scenes, community),
    ]
    return task_frame(rows, BURN_TASKS, planned_work.crs)


def _line_tasks(
    works: list[Work],
    firebreaks: gpd.GeoDataFrame,
    line_work: pd.DataFrame,
    mow_strips: gpd.GeoDataFrame,
    made_lines: gpd.GeoDataFrame,
    settings: TaskSettings,
) -> Iterator[Drawn]:
    """Breaks to be mown and lines to be made, each once with the block that it is listed under.

    One between two blocks serves both, and is due before the first day planned of either.
    """
    by_block = {work.block: work for work in works if work.block is not None}
    feet = line_work.set_index(["block", "way"])["length_ft"]
    planned = feet.index[feet.index.get_level_values("block").isin(by_block)]
    for block, way in sorted(planned, key=lambda place: (natural_key(place[0]), place[1])):
        stretches = firebreaks[(firebreaks["block"] == block) & (firebreaks[WAYS[way]] > 0)]
        beside = {block, *stretches["neighbor_block"].dropna()}
        served = [work for name, work in by_block.items() if name in beside]
        plain = TaskRow(
            f"mow_breaks:{by_block[block].key}",
            "mow_breaks",
            "crew",
            "lines to be made; breaks_ready_days before the first day planned",
            tuple(work.key for work in served),
            block=block,
            due=days_before(earliest(work.first for work in served), settings.breaks_ready_days),
            amount=float(feet[block, way]),
            amount_unit="ft",
            length_ft=float(feet[block, way]),
        )
        if way == "mown":
            yield _mowing(plain, mow_strips[mow_strips["block"] == block])
        else:
            made = made_lines[made_lines["kind"] == LINE_OF_WAY[way]]
            row = _making(plain, way, made[made["block"] == block], by_block[block].key)
            yield row, shapely.MultiLineString(list(stretches.geometry))


def _mowing(row: TaskRow, strips: gpd.GeoDataFrame) -> Drawn:
    """The task of mowing the strips of a block."""
    hours = float(strips["hours"].sum())
    mown = replace(
        row,
        work_hours=hours,
        work_ac=float(strips["area_ac"].sum()),
        price="mower_usd_hour",
        price_times=hours,
    )
    return mown, united(strips.geometry.to_numpy()) if len(strips) else None


def _making(row: TaskRow, way: str, made: gpd.GeoDataFrame, key: str) -> TaskRow:
    """The task of making the bare lines or blacklines of a block."""
    return replace(
        row,
        task_id=f"prepare_line:{key}:{way}",
        kind="prepare_line",
        who="burn_boss" if way == "burned" else "crew",
        work_hours=float(made["hours"].sum()),
        work_ac=float(made["area_ac"].sum()),
        price=PRICE_OF_WAY[way],
        price_times=None if row.length_ft is None else row.length_ft / FT_PER_MI,
        names=LINE_NAMES[way],
        waits_for=(f"ask_permit:{key}",) if way == "burned" else (),
    )


def _fuel_tasks(
    works: list[Work], fuel: gpd.GeoDataFrame, settings: TaskSettings
) -> Iterator[Drawn]:
    """Units of a burn whose fuel is not known, or not known well enough to say if it carries."""
    by_unit = fuel.set_index("unit_id")
    for work in works:
        for unit_id in work.units:
            if unit_id not in by_unit.index:
                continue
            unit = by_unit.loc[unit_id]
            why = MEASURE.get(unit["reason"])
            if why is None and unit["carries_low"] == "no" != unit["carries_high"]:
                why = "the load may carry a fire at its high end, not at its low one"
            if why is None:
                continue
            yield (
                TaskRow(
                    f"measure_fuel:{work.key}:{key_part(unit_id)}",
                    "measure_fuel",
                    "crew",
                    f"{why}; measure_days before the first day planned",
                    (work.key,),
                    unit_id=unit_id,
                    block=work.block,
                    due=work.before(settings.measure_days),
                ),
                unit.geometry,
            )


def _window_tasks(
    works: list[Work], fuel: gpd.GeoDataFrame, burn_blocks: gpd.GeoDataFrame
) -> Iterator[Drawn]:
    """First and last day on which the fuel of all units of a burn is cured and not yet green.

    Without any fuel known the first of the two stands without a day, for what it waits for.
    """
    burnable = burn_blocks.set_index("block")["burnable_ac"]
    for work in works:
        units = fuel[fuel["unit_id"].isin(work.units)]
        told = units[units["reason"].isin(WINDOW_RESTS_ON)]
        with_window = set(told.loc[told["burn_until"].notna(), "unit_id"])
        without = [unit_id for unit_id in work.units if unit_id not in with_window]
        acres = _left_ac(work, known(burnable.get(work.block)) if work.block else None)
        plain = TaskRow(
            f"window_opens:{work.key}",
            "window_opens",
            "burn_boss",
            WINDOW_RESTS_ON[told["reason"].min()] if len(told) else None,
            (work.key,),
            unit_id=work.unit_id,
            block=work.block,
            names=f"no window known for {listed(without)}" if without else None,
        )
        opens = replace(
            plain,
            due=_common(told["burn_from"], "max"),
            amount=acres,
            amount_unit=None if acres is None else "ac",
            price="burn_crew_usd_day",
            price_times=1.0,
        )
        yield opens, work.ground
        if len(told):
            yield _closing(plain, told, work), work.ground


def _closing(row: TaskRow, told: pd.DataFrame, work: Work) -> TaskRow:
    """The last day of the window with less fuel, the likely and more, and by what springs do."""
    early, late = (_common(told[f"burn_until_{end}"], "min") for end in ("early", "late"))
    scatter = f"; early spring {early:%m-%d}, late {late:%m-%d}" if early and late else ""
    return replace(
        row,
        source=f"{row.source}{scatter}",
        task_id=f"window_closes:{work.key}",
        kind="window_closes",
        due=_common(told["burn_until"], "min"),
        due_low=_common(told["burn_until_low"], "min"),
        due_high=_common(told["burn_until_high"], "min"),
    )


def _common(days: pd.Series, end: str) -> Day:
    """The day that holds for all units: none where the fuel of one of them never carries."""
    return None if days.isna().any() or days.empty else days.agg(end)


def _look_tasks(
    works: list[Work], zone_scenes: pd.DataFrame, community: gpd.GeoDataFrame
) -> Iterator[Drawn]:
    """The picture and the transects to be taken again, a year or more after those before.

    Like is held against like on the same day of the year.
    """
    pictures = zone_scenes[zone_scenes["reason"].isna()]
    looks = {"satellite picture": pictures, "plants on the transects": community}
    for work in works:
        after = days_before(work.last, -1)
        for what, records in looks.items():
            days = records.loc[records["unit_id"].isin(work.units), "date"]
            if days.empty:
                continue
            yield (
                TaskRow(
                    f"look_again:{work.key}:{what.split()[0]}",
                    "look_again",
                    "crew",
                    f"day of the year of the last look, {days.max().date()}",
                    (work.key,),
                    unit_id=work.unit_id,
                    block=work.block,
                    first_day=after,
                    due=same_day_after(days.max(), after),
                    names=what,
                ),
                work.ground,
            )


def same_day_after(day: pd.Timestamp, after: Day) -> Day:
    """The same day of the year, the first time that it comes on or after another day."""
    if after is None:
        return None
    years = (after.year, after.year + 1)
    return next(d for year in years if (d := day_of(year, f"{day:%m-%d}")) >= after)


def _left_ac(work: Work, block_ac: float | None) -> float | None:
    """Acres of a burn: those of its block, less where a part of it has burned by the log."""
    told = [acres for acres in (block_ac, work.work_ac) if acres is not None]
    return min(told, default=None)
