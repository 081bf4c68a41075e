"""The plan as rows on the map, the sums of its years, and the plan in one row."""

import geopandas as gpd
import pandas as pd

from pipeline.ahead.build import caps_ac
from pipeline.ahead.layers import CHOSEN, OWN_SEED, PLAN_YEARS
from pipeline.ahead.odds import fit_pct
from pipeline.ahead.open_days import Span, asked_limits, open_days
from pipeline.ahead.search.engine import gap_pct
from pipeline.ahead.settings import PLANNED_CASE, PlanSettings
from pipeline.ahead.sum_layers import PLAN_SUMMARY, PLAN_TOTALS
from pipeline.ahead.treatments import BURNS, CODES, TREATMENTS, UNDECIDED, treatment_days
from pipeline.core.layer import empty
from pipeline.season.settings import HerdSettings, SeasonSettings

BURN_CODES = tuple(CODES[n] for n in BURNS)


NO_SWARD = ("seed", "wait", UNDECIDED)
"""Choices of a year on which no longest return can be passed."""


def map_plan_years(
    units: gpd.GeoDataFrame,
    plan_choices: pd.DataFrame,
    unit_limits: pd.DataFrame,
    season_settings: SeasonSettings,
    herd: HerdSettings,
) -> gpd.GeoDataFrame:
    """Layer ``plan_years``: the choices on the ground of their units, with the days they take.

    Settled work has the days that it names; a burn that names none has those in which the fuel of
    the season carries. Of these and of all others, days that a limit without an approval closes are
    left out, but where it closes all of a choice that is settled.
    """
    if plan_choices.empty:
        return empty(PLAN_YEARS, units.crs)
    plan_choices = of_plan(plan_choices)
    by_unit, none = dict(list(unit_limits.groupby("unit_id"))), unit_limits.iloc[:0]
    fuels = plan_choices["settled_by_fuel"].fillna(False).astype(bool)
    days = [
        (row.settled_from, row.settled_until)
        if pd.notna(row.settled_from) and not by_fuel
        else _days(
            row.treatment,
            int(row.year),
            (row.settled_from, row.settled_until) if by_fuel else None,
            asked_limits(by_unit.get(row.unit_id, none), row.unit_id, int(row.year)),
            season_settings,
            herd,
        )
        for row, by_fuel in zip(plan_choices.itertuples(), fuels, strict=True)
    ]
    spans = pd.DataFrame(days, columns=["first_day", "last_day"], index=plan_choices.index)
    rows = pd.concat([plan_choices[[column.name for column in CHOSEN]], spans], axis=1)
    ground = units.set_index("unit_id").geometry
    shapes = list(rows["unit_id"].map(ground))
    return gpd.GeoDataFrame(rows, geometry=shapes, crs=units.crs)


def of_plan(plan_choices: pd.DataFrame) -> pd.DataFrame:
    """Choices of the plan itself, what-ifs left out."""
    return plan_choices[plan_choices["case"] == PLANNED_CASE]


def _days(
    code: str,
    year: int,
    fuel: Span | None,
    limits: pd.DataFrame,
    season: SeasonSettings,
    herd: HerdSettings,
) -> Span:
    """First and last day of a choice, within those of its fuel; none where it takes no days."""
    none = (pd.NaT, pd.NaT)
    if code == UNDECIDED:
        return none
    days = treatment_days(TREATMENTS[CODES.index(code)], year, season, herd)
    if days is None or days[1] < days[0]:
        return none
    if fuel is not None and max(days[0], fuel[0]) <= min(days[1], fuel[1]):
        days = max(days[0], fuel[0]), min(days[1], fuel[1])
    return open_days(days, limits) or days


def sum_plan_years(
    plan_years: gpd.GeoDataFrame,
    plan_units: pd.DataFrame,
    plan_edges: pd.DataFrame,
    herd_balance: pd.DataFrame,
    offered_days: pd.DataFrame,
    plan: PlanSettings,
) -> pd.DataFrame:
    """Table ``plan_totals``: what each year takes and gives, all of its units together."""
    if plan_years.empty:
        return empty(PLAN_TOTALS)
    rows = pd.DataFrame(plan_years.drop(columns="geometry"))
    known = plan_units.set_index("unit_id")
    rows = rows.assign(
        burns=rows["treatment"].isin(BURN_CODES),
        ground_ac=rows["unit_id"].map(known["burnable_ac"]),
        most_years=rows["unit_id"].map(known["most_years"]),
        alone_ft=rows["unit_id"].map(_alone_ft(plan_edges)).fillna(0.0),
    )
    rows["late"] = is_late(rows, rows["most_years"])
    demand = herd_balance["demand_aum"].sum() if len(herd_balance) else None
    most_ac = caps_ac(plan_units, plan)[""]
    years = []
    for year, part in rows.groupby("year"):
        burns = part[part["burns"]]
        supply = float(part["supply_aum"].sum())
        fit, weather_years = fit_pct(burns, offered_days)
        years.append(
            {
                "year": year,
                "burns": len(burns),
                "burned_ac": burns["burned_ac"].sum(),
                "most_ac": most_ac,
                "line_ft": part["line_ft"].sum(),
                "alone_ft": burns["alone_ft"].sum(),
                "crew_days": part["crew_days"].sum(),
                "cost_usd": part["cost_usd"].sum(),
                "seeded_ac": part.loc[part["treatment"] == "seed", "ground_ac"].sum(),
                "demand_aum": demand,
                "supply_aum": supply,
                "short_aum": None if demand is None else max(0.0, demand - supply),
                "late_units": int(part["late"].sum()),
                "late_ac": part.loc[part["late"], "ground_ac"].sum(),
                "undecided_units": int((part["treatment"] == UNDECIDED).sum()),
                "fit_pct": fit,
                "weather_years": weather_years,
            }
        )
    return pd.DataFrame(years)


def is_late(rows: pd.DataFrame, most_years: pd.Series) -> pd.Series:
    """Whether each row is a year past the longest return of its unit without a burn."""
    past = rows["years_since_burn"].fillna(-1) >= most_years
    late: pd.Series = past & ~rows["treatment"].isin([*BURN_CODES, *NO_SWARD])
    return late


def _alone_ft(plan_edges: pd.DataFrame) -> pd.Series:
    """Line [ft] around each unit that burns alone."""
    beyond = plan_edges.dropna(subset=["neighbor"]).assign(unit_id=lambda rows: rows["neighbor"])
    lines: pd.Series = pd.concat([plan_edges, beyond]).groupby("unit_id")["line_ft"].sum()
    return lines


def sum_plan(plan_choices: pd.DataFrame) -> pd.DataFrame:
    """Table ``plan_summary``: the plan in one row, with its gap to the bound."""
    if plan_choices.empty:
        return empty(PLAN_SUMMARY)
    plan_choices = of_plan(plan_choices)
    first = plan_choices.iloc[0]
    undecided = plan_choices["treatment"].eq(UNDECIDED).groupby(plan_choices["unit_id"]).any()
    free, changed = first["free_value_usd"], plan_choices["changed"]
    row = {
        "first_year": plan_choices["year"].min(),
        "years": plan_choices["year"].nunique(),
        "units": len(undecided),
        "undecided_units": int(undecided.sum()),
        "value_usd": first["value_usd"],
        "bound_usd": first["bound_usd"],
        "gap_pct": gap_pct(first["value_usd"], first["bound_usd"]),
        "found_by": first["found_by"],
        **{column.name: first[column.name] for column in OWN_SEED},
        "changed_choices": int(changed.sum()) if changed.notna().any() else None,
        "no_touching_usd": None if pd.isna(free) else max(0.0, free - first["value_usd"]),
    }
    return pd.DataFrame([row])
