"""How near the least bound and the plans come to what a solver of linear programs says is least."""

from dataclasses import replace
from functools import cache
from itertools import chain

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from pipeline.ahead.search.cooling import NARROWEST, WIDEST, Soft, cooled
from pipeline.ahead.search.descent import least_bound
from pipeline.ahead.search.engine import find_plan
from pipeline.ahead.search.prices import priced
from pipeline.ahead.search.problem import BURN_OF, Limit, fits, plan_worth, short_aum, used
from pipeline.ahead.search.solver import written
from pipeline.ahead.search.sweeps import Sweep, repaired, swept
from pipeline.ahead.treatments import TREATMENTS
from pipeline.ahead.unit_years import best_years
from tests.benchmarks.bench_plan import made_problem


@cache
def with_seed(units, seed):
    """A made property whose burns also take of a supply that adds up over the years."""
    problem = made_problem(units, seed, years=6)
    seed_use = 3.0 * problem.acres[:, None] * BURN_OF
    supply = np.linspace(0.5, 3.0, problem.years) * problem.acres.sum()
    return replace(
        problem,
        limits=(*problem.limits, Limit("own_seed", "", seed_use, supply, adds_up=True)),
    )


def relaxed_usd(problem):
    """Worth [$] of the best program in which parts of treatments are allowed."""
    program, _ = written(problem)
    low, high, columns, factors = zip(*program.rows, strict=True)
    ends = np.cumsum([0, *map(len, columns)])
    cells = [list(chain.from_iterable(parts)) for parts in (factors, columns)]
    table = csr_array((*cells, ends), shape=(len(low), len(program.worth)))
    within = [LinearConstraint(table, low, high)]
    best = milp(-np.array(program.worth), bounds=Bounds(0, program.most), constraints=within)
    assert best.success
    return -best.fun


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_least_bound_is_that_of_the_relaxed_program(seed):
    """The least bound by prices is the best of the program with parts of treatments.

    That it is equal where each unit's own program has whole corners is a theorem (Geoffrion,
    Mathematical Programming Study 2, 1974, from memory); SciPy solves the program.
    """
    problem = with_seed(12, seed)
    least_usd = relaxed_usd(problem)
    found_usd = least_bound(problem, 400).bound_usd
    assert least_usd - 1e-6 * abs(least_usd) <= found_usd <= 1.01 * least_usd


@pytest.mark.parametrize("seed", [0, 1])
def test_plan_of_many_units_is_within_half_a_percent_of_the_bound(seed):
    found = find_plan(made_problem(160, seed))
    assert found.gap_pct <= 0.5
    assert fits(made_problem(160, seed), found.plan)


def test_cooled_plans_are_better_than_units_own_plans_made_to_fit():
    """Where a fifth of the ground may burn, which is less than the units would take."""
    for seed in range(3):
        problem = made_problem(40, seed)
        (cap,) = problem.limits
        tight = replace(cap, most=np.full(problem.years, 0.2 * problem.acres.sum()))
        problem = replace(problem, limits=(tight,))
        prices = least_bound(problem, 100).prices
        offered = priced(problem, prices)
        own = best_years(problem, offered)[1]
        soft = cooled(problem, own, prices, 12, range(40))
        plans = [repaired(problem, plan, offered, range(40)) for plan in (own, soft)]
        before, after = (swept(problem, plan, 8) for plan in plans)
        assert fits(problem, after)
        assert plan_worth(problem, after) > plan_worth(problem, before) + problem.burn_usd.mean()


@pytest.fixture
def soft():
    """A plan in work in which all that is shared is at work."""
    problem = with_seed(8, 3)
    problem = replace(problem, demand_aum=problem.demand_aum * 0 + 180.0)
    prices = least_bound(problem, 60).prices
    return Soft(problem, best_years(problem, priced(problem, prices))[1], prices)


def changed(plan, unit, year, treatment):
    plan = plan.copy()
    plan[unit, year] = treatment
    return plan


def test_at_no_width_the_herd_costs_what_it_is_short_of(soft):
    problem, plan = soft.problem, soft.sweep.plan
    for unit in range(problem.units):
        usd = soft._herd_usd(unit, 1e-9)
        for year in range(problem.years):
            for treatment in range(len(TREATMENTS)):
                short = short_aum(problem, changed(plan, unit, year, treatment))[year]
                assert usd[year, treatment] == pytest.approx(
                    problem.short_usd_aum * short, abs=1e-3
                )


def test_where_all_is_just_fed_an_aum_is_worth_its_price(soft):
    """Half an AUM more and half less, over a wide width: the slope at the kink is the price."""
    given, own = soft.sweep.given, soft.problem.supply_aum[0]
    soft.problem = replace(
        soft.problem,
        demand_aum=given - own[soft.sweep.plan[0]],
        supply_aum=np.tile(np.linspace(-0.5, 0.5, len(TREATMENTS)), (soft.problem.units, 1)),
    )
    soft.sweep.given = soft.problem.demand_aum + soft.problem.supply_aum[0][soft.sweep.plan[0]]
    usd = soft._herd_usd(0, WIDEST)
    assert usd[:, 0] - usd[:, -1] == pytest.approx(soft.prices.herd, rel=0.05, abs=0.05)


def of_years(use, problem):
    return np.tile(use, (problem.years, 1))


@pytest.mark.parametrize("number", [0, 1])
def test_limits_cost_nothing_far_below_and_ever_more_beyond(soft, number):
    """A supply that adds up is overdrawn in each year from the first that takes too much on."""
    problem, limit = soft.problem, soft.problem.limits[number]
    roomy = replace(limit, most=limit.most + 1e6)
    for wide in (WIDEST, NARROWEST):
        soft.problem = replace(problem, limits=(roomy,) * 2)
        assert (soft._limit_usd(0, number, of_years(limit.use[0], problem), wide) == 0.0).all()
    for width in (1.0, NARROWEST):
        soft.problem = replace(problem, limits=(replace(limit, most=limit.most * 0.0),) * 2)
        burn = soft._limit_usd(0, number, of_years(limit.use[0], problem), width)[:, BURN_OF].max(
            axis=1
        )
        years = np.arange(problem.years, 0, -1) if limit.adds_up else np.ones(problem.years)
        least = soft.burn_usd * limit.use[0].max() / soft.sizes[number] / width * years
        assert (burn >= least - 1e-6).all()


def test_what_a_plan_in_work_takes_is_kept_in_step(soft):
    problem = soft.problem
    for width in (8.0, 0.5):
        for unit in range(problem.units):
            soft.plan_anew(unit, width)
    fresh = Sweep(problem, soft.sweep.plan)
    for kept, anew in zip(soft.sweep.taken, fresh.taken, strict=True):
        assert kept == pytest.approx(anew)
    assert soft.sweep.given == pytest.approx(fresh.given)
    assert (soft.sweep.burning == fresh.burning).all()
    assert used(problem, problem.limits[1], fresh.plan) == pytest.approx(np.cumsum(fresh.taken[1]))
