"""Days of planned grazing against each other and against those of the year before."""

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from pipeline.core.names import listed
from pipeline.log.days import day_of
from pipeline.season.herd import eaten_lb, event_equivalents
from pipeline.season.settings import HerdSettings, SeasonSettings
from pipeline.work.clashes import Clash


def days_in(event: Any, first: pd.Timestamp, last: pd.Timestamp) -> pd.DatetimeIndex:
    """Days of a grazing that lie in a span, both ends counted."""
    return pd.date_range(max(event.start, first), min(event.end, last))


def graze_events(log: pd.DataFrame, whole_ac: pd.Series, herd: HerdSettings) -> pd.DataFrame:
    """Grazing of a log with its acres, animal units, days and animal-unit months."""
    events = log[log["kind"] == "graze"]
    of_unit = events["unit_id"].map(whole_ac)
    au = events["head"].astype("float64") * event_equivalents(events, herd.equivalence)
    days = (events["end"] - events["start"]).dt.days + 1
    eaten = eaten_lb(au * days, herd.intake_lb_au_day)
    return events[["work_id", "unit_id", "start", "end", "head"]].assign(
        grazed_ac=events["acres_treated_ac"].fillna(of_unit).astype("float64"),
        au=au,
        aum=eaten / herd.month_lb_aum,
    )


def head_clashes(grazed: pd.DataFrame, herd_head: int | None) -> Iterator[Clash]:
    """Grazing that has more animals at once than the herd has.

    Told of the one that, in the order of their first days, puts the sum above the herd.
    """
    if herd_head is None:
        return
    known = grazed[grazed["head"].notna()].sort_values(["start", "work_id"], kind="stable")
    before: list[Any] = []
    for event in known.itertuples(index=False):
        told = Clash(code="", work_id=event.work_id, unit_id=event.unit_id, bound=float(herd_head))
        meets = [other for other in before if len(days_in(event, other.start, other.end))]
        before.append(event)
        if event.head > herd_head:
            yield told | Clash(code="stock_above_herd", figure=float(event.head))
            continue
        days = pd.date_range(event.start, event.end)
        head = np.full(len(days), float(event.head))
        for other in meets:
            head[(days >= other.start) & (days <= other.end)] += other.head
        if head.max() <= herd_head:
            continue
        day = days[head > herd_head][0]
        also = sorted({other.unit_id for other in meets if other.start <= day <= other.end})
        yield told | Clash(
            code="stock_twice", figure=float(head.max()), day=day, names=listed(also)
        )


def timing_clashes(
    grazed: pd.DataFrame, done: pd.DataFrame, bound_days: float, settings: SeasonSettings
) -> Iterator[Clash]:
    """Grazing on the same days of the growing season as in the year before.

    *Source*: common practice, no source: the same time two years running favors the same plants.
    """
    every = pd.concat([frame for frame in (done, grazed) if len(frame)] or [grazed])
    by_unit = dict(list(every.groupby("unit_id")))
    year = pd.DateOffset(years=1)
    for event in grazed.itertuples(index=False):
        same: set[pd.Timestamp] = set()
        for other in by_unit[event.unit_id].itertuples(index=False):
            if other.start < event.start:
                same.update(days_in(event, other.start + year, other.end + year))
        days = sorted(
            day
            for day in same
            if day_of(day.year, settings.growing_from)
            <= day
            <= day_of(day.year, settings.growing_until)
        )
        if days and len(days) >= bound_days:
            yield Clash(
                code="stock_same_timing",
                work_id=event.work_id,
                unit_id=event.unit_id,
                figure=float(len(days)),
                bound=bound_days,
                day=days[0],
            )
