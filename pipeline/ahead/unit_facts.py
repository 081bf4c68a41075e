"""What is known of each unit that the plan of years rests on, and why some may have no plan."""

from collections.abc import Iterable

import geopandas as gpd
import pandas as pd

from pipeline.ahead.layers import PLAN_UNITS
from pipeline.ahead.open_days import asked_limits, closed_until
from pipeline.ahead.settings import PlanSettings
from pipeline.ahead.treatments import CODES, DAYS_BY_BURN_TIME, TREATMENTS, treatment_days
from pipeline.core.layer import empty
from pipeline.log.days import day_of, days_within
from pipeline.season.fuel.settings import FuelSettings
from pipeline.season.options.settings import AimsSettings
from pipeline.season.settings import HerdSettings, SeasonSettings

MOST_RESTS = 5
"""Growing seasons of rest after which fuel that still does not carry counts as never carrying.
Judgment of this program, no source."""


ON_ITS_WAY = ("inherited", "resting", "waiting", "answered", "not_answered", "recovering")
"""States of ground that is on its way back and not there yet."""


def gather_plan_units(
    units: gpd.GeoDataFrame,
    road: pd.DataFrame,
    past_work: pd.DataFrame,
    treatment_log: pd.DataFrame,
    history: pd.DataFrame,
    fuel: pd.DataFrame,
    forage: pd.DataFrame,
    unit_limits: pd.DataFrame,
    burn_days: pd.DataFrame,
    property: pd.DataFrame,
    season_settings: SeasonSettings,
    fuel_settings: FuelSettings,
    herd: HerdSettings,
    aims: AimsSettings,
    plan: PlanSettings,
) -> pd.DataFrame:
    """Table ``plan_units``: one row a unit, missing where a layer does not tell."""
    if not plan.years:
        return empty(PLAN_UNITS)
    season, as_of = int(property["season"].iloc[0]), property["as_of"].iloc[0]
    tables = {
        "road": road,
        "past": past_work,
        "history": history,
        "fuel": fuel,
        "forage": forage,
    }
    by_unit = {name: frame.set_index("unit_id") for name, frame in tables.items()}
    none, grazed = pd.Series(dtype=object), treatment_log[treatment_log["kind"] == "graze"]
    rows = []
    for unit_id, cover, burnable_ac in zip(
        units["unit_id"], units["cover"], units["burnable_ac"], strict=True
    ):
        known = {n: t.loc[unit_id] if unit_id in t.index else none for n, t in by_unit.items()}
        state = str(known["road"]["state"])
        fire = aims.fire_possible and unit_id not in aims.no_fire_units
        rests, no_burn = _rests(known["fuel"], known["forage"], fire, plan, fuel_settings)
        limits = asked_limits(unit_limits, unit_id, season)
        closed = closed_until(limits, range(season, season + plan.years), season_settings, herd)
        least, most = _returns(state, cover, plan)
        burned = _burns(known["past"], known["history"], season)
        rows.append(
            {
                "unit_id": unit_id,
                "state": state,
                "cover": cover,
                "burnable_ac": burnable_ac,
                "undecided_by": _undecided(state, known, rests),
                "no_burn_by": no_burn,
                **burned,
                "rested_seasons": _rested(known["history"], known["fuel"], rests),
                "last_grazed": _last_use(
                    known["past"],
                    grazed[grazed["unit_id"] == unit_id],
                    season - 1,
                    season_settings,
                    herd,
                ),
                "years_since_seeding": _cell(known["past"], "years_since_seeding"),
                "least_years": least,
                "most_years": most,
                "rest_years": rests if rests is not None else plan.rest_years,
                "supply_aum": _cell(known["forage"], "supply_aum"),
                "smoke_closed": _smoke_closed(burn_days[burn_days["unit_id"] == unit_id]),
                "closed_by": "; ".join(sorted(set(limits["kind"]))) or None,
                "closed": "; ".join(closed) or None,
                "closed_until": "; ".join(map(str, closed.values())) or None,
                "open_times": _open_times(
                    known["fuel"], season, pd.NaT if burned["years_since_burn"] == 0 else as_of
                ),
            }
        )
    return pd.DataFrame(rows, columns=PLAN_UNITS.column_names)


def _cell(row: pd.Series, name: str) -> float | None:
    """A figure of a unit, None where it is not known."""
    value = row.get(name)
    return None if value is None or pd.isna(value) else float(value)


def _returns(state: str, cover: str | None, plan: PlanSettings) -> tuple[int, int]:
    """Fewest and most years between burns: of the ground, else of the state, else of all."""
    return plan.returns.get(cover or "", plan.returns.get(state, plan.return_years))


def _rests(
    fuel: pd.Series,
    forage: pd.Series,
    fire: bool,
    plan: PlanSettings,
    settings: FuelSettings,
) -> tuple[int | None, str | None]:
    """Growing seasons of rest that grow fuel, None where not known; and why no burn is planned.

    What grows in a season loses its winter share, and what is left of it loses it again.
    *Assumes* the growth of the newest measurement in every year. Judgment of this program.
    """
    if not fire:
        return plan.rest_years, "no_fire"
    growth = _cell(forage, "production_lb_ac")
    if growth is None:
        return (plan.rest_years, None) if fuel.get("carries") == "yes" else (None, None)
    left, load = 1.0 - settings.winter_loss_pct / 100.0, 0.0
    for rests in range(1, MOST_RESTS + 1):
        load = (load + growth) * left
        if load >= settings.carries_lb_ac:
            return max(rests, plan.rest_years), None
    return plan.rest_years, "fuel_never_carries"


def _undecided(state: str, known: dict[str, pd.Series], rests: int | None) -> str | None:
    """Why nothing is chosen for a unit; a field without a sward needs neither."""
    if state == "cropped":
        return None
    if known["history"]["record"] != "on_record":
        return "needs_record"
    return "needs_fuel" if rests is None else None


def _burns(past: pd.Series, history: pd.Series, season: int) -> dict[str, object]:
    """Years since the last burn, whether one is on record, and its time of the year."""
    since, first = _cell(past, "years_since_burn"), _cell(history, "first_record_year")
    if since is None:
        at_least = None if first is None else season - first
        return {"years_since_burn": at_least, "burn_on_record": False}
    day = history.get("last_burn")
    same = pd.notna(day) and day.year == season - since
    return {
        "years_since_burn": since,
        "burn_on_record": True,
        "last_burn_time": past["last_burn_window"],
        "last_burn": day if same else None,
    }


def _rested(history: pd.Series, fuel: pd.Series, rests: int | None) -> int:
    """Growing seasons of rest behind a unit, held to what its fuel shows.

    Fuel that carries has rest enough behind it, whatever the log says; fuel that does not has not.
    """
    needed = rests or 0
    told = int(_cell(history, "rested_seasons") or 0)
    if fuel.get("carries") == "yes":
        return max(told, needed)
    return min(told, max(needed - 1, 0))


def _last_use(
    past: pd.Series,
    stays: pd.DataFrame,
    year: int,
    season_settings: SeasonSettings,
    herd: HerdSettings,
) -> str | None:
    """Code of last year's grazing or hay, None without or where it lasted all season.

    The days on which the plan lets stock on late reach into those that the log calls dormant.
    """
    done = past.get("done_last_year")
    codes = {f"{t.kind} {t.time}": t.code for t in TREATMENTS if t.kind in ("graze", "hay")}
    told = [] if done is None or pd.isna(done) else str(done).split("; ")
    code = next((codes[work] for work in told if work in codes), None)
    late = treatment_days(TREATMENTS[CODES.index("graze_late")], year, season_settings, herd)
    if code or late is None or "graze dormant" not in told:
        return code
    of_late, of_year = (
        days_within(stays["start"], stays["end"], first, last + pd.Timedelta(days=1)).sum()
        for first, last in (late, (day_of(year, "01-01"), day_of(year, "12-31")))
    )
    return "graze_late" if 2 * of_late > of_year else None


def _smoke_closed(days: pd.DataFrame) -> bool | None:
    """Whether smoke closed every past day within the limits; None where no such day is known."""
    if not (days["within_days"] > 0).any():
        return None
    return bool((days["high_days"] == 0).all() and (days["none_pct"] == 100).all())


def _open_times(fuel: pd.Series, season: int, as_of: pd.Timestamp) -> str | None:
    """Burn times that are left in the unit's window of the season; None where nothing tells.

    Days before the one that the plan is looked at from are over, with a window or without one.
    """
    first, last = fuel.get("burn_from"), fuel.get("burn_until")
    if pd.isna(first) or pd.isna(last):
        if pd.isna(as_of) or as_of.year < season:
            return None
        first, last = day_of(season, "01-01"), day_of(season, "12-31")
    first = first if pd.isna(as_of) else max(first, as_of)
    if first > last:
        return "none"
    return "; ".join(_meeting(DAYS_BY_BURN_TIME.items(), season, first, last)) or "none"


def _meeting(
    times: Iterable[tuple[str, tuple[str, str]]],
    season: int,
    first: pd.Timestamp,
    last: pd.Timestamp,
) -> list[str]:
    """Burn times that share a day with a window."""
    return [
        time
        for time, (begin, end) in times
        if day_of(season, begin) <= last and day_of(season, end) >= first
    ]
