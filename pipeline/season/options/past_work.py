"""Work on record that counts for a unit as a whole, weighed by the ground that it took."""

from collections import Counter
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, united
from pipeline.log.days import BURN_TIME_BY_MONTH, days_within
from pipeline.season.herd import window_spans
from pipeline.season.history import burns_within
from pipeline.season.options.layers import PAST_WORK
from pipeline.season.settings import SeasonSettings

SWARD_YEARS = 3
"""A burn, grazing or haying in so many years before a sowing tells of a sward that it went into.
Judgment of this program, no source."""


SEASON_LONG = "season_long"
"""Time of a grazing of which no part of the season holds more than half of the days."""


def weigh_past_work(
    units: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    seedings: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
) -> pd.DataFrame:
    """Table ``past_work``: burns, seedings and last year's work of each unit.

    Work of a year that took less than ``least_treated_pct`` of a unit, all its rows together,
    leaves the unit as it was. A unit without a row in the log has nothing on record.
    """
    season = int(property["season"].iloc[0])
    log = treatment_log[treatment_log["start"].dt.year <= season]
    log = log.assign(year=log["start"].dt.year, share_pct=_shares_pct(log, units, burned_areas))
    whole = log.groupby(["unit_id", "kind", "year"])["share_pct"].transform("sum")
    counted = log[whole >= settings.least_treated_pct]
    methods = dict(zip(seedings["unit_id"], seedings["method"], strict=True))
    rows = [
        {"unit_id": unit_id}
        | _burns(counted[(counted["unit_id"] == unit_id) & (counted["kind"] == "burn")], season)
        | _seedings(counted[counted["unit_id"] == unit_id], cover, methods.get(unit_id), season)
        | {"done_last_year": _lately(counted[counted["unit_id"] == unit_id], season, settings)}
        for unit_id, cover in zip(units["unit_id"], units["cover"], strict=True)
        if (log["unit_id"] == unit_id).any()
    ]
    return pd.DataFrame(rows, columns=PAST_WORK.column_names)


def _shares_pct(
    log: pd.DataFrame, units: gpd.GeoDataFrame, burned_areas: gpd.GeoDataFrame
) -> np.ndarray:
    """Share [percent] of its unit that each row took: by burned ground, by acres told, else all."""
    gross = units.set_index("unit_id")["gross_ac"].astype("float64")
    outline = units.set_index("unit_id").geometry
    drawn = dict(list(burned_areas.groupby(["unit_id", "date"])))
    acres = []
    for row in log.to_dict("records"):
        unit_id, told = row["unit_id"], row["acres_treated_ac"]
        shapes = drawn.get((unit_id, row["start"])) if row["kind"] == "burn" else None
        if shapes is not None:
            ground = polygonal(common(united(shapes.geometry.to_numpy()), outline[unit_id]))
            acres.append(area_ac(gpd.GeoSeries([ground], crs=units.crs))[0])
        else:
            acres.append(gross[unit_id] if pd.isna(told) else told)
    return 100 * np.array(acres) / log["unit_id"].map(gross).to_numpy()


def _burns(burns: pd.DataFrame, season: int) -> dict[str, Any]:
    """Burns of one unit; several of one year are one, lit in parts."""
    days = burns["start"].sort_values()
    years = list(days.dt.year.unique())
    return {
        "years_since_burn": season - max(years) if years else None,
        "burns_in_5_years": burns_within(years, season, 5),
        "burns_in_10_years": burns_within(years, season, 10),
        "last_burn_window": BURN_TIME_BY_MONTH[days.iloc[-1].month] if years else None,
    }


def _seedings(
    events: pd.DataFrame, cover: str | None, planned_method: str | None, season: int
) -> dict[str, Any]:
    """Seasons since the newest sowing of a new field, and since the newest into a sward."""
    sown = events[events["kind"] == "seed"]
    into_sward = [
        _into_sward(row, events[events["start"] < row["start"]], cover, planned_method)
        for row in sown.to_dict("records")
    ]
    years = season - sown["year"]
    found = {
        "years_since_seeding": years[~np.array(into_sward, dtype=bool)].min(),
        "years_since_overseeding": years[np.array(into_sward, dtype=bool)].min(),
    }
    return {name: None if pd.isna(value) else int(value) for name, value in found.items()}


def _into_sward(
    sowing: dict[Any, Any], before: pd.DataFrame, cover: str | None, planned_method: str | None
) -> bool:
    """Whether seed went into standing plants: by its method, else by the ground and the log.

    A remnant is never a new field. Ground that was burned, grazed or hayed in the years before and
    neither tilled nor sprayed since had a sward.
    """
    method = sowing["method"] or planned_method
    if method:
        return bool(method == "overseed")
    if cover and "remnant" in cover.casefold():
        return True
    lately = before[before["year"] >= sowing["year"] - SWARD_YEARS]
    used = lately.loc[lately["kind"].isin(["burn", "graze", "hay"]), "start"].max()
    broken = lately.loc[lately["kind"].isin(["till", "spray"]), "start"].max()
    return bool(pd.notna(used) and not broken >= used)


def grazing_time(
    first: pd.Series, last: pd.Series, year: int, settings: SeasonSettings
) -> str | None:
    """Part of a year that holds more than half of the days of its stays; None without any."""
    days: Counter[str] = Counter()
    for window, start, after in window_spans(year, settings):
        days[window] += int(days_within(first, last, start, after).sum())
    (most, longest), total = days.most_common(1)[0], days.total()
    if not total:
        return None
    return most if longest > total / 2 else SEASON_LONG


def _lately(events: pd.DataFrame, season: int, settings: SeasonSettings) -> str | None:
    """Kinds of work of last year and this one with their times, each once."""
    recent = events[events["end"].dt.year >= season - 1]
    timed = recent[~recent["kind"].isin(["graze", "rest"]) & (recent["year"] >= season - 1)]
    done = {
        f"{kind} {BURN_TIME_BY_MONTH[start.month]}"
        for kind, start in zip(timed["kind"], timed["start"], strict=True)
    }
    grazed = recent[recent["kind"] == "graze"]
    for year in (season - 1, season):
        if time := grazing_time(grazed["start"], grazed["end"], year, settings):
            done.add(f"graze {time}")
    return "; ".join(sorted(done)) or None
