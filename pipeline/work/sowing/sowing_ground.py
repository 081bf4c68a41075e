"""Sowings held against ground and day: is the sod open, is it the season, is it too steep."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.names import listed
from pipeline.core.places import place_key
from pipeline.core.units import half_up
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, united
from pipeline.log.days import day_of, first_common_day
from pipeline.work.clashes import Clash

Row = Mapping[Any, Any]


PREPARES = ("burn", "spray", "till", "mow", "hay")


CLOSE_STUBBLE_IN = 3.0
"""Grazing down to this height prepares sod, from common practice, no source."""


BARE_COVERS = ("crop", "stubble", "fallow", "bare", "tilled")
"""Covers, in the user's words, that are no sod; the season rules ask for crop in the same way."""


FRESH_BURN_DAYS = 30
"""Seed scattered within so many days of a burn falls on open ground: common practice, no source."""


DORMANT_FROM = "11-01"
"""Seed scattered from this day on lies until spring (USDA-SCS Colorado: November 1 to April 30)."""


def is_bare(cover: str | None) -> bool:
    """Whether a cover is told that is no sod, such as a crop field."""
    return cover is not None and any(word in cover.casefold() for word in BARE_COVERS)


def preparations(
    treatment_log: pd.DataFrame, planned_log: pd.DataFrame, planned_work: pd.DataFrame
) -> pd.DataFrame:
    """What breaks sod, on record and planned: unit, kind, first and last day, acres of a part."""
    log = pd.concat(
        [frame for frame in (treatment_log, planned_log) if len(frame)] or [planned_log]
    )
    close = log["residual_height_in"].le(CLOSE_STUBBLE_IN) & log["kind"].eq("graze")
    blocks = planned_work[planned_work["block"].notna() & planned_work["last_day"].notna()]
    columns = ["unit_id", "kind", "start", "end", "acres_treated_ac"]
    parts = [
        log.loc[log["kind"].isin(PREPARES) | close, columns],
        blocks.rename(columns={"first_day": "start", "last_day": "end"}).assign(
            acres_treated_ac=None
        )[columns],
    ]
    return pd.concat([part for part in parts if len(part)] or [parts[0]])


def prepared_ac(
    done: pd.DataFrame, unit: Row, burned_areas: gpd.GeoDataFrame, crs: object
) -> float:
    """Acres of a unit that treatments opened; parts that are not drawn are taken to lie apart."""
    whole, shapes, acres = unit["gross_ac"], [], 0.0
    for row in done.itertuples(index=False):
        drawn = burned_areas[
            burned_areas["unit_id"].eq(unit["unit_id"]) & burned_areas["date"].eq(row.start)
        ]
        if row.kind == "burn" and len(drawn):
            shapes += list(drawn.geometry)
        elif pd.isna(row.acres_treated_ac):
            return float(whole)
        else:
            acres += row.acres_treated_ac
    if shapes:
        burned = polygonal(common(unit["geometry"], united(shapes)))
        acres += float(area_ac(gpd.GeoSeries([burned], crs=crs))[0])
    return float(min(whole, acres))


@dataclass(frozen=True, slots=True)
class SowingPlace:
    """What is known of the ground and the place that sowings are held against."""

    opened: pd.DataFrame
    burned_areas: gpd.GeoDataFrame
    exotic_pct: Mapping[str, float]
    slopes: Mapping[str, Row]
    green_from: str | None
    windows: pd.DataFrame
    bounds: Mapping[str, float]

    def clashes(self, sowing: Row, unit: Row, crs: object) -> Iterator[Clash]:
        """Everything of ground and day that stands against one sowing of a unit."""
        before = self.opened[self.opened["unit_id"].eq(unit["unit_id"])]
        yield from self._ground(sowing, unit, before, crs)
        yield from green_up_clashes(sowing, unit, before, self.green_from)
        yield from window_clashes(sowing, unit, self.windows)
        yield from slope_clashes(
            sowing, self.slopes.get(unit["unit_id"]), self.green_from, self.bounds
        )

    def _ground(self, sowing: Row, unit: Row, before: pd.DataFrame, crs: object) -> Iterator[Clash]:
        """Whether sod was opened before the sowing; ``before`` are preparations of the unit.

        A sowing without a day is held against all that is told of its unit.
        """
        sown, days = sowing["first_day"], self.bounds["sown_unprepared"]
        if sowing["work_ac"] <= 0:
            yield Clash(code="sown_no_ground", figure=0.0)
            return
        if is_bare(unit["cover"]):
            return
        if pd.notna(sown):
            earliest = sown - pd.Timedelta(days=days)
            before = before[before["end"].between(earliest, sown)]
        if before.empty and unit["cover"] is None:
            yield Clash(code="sown_ground_untold", day=sown)
        elif before.empty:
            exotic_pct = self.exotic_pct.get(unit["unit_id"], math.nan)
            names = unit["cover"]
            if not math.isnan(exotic_pct):
                names += f", {half_up(exotic_pct, 0)} % of its cover cool-season exotics"
            yield Clash(code="sown_unprepared", bound=days, day=sown, names=names)
        else:
            opened = prepared_ac(before, unit, self.burned_areas, crs)
            share_pct = 100.0 * min(1.0, opened / unit["gross_ac"])
            if share_pct < self.bounds["sown_part_unprepared"]:
                yield Clash(code="sown_part_unprepared", figure=share_pct, day=sown)


def green_up_clashes(
    sowing: Row, unit: Row, before: pd.DataFrame, green_from: str | None
) -> Iterator[Clash]:
    """Seed scattered onto sod while it grows; not right after a burn, nor onto tilled ground."""
    sown = sowing["first_day"]
    if sowing["method"] not in ("broadcast", "overseed") or pd.isna(sown) or green_from is None:
        return
    green = day_of(sown.year, green_from)
    if is_bare(unit["cover"]) or not green <= sown < day_of(sown.year, DORMANT_FROM):
        return
    since = (sown - before["end"]).dt.days
    fresh = before["kind"].eq("burn") & since.between(0, FRESH_BURN_DAYS)
    tilled = before["kind"].eq("till") & since.between(0, (sown - day_of(sown.year, "01-01")).days)
    if not (fresh | tilled).any():
        yield Clash(code="sown_after_green_up", day=sown, bound_day=green)


def windows_of_place(seeding_windows: pd.DataFrame, property: pd.DataFrame) -> pd.DataFrame:
    """Rows for the property's region, else its state, and the general ones that these leave out."""
    keys = seeding_windows["place"].map(place_key)
    general = seeding_windows[keys == "any"]
    for place in (property["region"].iloc[0], property["state"].iloc[0]):
        own = seeding_windows[keys == place_key(place)] if pd.notna(place) else general.iloc[:0]
        if len(own):
            return pd.concat([own, general[~general["window"].isin(own["window"])]])
    return general


def window_clashes(sowing: Row, unit: Row, windows: pd.DataFrame) -> Iterator[Clash]:
    """A day outside every window of the method; what is scattered onto sod has green-up for it."""
    method, sown = sowing["method"], sowing["first_day"]
    on_sod = method == "broadcast" and not is_bare(unit["cover"])
    if pd.isna(sown) or method == "overseed" or on_sod:
        return
    fits = windows[windows["method"].isin(["any", method])]
    days = list(zip(fits["window"], fits["first_day"], fits["last_day"], strict=True))
    if days and all(first_common_day(sown, sown, first, last) is None for _, first, last in days):
        names = listed([f"{name} {first} to {last}" for name, first, last in days])
        yield Clash(code="sown_out_of_window", day=sown, names=names)


def slope_clashes(
    sowing: Row, slope: Row | None, green_from: str | None, bounds: Mapping[str, float]
) -> Iterator[Clash]:
    """Ground that is too steep for the drill, or for seed that lies on the snow."""
    if slope is None:
        return
    method, sown = sowing["method"], sowing["first_day"]
    bound = bounds["sown_too_steep"]
    if method == "drill" and slope["over_drill_pct"] >= bound:
        yield Clash(code="sown_too_steep", figure=slope["over_drill_pct"], bound=bound)
    if method not in ("broadcast", "overseed") or pd.isna(sown) or green_from is None:
        return
    growing = day_of(sown.year, green_from) <= sown < day_of(sown.year, DORMANT_FROM)
    bound = bounds["frost_seed_on_slope"]
    if not growing and slope["median_pct"] >= bound:
        yield Clash(code="frost_seed_on_slope", figure=slope["median_pct"], bound=bound)
