"""Findings of the fuel, history, herd and season steps."""

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import suggestion
from pipeline.core.units import half_up
from pipeline.log.treatment_log import burns_of
from pipeline.season.fuel.clip_plots import plot_dry_g, pole_loads_lb_ac
from pipeline.season.fuel.green_up import DEFAULT_REGION, dates_of_region, rows_of_place
from pipeline.season.fuel.settings import FuelSettings
from pipeline.season.limits import is_over, limit_words, nesting_of_state

AID = (
    "fuel, burn window and season plan are planning aids: no burn plan, no prescription, no "
    "permission to light anything; permits, notices and the burn boss decide"
)


def find_season(
    units: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    clips: pd.DataFrame,
    obstruction: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    standing: pd.DataFrame,
    fuel: gpd.GeoDataFrame,
    season_limits: pd.DataFrame,
    unit_limits: pd.DataFrame,
    fire_history: gpd.GeoDataFrame,
    herd_balance: pd.DataFrame,
    season_plan: gpd.GeoDataFrame,
    green_up: pd.DataFrame,
    nesting_seasons: pd.DataFrame,
    property: pd.DataFrame,
    settings: FuelSettings,
) -> gpd.GeoDataFrame:
    """Findings of the season: rows left out, limits met, heavy fuel, balance, what was assumed."""
    findings = [
        *_clip_rows(clips),
        *_pole_readings(obstruction, settings),
        *_burned_areas(burned_areas, treatment_log),
        *_overrides(standing, fuel),
        *_region(fuel, green_up, property),
        *_latitude(fuel, green_up, property),
        *_state(fuel, nesting_seasons, property),
        *_fuel(units, fuel, season_limits),
        *_over(unit_limits, property),
        *_burned_again(fire_history),
        *_herd(herd_balance),
    ]
    if (fuel["carries"] != "unknown").any() or len(season_plan):
        findings.append(_note("planning_aid", "fuel", None, AID))
    return findings_frame(findings, units.crs)


def _note(
    code: str, source: str, subject: str | None, message: str, *, amount: float | None = None
) -> Finding:
    """A note."""
    told = _warning(code, source, subject, message, amount=amount)
    return {**told, "severity": "note"}


def _warning(
    code: str,
    source: str,
    subject: str | None,
    message: str,
    *,
    row: int | None = None,
    amount: float | None = None,
) -> Finding:
    """A warning, with the row of its source where it speaks of one."""
    return Finding(
        severity="warning",
        code=code,
        source=source,
        subject=subject,
        message=message,
        row=row,
        amount=amount,
    )


def _clip_rows(clips: pd.DataFrame) -> list[Finding]:
    """Plots that tell no dry weight."""
    needs = "plot left out: needs dry_g, or green_g with dry_matter_pct or fuel_moisture_pct"
    heavy = "plot left out: the bag is heavier than the whole"
    weights = zip(clips["unit_id"], plot_dry_g(clips), strict=True)
    return [
        _warning("plot_without_weight", "clips", unit_id, needs, row=row)
        if pd.isna(dry_g)
        else _warning("bag_too_heavy", "clips", unit_id, heavy, row=row)
        for row, (unit_id, dry_g) in enumerate(weights, 1)
        if pd.isna(dry_g) or dry_g < 0
    ]


def _pole_readings(obstruction: pd.DataFrame, settings: FuelSettings) -> list[Finding]:
    """Readings of the pole that tell no load: without a regression, or below nothing by it."""
    loads = pole_loads_lb_ac(obstruction, settings)
    needs = "needs pole_slope_lb_in and pole_intercept_lb_ac of [fuel]"
    below = "the regression of [fuel] makes less than nothing of them"
    return [
        _warning(code, "obstruction", None, f"{count} readings left out: {words}")
        for code, count, words in (
            ("pole_without_regression", int(loads.isna().sum()), needs),
            ("pole_below_nothing", int((loads < 0).sum()), below),
        )
        if count
    ]


def _burned_areas(burned_areas: gpd.GeoDataFrame, treatment_log: pd.DataFrame) -> list[Finding]:
    """Burned ground without its burn in the log."""
    burns = burns_of(treatment_log)
    logged = set(zip(burns["unit_id"], burns["start"], strict=True))
    drawn = burned_areas[["unit_id", "date"]].drop_duplicates()
    words = "burned ground of {} has no burn of this unit and day in the treatments: not used"
    return [
        _warning("burn_not_in_log", "burned_areas", row.unit_id, words.format(row.date.date()))
        for row in drawn.itertuples(index=False)
        if (row.unit_id, row.date) not in logged
    ]


def _overrides(standing: pd.DataFrame, fuel: gpd.GeoDataFrame) -> list[Finding]:
    """Loads that were to go before the measurements but tell no fuel of this spring."""
    told = standing[standing["override_reason"].notna()]
    used = fuel[fuel["override_reason"].notna()]
    days = set(zip(used["unit_id"], used["load_date"], strict=True))
    words = (
        "load of {} was to go before the measurements: not used, its day lies before the fall "
        "(fall_from of [fuel]), after green growth or the burn begins, or another goes before it"
    )
    return [
        _warning("override_not_used", "loads", row.unit_id, words.format(row.date.date()))
        for row in told.itertuples(index=False)
        if (row.unit_id, row.date) not in days
    ]


def _region(
    fuel: gpd.GeoDataFrame, green_up: pd.DataFrame, property: pd.DataFrame
) -> list[Finding]:
    """That dates of a region were assumed, or that its own are not in the table.

    A warning where the ends of burn windows rest on assumed dates, else a note. Rows by latitude
    need no region.
    """
    region, dates = property["region"].iloc[0], dates_of_region(green_up, property)
    if pd.notna(region):
        if green_up.empty or len(dates):
            return []
        meant = suggestion(region, green_up["region"])
        words = f'no dates for the region "{region}" of [property], so none are used; {meant}'
        return [_warning("region_not_listed", "green_up", None, words)]
    by_latitude = rows_of_place(green_up, property)["latitude_deg"].notna().any()
    if dates.empty or by_latitude or fuel["burn_from"].isna().all():
        return []
    by_dates = (fuel["reason"] == "dates_of_the_region").any()
    days = "first and last days" if by_dates else "first days"
    words = (
        f"[property] names no region: the {days} of the burn windows rest on the dates of the "
        f"{DEFAULT_REGION}; name the region"
    )
    tell = _warning if by_dates else _note
    return [tell("region_assumed", "green_up", None, words)]


FAR_DEG = 2.0
"""Degrees beyond the outermost row of ``green_up`` from which on the dates are doubtful.

*Source*: common practice, no source.
"""


def _latitude(
    fuel: gpd.GeoDataFrame, green_up: pd.DataFrame, property: pd.DataFrame
) -> list[Finding]:
    """Units whose spring is drawn from a row of the table far from them."""
    known = rows_of_place(green_up, property)["latitude_deg"].dropna()
    at = fuel["latitude_deg"]
    far = at[(at < known.min() - FAR_DEG) | (at > known.max() + FAR_DEG)]
    words = (
        "at {:.1f} N, far from the latitudes of green_up ({:g} to {:g} N): its spring is drawn "
        "from the outermost row; add a row of your own, or give daily_temperatures"
    )
    return [
        _warning(
            "latitude_beyond_rows",
            "green_up",
            fuel.loc[place, "unit_id"],
            words.format(latitude, known.min(), known.max()),
        )
        for place, latitude in far.items()
    ]


def _state(
    fuel: gpd.GeoDataFrame, nesting_seasons: pd.DataFrame, property: pd.DataFrame
) -> list[Finding]:
    """That no nesting season was held against the burn windows."""
    nesting, state = nesting_of_state(nesting_seasons, property), property["state"].iloc[0]
    if fuel["burn_until"].isna().all() or nesting["first_day"].notna().any():
        return []
    if pd.isna(state):
        words = "[property] names no state: burn windows are held against no nesting season"
        return [_warning("state_not_given", "nesting_seasons", None, f"{words}; name the state")]
    words = f"nesting season of {state}: not in the table, look it up"
    return [_warning("state_not_listed", "nesting_seasons", None, words)]


def _fuel(
    units: gpd.GeoDataFrame, fuel: gpd.GeoDataFrame, season_limits: pd.DataFrame
) -> list[Finding]:
    """Limits that the window meets, heavy loads, broken fuel."""
    met = season_limits[season_limits["meets_window"].fillna(False).astype(bool)]
    limits = dict(list(met.groupby("unit_id")))
    heavy = "load in spring is heavy: look at the widths of the breaks again"
    findings, burnable_ac = [], units.set_index("unit_id")["burnable_ac"]
    for row in fuel.itertuples(index=False):
        ac = burnable_ac[row.unit_id]
        if row.unit_id in limits:
            words = "; ".join(map(limit_words, limits[row.unit_id].to_dict("records")))
            window = f"burn window meets: {words}"
            findings.append(_warning("limit_in_window", "fuel", row.unit_id, window, amount=ac))
        if row.load_class == "heavy":
            findings.append(_warning("heavy_load", "fuel", row.unit_id, heavy, amount=ac))
        if row.continuity == "broken":
            words = "bare ground breaks up the fuel"
            findings.append(_note("broken_fuel", "fuel", row.unit_id, words, amount=ac))
    return findings


def _over(unit_limits: pd.DataFrame, property: pd.DataFrame) -> list[Finding]:
    """Limits that hold no more."""
    return [
        _note(
            "limit_over",
            "unit_limits",
            limit.unit_id,
            f"{limit.kind} to the end of {limit.last_year}: not counted from then on",
        )
        for limit in unit_limits[is_over(unit_limits, property)].itertuples(index=False)
    ]


def _burned_again(fire_history: gpd.GeoDataFrame) -> list[Finding]:
    """Ground that burned again before the least interval, more often than a recovery asks for."""
    soon = fire_history[fire_history["burned_again_soon"].fillna(False).astype(bool)]
    words = "burned again before the least interval: {}"
    return [
        Finding(
            severity="note",
            code="burned_again_soon",
            source="fire_history",
            subject=row.unit_id,
            message=words.format(row.burn_years),
            amount=row.area_ac,
            geometry=row.geometry.representative_point(),
        )
        for row in soon.itertuples(index=False)
    ]


def _herd(herd_balance: pd.DataFrame) -> list[Finding]:
    """Herd and forage far apart, if every open unit were grazed all season.

    Feed beyond what the herd needs is a note, since the plan may leave less of it.
    """
    tell = {"demand_above_supply": _warning, "supply_above_demand": _note}
    return [
        tell[row.verdict](
            row.verdict,
            "herd",
            None,
            "if every unit that no burn block, rest or contract closes were grazed all season: "
            f"{_apart_words(row.verdict, row.difference_pct)}"
            f"{unknown_words(row.units_unknown)}. The table herd_feed tells what options "
            "of the plan, seedings and deferrals leave of it",
            amount=abs(row.supply_aum - row.demand_aum),
        )
        for row in herd_balance.itertuples(index=False)
        if row.verdict in tell
    ]


def _apart_words(verdict: str, difference_pct: float) -> str:
    """How far supply and demand are apart; without any supply there is no percentage of it."""
    if pd.isna(difference_pct):
        return "no open unit is known to supply anything"
    words_by_verdict = {
        "demand_above_supply": "demand is above supply",
        "supply_above_demand": "supply is above demand",
    }
    return f"{words_by_verdict[verdict]} by {half_up(abs(difference_pct), 0)} % of supply"


def unknown_words(units: int) -> str:
    """That open units without a figure count as nothing, where there are any."""
    if not units:
        return ""
    named = "1 open unit without a figure counts"
    many = f"{units} open units without a figure count"
    return f"; {named if units == 1 else many} as nothing"
