"""Beyond sweeps: one unit is given what it would have if it were alone, and the others make room.

A plan that no unit alone can better may still be bettered by two: a unit takes the place of
another, or two burn together. What comes of each trial is kept only where all of it is better.
"""

import numpy as np

from pipeline.ahead.search.problem import FORBIDDEN, Array, Problem, fits, plan_worth
from pipeline.ahead.search.sweeps import ROUNDING, Sweep
from pipeline.ahead.treatments import TREATMENTS

Trial = tuple[float, int, int, int]
"""What a trial costs its unit [$] at first, the unit, the year and the treatment it is given."""


def exchanged(problem: Problem, plan: Array, calls: int) -> Array:
    """A plan after trials that take so many plannings of a unit, the most promising first."""
    best, worth = plan, plan_worth(problem, plan)
    while calls > 0:
        better = None
        for trial in trials(problem, best):
            found, taken = tried(problem, best, trial)
            calls -= taken
            gain = plan_worth(problem, found) - worth
            if gain > ROUNDING and fits(problem, found):
                better = found
                break
            if calls <= 0:
                break
        if better is None:
            break
        best, worth = better, plan_worth(problem, better)
    return best


def trials(problem: Problem, plan: Array) -> list[Trial]:
    """What else each unit might have in each year, the least costly to itself first."""
    sweep = Sweep(problem, plan)
    found: list[Trial] = []
    for unit in range(problem.units):
        offered = sweep.offered(unit, shared=False)
        table = sweep.one(unit).by_choice(offered)
        now = sweep.worth_now(unit, offered)
        for year, chosen in enumerate(plan[unit]):
            for treatment in range(len(TREATMENTS)):
                if treatment == chosen:
                    continue
                worth = float(table[year, treatment])
                if worth > FORBIDDEN / 2:
                    found.append((now - worth, unit, year, treatment))
    return sorted(found)


def tried(problem: Problem, plan: Array, trial: Trial) -> tuple[Array, int]:
    """The plan that comes of a trial, and how many plannings of a unit it took."""
    _, unit, year, treatment = trial
    sweep = Sweep(problem, plan)
    offered = sweep.offered(unit, shared=False)
    only = np.full(offered.shape[1], True)
    only[treatment] = False
    offered[year, only] = FORBIDDEN
    sweep.put(unit, sweep.one(unit).best(offered)[1])
    taken = 1
    others = [other for other in range(problem.units) if other != unit]
    for other in others:
        strict = sweep.offered(other, as_now=False)
        if (strict[np.arange(problem.years), sweep.plan[other]] <= FORBIDDEN / 2).any():
            sweep.put(other, sweep.one(other).best(strict)[1])
            taken += 1
    for other in others:
        sweep.improve(other)
        taken += 1
    sweep.improve(unit)
    return sweep.plan, taken + 1
