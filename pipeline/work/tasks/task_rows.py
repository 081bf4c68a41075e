"""Rows of tasks: how one is put together, and the keys of the planned work that it serves."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import TypeAlias

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.layer import Layer, empty
from pipeline.core.names import natural_key
from pipeline.ground.overlays import united

COMMA = ", "
"""Between the names of tasks and the keys of works, none of which holds one."""


Day: TypeAlias = pd.Timestamp | None


@dataclass(frozen=True, slots=True)
class TaskRow:
    """One task before it is put in order and priced; ``serves`` are keys of planned work."""

    task_id: str
    kind: str
    who: str
    source: str | None
    serves: tuple[str, ...] = ()
    unit_id: str | None = None
    block: str | None = None
    area: str | None = None
    first_day: Day = None
    due: Day = None
    due_low: Day = None
    due_high: Day = None
    amount: float | None = None
    amount_unit: str | None = None
    work_hours: float | None = None
    work_ac: float | None = None
    length_ft: float | None = None
    seed_lb: float | None = None
    bought_usd: float | None = None
    price: str | None = None
    price_times: float | None = None
    names: str | None = None
    waits_for: tuple[str, ...] = ()


def task_frame(
    rows: Sequence[tuple[TaskRow, shapely.Geometry | None]], layer: Layer, crs: object
) -> gpd.GeoDataFrame:
    """A layer of task rows with the ground or line of each."""
    if not rows:
        return empty(layer, crs)
    told = [
        asdict(row)
        | {
            "serves": COMMA.join(row.serves) or None,
            "waits_for": COMMA.join(row.waits_for) or None,
        }
        for row, _ in rows
    ]
    frame = pd.DataFrame(told, columns=layer.column_names)
    nth = frame.groupby("task_id").cumcount() + 1
    frame["task_id"] = frame["task_id"].where(nth == 1, frame["task_id"] + "-" + nth.astype(str))
    for column in layer.columns:
        if column.kind == "date":
            frame[column.name] = pd.to_datetime(frame[column.name]).astype("datetime64[s]")
    shapes = gpd.GeoSeries([shape for _, shape in rows], crs=crs)
    return gpd.GeoDataFrame(frame, geometry=shapes, crs=crs)


def listed_in(cell: str | None) -> list[str]:
    """Names of tasks or keys of works that a cell lists."""
    return [] if cell is None or pd.isna(cell) else cell.split(COMMA)


def key_part(name: str) -> str:
    """A name as part of a key: letters and digits in lower case, hyphens between."""
    return "-".join(re.findall(r"[^\W_]+", name.casefold())) or "x"


def work_keys(planned_work: pd.DataFrame) -> dict[str, str]:
    """Key of each piece of planned work, such as ``burn:north``; no key stands twice."""
    keys: dict[str, str] = {}
    taken: set[str] = set()
    for work_id in sorted(planned_work["work_id"].unique(), key=lambda w: (natural_key(w), w)):
        kind, _, place = work_id.partition(":")
        plain = f"{kind}:{key_part(place)}"
        tries = [plain, *(f"{plain}-{number}" for number in range(2, len(taken) + 3))]
        keys[work_id] = next(key for key in tries if key not in taken)
        taken.add(keys[work_id])
    return keys


@dataclass(frozen=True, slots=True)
class Work:
    """A piece of planned work as a whole: its units, its ground and the days it may fall on.

    Where its units have days of their own it begins when the last of them may begin, and ends
    when the first of them must.
    """

    key: str
    work_id: str
    kind: str
    block: str | None
    area: str | None
    units: tuple[str, ...]
    first: Day
    last: Day
    work_ac: float | None
    head: float | None
    mix: str | None
    method: str | None
    ground: shapely.Geometry

    @property
    def unit_id(self) -> str | None:
        """Its unit, where no block or area stands for it."""
        return self.units[0] if self.block is None and self.area is None else None

    def before(self, days: int) -> Day:
        """The day so many days before it may begin; None without days."""
        return days_before(self.first, days)


def works_of(planned_work: gpd.GeoDataFrame, *kinds: str) -> list[Work]:
    """Planned work of the kinds, each piece once with all its units, in the order of its names."""
    keys = work_keys(planned_work)
    of_kinds = planned_work[planned_work["kind"].isin(kinds)] if kinds else planned_work
    works = [_work(rows, keys[str(work_id)]) for work_id, rows in of_kinds.groupby("work_id")]
    return sorted(works, key=lambda work: natural_key(work.key))


def _work(rows: gpd.GeoDataFrame, key: str) -> Work:
    first = rows.iloc[0].astype(object)
    told = first.where(first.notna(), None)
    return Work(
        key=key,
        **{name: told[name] for name in ("work_id", "kind", "block", "area", "mix", "method")},
        units=tuple(sorted(rows["unit_id"], key=natural_key)),
        first=known_day(rows["first_day"].max()),
        last=known_day(rows["last_day"].min()),
        work_ac=known(rows["work_ac"].sum(skipna=False)),
        head=known(first["head"]),
        ground=united(rows.geometry.to_numpy()),
    )


def known(value: float | None) -> float | None:
    """A number, None where it is not known."""
    return None if value is None or pd.isna(value) else float(value)


def known_day(day: pd.Timestamp | None) -> Day:
    """A day, None where it is not known."""
    return None if day is None or pd.isna(day) else day


def days_before(day: Day, days: int) -> Day:
    """The day so many days before another; None where that is not known."""
    return None if day is None else day - pd.Timedelta(days=days)


def earliest(days: Iterable[Day]) -> Day:
    """The earliest of the days that are known, None where none is."""
    return min((day for day in days if day is not None), default=None)
