"""Fuel: what of last year's grass is left in spring, whether it carries a fire, and until when.

A planning aid. It answers whether it is worth preparing a burn, not whether to light one.
"""

import math
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from pipeline.core.units import half_up
from pipeline.log.days import day_of, days_within
from pipeline.season.green_up import Spring, close_day, spring_of
from pipeline.season.layers import FUEL
from pipeline.season.limits import window_conflicts
from pipeline.season.settings import FuelSettings

LATEST_SPRING = "06-30"


GREEN_BEGINS = "04-01"


REMOVED_BY = ("burn", "hay", "mow")


Loads = tuple[float, float, float]


UNKNOWN: Loads = (math.nan, math.nan, math.nan)


@dataclass(frozen=True, slots=True)
class FuelState:
    """Loads [lb/ac] of one unit going into winter and in spring, low, likely and high."""

    fall: Loads = UNKNOWN
    disappeared: float = math.nan
    losses_pct: Loads = UNKNOWN
    spring: Loads = UNKNOWN
    needs: str | None = None


@dataclass(frozen=True, slots=True)
class BurnWindow:
    """First and last day of a burn window, the last one also at the low and the high load."""

    first: pd.Timestamp | None = None
    last: pd.Timestamp | None = None
    low: pd.Timestamp | None = None
    high: pd.Timestamp | None = None
    origin: str | None = None


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
    """Class of a dry load [lb/ac] in words, None where it is unknown."""
    if math.isnan(load_lb_ac):
        return None
    if load_lb_ac >= settings.heavy_lb_ac:
        return "heavy: look at the widths of the breaks again"
    if load_lb_ac >= settings.brush_lb_ac:
        return "reaches brush"
    return {"yes": "carries", "patchy": "patchy", "no": "will not carry"}[
        carries_of_load(load_lb_ac, settings)
    ]


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
    nesting_seasons: pd.DataFrame,
    unit_limits: pd.DataFrame,
    property: pd.DataFrame,
    settings: FuelSettings,
) -> gpd.GeoDataFrame:
    """Layer ``fuel``: load in spring, whether it carries, and the window of each unit."""
    season = int(property["season"].iloc[0])
    spring = spring_of(season, daily_temperatures, green_up, settings)
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
            settings,
        )
        window = burn_window(state, spring, settings)
        conflicts = window_conflicts(
            unit.unit_id, window.first, window.last, nesting_seasons, unit_limits, settings.state
        )
        rows.append(_row(state, load, window, settings) | {"conflicts": conflicts})
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
    own = winter_losses[winter_losses["cover"] == cover]
    if len(own):
        row = own.iloc[0]
        return (float(row["low_pct"]), float(row["likely_pct"]), float(row["high_pct"]))
    return (
        settings.winter_loss_low_pct, settings.winter_loss_pct, settings.winter_loss_high_pct,
    )  # fmt: skip


def fuel_state(
    load: pd.Series | None,
    removed: pd.DataFrame,
    grazing_rates: pd.DataFrame,
    losses_pct: Loads,
    season: int,
    settings: FuelSettings,
) -> FuelState:
    """Loads of one unit in fall and spring, or what is needed to tell them."""
    if load is None:
        day = f"{season - 1}-{settings.fall_from}"
        return FuelState(needs=f"a clip plot, pole reading or stated load from {day} on")
    after = removed[
        (removed["start"] > load["date"]) & (removed["start"] <= day_of(season, LATEST_SPRING))
    ]
    if len(after):
        last = after.iloc[-1]
        return FuelState(
            needs=f"a new measurement after the {last['kind']} of {last['start'].date()}"
        )
    disappeared = disappeared_lb_ac(load, grazing_rates, season)
    if math.isnan(disappeared):
        return FuelState(needs="head and animal_unit_equivalent (or weight_lb) of the grazing")
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
    production = load["measure"] == "production"
    start = pd.Timestamp(load["date"].year, 1, 1) if production else (
        load["date"] + pd.Timedelta(days=1)
    )  # fmt: skip
    days = days_within(
        grazing_rates["start"], grazing_rates["last"], start, day_of(season, GREEN_BEGINS)
    )
    took = days > 0
    return float((grazing_rates["disappeared_lb_ac_day"].to_numpy()[took] * days[took]).sum())


def burn_window(state: FuelState, spring: Spring | None, settings: FuelSettings) -> BurnWindow:
    """First and last day of the burn window of a unit, at the likely load and at both ends."""
    if state.needs is not None or spring is None:
        return BurnWindow()
    lasts = tuple(
        None if carries_of_load(load, settings) in ("no", "unknown")
        else close_day(spring, load, settings)
        for load in state.spring
    )  # fmt: skip
    last = lasts[1]
    first = spring.cured_from
    if last is not None and first is not None and first > last:
        first = last
    return BurnWindow(first if last is not None else None, last, lasts[0], lasts[2], spring.origin)


def _row(
    state: FuelState, load: pd.Series | None, window: BurnWindow, settings: FuelSettings
) -> dict[str, object]:
    """Columns of one unit."""
    bare_pct = math.nan if load is None else float(load["bare_ground_pct"])
    ends = [carries_of_load(state.spring[i], settings) for i in (0, 2)]
    return {
        "load_date": None if load is None else load["date"],
        "fall_load_lb_ac": state.fall[1],
        "disappeared_lb_ac": state.disappeared,
        "winter_loss_pct": state.losses_pct[1],
        "spring_load_low_lb_ac": state.spring[0],
        "spring_load_lb_ac": state.spring[1],
        "spring_load_high_lb_ac": state.spring[2],
        "carries": carries_of_load(state.spring[1], settings),
        "carries_range": None if state.needs else f"{ends[0]} to {ends[1]}",
        "load_class": load_class(state.spring[1], settings),
        "continuity": continuity_of(bare_pct, settings.most_bare_pct),
        "bare_ground_pct": bare_pct,
        "burn_from": window.first,
        "burn_until": window.last,
        "burn_until_low": window.low,
        "burn_until_high": window.high,
        "reason": _reason(state, load, window),
    }


def _reason(state: FuelState, load: pd.Series | None, window: BurnWindow) -> str:
    """How the answer came about, in one sentence, or what it needs."""
    if state.needs is not None or load is None:
        return f"unknown: needs {state.needs}"
    low, likely, high = (half_up(v, 0) for v in state.spring)
    losses = [half_up(v, 0) for v in state.losses_pct]
    words = (
        f"{half_up(state.fall[1], 0)} lb/ac {load['method']} on {load['date'].date()}, less "
        f"{half_up(state.disappeared, 0)} for animals, less {losses[1]} % ({losses[0]} to "
        f"{losses[2]}) for the winter: {likely} lb/ac ({low} to {high}) in spring"
    )
    if window.origin is None:
        return words + "; the window needs daily_temperatures or dates in green_up"
    ends = f"; window by {window.origin}" if window.last is not None else ""
    return words + ends + ". A planning aid, no permission to light anything"
