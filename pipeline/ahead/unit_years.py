"""The best years of units by themselves: an exact dynamic program, many units at once or one.

Backward over the years: what each state is worth from a year on, by the best of its arcs.
"""

import numpy as np

from pipeline.ahead.search.problem import BROKEN_USD, FORBIDDEN, Array, Problem

UNITS_AT_ONCE = 256
"""Units whose states are in memory at once."""


def arc_worth(problem: Problem, units: Array) -> tuple[Array, Array]:
    """Worth [$] of each arc for some units, arcs by units: under the rules, and without them."""
    kinds = problem.kind[units]
    free = problem.arc_worth_ac[kinds].T * problem.acres[units]
    broken = problem.arc_broken[kinds].T > 0
    return np.where(broken, FORBIDDEN, free), free - BROKEN_USD * broken


def best_years(problem: Problem, offered: Array) -> tuple[Array, Array]:
    """Worth [$] of the best years of each unit, and its treatments.

    ``offered`` is what a treatment is worth by unit, year and treatment, state left out; of equal
    ones the first treatment is taken.
    """
    worth = np.empty(problem.units)
    plan = np.empty((problem.units, problem.years), dtype=int)
    for low in range(0, problem.units, UNITS_AT_ONCE):
        units = np.arange(low, min(low + UNITS_AT_ONCE, problem.units))
        worth[units], plan[units] = _best_of(problem, units, offered[units])
    return worth, plan


def _best_of(problem: Problem, units: Array, offered: Array) -> tuple[Array, Array]:
    """The best years of some units."""
    arcs, years = problem.arcs, problem.years
    ruled, free = arc_worth(problem, units)
    later = np.zeros((years + 1, len(arcs.states), len(units)))
    for year in reversed(range(years)):
        of_arc = _in_year(ruled, free, problem.settled[units, year])
        of_arc = of_arc + offered[:, year].T[arcs.treatment]
        of_arc += later[year + 1][arcs.end]
        later[year] = np.maximum.reduceat(of_arc, arcs.first, axis=0)
    return later[0][problem.start[units], np.arange(len(units))], _walk(
        problem, units, offered, (ruled, free), later
    )


def _in_year(ruled: Array, free: Array, settled: Array) -> Array:
    """Worth of the arcs in a year: of settled units without the rules."""
    return np.where(settled, free, ruled) if settled.any() else ruled


def _walk(
    problem: Problem,
    units: Array,
    offered: Array,
    of_arcs: tuple[Array, Array],
    later: Array,
) -> Array:
    """Treatments along the best arcs, year by year."""
    arcs, rows = problem.arcs, np.arange(len(units))[:, None]
    plan = np.empty((len(units), problem.years), dtype=int)
    state = problem.start[units]
    for year in range(problem.years):
        arc = arcs.arc_of[state]
        of_arc = _in_year(*of_arcs, problem.settled[units, year])
        worth = of_arc[arc, rows] + offered[:, year] + later[year + 1][arcs.end[arc], rows]
        plan[:, year] = np.where(arc < 0, -np.inf, worth).argmax(axis=1)
        state = arcs.end[arc[rows[:, 0], plan[:, year]]]
    return plan


class OneUnit:
    """The years of one unit, asked again and again with other worth of its treatments."""

    def __init__(self, problem: Problem, unit: int) -> None:
        ruled, free = arc_worth(problem, np.array([unit]))
        self.arcs, self.start = problem.arcs, int(problem.start[unit])
        settled = problem.settled[unit]
        self.of_year = [(free if one else ruled)[:, 0] for one in settled]

    def later(self, offered: Array) -> Array:
        """Worth [$] of each state from each year on."""
        arcs, years = self.arcs, len(self.of_year)
        later = np.zeros((years + 1, len(arcs.states)))
        of_arcs = offered[:, arcs.treatment]
        for year in reversed(range(years)):
            of_arc = of_arcs[year] + self.of_year[year] + later[year + 1][arcs.end]
            later[year] = np.maximum.reduceat(of_arc, arcs.first)
        return later

    def best(self, offered: Array) -> tuple[float, Array]:
        """Worth [$] of the best years and their treatments; of equal ones the first."""
        later, arcs, state = self.later(offered), self.arcs, self.start
        plan = np.empty(len(self.of_year), dtype=int)
        for year, of_arc in enumerate(self.of_year):
            low = arcs.first[state]
            high = arcs.first[state + 1] if state + 1 < len(arcs.first) else len(arcs.end)
            part = slice(low, high)
            worth = of_arc[part] + offered[year, arcs.treatment[part]]
            arc = low + int((worth + later[year + 1][arcs.end[part]]).argmax())
            plan[year], state = arcs.treatment[arc], arcs.end[arc]
        return float(later[0][self.start]), plan

    def by_choice(self, offered: Array) -> Array:
        """Worth [$] of the best years with each treatment in each year, all years of its own."""
        later, arcs = self.later(offered), self.arcs
        table = np.full(offered.shape, FORBIDDEN)
        before = np.full(len(arcs.states), FORBIDDEN)
        before[self.start] = 0.0
        for year, of_arc in enumerate(self.of_year):
            step = before[arcs.start] + of_arc + offered[year, arcs.treatment]
            np.maximum.at(table[year], arcs.treatment, step + later[year + 1][arcs.end])
            before = np.full(len(arcs.states), FORBIDDEN)
            np.maximum.at(before, arcs.end, step)
        return table
