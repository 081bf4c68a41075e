"""What the stock layers know that stands against planned grazing."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd

from pipeline.core.names import listed
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common
from pipeline.log.days import day_of
from pipeline.season.settings import HerdSettings, SeasonSettings
from pipeline.work.clashes import Clash, bounds_of, clashes_frame
from pipeline.work.layers import STOCK_CLASHES
from pipeline.work.planned import logged_work_ids
from pipeline.work.stock.closed_days import CLOSED_FOR_ALL
from pipeline.work.stock.feed import SMALL_AUM, herd_days
from pipeline.work.stock.stock_days import days_in, graze_events, head_clashes, timing_clashes


def find_stock_clashes(
    planned_work: gpd.GeoDataFrame,
    planned_log: pd.DataFrame,
    treatment_log: pd.DataFrame,
    units: gpd.GeoDataFrame,
    forage: pd.DataFrame,
    closed_days: pd.DataFrame,
    plan_feed: pd.DataFrame,
    herd_moves: pd.DataFrame,
    herd_feed: pd.DataFrame,
    conflict_rules: pd.DataFrame,
    property: pd.DataFrame,
    herd: HerdSettings,
    settings: SeasonSettings,
) -> gpd.GeoDataFrame:
    """Layer ``stock_clashes``: planned grazing held against closed days, feed and the herd."""
    bounds, season = bounds_of(conflict_rules), int(property["season"].iloc[0])
    whole = units.set_index("unit_id")["gross_ac"]
    of_file = set(planned_work.loc[planned_work["days_from"] != "log", "work_id"])
    planned = planned_log.assign(work_id=logged_work_ids(planned_log, of_file))
    grazed = graze_events(planned, whole, herd)
    done = graze_events(treatment_log.assign(work_id=None), whole, herd)
    undated = set(planned_work.loc[planned_work["last_day"].isna(), "work_id"])
    clashes = [
        *_closed_clashes(grazed, closed_days, undated, settings),
        *_shared_clashes(grazed, closed_days, units, bounds["stock_on_shared_ground"]),
        *_forage_clashes(grazed, done, forage, whole, season, herd),
        *head_clashes(grazed, herd.head),
        *timing_clashes(grazed, done, bounds["stock_same_timing"], settings),
        *_untold_clashes(grazed, planned),
        *_herd_clashes(herd_moves, herd_feed, plan_feed, closed_days, grazed, season, herd),
    ]
    return clashes_frame(clashes, STOCK_CLASHES, planned_work.crs)


def _closed_clashes(
    grazed: pd.DataFrame, closed_days: pd.DataFrame, undated: set[str], settings: SeasonSettings
) -> Iterator[Clash]:
    """Grazing in days on which its own unit is closed.

    Burns that have days, rests, options and sowings are held against it with the other work of
    the unit; told here are burns without days, and ground that recovers or is deferred.
    """
    closed = dict(list(closed_days.groupby("unit_id")))
    for event in grazed.itertuples(index=False):
        found: dict[str, Clash] = {}
        for row in closed.get(event.unit_id, closed_days.iloc[:0]).itertuples(index=False):
            code = _closed_code(row, undated, settings)
            days = days_in(event, row.first_day, row.last_day)
            if code is None or not len(days) or code in found:
                continue
            found[code] = Clash(
                code=code,
                work_id=event.work_id,
                unit_id=event.unit_id,
                figure=float(len(days)),
                day=days[0],
                bound_day=row.last_day,
                names=row.work_id,
            )
        if "stock_in_recovery" in found:
            found.pop("stock_in_deferral", None)
        yield from found.values()


def _closed_code(row, undated: set[str], settings: SeasonSettings) -> str | None:  # type: ignore[no-untyped-def]
    """Code of grazing in a row of closed days; None where another clash tells it."""
    if row.closed_by == "burn_recovery":
        return "stock_in_recovery"
    if row.closed_by == "deferral":
        longer = row.last_day > day_of(row.last_day.year, settings.deferral_until)
        return "stock_in_recovery" if longer else "stock_in_deferral"
    return "stock_in_fuel" if row.closed_by == "grows_fuel" and row.work_id in undated else None


def _shared_clashes(
    grazed: pd.DataFrame, closed_days: pd.DataFrame, units: gpd.GeoDataFrame, bound_ac: float
) -> Iterator[Clash]:
    """Grazing of ground that another unit covers too, while that one is closed."""
    shapes = units.set_index("unit_id").geometry
    closed = closed_days[closed_days["closed_by"].isin(CLOSED_FOR_ALL)].sort_values(
        ["first_day", "last_day"], kind="stable"
    )
    for event in grazed.itertuples(index=False):
        own, told = shapes[event.unit_id], set()
        for row in closed[closed["unit_id"] != event.unit_id].itertuples(index=False):
            days = days_in(event, row.first_day, row.last_day)
            other = shapes[row.unit_id]
            if not len(days) or row.unit_id in told or not own.intersects(other):
                continue
            shared = polygonal(common(own, other))
            shared_ac = float(area_ac(gpd.GeoSeries([shared], crs=units.crs))[0])
            if shared_ac >= bound_ac:
                told.add(row.unit_id)
                yield Clash(
                    code="stock_on_shared_ground",
                    work_id=event.work_id,
                    unit_id=event.unit_id,
                    figure=shared_ac,
                    bound=bound_ac,
                    day=days[0],
                    bound_day=row.last_day,
                    names=row.unit_id,
                    geometry=shared,
                )


def _forage_clashes(
    grazed: pd.DataFrame,
    done: pd.DataFrame,
    forage: pd.DataFrame,
    whole_ac: pd.Series,
    season: int,
    herd: HerdSettings,
) -> Iterator[Clash]:
    """Grazing that with what the year has before it takes more than the ground carries.

    Grazing on record counts in the season's own year: what was grazed before is gone from the
    load already. A part of a unit carries its share of acres.
    """
    supply = forage.set_index("unit_id")["supply_aum"]
    of_season = done[done["start"].dt.year == season]
    taken = of_season.groupby(["unit_id", of_season["start"].dt.year])["aum"].sum().to_dict()
    for event in grazed.sort_values(["start", "work_id"]).itertuples(index=False):
        told = Clash(code="", work_id=event.work_id, unit_id=event.unit_id)
        carries = supply.get(event.unit_id, float("nan"))
        if pd.isna(carries):
            yield told | Clash(code="stock_feed_unknown")
            continue
        key = (event.unit_id, event.start.year)
        taken[key] = taken.get(key, 0.0) + (0.0 if pd.isna(event.aum) else event.aum)
        part = carries * min(1.0, event.grazed_ac / whole_ac[event.unit_id])
        for needs, there in ((event.aum, part), (taken[key], carries)):
            if needs > there * (1.0 + herd.balance_pct / 100.0):
                yield told | Clash(code="stock_above_forage", figure=needs, bound=there)
                break


def _untold_clashes(grazed: pd.DataFrame, planned: pd.DataFrame) -> Iterator[Clash]:
    """Grazing whose animals the log does not tell."""
    each = planned[["animal_unit_equivalent", "weight_lb"]].notna().any(axis=1)
    for index, event in zip(grazed.index, grazed.itertuples(index=False), strict=True):
        missing = ["head"] if pd.isna(event.head) else []
        missing += [] if each[index] else ["animal_unit_equivalent or weight_lb"]
        if missing:
            yield Clash(
                code="stock_untold",
                work_id=event.work_id,
                unit_id=event.unit_id,
                names=listed(missing),
            )


def _herd_clashes(
    herd_moves: pd.DataFrame,
    herd_feed: pd.DataFrame,
    plan_feed: pd.DataFrame,
    closed_days: pd.DataFrame,
    grazed: pd.DataFrame,
    season: int,
    herd: HerdSettings,
) -> Iterator[Clash]:
    """A herd that the plan leaves short: told of the work that takes most feed from it.

    Where no work takes any, of the season's first grazing; without one, the finding tells it. Days
    on which every unit is closed lack a place rather than feed, and a finding tells them.
    """
    short = herd_feed[herd_feed["verdict"] == "short"]
    lacks_feed = herd_moves["rule"] != "none_open"
    if short.empty or not herd_moves.loc[lacks_feed, "short_aum"].sum() > SMALL_AUM:
        return
    days = herd_days(season, herd)
    full = plan_feed.set_index("unit_id")["full_aum"]
    ground = plan_feed.set_index("unit_id")["ground_ac"]
    rows = closed_days[closed_days["work_id"].notna()]
    last = rows["last_day"].clip(upper=days[-1])
    shut = (last - rows["first_day"].clip(lower=days[0])).dt.days + 1
    part = (rows["closed_ac"] / rows["unit_id"].map(ground)).clip(upper=1.0)
    takes = rows["unit_id"].map(full) * part * shut.clip(lower=0) / len(days)
    by_work = takes.groupby(rows["work_id"]).sum()
    in_season = grazed[grazed["start"].dt.year == season].sort_values(["start", "work_id"])
    if by_work.max() > 0:
        work_id = by_work.idxmax()
        names = listed(sorted(set(rows.loc[rows["work_id"] == work_id, "unit_id"])))
    elif len(in_season):
        work_id, names = in_season[["work_id", "unit_id"]].iloc[0]
    else:
        return
    row = short.iloc[0]
    yield Clash(
        code="herd_short_of_feed",
        work_id=work_id,
        figure=float(row["days_short"]),
        bound=float(row["season_days"]),
        names=names,
    )
