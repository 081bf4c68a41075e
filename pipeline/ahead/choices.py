"""The step that plans: from what is known of each unit to a treatment of each of its years."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.ahead.build import Asked, Settled, build_problem
from pipeline.ahead.layers import PLAN_CHOICES
from pipeline.ahead.search.engine import Found, find_plan
from pipeline.ahead.search.problem import Array, Problem, fits, plan_worth
from pipeline.ahead.search.solver import asked_solver, solver_at_hand
from pipeline.ahead.settings import PlanSettings
from pipeline.ahead.treatments import (
    BURNS,
    CODES,
    DAYS_BY_BURN_TIME,
    REST,
    SEED,
    TREATMENTS,
    UNDECIDED,
    treatment_days,
)
from pipeline.ahead.year_rows import year_rows
from pipeline.core.layer import empty
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.log.days import day_of
from pipeline.season.options.settings import AimsSettings
from pipeline.season.settings import HerdSettings, SeasonSettings
from pipeline.work.settings import CostSettings

BEFORE = ("seed", "burn", "hay", "graze", "rest")
"""Of several works planned for one unit and year, the kind that counts."""


LEAST_SHARE = 0.5
"""Planned work on a smaller part of a unit does not settle its year."""


def ask_plan(
    plan_units: pd.DataFrame,
    plan_edges: pd.DataFrame,
    planned_work: gpd.GeoDataFrame,
    fixed_years: pd.DataFrame,
    former_plan: pd.DataFrame,
    herd_balance: pd.DataFrame,
    property: pd.DataFrame,
    season_settings: SeasonSettings,
    herd: HerdSettings,
    aims: AimsSettings,
    costs: CostSettings,
    mowing: MowingSettings,
    plan: PlanSettings,
) -> Asked:
    """What is asked of the plan, out of the layers: the one way to it, for what-if runs too."""
    season = int(property["season"].iloc[0])
    demand = herd_balance["demand_aum"].fillna(0.0)
    former = {
        (row.unit_id, int(row.year)): CODES.index(row.treatment)
        for row in former_plan.itertuples()
        if row.treatment != UNDECIDED
    }
    return Asked(
        units=plan_units.sort_values("unit_id").reset_index(drop=True),
        edges=plan_edges,
        first_year=season,
        demand_aum=float(demand.iloc[0]) if len(demand) else 0.0,
        settled=_planned(planned_work, plan_units, season, season_settings, herd, plan)
        | _fixed(fixed_years, plan)
        | _burned(plan_units, season),
        former=former,
        plan=plan,
        season=season_settings,
        aims=aims,
        costs=costs,
        mowing=mowing,
    )


def _burned(plan_units: pd.DataFrame, season: int) -> Settled:
    """Burns of the season that are done: its year is settled, whatever else was planned."""
    burned = plan_units[plan_units["burn_on_record"] & (plan_units["years_since_burn"] == 0)]
    return {
        (row.unit_id, season): tuple(n for n in BURNS if TREATMENTS[n].time == row.last_burn_time)
        or BURNS
        for row in burned.itertuples()
    }


def _fixed(fixed_years: pd.DataFrame, plan: PlanSettings) -> Settled:
    """Years that the user has fixed; a burn of no told time is one of the times of the plan."""
    left_out = [n for n in BURNS if TREATMENTS[n].time not in plan.burn_times]
    return {
        (row.unit_id, int(row.year)): tuple(
            n
            for n, t in enumerate(TREATMENTS)
            if row.treatment == t.code or (row.treatment == t.kind and n not in left_out)
        )
        for row in fixed_years.itertuples()
    }


def _planned(
    planned_work: pd.DataFrame,
    plan_units: pd.DataFrame,
    season: int,
    settings: SeasonSettings,
    herd: HerdSettings,
    plan: PlanSettings,
) -> Settled:
    """Years settled by work that is planned already: the season's blocks, sowings, the log."""
    acres = plan_units.set_index("unit_id")["burnable_ac"]
    bare = set(plan_units.loc[plan_units["state"] == "cropped", "unit_id"])
    works = planned_work[planned_work["kind"].isin(BEFORE)]
    works = works[works["work_ac"] >= LEAST_SHARE * works["unit_id"].map(acres)]
    works = works.assign(place=works["kind"].map(BEFORE.index)).sort_values("place", kind="stable")
    settled: Settled = {}
    for work in works.itertuples():
        year = season if pd.isna(work.first_day) else work.first_day.year
        if work.kind == "seed" and work.unit_id not in bare:
            continue
        found = _treatments(work, int(year), settings, herd, plan)
        if found:
            settled.setdefault((work.unit_id, int(year)), found)
    return settled


def _treatments(
    work: object, year: int, settings: SeasonSettings, herd: HerdSettings, plan: PlanSettings
) -> tuple[int, ...]:
    """Treatments that a piece of planned work may be, by its days; none where no time fits."""
    kind, first, last = work.kind, work.first_day, work.last_day  # type: ignore[attr-defined]
    if kind in ("seed", "rest"):
        return (SEED if kind == "seed" else REST,)
    if kind == "burn":
        times = [n for n in BURNS if TREATMENTS[n].time in plan.burn_times]
        met = [n for n in times if pd.isna(first) or _meets(n, year, first, last)]
        return tuple(met or times)
    spans = {
        n: treatment_days(t, year, settings, herd)
        for n, t in enumerate(TREATMENTS)
        if t.kind == kind
    }
    shared = {
        n: (min(span[1], last) - max(span[0], first)).days
        for n, span in spans.items()
        if span is not None and pd.notna(first)
    }
    longest = max(shared.values(), default=-1)
    return tuple(n for n, days in shared.items() if days == longest >= 0)[:1]


def _meets(burn: int, year: int, first: pd.Timestamp, last: pd.Timestamp) -> bool:
    """Whether a burn of a time may fall on days from a first to a last one."""
    begin, end = DAYS_BY_BURN_TIME[str(TREATMENTS[burn].time)]
    return bool(day_of(year, begin) <= last and day_of(year, end) >= first)


def choose_years(
    plan_units: pd.DataFrame,
    plan_edges: pd.DataFrame,
    planned_work: gpd.GeoDataFrame,
    fixed_years: pd.DataFrame,
    former_plan: pd.DataFrame,
    herd_balance: pd.DataFrame,
    property: pd.DataFrame,
    season_settings: SeasonSettings,
    herd: HerdSettings,
    aims: AimsSettings,
    costs: CostSettings,
    mowing: MowingSettings,
    plan: PlanSettings,
) -> pd.DataFrame:
    """Table ``plan_choices``: a treatment of each unit and year; undecided where none is chosen."""
    if plan_units.empty:
        return empty(PLAN_CHOICES)
    asked = ask_plan(
        plan_units,
        plan_edges,
        planned_work,
        fixed_years,
        former_plan,
        herd_balance,
        property,
        season_settings,
        herd,
        aims,
        costs,
        mowing,
        plan,
    )
    problem = build_problem(asked)
    found = best_plan(asked, problem)
    free = None
    if problem.group_code == "apart" and problem.groups:
        loose = plan.model_copy(update={"refuge": "none"})
        free = best_plan(asked, build_problem(replace(asked, plan=loose))).value_usd
    return year_rows(asked, problem, found.plan).assign(
        value_usd=found.value_usd,
        bound_usd=found.bound_usd,
        found_by=found.found_by,
        free_value_usd=free,
    )


def best_plan(asked: Asked, problem: Problem) -> Found:
    """The engine's plan, or the solver's where it is asked for and finds a better one."""
    found = find_plan(problem, former_choices(asked, problem))
    if not asked.plan.proof_seconds or not solver_at_hand():
        return found
    plan, bound = asked_solver(problem, found.plan, asked.plan.proof_seconds)
    closer = found.bound_usd if bound is None else min(found.bound_usd, bound)
    if plan is not None and fits(problem, plan):
        worth = plan_worth(problem, plan)
        if worth > found.value_usd + 1e-6:
            return Found(plan, worth, max(closer, worth), "solver")
    return Found(found.plan, found.value_usd, max(closer, found.value_usd), "prices")


def former_choices(asked: Asked, problem: Problem) -> Array | None:
    """The former plan on the years ahead, as far as it goes and may be; None without one."""
    if not asked.former:
        return None
    plan = np.full((problem.units, problem.years), REST)
    for unit, unit_id in enumerate(problem.unit_ids):
        for year in range(problem.years):
            told = asked.former.get((unit_id, problem.first_year + year))
            if told is not None:
                plan[unit, year] = told
    return plan
