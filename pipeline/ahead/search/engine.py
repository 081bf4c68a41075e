"""The engine: a plan that no unit alone can better, and how good any plan could be at most."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from pipeline.ahead.search.cooling import cooled
from pipeline.ahead.search.descent import least_bound
from pipeline.ahead.search.exchanges import exchanged
from pipeline.ahead.search.prices import priced
from pipeline.ahead.search.problem import Array, Problem, fits, plan_worth
from pipeline.ahead.search.sweeps import ROUNDING, repaired, swept
from pipeline.ahead.treatments import REST, WAIT
from pipeline.ahead.unit_years import best_years

FoundBy = Literal["prices", "solver"]


@dataclass(frozen=True)
class Found:
    """A plan: the treatment of each unit and year, its worth [$], and the bound [$]."""

    plan: Array
    value_usd: float
    bound_usd: float
    found_by: FoundBy = "prices"

    @property
    def gap_pct(self) -> float:
        """How much less the plan is worth than the bound, in percent of the bound."""
        return gap_pct(self.value_usd, self.bound_usd)


def gap_pct(value_usd: float, bound_usd: float) -> float:
    """Difference to the bound in percent of its size; 0 where rounding alone is left."""
    left = bound_usd - value_usd
    return 0.0 if left <= 1e-6 * max(1.0, abs(bound_usd)) else 100.0 * left / abs(bound_usd or 1.0)


@dataclass(frozen=True)
class Effort:
    """How long is searched, so that the clock has no part in the plan.

    ``rounds`` of prices, ``coolings`` of a plan with so many ``sweeps`` each, and ``exchanges``.
    """

    rounds: int
    coolings: int
    sweeps: int
    exchanges: int


def effort_of(units: int) -> Effort:
    """The search that a number of units is given.

    Judgment of this program: so that 500 units take some seconds and 5,000 less than a minute.
    """
    if units <= 150:
        coolings = min(12, 480 // max(1, units))
        return Effort(rounds=250, coolings=coolings, sweeps=16, exchanges=2000)
    if units <= 1500:
        return Effort(rounds=60, coolings=1, sweeps=8, exchanges=0)
    return Effort(rounds=80, coolings=1, sweeps=8, exchanges=0)


def find_plan(problem: Problem, former: Array | None = None) -> Found:
    """The best plan found, and the bound. The same problem gives the same plan.

    Where it begins: units' own plans at the last prices, cooled, where there is time several times
    in other orders of the units; and the former plan.
    """
    effort, chance = effort_of(problem.units), np.random.default_rng(0)
    at = least_bound(problem, effort.rounds)
    offered = priced(problem, at.prices)
    own = best_years(problem, offered)[1]
    starts = [] if former is None else [former]
    for turn in range(effort.coolings):
        order = chance.permutation(problem.units) if turn else np.arange(problem.units)
        starts.append(cooled(problem, own, at.prices, effort.sweeps, order.tolist()))
    best: tuple[float, Array] | None = None
    for start in starts:
        plan = repaired(problem, start, offered, range(problem.units))
        plan = swept(problem, plan, effort.sweeps)
        if fits(problem, plan) and (best is None or plan_worth(problem, plan) > best[0] + ROUNDING):
            best = (plan_worth(problem, plan), plan)
    if best is None:
        plan = swept(problem, unburned(problem), effort.sweeps)
        best = (plan_worth(problem, plan), plan)
    if effort.exchanges:
        plan = exchanged(problem, best[1], effort.exchanges)
        best = (plan_worth(problem, plan), plan)
    return Found(best[1], best[0], max(at.bound_usd, best[0]))


def unburned(problem: Problem) -> Array:
    """A plan in which nothing is done but what is settled."""
    plan = np.full((problem.units, problem.years), REST)
    waits = problem.barred[:, :, REST] > 0
    plan[waits] = WAIT
    closed = np.take_along_axis(problem.barred, plan[:, :, None], axis=2)[:, :, 0] > 0
    first_open = (problem.barred == 0).argmax(axis=2)
    return np.where(closed, first_open, plan)
