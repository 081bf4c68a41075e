"""Feed under the season's plan: what of each unit is there for the herd, and how long it lasts."""

import math
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.layer import empty
from pipeline.core.units import half_up
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import less, united
from pipeline.log.days import day_of
from pipeline.season.findings import unknown_words
from pipeline.season.herd import animal_unit_months, herd_animal_units
from pipeline.season.settings import HerdSettings
from pipeline.work.stock.layers import CLOSED_BY, HERD_FEED, PLAN_FEED

DAYS_PER_MONTH = 365.25 / 12


LB_PER_TON = 2000.0


SMALL_AUM = 1e-6


def herd_days(season: int, settings: HerdSettings) -> pd.DatetimeIndex:
    """Days of the herd's season: so many months from the day it comes on."""
    first = day_of(season, settings.season_from)
    return pd.date_range(first, periods=max(1, round(settings.season_months * DAYS_PER_MONTH)))


def closed_ac_by_day(closed: pd.DataFrame, days: pd.DatetimeIndex, whole_ac: float) -> np.ndarray:
    """Acres of a unit that are closed on each day: those of all rows together, at most all of it.

    Nothing tells whether two parts of a unit that are closed at once are the same ground; they
    are taken to be two.
    """
    acres = np.zeros(len(days))
    for row in closed.itertuples(index=False):
        acres[(days >= row.first_day) & (days <= row.last_day)] += row.closed_ac
    return np.minimum(acres, whole_ac)


def ground_once_ac(units: gpd.GeoDataFrame, open_share: pd.Series) -> pd.Series:
    """Acres of each unit, ground that several cover counted in the one that is closed longest."""
    order = open_share.sort_values(kind="stable").index
    shapes = units.geometry.loc[order]
    place = pd.Series(range(len(order)), index=order)
    tree = shapely.STRtree(shapes.to_numpy())
    left = {}
    for index, shape in shapes.items():
        near = [n for n in tree.query(shape, "intersects") if n < place[index]]
        taken = united(shapes.to_numpy()[near]) if near else None
        left[index] = shape if taken is None else polygonal(less(shape, taken))
    acres = area_ac(gpd.GeoSeries(list(left.values()), crs=units.crs))
    return pd.Series(acres, index=order).reindex(units.index)


def count_plan_feed(
    units: gpd.GeoDataFrame,
    forage: pd.DataFrame,
    closed_days: pd.DataFrame,
    property: pd.DataFrame,
    settings: HerdSettings,
) -> pd.DataFrame:
    """Table ``plan_feed``: feed of each unit, if it were grazed all season and under the plan."""
    if forage["production_lb_ac"].isna().all():
        return empty(PLAN_FEED)
    days = herd_days(int(property["season"].iloc[0]), settings)
    closed = dict(list(closed_days.groupby("unit_id")))
    none = closed_days.iloc[:0]
    shares, reasons = [], []
    for unit_id, whole_ac in zip(units["unit_id"], units["gross_ac"], strict=True):
        rows = closed.get(unit_id, none)
        shut = closed_ac_by_day(rows, days, whole_ac).mean()
        shares.append(max(0.0, round(1.0 - shut / whole_ac, 9)) if whole_ac > 0 else 0.0)
        reasons.append(_closed_longest_by(rows, days))
    share = pd.Series(shares, index=units.index)
    ground = ground_once_ac(units, share)
    of_unit = forage.set_index("unit_id").reindex(units["unit_id"])
    feed_lb_ac = of_unit["production_lb_ac"] * of_unit["harvest_efficiency_pct"] / 100.0
    full = ground * feed_lb_ac.to_numpy() / settings.month_lb_aum
    codes = np.select([share >= 1.0, share > 0.0], ["all_season", "part_of_season"], "not_at_all")
    return pd.DataFrame(
        {
            "unit_id": units["unit_id"],
            "ground_ac": ground,
            "full_aum": full,
            "open_pct": 100.0 * share,
            "plan_aum": full * share,
            "reason": codes,
            "closed_by": reasons,
        }
    )


def _closed_longest_by(closed: pd.DataFrame, days: pd.DatetimeIndex) -> str | None:
    """What closes a unit for most acre-days of the season; None where nothing does."""
    acre_days = {
        code: closed_ac_by_day(rows, days, math.inf).sum()
        for code in CLOSED_BY
        if len(rows := closed[closed["closed_by"] == code])
    }
    longest = max(acre_days, key=lambda code: acre_days[code], default=None)
    return longest if longest is not None and acre_days[longest] > 0 else None


def balance_plan_feed(
    units: gpd.GeoDataFrame,
    plan_feed: pd.DataFrame,
    closed_days: pd.DataFrame,
    herd_moves: pd.DataFrame,
    property: pd.DataFrame,
    settings: HerdSettings,
) -> pd.DataFrame:
    """Table ``herd_feed``: what the herd's moves feed of its demand, one row.

    The days short are the demand that no move feeds, in days of the whole herd. Three ways out of
    a shortage stand beside it: fewer head, a shorter season, or hay.
    """
    if plan_feed.empty:
        return empty(HERD_FEED)
    season = int(property["season"].iloc[0])
    days = herd_days(season, settings)
    herd_au = herd_animal_units(settings)
    demand = animal_unit_months(1.0, herd_au, settings.season_months)
    supply = float(plan_feed["plan_aum"].sum())
    # A sum of parts may pass the whole in its last digit.
    short = min(float(herd_moves["short_aum"].sum()), demand) if demand >= 0 else math.nan
    share = short / demand if demand > 0 else short
    shut = days[_none_open(units, closed_days, days)]
    open_days = len(days) - len(shut)
    unknown = plan_feed["full_aum"].isna() & (plan_feed["open_pct"] > 0)
    return pd.DataFrame(
        {
            "season": [season],
            "first_day": days[:1].as_unit("s"),
            "last_day": days[-1:].as_unit("s"),
            "herd_au": herd_au,
            "demand_aum": demand,
            "full_aum": float(plan_feed["full_aum"].sum()),
            "plan_aum": supply,
            "fed_aum": demand - short,
            "short_aum": short,
            "season_days": len(days),
            "days_short": _whole(len(days) * share, up=True),
            "head_fed": _whole(_head_fed(1.0 - share, open_days / len(days), settings.head)),
            "days_fed": _whole(len(days) * (1.0 - share)),
            "hay_tons": short * settings.month_lb_aum / LB_PER_TON,
            "days_without_unit": len(shut),
            "none_open_from": shut[0] if len(shut) else pd.NaT,
            "units_unknown": int(unknown.sum()),
            "verdict": "needs_herd"
            if math.isnan(short)
            else "short"
            if short > SMALL_AUM
            else "lasts",
        }
    )


def _whole(figure: float, *, up: bool = False) -> Any:
    """A figure as a whole number, down or up; missing where it is not known."""
    if math.isnan(figure):
        return pd.NA
    exact = round(figure, 6)
    return math.ceil(exact) if up else math.floor(exact)


def _head_fed(fed_share: float, open_share: float, head: int | None) -> float:
    """Head that the feed would carry on the days on which a unit is open; NaN without a herd."""
    if head is None or open_share == 0:
        return math.nan if head is None else 0.0
    return min(float(head), head * fed_share / open_share)


def _none_open(
    units: gpd.GeoDataFrame, closed_days: pd.DataFrame, days: pd.DatetimeIndex
) -> np.ndarray:
    """Days on which every unit is closed as a whole."""
    closed = dict(list(closed_days.groupby("unit_id")))
    shut = np.ones(len(days), dtype=bool)
    for unit_id, whole_ac in zip(units["unit_id"], units["gross_ac"], strict=True):
        rows = closed.get(unit_id, closed_days.iloc[:0])
        shut &= closed_ac_by_day(rows, days, whole_ac) >= whole_ac
    return shut


def find_feed(herd_feed: pd.DataFrame) -> gpd.GeoDataFrame:
    """Findings of the feed under the plan: how long it lasts, and days without an open unit."""
    findings = []
    for row in herd_feed.itertuples(index=False):
        if row.verdict != "needs_herd":
            findings.append(_feed_finding(row))
        if row.days_without_unit:
            findings.append(
                Finding(
                    severity="warning",
                    source="herd_feed",
                    code="no_open_unit",
                    subject="the herd",
                    message=f"{row.days_without_unit} days of the herd's season, from "
                    f"{row.none_open_from.date()} on, find every unit closed by the plan "
                    "(closed_days tells why): where is the herd then?",
                )
            )
    return findings_frame(findings)


def _feed_finding(row) -> Finding:  # type: ignore[no-untyped-def]
    """What the herd's moves leave unfed of its demand, and what would resolve it."""
    lasts = row.verdict == "lasts"
    return Finding(
        severity="note" if lasts else "warning",
        source="herd_feed",
        code="plan_feed_lasts" if lasts else "plan_feed_short",
        subject="the herd",
        message=f"the herd needs {half_up(row.demand_aum, 0)} AUM: "
        f"{'its moves feed it' if lasts else _short_words(row)} (table herd_moves)"
        f"{unknown_words(row.units_unknown)}. This season's plan leaves "
        f"{half_up(row.plan_aum, 0)} AUM of feed open, and if every unit were grazed all season "
        f"it would be {half_up(row.full_aum, 0)}",
        amount=None if lasts else row.short_aum,
    )


def _short_words(row) -> str:  # type: ignore[no-untyped-def]
    """A shortage in AUM and days, and the ways out of it: head, days or hay."""
    shut = row.days_without_unit
    none_open = f", no unit is open on {shut} days" if shut else ""
    return (
        f"its moves leave {half_up(row.short_aum, 0)} of them unfed, {row.days_short} of its "
        f"{row.season_days} days{none_open}. What is fed carries {row.head_fed} head while a unit "
        f"is open, or all for {row.days_fed} days; or buy {half_up(row.hay_tons, 0)} tons of dry "
        "hay"
    )
