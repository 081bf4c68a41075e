"""The herd's moves through the season: those of the log, and a proposed order where it has none."""

import math
from dataclasses import replace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.names import natural_key
from pipeline.log.days import day_of, days_within
from pipeline.season.herd import herd_animal_units
from pipeline.season.limits import nesting_of_state
from pipeline.season.settings import HerdSettings
from pipeline.work.stock.feed import closed_ac_by_day, herd_days
from pipeline.work.stock.layers import HERD_MOVES
from pipeline.work.stock.proposed_moves import (
    Ground,
    Stay,
    month_days,
    propose_stays,
    years_before,
)
from pipeline.work.stock.stock_days import graze_events

SMALL_AUM = 1e-9


def plan_moves(
    units: gpd.GeoDataFrame,
    forage: pd.DataFrame,
    plan_feed: pd.DataFrame,
    closed_days: pd.DataFrame,
    community: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    planned_log: pd.DataFrame,
    conflict_rules: pd.DataFrame,
    nesting_seasons: pd.DataFrame,
    property: pd.DataFrame,
    settings: HerdSettings,
) -> pd.DataFrame:
    """Table ``herd_moves``: where the herd stands from day to day, and what it takes there.

    Days and head that the log has on no unit are filled by a proposed order of moves.

    *Source*: 52 animal units for 20 days are 52 × 20 ÷ 30.4 = 34.2 AUM (grazing record of a
    drought-plan handbook); the order of moves is common practice, no source.

    *Assumes* the growth of the year to be there when the herd comes.
    """
    season = int(property["season"].iloc[0])
    days = herd_days(season, settings)
    as_of = property["as_of"].iloc[0]
    told = told_stays(treatment_log, planned_log, units, season, days, settings)
    herd_au = herd_animal_units(settings)
    stays = told
    if settings.head and herd_au > 0 and len(plan_feed):
        ground = Ground.of(units, plan_feed, closed_days, community, conflict_rules, days, settings)
        before = years_before(treatment_log)
        stays = [*told, *propose_stays(ground, told, before, days, as_of, settings)]
    if not stays:
        return empty(HERD_MOVES)
    stays = sorted(stays, key=lambda s: (s.first, s.last, natural_key(s.unit_id or "")))
    moves = _moves_frame(stays, forage, plan_feed, closed_days, units, days, settings)
    return moves.assign(nesting_days=_nesting_days(moves, nesting_seasons, property))


def _nesting_days(
    moves: pd.DataFrame, nesting_seasons: pd.DataFrame, property: pd.DataFrame
) -> "pd.Series[float]":
    """Days of each stay in the nesting season of the state; missing without one, or nowhere."""
    nesting = nesting_of_state(nesting_seasons, property).dropna(subset=["first_day", "last_day"])
    season = int(property["season"].iloc[0])
    days = pd.Series(math.nan if nesting.empty else 0.0, index=moves.index)
    for row in nesting.itertuples(index=False):
        after = day_of(season, row.last_day) + pd.Timedelta(days=1)
        first = day_of(season, row.first_day)
        days += days_within(moves["stock_on"], moves["stock_off"], first, after)
    return days.where(moves["unit_id"].notna())


def told_stays(
    treatment_log: pd.DataFrame,
    planned_log: pd.DataFrame,
    units: gpd.GeoDataFrame,
    season: int,
    days: pd.DatetimeIndex,
    settings: HerdSettings,
) -> list[Stay]:
    """Grazing of the season's year on record and planned; what it leaves out is as in the herd."""
    whole = units.set_index("unit_id")["gross_ac"]
    each = herd_animal_units(settings) / settings.head if settings.head else math.nan
    stays = []
    for move, rule, log in (
        ("on_record", "row_on_record", treatment_log),
        ("planned", "row_planned", planned_log),
    ):
        events = graze_events(log.assign(work_id=None), whole, settings)
        equivalents = events["au"] / events["head"].where(events["head"] > 0)
        for event, told_each in zip(events.itertuples(index=False), equivalents, strict=True):
            if event.start.year != season:
                continue
            head = _else(event.head, settings.head)
            au = head * _else(told_each, each)
            stay = Stay(move, rule, event.unit_id, event.start, event.end, head, math.nan)
            share = min(1.0, event.grazed_ac / whole[event.unit_id]) if whole[event.unit_id] else 0
            stays.append(replace(stay, aum=au * stay.days / month_days(settings), share=share))
    return stays


def _else(told: float | None, otherwise: float | None) -> float:
    """A figure, or another where it is not told; NaN where neither is."""
    figure = otherwise if told is None or pd.isna(told) else told
    return math.nan if figure is None else float(figure)


def _moves_frame(
    stays: list[Stay],
    forage: pd.DataFrame,
    plan_feed: pd.DataFrame,
    closed_days: pd.DataFrame,
    units: gpd.GeoDataFrame,
    days: pd.DatetimeIndex,
    settings: HerdSettings,
) -> pd.DataFrame:
    """Rows of ``herd_moves``: each stay with what the growth allows and what is left."""
    feed = plan_feed.set_index("unit_id").reindex(units["unit_id"])
    feed["production_lb_ac"] = forage.set_index("unit_id")["production_lb_ac"]
    feed["whole_ac"] = units.set_index("unit_id")["gross_ac"]
    taken = dict.fromkeys(feed.index, 0.0)
    rows = []
    for number, (stay, demand) in enumerate(
        zip(stays, _demands(stays, days, settings), strict=True), 1
    ):
        row = {
            "number": number,
            "move": stay.move,
            "unit_id": stay.unit_id,
            "stock_on": stay.first,
            "stock_off": stay.last,
            "days": stay.days,
            "head": stay.head,
            "aum": stay.aum,
            "demand_aum": demand,
            "rule": stay.rule,
        }
        if stay.unit_id is None:
            told = stay.rule == "not_told"
            short = 0.0 if told else demand
            rows.append(row | {"short_aum": short, "verdict": "not_told" if told else "not_fed"})
            continue
        unit_id, before = stay.unit_id, taken[stay.unit_id]
        taken[unit_id] += 0.0 if math.isnan(stay.aum) else stay.aum
        figures = _feed_of_stay(stay, feed.loc[unit_id], before, taken[unit_id], settings)
        own = closed_days[closed_days["unit_id"] == unit_id]
        whole_ac = feed.loc[unit_id, "whole_ac"]
        shut = closed_ac_by_day(own, pd.date_range(stay.first, stay.last), whole_ac) >= whole_ac
        over = figures.pop("over_aum")
        short = 0.0 if math.isnan(over) or over <= 0 else demand * over / stay.aum
        rows.append(row | figures | {"short_aum": short, "closed_days": int(shut.sum())})
    return pd.DataFrame(rows, columns=HERD_MOVES.column_names)


def _feed_of_stay(
    stay: Stay, unit: pd.Series, before_aum: float, taken_aum: float, settings: HerdSettings
) -> dict[str, Any]:
    """What the growth of a unit allows a stay, what is left after it, and by how much it is over.

    Proposed moves have the feed that the plan leaves of the unit; those of the log all of it.
    """
    full = unit["plan_aum"] if stay.move == "proposed" else unit["full_aum"]
    allowed = max(0.0, min(full - before_aum, full * stay.share))
    if math.isnan(full) or math.isnan(stay.aum):
        known = math.nan if math.isnan(full) else allowed
        return {"allowed_aum": known, "over_aum": math.nan, "verdict": "feed_unknown"}
    over = stay.aum - allowed
    gone_lb = taken_aum * settings.month_lb_aum / (settings.grazing_efficiency_pct / 100.0)
    ground_ac = unit["ground_ac"]
    left = unit["production_lb_ac"] - gone_lb / ground_ac if ground_ac > 0 else math.nan
    return {
        "allowed_aum": allowed,
        "left_aum": max(0.0, -over),
        "left_lb_ac": max(0.0, left),
        "over_aum": over if over > SMALL_AUM else 0.0,
        "verdict": "above_growth" if over > SMALL_AUM else "within_growth",
    }


def _demands(stays: list[Stay], days: pd.DatetimeIndex, settings: HerdSettings) -> list[float]:
    """Part of the herd's demand [AUM] that each stay has to feed; all together are the demand.

    Stock beside the herd's season, or beyond its head, is no part of its demand.
    """
    if not settings.head:
        return [math.nan] * len(stays)
    each = herd_animal_units(settings) / settings.head / month_days(settings)
    head = np.zeros(len(days))
    for stay in stays:
        head[(days >= stay.first) & (days <= stay.last)] += stay.head
    scale = settings.head / np.maximum(head, settings.head)
    demands = []
    for stay in stays:
        on = (days >= stay.first) & (days <= stay.last)
        demands.append(float(stay.head * each * scale[on].sum()))
    return demands
