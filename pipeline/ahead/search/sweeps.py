"""From units' own plans to a plan that keeps what they share, and on until no unit can do better.

One unit after the other is planned anew, exactly, with all others as they are: no worse at any
turn. Units go in the order of their names.
"""

from collections.abc import Iterable

import numpy as np

from pipeline.ahead.search.problem import BURN_OF, FORBIDDEN, LABEL_OF, Array, Problem, line_ft
from pipeline.ahead.treatments import REST
from pipeline.ahead.unit_years import OneUnit

ROUNDING = 1e-6
"""Gains and breaches smaller than this are left by rounding."""


class Sweep:
    """A plan in work, with what its years take of what is shared."""

    def __init__(self, problem: Problem, plan: Array) -> None:
        self.problem, self.plan = problem, plan.copy()
        rows = np.arange(problem.units)[:, None]
        feet = line_ft(problem, plan)
        self.taken = [
            limit.use[rows, plan].sum(axis=0) + limit.per_ft * feet for limit in problem.limits
        ]
        self.given = problem.supply_aum[rows, plan].sum(axis=0)
        burns = BURN_OF[plan]
        groups = [burns[members].sum(axis=0) for members in problem.groups]
        self.burning = np.array(groups, dtype=int).reshape(len(groups), problem.years)
        self.units: dict[int, OneUnit] = {}

    def lines_ft(self, unit: int) -> Array:
        """Line [ft] at a unit by year and treatment, all others as they are."""
        near, feet = self.problem.beside[unit]
        differs = LABEL_OF[self.plan[near]][:, :, None] != LABEL_OF
        between: Array = np.tensordot(feet, differs, axes=1)
        return between + (LABEL_OF >= 0) * self.problem.outer_ft[unit]

    def offered(self, unit: int, *, as_now: bool = True, shared: bool = True) -> Array:
        """What each treatment is worth to all in each year, all other units as they are.

        Forbidden where it would break what units share; ``as_now`` allows what takes no more than
        the unit takes now, else what takes no more than a rest. Not ``shared``: as if the unit
        were alone within the limits.
        """
        problem, lines = self.problem, self.lines_ft(unit)
        now, own_aum = self.plan[unit], problem.supply_aum[unit]
        before = self.given - own_aum[now]
        short = np.maximum(0.0, (problem.demand_aum - before)[:, None] - own_aum)
        offered = self.alone(unit, lines) - problem.short_usd_aum * short
        if shared:
            refused = list(self.refused(unit, lines, as_now=as_now).values())
            offered[np.any(refused, axis=0)] = FORBIDDEN
        return offered

    def alone(self, unit: int, lines: Array) -> Array:
        """What each treatment is worth in each year, of what is shared the lines alone counted."""
        problem = self.problem
        offered = problem.worth[unit] - problem.line_usd_ft * lines
        return np.where(problem.barred[unit] > 0, FORBIDDEN, offered)

    def refused(self, unit: int, lines: Array, *, as_now: bool) -> dict[str, Array]:
        """Years and treatments that what units share has no room for, by the code of the rule."""
        problem, now = self.problem, self.plan[unit]
        years = np.arange(problem.years)
        found = {"": np.zeros(lines.shape, dtype=bool)}
        for limit, taken in zip(problem.limits, self.taken, strict=True):
            own = limit.use[unit] + limit.per_ft * lines
            left = limit.most - summed(taken - own[years, now], limit.adds_up)
            if limit.adds_up:
                left = np.minimum.accumulate(left[::-1])[::-1]
            least = own[years, now] if as_now else own[:, REST]
            more = own > least[:, None] + ROUNDING
            full = more & (own > left[:, None] + ROUNDING)
            found[limit.code] = found.get(limit.code, False) | full
        numbers = problem.groups_of[unit]
        if len(numbers):
            others = self.burning[numbers] - BURN_OF[now]
            full = (others >= problem.group_most[numbers]).any(axis=0)
            found[problem.group_code] = full[:, None] & BURN_OF
        return found

    def one(self, unit: int) -> OneUnit:
        """The unit's own years, kept for the next time."""
        if unit not in self.units:
            self.units[unit] = OneUnit(self.problem, unit)
        return self.units[unit]

    def put(self, unit: int, years: Array) -> None:
        """Give a unit other years."""
        problem, now, all_years = self.problem, self.plan[unit], np.arange(self.problem.years)
        lines = self.lines_ft(unit)
        for limit, taken in zip(problem.limits, self.taken, strict=True):
            own = limit.use[unit] + limit.per_ft * lines
            taken += own[all_years, years] - own[all_years, now]
        own_aum = problem.supply_aum[unit]
        self.given += own_aum[years] - own_aum[now]
        change = BURN_OF[years].astype(int) - BURN_OF[now]
        self.burning[problem.groups_of[unit]] += change
        self.plan[unit] = years

    def improve(self, unit: int) -> bool:
        """Plan a unit anew where that is better for all; whether it was."""
        offered = self.offered(unit)
        best, years = self.one(unit).best(offered)
        if best <= self.worth_now(unit, offered) + ROUNDING:
            return False
        self.put(unit, years)
        return True

    def worth_now(self, unit: int, offered: Array) -> float:
        """Worth [$] of the unit's years as they are, by what is offered."""
        one, state, total = self.one(unit), int(self.problem.start[unit]), 0.0
        for year, treatment in enumerate(self.plan[unit]):
            arc = one.arcs.arc_of[state, treatment]
            if arc < 0:
                return FORBIDDEN
            total += offered[year, treatment] + one.of_year[year][arc]
            state = one.arcs.end[arc]
        return float(total)


def summed(taken: Array, adds_up: bool) -> Array:
    """What is taken by the end of each year."""
    return np.cumsum(taken) if adds_up else taken


def swept(problem: Problem, plan: Array, most_sweeps: int) -> Array:
    """A plan after sweeps over all units, until none can do better.

    Only units beside one that changed, or that share something with it, could; all are asked.
    """
    sweep = Sweep(problem, plan)
    for _ in range(most_sweeps):
        changed = [sweep.improve(unit) for unit in range(problem.units)]
        if not any(changed):
            break
    return sweep.plan


def repaired(problem: Problem, plan: Array, offered: Array, order: Iterable[int]) -> Array:
    """A plan that keeps what is shared, from units' own: those that do not fit are planned anew.

    ``offered`` is what each treatment is worth at the prices, so that what others will want is
    thought of.
    """
    sweep = Sweep(problem, plan)
    for unit in order:
        allowed = sweep.offered(unit, as_now=False) > FORBIDDEN / 2
        if not allowed[np.arange(problem.years), sweep.plan[unit]].all():
            own = np.where(allowed, offered[unit], FORBIDDEN)
            sweep.put(unit, sweep.one(unit).best(own)[1])
    return sweep.plan
