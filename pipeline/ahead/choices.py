"""The step that plans: from what is known of each unit to a treatment of each of its years."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.ahead.build import Asked, build_problem
from pipeline.ahead.layers import PLAN_CHOICES
from pipeline.ahead.own_seed import own_seed
from pipeline.ahead.search.engine import Found, find_plan
from pipeline.ahead.search.problem import Array, Problem, fits, plan_worth
from pipeline.ahead.search.solver import asked_solver, solver_at_hand
from pipeline.ahead.settings import PLANNED_CASE, PlanSettings, WhatIf
from pipeline.ahead.settled import settle_years
from pipeline.ahead.treatments import CODES, REST, UNDECIDED
from pipeline.ahead.year_rows import year_rows
from pipeline.core.layer import empty
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.season.options.settings import AimsSettings
from pipeline.season.settings import HerdSettings, SeasonSettings
from pipeline.work.settings import CostSettings


def choose_years(
    plan_units: pd.DataFrame,
    plan_edges: pd.DataFrame,
    planned_work: gpd.GeoDataFrame,
    fixed_years: pd.DataFrame,
    former_plan: pd.DataFrame,
    herd_balance: pd.DataFrame,
    own_harvest: pd.DataFrame,
    treatment_log: pd.DataFrame,
    property: pd.DataFrame,
    season_settings: SeasonSettings,
    herd: HerdSettings,
    aims: AimsSettings,
    costs: CostSettings,
    mowing: MowingSettings,
    plan: PlanSettings,
) -> pd.DataFrame:
    """Table ``plan_choices``: a treatment of each unit and year, in the plan and each what-if.

    Undecided where not enough is known to choose one.
    """
    if plan_units.empty:
        return empty(PLAN_CHOICES)
    season = int(property["season"].iloc[0])
    demand = herd_balance["demand_aum"].fillna(0.0)
    former = {
        (row.unit_id, int(row.year)): CODES.index(row.treatment)
        for row in former_plan.itertuples()
        if row.treatment != UNDECIDED
    }
    asked = Asked(
        units=plan_units.sort_values("unit_id").reset_index(drop=True),
        edges=plan_edges,
        first_year=season,
        demand_aum=float(demand.iloc[0]) if len(demand) else 0.0,
        seed=own_seed(own_harvest, treatment_log, plan),
        settled=settle_years(
            plan_units, planned_work, fixed_years, season, season_settings, herd, plan
        ),
        former=former,
        plan=plan,
        season=season_settings,
        aims=aims,
        costs=costs,
        mowing=mowing,
    )
    cases = [_case(asked, PLANNED_CASE).assign(free_value_usd=_free_value_usd(asked))]
    cases += [_case(changed(asked, one), one.name) for one in plan.what_if]
    return pd.concat(cases, ignore_index=True)


def changed(asked: Asked, case: WhatIf) -> Asked:
    """What is asked of a plan, as a what-if has it; all else is as it is for the plan."""
    told = {
        name: value
        for name in ("most_burned_pct", "crew_days", "refuge")
        if (value := getattr(case, name)) is not None
    }
    return replace(
        asked,
        plan=asked.plan.model_copy(update=told),
        demand_aum=asked.demand_aum * case.herd_pct / 100.0,
    )


def _case(asked: Asked, name: str) -> pd.DataFrame:
    """Choices of the plan that is asked for, with its worth and bound."""
    problem = build_problem(asked)
    found = best_plan(asked, problem)
    return year_rows(asked, problem, found.plan).assign(
        case=name,
        value_usd=found.value_usd,
        bound_usd=found.bound_usd,
        found_by=found.found_by,
        own_seed_ac=asked.seed.year_ac,
        own_seed_from=asked.seed.told_by,
        scarce_species=asked.seed.scarce,
    )


def _free_value_usd(asked: Asked) -> float | None:
    """Worth [$] of the plan if units might touch; None where they may, or none does."""
    loose = asked.plan.model_copy(update={"refuge": "none"})
    if asked.plan.refuge != "apart" or not asked.edges["neighbor"].notna().any():
        return None
    other = replace(asked, plan=loose)
    return best_plan(other, build_problem(other)).value_usd


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
