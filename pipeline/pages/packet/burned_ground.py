"""What of a block the log has burned this season already: it is not drawn as still to burn."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.names import natural_key, parted
from pipeline.ground.overlays import common, united
from pipeline.pages.words import date_words, plain
from pipeline.work.planned import WHOLE_SHARE

Frames = Mapping[str, gpd.GeoDataFrame]


@dataclass(frozen=True, slots=True)
class Burned:
    """Ground of a block that burned this season, whether it is all of it, and that in words."""

    ground: Any
    whole: bool
    words: str


def burned_of_block(block: Mapping[Any, Any], frames: Frames) -> Burned:
    """What of a block burned this season by the log.

    A unit burned as a whole is one whose burn is planned no longer, since the log has it done. A
    part is known where its ground was drawn; else only its day is told.
    """
    log = _burns_of_season(frames)
    if log.empty:
        return Burned(shapely.Polygon(), False, "")
    known = frames["units"]
    units = sorted(parted(block["unit_ids"], set(known["unit_id"])), key=natural_key)
    open_units = _still_planned(block, frames["planned_work"])
    days = _burn_days(units, open_units, log, frames)
    done = [unit for unit in days if unit not in open_units]
    whole = _burned_whole(days, frames["record_book"])
    parts = _parts(units, whole, frames)
    shapes = [
        *known.loc[known["unit_id"].isin(done), "geometry"],
        *parts.loc[~parts["unit_id"].isin(done), "geometry"],
    ]
    ground = common(united(shapes), block["geometry"]) if shapes else shapely.Polygon()
    drawn = set(parts["unit_id"])
    told = [
        _unit_words(unit, day, is_done=unit in done, is_whole=unit in whole, is_drawn=unit in drawn)
        for unit, day in days.items()
    ]
    words = f"Burned this season, by the log: {'; '.join(told)}." if told else ""
    return Burned(ground, len(done) == len(units), words)


LAST_SUMMER = "07-01"
"""A burn from this day of the year before on may be one of the season: in fall, that is."""


def _burns_of_season(frames: Frames) -> pd.DataFrame:
    """Burns in the log that may be of the season."""
    season = int(frames["property"]["season"].iloc[0])
    log = frames["treatment_log"]
    return log[(log["kind"] == "burn") & (log["start"] >= f"{season - 1}-{LAST_SUMMER}")]


def _burn_days(
    units: list[str], open_units: set[str], burns: pd.DataFrame, frames: Frames
) -> dict[str, pd.Timestamp]:
    """Last day of burning of each unit that burned in the season's year, or whose burn is done."""
    season = int(frames["property"]["season"].iloc[0])
    last = burns.groupby("unit_id")["start"].max().to_dict()
    return {
        unit: last[unit]
        for unit in units
        if unit in last and (last[unit].year >= season or unit not in open_units)
    }


def _still_planned(block: Mapping[Any, Any], planned_work: pd.DataFrame) -> set[str]:
    """Units whose burn in the block is planned."""
    of_block = planned_work[planned_work["block"] == block["block"]]
    return set(of_block.loc[of_block["kind"] == "burn", "unit_id"])


def _burned_whole(days: Mapping[str, pd.Timestamp], book: pd.DataFrame) -> set[str]:
    """Units of which the record of their day tells, or has drawn, all the ground."""
    whole = book[(book["kind"] == "burn") & (book["unit_pct"] >= 100 * WHOLE_SHARE)]
    records = set(zip(whole["unit_id"], whole["start"], strict=True))
    return {unit for unit, day in days.items() if (unit, day) in records}


def _parts(units: list[str], whole: set[str], frames: Frames) -> gpd.GeoDataFrame:
    """Ground of the units that burned in the year of the season, as far as it is known.

    The history has all of a unit as burned where the acres told are most of it; on which ground
    they burned is not known then.
    """
    season = int(frames["property"]["season"].iloc[0])
    history, book = frames["fire_history"], frames["record_book"]
    burned = history[history["unit_id"].isin(units) & (history["last_burn_year"] == season)]
    told = book[(book["acres_from"] == "told") & (book["kind"] == "burn")]
    somewhere = set(told.loc[told["start"].dt.year == season, "unit_id"]) - whole
    gross = burned["unit_id"].map(frames["units"].set_index("unit_id")["gross_ac"])
    all_of_it = burned.groupby("unit_id")["area_ac"].transform("sum") >= WHOLE_SHARE * gross
    return burned[~(all_of_it & burned["unit_id"].isin(somewhere))]


def _unit_words(
    unit: str, day: pd.Timestamp, *, is_done: bool, is_whole: bool, is_drawn: bool
) -> str:
    name = f"{plain(unit)} on {date_words(day)}"
    if is_done:
        return name
    if is_whole:
        return f"{name}, and it is planned again"
    return f"{name} in part" if is_drawn else f"{name} in part, where is not known"
