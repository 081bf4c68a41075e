"""The bound: what no plan can be worth more than, by yearly prices on all that units share.

Each limit, group, neighboring line and the herd gets a price a year; at these prices each unit is
planned by itself, exactly. Whatever the prices, the sum is no less than the worth of any plan
(Lagrangian relaxation); prices are moved to where it is least (``descent``), and the units' own
plans at them are where the search for a plan begins.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pipeline.ahead.search.problem import BURN_OF, FORBIDDEN, LABEL_OF, Array, Problem


@dataclass(frozen=True)
class Prices:
    """Prices by year, or anything else that there is one of for each price.

    Of limits [$ per unit of it], groups [$ a burn], the herd [$/AUM], and of each side of a line
    between neighbors, by what burns there, as a share of what the line costs.
    """

    limits: Array
    groups: Array
    herd: Array
    sides: Array

    @classmethod
    def none(cls, problem: Problem) -> "Prices":
        """Everything free; a line is charged to the unit that burns."""
        years = problem.years
        return cls(
            np.zeros((len(problem.limits), years)),
            np.zeros((len(problem.groups), years)),
            np.zeros(years),
            np.zeros((len(problem.labels), len(problem.pairs), years)),
        )

    @property
    def parts(self) -> tuple[Array, ...]:
        """All four tables."""
        return self.limits, self.groups, self.herd, self.sides


def each(change: Callable[..., Array], *prices: Prices) -> Prices:
    """What is made of the tables of prices, one kind after the other."""
    return Prices(*(change(*tables) for tables in zip(*(p.parts for p in prices), strict=True)))


def yearly(problem: Problem, prices: Prices) -> Array:
    """Price of each limit for what is taken in a year: of one that adds up, of all years on."""
    rows = [
        np.cumsum(price[::-1])[::-1] if limit.adds_up else price
        for limit, price in zip(problem.limits, prices.limits, strict=True)
    ]
    return np.array(rows).reshape(len(problem.limits), problem.years)


def line_usd_ft(problem: Problem, of_year: Array) -> Array:
    """What a foot of line costs in each year, with what it takes of limits."""
    per_ft = np.array([limit.per_ft for limit in problem.limits])
    price: Array = problem.line_usd_ft + per_ft @ of_year
    return price


def priced(problem: Problem, prices: Prices) -> Array:
    """What each treatment is worth to each unit in each year at the prices."""
    of_year = yearly(problem, prices)
    offered = problem.worth + problem.supply_aum[:, None, :] * prices.herd[:, None]
    for limit, price in zip(problem.limits, of_year, strict=True):
        offered -= limit.use[:, None, :] * price[:, None]
    burn = problem.outer_ft[:, None] * line_usd_ft(problem, of_year)
    for members, price in zip(problem.groups, prices.groups, strict=True):
        burn[members] += price
    offered -= burn[:, :, None] * BURN_OF
    offered -= _sides_usd(problem, prices, of_year)
    return np.where(problem.barred > 0, FORBIDDEN, offered)


def _sides_usd(problem: Problem, prices: Prices, of_year: Array) -> Array:
    """What the lines between neighbors cost each unit by year and treatment, either way.

    No layout pays less than it is charged so: a line costs the same whatever differs beside it.
    """
    charge = prices.sides * (problem.pair_ft[:, None] * line_usd_ft(problem, of_year))
    total = np.zeros(problem.worth.shape)
    for label, usd in zip(problem.labels, charge, strict=True):
        own = np.zeros(total.shape[:2])
        np.add.at(own, problem.pairs[:, 0], usd)
        np.subtract.at(own, problem.pairs[:, 1], usd)
        total[:, :, label == LABEL_OF] = own[:, :, None]
    return total


def bound_usd(problem: Problem, prices: Prices, worth: Array) -> float:
    """The bound [$] at the prices, from the worth of each unit's best years."""
    most = np.array([limit.most for limit in problem.limits]).reshape(prices.limits.shape)
    return float(
        worth.sum()
        + (prices.limits * most).sum()
        + (prices.groups * problem.group_most).sum()
        - (prices.herd * problem.demand_aum).sum()
    )


def slopes(problem: Problem, prices: Prices, plan: Array) -> Prices:
    """How the bound falls with each price, at the units' own plans."""
    rows, label, burns = np.arange(problem.units)[:, None], LABEL_OF[plan], BURN_OF[plan]
    one, other = label[problem.pairs[:, 0]], label[problem.pairs[:, 1]]
    apart = np.array([(one == n).astype(float) - (other == n) for n in problem.labels])
    feet = (problem.outer_ft[:, None] * burns).sum(axis=0)
    feet += (problem.pair_ft[:, None] * (prices.sides * apart).sum(axis=0)).sum(axis=0)
    over = []
    for limit in problem.limits:
        total = limit.use[rows, plan].sum(axis=0) + limit.per_ft * feet
        over.append((np.cumsum(total) if limit.adds_up else total) - limit.most)
    at_once = [burns[members].sum(axis=0) for members in problem.groups]
    return Prices(
        np.array(over).reshape(prices.limits.shape),
        np.array(at_once).reshape(prices.groups.shape) - problem.group_most,
        problem.demand_aum - problem.supply_aum[rows, plan].sum(axis=0),
        apart,
    )
