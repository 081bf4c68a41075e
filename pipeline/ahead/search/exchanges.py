"""Beyond sweeps: one unit is given another year by chance, and the others make room.

A plan that no unit alone can better may still be bettered by several: a unit takes the place of
another, or two burn together. Chance is seeded, so that the same problem gives the same plan.
"""

import numpy as np

from pipeline.ahead.search.problem import FORBIDDEN, Array, Problem, fits, plan_worth
from pipeline.ahead.search.sweeps import ROUNDING, Sweep
from pipeline.ahead.treatments import TREATMENTS

LEEWAYS = (0.0, 0.5)
"""How much less than the best a plan may be worth that is gone on from, in typical burns: nothing
at first, then so much, which falls to nothing (record-to-record travel: Dueck, Journal of
Computational Physics 104, 1993). Judgment of this program: found by trial on made properties."""


def exchanged(problem: Problem, plan: Array, calls: int) -> Array:
    """The best plan after trials that take so many plannings of a unit for each leeway."""
    for leeway in LEEWAYS:
        plan = _led_on(problem, plan, calls, leeway)
    return plan


def _led_on(problem: Problem, plan: Array, calls: int, leeway: float) -> Array:
    """The best plan of trials one after the other, each from the last that was good enough."""
    chance = np.random.default_rng(0)
    free = np.argwhere((problem.barred == 0) & ~problem.settled[:, :, None])
    leeway_usd = leeway * float(problem.burn_usd.mean())
    now = best = plan
    worth, left = plan_worth(problem, plan), calls
    while left > 0 and len(free):
        unit, year, treatment = free[chance.integers(len(free))]
        if now[unit, year] == treatment:
            left -= 1
            continue
        order = chance.permutation(problem.units).tolist()
        found, taken = tried(problem, now, (unit, year, treatment), order)
        left -= taken
        gain = plan_worth(problem, found) - worth
        if gain > -leeway_usd * max(left, 0) / calls - ROUNDING and fits(problem, found):
            now = found
            if gain > ROUNDING:
                best, worth = found, worth + gain
    return best


def tried(
    problem: Problem, plan: Array, trial: tuple[int, int, int], order: list[int]
) -> tuple[Array, int]:
    """The plan where a unit has a treatment in a year, and how many plannings of a unit it took.

    The others give way in an order until all fits; then each one looks for what is left to it.
    """
    unit, year, treatment = trial
    sweep = Sweep(problem, plan)
    offered = sweep.offered(unit, shared=False)
    offered[year, np.arange(len(TREATMENTS)) != treatment] = FORBIDDEN
    best, years = sweep.one(unit).best(offered)
    if best < FORBIDDEN / 2:
        return plan, 1
    sweep.put(unit, years)
    others, taken = [other for other in order if other != unit], 1
    for other in others:
        if fits(problem, sweep.plan):
            break
        strict = sweep.offered(other, as_now=False)
        if (strict[np.arange(problem.years), sweep.plan[other]] <= FORBIDDEN / 2).any():
            sweep.put(other, sweep.one(other).best(strict)[1])
            taken += 1
    for other in (*others, unit):
        sweep.improve(other)
    return sweep.plan, taken + len(order)
