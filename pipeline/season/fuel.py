"""Fuel: what of last year's grass is left in spring, whether it carries a fire, and until when.

A planning aid. It answers whether it is worth preparing a burn, not whether to light one.
"""

import math
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.log.days import day_of, days_within
from pipeline.season.green_up import Spring, close_day, dates_of_region, spring_of
from pipeline.season.plan_layers import FUEL
from pipeline.season.settings import FuelSettings

LATEST_SPRING = "06-30"


GREEN_BEGINS = "04-01"


REMOVED_BY = ("burn", "hay", "mow", "till")


Loads = tuple[float, float, float]


UNKNOWN: Loads = (math.nan, math.nan, math.nan)


@dataclass(frozen=True, slots=True)
class FuelState:
    """Loads [lb/ac] of one unit going into winter and in spring: low, likely and high.

    ``needs`` is the code of what is missing to tell them; where fuel was taken off after the
    measurement, ``removed_by`` and ``removed_on`` tell by what and when.
    """

    fall: Loads = UNKNOWN
    disappeared: float = math.nan
    losses_pct: Loads = UNKNOWN
    spring: Loads = UNKNOWN
    needs: str | None = None
    removed_by: str | None = None
    removed_on: pd.Timestamp | None = None


@dataclass(frozen=True, slots=True)
class BurnWindow:
    """First and last day of a burn window; the last one also at the low and at the high load."""

    first: pd.Timestamp | None = None
    last: pd.Timestamp | None = None
    last_low: pd.Timestamp | None = None
    last_high: pd.Timestamp | None = None


def spring_load_lb_ac(fall_lb_ac: float, disappeared_lb_ac: float, loss_pct: float) -> float:
    """Dry load [lb/ac] in spring: fall load less what disappeared, less the winter's share.

    *Source*: derived; winter loss after South Dakota State University Extension (2021) and Willms,
    Adams and Dormaar (J. Range Manage.); disappeared = eaten ÷ grazing efficiency after Smart et
    al. (2010).
    """
    return max(0.0, fall_lb_ac - disappeared_lb_ac) * (1.0 - loss_pct / 100.0)


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
    grazing_rates: pd.DataFrame,
    winter_losses: pd.DataFrame,
    daily_temperatures: pd.DataFrame,
    green_up: pd.DataFrame,
    property: pd.DataFrame,
    settings: FuelSettings,
) -> gpd.GeoDataFrame:
    """Layer ``fuel``: load in spring, whether it carries, and the window of each unit."""
    season = int(property["season"].iloc[0])
    dates = dates_of_region(green_up, property)
    spring = spring_of(season, daily_temperatures, dates, settings)
    removed = treatment_log[treatment_log["kind"].isin(REMOVED_BY)]
    rows = []
    for unit in units.itertuples(index=False):
        load = used_load(standing[standing["unit_id"] == unit.unit_id], season, settings)
        state = fuel_state(
            load,
            removed[removed["unit_id"] == unit.unit_id],
            grazing_rates[grazing_rates["unit_id"] == unit.unit_id],
            winter_loss_pct(unit.cover, load, winter_losses, season, settings),
            season,
        )
        window = burn_window(state, spring, settings)
        rows.append(
            _load_columns(load, state)
            | _carries_columns(load, state, settings)
            | _window_columns(state, spring, window)
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


def used_load(standing: pd.DataFrame, season: int, settings: FuelSettings) -> pd.Series | None:
    """The measurement that tells a unit's fuel, None without any: the newest that can.

    From the fall day of the year before on: earlier in that year grass was still growing.
    """
    fits = standing[
        (standing["date"] >= day_of(season - 1, settings.fall_from))
        & (standing["date"] <= day_of(season, LATEST_SPRING))
    ]
    return fits.sort_values("date", kind="stable").iloc[-1] if len(fits) else None


def winter_loss_pct(
    cover: str | None,
    load: pd.Series | None,
    winter_losses: pd.DataFrame,
    season: int,
    settings: FuelSettings,
) -> Loads:
    """Loss over winter [percent], least, likely and largest; none for a load measured in spring."""
    if load is not None and load["date"].year >= season:
        return (0.0, 0.0, 0.0)
    of_cover = winter_losses[winter_losses["cover"] == cover]
    if len(of_cover):
        row = of_cover.iloc[0]
        return (float(row["low_pct"]), float(row["likely_pct"]), float(row["high_pct"]))
    low, likely, high = (
        settings.winter_loss_low_pct,
        settings.winter_loss_pct,
        settings.winter_loss_high_pct,
    )
    return (low, likely, high)


def fuel_state(
    load: pd.Series | None,
    removed: pd.DataFrame,
    grazing_rates: pd.DataFrame,
    losses_pct: Loads,
    season: int,
) -> FuelState:
    """Loads of one unit in fall and spring, or what is needed to tell them."""
    if load is None:
        return FuelState(needs="needs_measurement")
    after = removed[
        (removed["start"] > load["date"]) & (removed["start"] <= day_of(season, LATEST_SPRING))
    ]
    if len(after):
        last = after.iloc[-1]
        return FuelState(
            needs="needs_new_measurement", removed_by=last["kind"], removed_on=last["start"]
        )
    disappeared = disappeared_lb_ac(load, grazing_rates, season)
    if math.isnan(disappeared):
        return FuelState(needs="needs_animals")
    fall = _fall_loads(load)
    least, likely, most = losses_pct
    return FuelState(
        fall=fall,
        disappeared=disappeared,
        losses_pct=losses_pct,
        spring=(
            spring_load_lb_ac(fall[0], disappeared, most),
            spring_load_lb_ac(fall[1], disappeared, likely),
            spring_load_lb_ac(fall[2], disappeared, least),
        ),
    )


def _fall_loads(load: pd.Series) -> Loads:
    """Load of a measurement, low, likely and high, with what earlier years left beside it."""
    carryover = 0.0 if math.isnan(load["carryover_lb_ac"]) else float(load["carryover_lb_ac"])
    likely = float(load["mean_lb_ac"])
    low, high = (
        likely if math.isnan(load[c]) else float(load[c]) for c in ("low_lb_ac", "high_lb_ac")
    )
    return (low + carryover, likely + carryover, high + carryover)


def disappeared_lb_ac(load: pd.Series, grazing_rates: pd.DataFrame, season: int) -> float:
    """Dry forage [lb/ac] that animals make disappear after a measurement and before the burn.

    A standing load already lacks what was eaten before; a production figure lacks nothing, so all
    grazing of its year is taken off it. NaN where the animals of a grazing are not told.
    """
    start = load["date"] + pd.Timedelta(days=1)
    if load["measure"] == "production":
        start = pd.Timestamp(load["date"].year, 1, 1)
    green = day_of(season, GREEN_BEGINS)
    days = days_within(grazing_rates["start"], grazing_rates["last"], start, green)
    took = days > 0
    return float((grazing_rates["disappeared_lb_ac_day"].to_numpy()[took] * days[took]).sum())


def burn_window(state: FuelState, spring: Spring | None, settings: FuelSettings) -> BurnWindow:
    """First and last day of the burn window of a unit, at the likely load and at both ends."""
    if state.needs is not None or spring is None:
        return BurnWindow()
    low, last, high = (_last_day(load, spring, settings) for load in state.spring)
    if last is None:
        return BurnWindow(last_low=low, last_high=high)
    first = None if spring.cured_from is None else min(spring.cured_from, last)
    return BurnWindow(first, last, low, high)


def _last_day(load_lb_ac: float, spring: Spring, settings: FuelSettings) -> pd.Timestamp | None:
    """Last day on which a load [lb/ac] carries a fire, None where it never does."""
    carries = carries_of_load(load_lb_ac, settings) in ("yes", "patchy")
    return close_day(spring, load_lb_ac, settings) if carries else None


def _load_columns(load: pd.Series | None, state: FuelState) -> dict[str, Any]:
    """Columns of one unit that tell its load."""
    return {
        "load_date": None if load is None else load["date"],
        "load_method": None if load is None else load["method"],
        "bare_ground_pct": math.nan if load is None else float(load["bare_ground_pct"]),
        "fall_load_lb_ac": state.fall[1],
        "disappeared_lb_ac": state.disappeared,
        "winter_loss_low_pct": state.losses_pct[0],
        "winter_loss_pct": state.losses_pct[1],
        "winter_loss_high_pct": state.losses_pct[2],
        "spring_load_low_lb_ac": state.spring[0],
        "spring_load_lb_ac": state.spring[1],
        "spring_load_high_lb_ac": state.spring[2],
        "removed_by": state.removed_by,
        "removed_on": state.removed_on,
    }


def _carries_columns(
    load: pd.Series | None, state: FuelState, settings: FuelSettings
) -> dict[str, Any]:
    """Columns of one unit that tell whether its load carries a fire."""
    low, likely, high = (carries_of_load(spring, settings) for spring in state.spring)
    bare_pct = math.nan if load is None else float(load["bare_ground_pct"])
    return {
        "carries": likely,
        "carries_low": low,
        "carries_high": high,
        "load_class": load_class(state.spring[1], settings),
        "continuity": continuity_of(bare_pct, settings.most_bare_pct),
    }


def _window_columns(state: FuelState, spring: Spring | None, window: BurnWindow) -> dict[str, Any]:
    """Columns of one unit that tell its burn window and what it rests on."""
    years = spring.temperature_years if spring is not None else ()
    return {
        "burn_from": window.first,
        "burn_until": window.last,
        "burn_until_low": window.last_low,
        "burn_until_high": window.last_high,
        "reason": _reason(state, spring, window),
        "temperature_years": ", ".join(map(str, years)) or None if window.last else None,
    }


def _reason(state: FuelState, spring: Spring | None, window: BurnWindow) -> str:
    """Code of what the end of the window rests on, why there is none, or what is needed."""
    if state.needs is not None:
        return state.needs
    if spring is None:
        return "needs_dates"
    if window.last is None:
        return "no_window"
    return "own_temperatures" if spring.temperature_years else "dates_of_the_region"
