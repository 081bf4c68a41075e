"""A proposed order of the herd's moves, for days and head that the log places nowhere."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.names import natural_key
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common
from pipeline.log.days import day_of
from pipeline.season.herd import herd_animal_units
from pipeline.season.settings import HerdSettings
from pipeline.work.clashes import bounds_of
from pipeline.work.stock.closed_days import CLOSED_FOR_ALL
from pipeline.work.stock.feed import closed_ac_by_day, herd_days

DAY = pd.Timedelta(days=1)


SMALL_AUM = 1e-9


@dataclass(frozen=True, slots=True)
class Stay:
    """Stock on a unit, or nowhere, from a day to another, both counted."""

    move: str
    rule: str
    unit_id: str | None
    first: pd.Timestamp
    last: pd.Timestamp
    head: float
    aum: float
    share: float = 1.0

    @property
    def days(self) -> int:
        """Days of the stay."""
        return (self.last - self.first).days + 1


def month_days(settings: HerdSettings) -> float:
    """Days of a month of the herd's season, so that its days and months make the same AUM."""
    return len(herd_days(2001, settings)) / settings.season_months


def years_before(treatment_log: pd.DataFrame) -> list[tuple[str, pd.Timestamp, pd.Timestamp]]:
    """Unit and days of each grazing on record, a year later."""
    grazed = treatment_log[treatment_log["kind"] == "graze"]
    year = pd.DateOffset(years=1)
    return [
        (row.unit_id, row.start + year, row.end + year) for row in grazed.itertuples(index=False)
    ]


@dataclass(frozen=True, slots=True)
class Ground:
    """Units as the herd may use them: which days each is open, its feed, and whether it is cool."""

    open_days: dict[str, np.ndarray]
    feed_aum: dict[str, float]
    cool: frozenset[str]

    @classmethod
    def of(
        cls,
        units: gpd.GeoDataFrame,
        plan_feed: pd.DataFrame,
        closed_days: pd.DataFrame,
        community: gpd.GeoDataFrame,
        conflict_rules: pd.DataFrame,
        days: pd.DatetimeIndex,
        settings: HerdSettings,
    ) -> "Ground":
        """The ground of a property. What closes ground for all closes units that share it."""
        bound_ac = bounds_of(conflict_rules)["stock_on_shared_ground"]
        shared = _shared_units(units, bound_ac)
        for_all = closed_days[closed_days["closed_by"].isin(CLOSED_FOR_ALL)]
        open_days = {}
        for unit_id, whole_ac in zip(units["unit_id"], units["gross_ac"], strict=True):
            own = closed_days[closed_days["unit_id"] == unit_id]
            here = closed_ac_by_day(own, days, whole_ac) < whole_ac
            for row in for_all[for_all["unit_id"].isin(shared[unit_id])].itertuples(index=False):
                here &= (days < row.first_day) | (days > row.last_day)
            open_days[unit_id] = here
        newest = community.sort_values("date").groupby("unit_id")["cool_exotic_share_pct"].last()
        return cls(
            open_days,
            plan_feed.set_index("unit_id")["plan_aum"].fillna(0.0).to_dict(),
            frozenset(newest.index[newest >= settings.cool_ground_pct]),
        )


def _shared_units(units: gpd.GeoDataFrame, bound_ac: float) -> dict[str, set[str]]:
    """Units that share so many acres of ground or more with each unit."""
    shared: dict[str, set[str]] = {unit_id: set() for unit_id in units["unit_id"]}
    shapes, names = units.geometry.to_numpy(), units["unit_id"].to_numpy()
    one, other = shapely.STRtree(shapes).query(shapes, "intersects")
    pairs = one < other
    both = [
        polygonal(common(shapes[a], shapes[b]))
        for a, b in zip(one[pairs], other[pairs], strict=True)
    ]
    shared_ac = area_ac(gpd.GeoSeries(both, crs=units.crs))
    for a, b, acres in zip(one[pairs], other[pairs], shared_ac, strict=True):
        if acres >= bound_ac:
            shared[names[a]].add(names[b])
            shared[names[b]].add(names[a])
    return shared


def propose_stays(
    ground: Ground,
    told: list[Stay],
    before: list[tuple[str, pd.Timestamp, pd.Timestamp]],
    days: pd.DatetimeIndex,
    as_of: pd.Timestamp,
    settings: HerdSettings,
) -> list[Stay]:
    """Stays for the days and head that the log places nowhere, one unit at a time.

    The herd stays while the unit is open and has feed. Then comes cool-season ground in the
    shoulders and other ground between, next what stock was not on the same day a year before,
    next what closes soonest, and last the name decides.
    """
    each_aum = herd_animal_units(settings) / float(settings.head or 1) / month_days(settings)
    left = dict(ground.feed_aum)
    for stay in told:
        if stay.unit_id is not None and not math.isnan(stay.aum):
            left[stay.unit_id] = left.get(stay.unit_id, 0.0) - stay.aum
    stays: list[Stay] = []
    here: tuple[str | None, str] = (None, "none_open")
    head_before = 0.0
    for nth, day in enumerate(days):
        placed = sum(stay.head for stay in told if stay.first <= day <= stay.last)
        head = float(settings.head or 0) - placed
        if not head > 0:
            continue
        need = head * each_aum
        busy = {stay.unit_id for stay in told if stay.first <= day <= stay.last}
        if day <= as_of:
            here = (None, "not_told")
        elif _stays_on(ground, here[0], busy, nth, left, need):
            here = here if head == head_before else (here[0], "stays_on")
        else:
            here = _next_unit(ground, busy, nth, days, left, need, before, settings)
        head_before = head
        unit_id, rule = here
        move = "nowhere" if unit_id is None else "proposed"
        if unit_id is not None:
            left[unit_id] -= need
        stays.append(Stay(move, rule, unit_id, day, day, head, need if unit_id else 0.0))
    return list(_joined(stays))


def _stays_on(
    ground: Ground, unit_id: str | None, busy: set[str | None], nth: int, left: dict, need: float
) -> bool:
    """Whether the herd can be one day more on the unit that it is on."""
    if unit_id is None or unit_id in busy:
        return False
    return bool(ground.open_days[unit_id][nth]) and left[unit_id] >= need - SMALL_AUM


def _next_unit(
    ground: Ground,
    busy: set[str | None],
    nth: int,
    days: pd.DatetimeIndex,
    left: dict[str, float],
    need: float,
    before: list[tuple[str, pd.Timestamp, pd.Timestamp]],
    settings: HerdSettings,
) -> tuple[str | None, str]:
    """The unit that the herd goes to on a day, and the rule; no unit, and why, where none can."""
    day = days[nth]
    shoulder = not (
        day_of(day.year, settings.native_ready) <= day < day_of(day.year, settings.native_dormant)
    )
    least = min(settings.least_stay_days, len(days) - nth)
    found, any_open = [], False
    for unit_id, is_open in ground.open_days.items():
        if not is_open[nth] or unit_id in busy:
            continue
        any_open = True
        run = len(days) - nth if is_open[nth:].all() else int(np.argmin(is_open[nth:]))
        if min(run, math.floor((left[unit_id] + SMALL_AUM) / need)) < least:
            continue
        other = (unit_id in ground.cool) != shoulder
        again = any(name == unit_id and first <= day <= last for name, first, last in before)
        found.append(((other, again, run, natural_key(unit_id)), unit_id))
    if not found:
        return None, "no_feed" if any_open else "none_open"
    (other, *_), unit_id = min(found)
    fits = "cool_ground_in_shoulder" if shoulder else "native_ground_in_summer"
    return unit_id, "next_open" if other else fits


def _joined(stays: list[Stay]) -> Iterator[Stay]:
    """Stays of single days as one where they follow each other on one unit with as many head."""
    kept: Stay | None = None
    for stay in stays:
        if kept is None:
            kept = stay
            continue
        same = (kept.unit_id, kept.rule, kept.head) == (stay.unit_id, stay.rule, stay.head)
        if same and stay.first == kept.last + DAY:
            kept = replace(kept, last=stay.last, aum=kept.aum + stay.aum)
        else:
            yield kept
            kept = stay
    if kept is not None:
        yield kept
