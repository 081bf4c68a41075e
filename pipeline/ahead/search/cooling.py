"""From units' own plans to one: what they share is asked by its price first, then by its limit.

One unit after the other is planned anew, with all others as they are. At first a limit costs softly
about its price at the least bound, over a width of what many units take: so units find their places
among the others. The width narrows sweep by sweep until the limit stands as it is (graduated
optimization: Blake and Zisserman, Visual Reconstruction, 1987, from memory).
"""

from collections.abc import Iterable

import numpy as np

from pipeline.ahead.search.prices import Prices
from pipeline.ahead.search.problem import BURN_OF, Array, Problem
from pipeline.ahead.search.sweeps import Sweep, summed

WIDEST, NARROWEST = 64.0, 0.0625
"""Widths of the first and the last sweep, in what a unit takes. Judgment of this program: found by
trial on made properties."""


def cooled(
    problem: Problem, plan: Array, prices: Prices, sweeps: int, order: Iterable[int]
) -> Array:
    """A plan after so many sweeps in an order of units; what is shared may be overdrawn a little.

    ``prices`` are those of the least bound.
    """
    soft, order = Soft(problem, plan, prices), list(order)
    for width in np.geomspace(WIDEST, NARROWEST, sweeps):
        for unit in order:
            soft.plan_anew(unit, float(width))
    return soft.sweep.plan


class Soft:
    """A plan in work whose limits cost the more the more they are overdrawn."""

    def __init__(self, problem: Problem, plan: Array, prices: Prices) -> None:
        self.problem, self.prices = problem, prices
        self.sweep = Sweep(problem, plan)
        self.burn_usd = max(1.0, float(problem.burn_usd.mean())) if problem.units else 1.0
        self.sizes = [_size(limit.use) for limit in problem.limits]
        self.herd_aum = _size(problem.supply_aum)

    def plan_anew(self, unit: int, width: float) -> None:
        """Plan a unit anew where limits cost over a width, in what a unit takes."""
        lines = self.sweep.lines_ft(unit)
        offered = self.sweep.alone(unit, lines) - self._herd_usd(unit, width)
        for n, limit in enumerate(self.problem.limits):
            offered -= self._limit_usd(unit, n, limit.use[unit] + limit.per_ft * lines, width)
        offered -= self._groups_usd(unit, width)[:, None] * BURN_OF
        self.sweep.put(unit, self.sweep.one(unit).best(offered)[1])

    def _limit_usd(self, unit: int, number: int, own: Array, width: float) -> Array:
        """What a unit's own use of a limit costs by year and treatment.

        Of a limit that adds up, its use of a year costs in all years on.
        """
        limit, price = self.problem.limits[number], self.prices.limits[number]
        size = width * self.sizes[number]
        now = own[np.arange(self.problem.years), self.sweep.plan[unit]]
        over = summed(self.sweep.taken[number] - now, limit.adds_up) - limit.most

        def more_usd(over: Array, own: Array, price: Array) -> Array:
            return self._over_usd(over + own, price, size) - self._over_usd(over, price, size)

        if not limit.adds_up:
            return more_usd(over[:, None], own, price[:, None])
        total = np.zeros_like(own)
        for year in range(self.problem.years):
            total[: year + 1] += more_usd(over[year], own[: year + 1], price[year])
        return total

    def _over_usd(self, over: Array, price: Array, size: float) -> Array:
        """What a limit costs that is overdrawn by so much: nothing far below it.

        About the limit it rises over a size on either side, where it stands at its price; beyond
        it each size costs a typical burn more, so that it is kept in the end.
        """
        rise = np.maximum(0.0, 1.0 + over / size)
        return price * size * rise**2 / 2 + self.burn_usd / size * np.maximum(0.0, over)

    def _herd_usd(self, unit: int, width: float) -> Array:
        """What the herd's shortage costs by year and treatment of a unit.

        Where a size is left over it is nothing, where one is short each AUM costs what a shortage
        costs, and what the herd is priced at where all is just fed.
        """
        problem, price = self.problem, self.prices.herd[:, None]
        size = width * self.herd_aum
        own = problem.supply_aum[unit]
        before = self.sweep.given - own[self.sweep.plan[unit]]
        left = (before[:, None] + own - problem.demand_aum[:, None]) / size
        short, near = np.maximum(0.0, -left), np.clip(-left, 0.0, 1.0)
        steeper = problem.short_usd_aum - price
        fed = price * (1.0 - np.clip(left, 0.0, 1.0)) ** 2 / 2
        bend = steeper * (near**2 / 2 + (short - near))
        return size * (fed + price * short + bend)

    def _groups_usd(self, unit: int, width: float) -> Array:
        """What a burn of a unit costs in each year for the groups that are full without it."""
        problem, numbers = self.problem, self.problem.groups_of[unit]
        others = self.sweep.burning[numbers] - BURN_OF[self.sweep.plan[unit]]
        over = others + 1 - problem.group_most[numbers]
        usd = self.prices.groups[numbers] + self.burn_usd / width * over
        total: Array = np.where(over > 0, usd, 0.0).sum(axis=0)
        return total


def _size(use: Array) -> float:
    """What a typical unit takes or gives."""
    return max(1e-9, float(use.max(axis=1).mean())) if len(use) else 1.0
