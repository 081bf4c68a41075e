"""Fuel: what of last year's grass is left in spring, whether it carries a fire, and until when.

A planning aid. It answers whether it is worth preparing a burn, not whether to light one.
"""

import math
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.log.days import day_of
from pipeline.season.fuel.balance import (
    GREEN_BEGINS,
    UNKNOWN,
    FuelState,
    Loads,
    UnitWork,
    fall_load_lb_ac,
    fuel_state,
    planned_burn_days,
    removals,
    used_load,
    winter_loss_pct,
)
from pipeline.season.fuel.green_up import (
    Spring,
    courses_of,
    dates_at,
    latitudes_deg,
    rows_of_place,
    spring_days,
    spring_of,
)
from pipeline.season.fuel.layers import FUEL
from pipeline.season.fuel.settings import FuelSettings
from pipeline.season.fuel.sward import Sward, sward_of
from pipeline.season.fuel.window import BurnWindow, burn_window
from pipeline.season.herd import rate_grazing
from pipeline.season.settings import HerdSettings


def carries_of_load(load_lb_ac: float, settings: FuelSettings) -> str:
    """Whether a dry load [lb/ac] carries a fire: yes, patchy, no, or unknown."""
    if math.isnan(load_lb_ac):
        return "unknown"
    if load_lb_ac >= settings.carries_lb_ac:
        return "yes"
    return "patchy" if load_lb_ac >= settings.patchy_lb_ac else "no"


def load_class(load_lb_ac: float, settings: FuelSettings) -> str | None:
    """Class of a dry load [lb/ac], None where it is unknown."""
    if math.isnan(load_lb_ac):
        return None
    lowest_by_class = {
        "heavy": settings.heavy_lb_ac,
        "reaches_brush": settings.brush_lb_ac,
        "carries": settings.carries_lb_ac,
        "patchy": settings.patchy_lb_ac,
        "will_not_carry": -math.inf,
    }
    return next(name for name, lowest in lowest_by_class.items() if load_lb_ac >= lowest)


def continuity_of(bare_pct: float, most_bare_pct: float | None) -> str:
    """Whether bare ground [percent] breaks up the fuel: even, broken, or unknown."""
    if most_bare_pct is None or math.isnan(bare_pct):
        return "unknown"
    return "broken" if bare_pct > most_bare_pct else "even"


def judge_fuel(
    units: gpd.GeoDataFrame,
    standing: pd.DataFrame,
    treatment_log: pd.DataFrame,
    planned_log: pd.DataFrame,
    burns: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    grazing_rates: pd.DataFrame,
    community: gpd.GeoDataFrame,
    cool_season: pd.DataFrame,
    winter_losses: pd.DataFrame,
    daily_temperatures: pd.DataFrame,
    green_up: pd.DataFrame,
    property: pd.DataFrame,
    settings: FuelSettings,
    herd: HerdSettings,
) -> gpd.GeoDataFrame:
    """Layer ``fuel``: load in spring, whether it carries, and the window of each unit."""
    season = int(property["season"].iloc[0])
    courses = courses_of(season, daily_temperatures)
    places = rows_of_place(green_up, property)
    burn_days = planned_burn_days(burns, planned_log, season)
    planned = rate_grazing(units, planned_log, herd)
    of_unit = {
        "standing": standing,
        "removed": removals(units, treatment_log, planned_log, burned_areas),
        "grazing": pd.concat([grazing_rates, planned]) if len(planned) else grazing_rates,
        "community": community,
        "cool_season": cool_season,
    }
    rows_of = {
        name: dict(iter(table.groupby("unit_id", sort=False))) for name, table in of_unit.items()
    }
    rows = []
    for unit, latitude in zip(units.itertuples(index=False), latitudes_deg(units), strict=True):
        known = {name: rows_of[name].get(unit.unit_id, of_unit[name][:0]) for name in of_unit}
        spring = spring_of(season, courses, dates_at(places, season, latitude))
        sward = sward_of(known["community"], known["cool_season"], spring, season, settings)
        work = UnitWork(known["removed"], known["grazing"], burn_days.get(unit.unit_id))
        load = used_load(known["standing"], season, settings, work.burn_day)
        losses = winter_loss_pct(unit.cover, load, winter_losses, season, settings)
        state = fuel_state(load, work, losses, season, settings)
        window = burn_window(state, spring, sward, settings)
        day = work.burn_day or window.last or day_of(season, GREEN_BEGINS)
        fall = fall_load_lb_ac(known["standing"], season, settings)
        rows.append(
            {"fall_load_lb_ac": fall if state.needs is None else math.nan}
            | _load_columns(load, state, day, unit.gross_ac)
            | _carries_columns(load, loads_on(state, day), settings)
            | _window_columns(state, spring, window)
            | _sward_columns(spring, sward)
        )
    return units[["unit_id", "geometry"]].join(_dated(rows, units.index))


def _dated(rows: list[dict[str, object]], index: pd.Index) -> pd.DataFrame:
    """Rows of the layer as a frame, days as dates also where all of them are missing."""
    columns = [c for c in FUEL.columns if c.name != "unit_id"]
    fuel = pd.DataFrame(rows, columns=[c.name for c in columns], index=index)
    for column in columns:
        if column.kind == "date":
            fuel[column.name] = pd.to_datetime(fuel[column.name]).astype("datetime64[s]")
    return fuel


def loads_on(state: FuelState, day: pd.Timestamp) -> Loads:
    """Loads [lb/ac] of a unit on a day of spring, low, likely and high."""
    if state.needs is not None:
        return UNKNOWN
    position = (day - spring_days(day.year)[0]).days
    low, likely, high = (float(dead[position]) for dead in state.dead)
    return (low, likely, high)


def _load_columns(
    load: pd.Series | None, state: FuelState, day: pd.Timestamp, gross_ac: float
) -> dict[str, Any]:
    """Columns of one unit that tell its load."""
    known = state.needs is None
    spring = loads_on(state, day)
    position = (day - spring_days(day.year)[0]).days
    grazed = math.nan if state.grazed is None else float(state.grazed[position])
    return {
        "load_date": None if load is None else load["date"],
        "load_method": None if load is None else load["method"],
        "override_reason": None if load is None else load["override_reason"],
        "bare_ground_pct": math.nan if load is None else float(load["bare_ground_pct"]),
        "measured_load_lb_ac": state.measured[1],
        "disappeared_lb_ac": state.disappeared,
        "spring_disappeared_lb_ac": grazed,
        "winter_loss_low_pct": state.losses_pct[0],
        "winter_loss_pct": state.losses_pct[1],
        "winter_loss_high_pct": state.losses_pct[2],
        "spring_load_date": day if known else None,
        "spring_load_low_lb_ac": spring[0],
        "spring_load_lb_ac": spring[1],
        "spring_load_high_lb_ac": spring[2],
        "removed_by": state.removed_by,
        "removed_on": state.removed_on,
        "treated_ac": state.treated_share * gross_ac if state.removed_by else math.nan,
        "animals_untold_from": state.untold_from,
    }


def _carries_columns(
    load: pd.Series | None, spring: Loads, settings: FuelSettings
) -> dict[str, Any]:
    """Columns of one unit that tell whether its load carries a fire."""
    low, likely, high = (carries_of_load(amount, settings) for amount in spring)
    bare_pct = math.nan if load is None else float(load["bare_ground_pct"])
    return {
        "carries": likely,
        "carries_low": low,
        "carries_high": high,
        "load_class": load_class(spring[1], settings),
        "continuity": continuity_of(bare_pct, settings.most_bare_pct),
    }


def _window_columns(state: FuelState, spring: Spring | None, window: BurnWindow) -> dict[str, Any]:
    """Columns of one unit that tell its burn window and what it rests on."""
    years = sorted(spring.courses) if spring is not None else ()
    sums = math.nan
    if spring is not None and window.last is not None:
        sums = float(spring.degree_days[(window.last - spring.days[0]).days])
    return {
        "burn_from": window.first,
        "burn_until": window.last,
        "burn_until_low": window.last_low,
        "burn_until_high": window.last_high,
        "burn_until_early": window.last_early,
        "burn_until_late": window.last_late,
        "until_degree_days": sums,
        "reason": _reason(state, spring, window),
        "temperature_years": ", ".join(map(str, years)) or None if window.last else None,
    }


def _sward_columns(spring: Spring | None, sward: Sward) -> dict[str, Any]:
    """Columns of one unit that tell what its window was reckoned with: sward and latitude."""
    dates = None if spring is None else spring.dates
    return {
        "cool_exotic_share_pct": sward.likely_pct,
        "survey_share_pct": sward.survey_pct,
        "pictures_share_pct": sward.pictures_pct,
        "sward_from": sward.rests_on,
        "latitude_deg": math.nan if dates is None else dates.latitude_deg,
    }


def _reason(state: FuelState, spring: Spring | None, window: BurnWindow) -> str:
    """Code of what the end of the window rests on, why there is none, or what is needed."""
    if state.needs is not None:
        return state.needs
    if spring is None:
        return "needs_dates"
    if window.last is None:
        return "no_window"
    if spring.courses:
        return "own_temperatures"
    by_region = spring.dates is None or math.isnan(spring.dates.latitude_deg)
    return "dates_of_the_region" if by_region else "dates_of_the_latitude"
