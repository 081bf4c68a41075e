"""The balance of a unit's dead grass: measured, taken off by acre and by day, left each day."""

import math
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, united
from pipeline.log.days import day_of, days_within
from pipeline.log.treatment_log import treated_share
from pipeline.season.fuel.green_up import spring_days
from pipeline.season.fuel.settings import FuelSettings

LATEST_MEASURED = "05-15"
"""A load clipped in spring after this day holds green growth: it does not tell the dead fuel."""


LATEST_SPRING = "06-30"


GREEN_BEGINS = "04-01"


REMOVED_BY = ("burn", "hay", "mow", "till")


DAY = pd.Timedelta(days=1)


Loads = tuple[float, float, float]


UNKNOWN: Loads = (math.nan, math.nan, math.nan)


@dataclass(frozen=True, slots=True)
class UnitWork:
    """What takes fuel off one unit, and the day in spring its burn is planned to begin, if told.

    ``removed`` has a ``kind``, a ``start`` and a ``share`` of the unit a row; ``grazing`` the days
    and rates of ``grazing_rates``.
    """

    removed: pd.DataFrame
    grazing: pd.DataFrame
    burn_day: pd.Timestamp | None


@dataclass(frozen=True, slots=True)
class FuelState:
    """Loads [lb/ac] of one unit as measured and on each day of spring: low, likely and high.

    ``dead`` are the loads on the days of ``spring_days``, ``grazed`` what animals have taken off
    since April before each. ``needs`` is the code of what is missing to tell them; ``removed_by``
    and ``removed_on`` tell what took fuel off ``treated_share`` of the unit after the measurement.
    From ``untold_from`` on graze animals whose number is not told.
    """

    measured: Loads = UNKNOWN
    disappeared: float = math.nan
    losses_pct: Loads = UNKNOWN
    dead: tuple[np.ndarray, ...] = ()
    grazed: np.ndarray | None = None
    needs: str | None = None
    removed_by: str | None = None
    removed_on: pd.Timestamp | None = None
    treated_share: float = 0.0
    untold_from: pd.Timestamp | None = None


def spring_load_lb_ac(fall_lb_ac: float, disappeared_lb_ac: float, loss_pct: float) -> float:
    """Dry load [lb/ac] in spring: fall load less what disappeared, less the winter's share.

    *Source*: derived; winter loss after South Dakota State University Extension (2021) and Willms,
    Adams and Dormaar (J. Range Manage.); disappeared = eaten ÷ grazing efficiency after Smart et
    al. (2010).
    """
    return max(0.0, fall_lb_ac - disappeared_lb_ac) * (1.0 - loss_pct / 100.0)


def planned_burn_days(
    burns: pd.DataFrame, planned_log: pd.DataFrame, season: int
) -> dict[str, pd.Timestamp]:
    """First day in the season's spring on which each unit is planned to burn, where it is told.

    By the blocks of the property file and the burns of the log still to come, the earlier of them.
    """
    logged = planned_log.loc[planned_log["kind"] == "burn", ["unit_id", "start"]]
    told = burns[["unit_id", "first_day"]].rename(columns={"first_day": "start"})
    days = pd.concat([told.astype(logged.dtypes), logged]).dropna(subset=["start"])
    spring = spring_days(season)
    inside = days[days["start"].between(spring[0], spring[-1])]
    return {str(unit): day for unit, day in inside.groupby("unit_id")["start"].min().items()}


def removals(
    units: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    planned_log: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
) -> pd.DataFrame:
    """What took, or is planned to take, fuel off: unit, kind, first day, and share of the unit.

    A burn takes the polygons drawn for its unit and day, any other work the acres told; without
    them the whole unit. Of a burn, what stayed unburned inside is no part of it. ``planned`` marks
    the rows that are still to come; a planned burn takes nothing off before itself.
    """
    to_come = planned_log[planned_log["kind"].isin(REMOVED_BY) & (planned_log["kind"] != "burn")]
    done = treatment_log[treatment_log["kind"].isin(REMOVED_BY)]
    parts = [done.assign(planned=False), to_come.assign(planned=True)]
    events = pd.concat([part for part in parts if len(part)] or parts[:1])
    share = treated_share(events, units) * (1.0 - events["unburned_inside_pct"].fillna(0.0) / 100.0)
    drawn = _drawn_shares(units, burned_areas)
    keys = zip(events["unit_id"], events["start"], events["kind"], share, strict=True)
    shares = [
        drawn.get((unit_id, start), told) if kind == "burn" else told
        for unit_id, start, kind, told in keys
    ]
    return events[["unit_id", "kind", "start", "planned"]].assign(share=shares)


def _drawn_shares(
    units: gpd.GeoDataFrame, burned_areas: gpd.GeoDataFrame
) -> dict[tuple[str, pd.Timestamp], float]:
    """Share of a unit that lies in the burned ground drawn for it, by unit and day."""
    ground = dict(zip(units["unit_id"], units.geometry, strict=True))
    shares = {}
    for (unit_id, day), drawn in burned_areas.groupby(["unit_id", "date"]):
        if unit_id in ground:
            inside = common(ground[unit_id], united(drawn.geometry.to_numpy()))
            burned, whole = area_ac(gpd.GeoSeries([inside, ground[unit_id]], crs=units.crs))
            shares[unit_id, day] = float(burned / whole)
    return shares


def used_load(
    standing: pd.DataFrame,
    season: int,
    settings: FuelSettings,
    burn_day: pd.Timestamp | None = None,
) -> pd.Series | None:
    """The measurement that tells a unit's fuel in spring, None without any: the one nearest to it.

    From the fall day of the year before on, since earlier in that year grass was still growing,
    until green growth adds to what is clipped, and not after the burn. What stands goes before
    what grew, a newer day before an older one, and the user's override before all.
    """
    latest = day_of(season, LATEST_MEASURED)
    fits = standing[
        (standing["date"] >= day_of(season - 1, settings.fall_from))
        & (standing["date"] <= (latest if burn_day is None else min(latest, burn_day)))
    ]
    if fits.empty:
        return None
    order = fits.assign(
        override=fits["override_reason"].notna(), stands=fits["measure"] == "standing"
    )
    return order.sort_values(["override", "stands", "date"], kind="stable").iloc[-1]


def fall_load_lb_ac(standing: pd.DataFrame, season: int, settings: FuelSettings) -> float:
    """Load [lb/ac] going into winter by the measurements of the fall, NaN without any."""
    load = used_load(standing, season, settings, day_of(season - 1, "12-31"))
    return math.nan if load is None else measured_loads(load)[1]


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
    work: UnitWork,
    losses_pct: Loads,
    season: int,
    settings: FuelSettings,
) -> FuelState:
    """Loads of one unit in fall and on each day of spring, or what is needed to tell them."""
    if load is None:
        return FuelState(needs="needs_measurement")
    removed = _removed_after(load, work, season)
    share = min(1.0, float(removed["share"].sum()))
    by, on = (None, None) if removed.empty else removed.iloc[-1][["kind", "start"]]
    if 100.0 * share > settings.most_treated_pct:
        return FuelState(
            needs="needs_new_measurement", removed_by=by, removed_on=on, treated_share=share
        )
    disappeared = disappeared_lb_ac(load, work.grazing, season)
    grazed, untold_from = grazed_by_day(load, work, season)
    if math.isnan(disappeared) or (
        untold_from is not None and work.burn_day is not None and untold_from < work.burn_day
    ):
        return FuelState(needs="needs_animals")
    measured = measured_loads(load)
    before_april = (
        spring_load_lb_ac(amount, disappeared, loss)
        for amount, loss in zip(measured, reversed(losses_pct), strict=True)
    )
    return FuelState(
        measured=measured,
        disappeared=disappeared,
        losses_pct=losses_pct,
        dead=tuple(np.maximum(amount - grazed, 0.0) for amount in before_april),
        grazed=grazed,
        removed_by=by,
        removed_on=on,
        treated_share=share,
        untold_from=untold_from,
    )


def _removed_after(load: pd.Series, work: UnitWork, season: int) -> pd.DataFrame:
    """Work after a measurement and before the burn; planned work only before a planned burn."""
    removed, last = work.removed, day_of(season, LATEST_SPRING)
    if work.burn_day is None:
        removed = removed[~removed["planned"].astype(bool)]
    else:
        last = work.burn_day - DAY
    return removed[removed["start"].gt(load["date"]) & removed["start"].le(last)]


def measured_loads(load: pd.Series) -> Loads:
    """Load of a measurement, low, likely and high, with what earlier years left beside it."""
    carryover = 0.0 if math.isnan(load["carryover_lb_ac"]) else float(load["carryover_lb_ac"])
    likely = float(load["mean_lb_ac"])
    low, high = (
        likely if math.isnan(load[c]) else float(load[c]) for c in ("low_lb_ac", "high_lb_ac")
    )
    return (low + carryover, likely + carryover, high + carryover)


def _daily_lb_ac(grazing: pd.DataFrame) -> np.ndarray:
    """What each grazing takes in a day [lb/ac], spread over all acres of the unit."""
    rate, share = grazing["disappeared_lb_ac_day"], grazing["grazed_share"]
    return (rate * share.fillna(1.0)).to_numpy("float64")


def disappeared_lb_ac(load: pd.Series, grazing: pd.DataFrame, season: int) -> float:
    """Dry forage [lb/ac] that animals make disappear after a measurement and before April.

    A standing load already lacks what was eaten before; a production figure lacks nothing, so all
    grazing of its year is taken off it. NaN where the animals of a grazing are not told.
    """
    start = load["date"] + DAY
    if load["measure"] == "production":
        start = pd.Timestamp(load["date"].year, 1, 1)
    days = days_within(grazing["start"], grazing["last"], start, day_of(season, GREEN_BEGINS))
    took = days > 0
    return float((_daily_lb_ac(grazing)[took] * days[took]).sum())


def grazed_by_day(
    load: pd.Series, work: UnitWork, season: int
) -> tuple[np.ndarray, pd.Timestamp | None]:
    """Dry forage [lb/ac] taken since April before each day of spring, until the burn begins.

    With the first day on which graze animals whose number is not told; they count as none.

    *Assumes*: all that animals take is dead grass; what they eat of the green would keep a window
    open longer, so the error is on the careful side.
    """
    days = spring_days(season)
    start = max(day_of(season, GREEN_BEGINS), load["date"] + DAY)
    last = days[-1] if work.burn_day is None else work.burn_day - DAY
    taken, untold = np.zeros(len(days)), []
    for event, rate in zip(work.grazing.itertuples(), _daily_lb_ac(work.grazing), strict=True):
        grazes = (days >= max(event.start, start)) & (days <= min(event.last, last))
        if math.isnan(rate):
            untold += list(days[grazes][:1])
        else:
            taken += np.where(grazes, rate, 0.0)
    return np.cumsum(taken) - taken, min(untold, default=None)
