"""The plan of years as plain arrays: units × years × treatments, with all that binds and weighs.

Each rule goes by a code of ``layers``; where it comes from stands with its setting. All worth is in
dollars: what is wished for by the owner's weights, less what is spent. Nothing here knows a layer.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from pipeline.ahead.search.states import Arcs
from pipeline.ahead.treatments import TREATMENTS

Array = np.ndarray


FORBIDDEN = -1e15
"""Worth of what may not be."""


BROKEN_USD = 1.0
"""What a rule broken in a settled year counts, so that of several times one that breaks none is
chosen. Judgment of this program: too little to weigh against anything else."""


BURN_OF = np.array([t.kind == "burn" for t in TREATMENTS])
"""Whether each treatment is a burn."""


LABEL_OF = np.where(BURN_OF, np.arange(len(TREATMENTS)), -1)
"""Burns that need no line between them have one label: those of one time. All else is -1."""


@dataclass(frozen=True)
class Limit:
    """What a year, or all years up to each, may take of something: acres, days, dollars.

    ``use`` is what each unit takes by each treatment, ``most`` what there is by year, and
    ``per_ft`` what a foot of line takes.
    """

    code: str
    name: str
    use: Array
    most: Array
    per_ft: float = 0.0
    adds_up: bool = False


@dataclass(frozen=True)
class Problem:
    """A plan to be found.

    Arrays over units, in the order of their names: ``acres``, ``start`` (number of the state before
    the first year), ``kind`` (row of ``arc_worth_ac`` and ``arc_broken``). ``barred`` numbers the
    static bar of each unit, year and treatment, 0 for none; in a ``settled`` year the rules between
    years do not hold. ``worth`` is what each treatment is worth in a year, ``supply_aum`` what it
    feeds. ``pairs`` are units along one edge, ``pair_ft`` the line between them and ``outer_ft``
    that along no other unit planned. Of the units of a group at most ``group_most`` burn in each
    year.
    """

    unit_ids: tuple[str, ...]
    first_year: int
    arcs: Arcs
    acres: Array
    start: Array
    kind: Array
    arc_worth_ac: Array
    arc_broken: Array
    barred: Array
    settled: Array
    worth: Array
    supply_aum: Array
    demand_aum: Array
    short_usd_aum: float
    limits: tuple[Limit, ...]
    pairs: Array
    pair_ft: Array
    outer_ft: Array
    line_usd_ft: float
    group_code: str = "refuge"
    groups: tuple[Array, ...] = ()
    group_most: Array = field(default_factory=lambda: np.zeros((0, 1), dtype=int))

    @property
    def units(self) -> int:
        """Number of units."""
        return len(self.unit_ids)

    @property
    def years(self) -> int:
        """Number of years."""
        return int(self.worth.shape[1])

    @cached_property
    def labels(self) -> tuple[int, ...]:
        """What may differ on the two sides of a line: no burn, or a burn of a time that is open."""
        open_burns = (self.barred == 0).any(axis=(0, 1)) & BURN_OF
        return -1, *np.flatnonzero(open_burns).tolist()

    @cached_property
    def beside(self) -> tuple[tuple[Array, Array], ...]:
        """Of each unit: the units along its edge, and the line [ft] between."""
        found: list[tuple[list[int], list[float]]] = [([], []) for _ in self.unit_ids]
        for (one, other), feet in zip(self.pairs.tolist(), self.pair_ft.tolist(), strict=True):
            for here, there in ((one, other), (other, one)):
                found[here][0].append(there)
                found[here][1].append(feet)
        return tuple((np.array(u, dtype=int), np.array(ft, dtype=float)) for u, ft in found)

    @cached_property
    def groups_of(self) -> tuple[Array, ...]:
        """Numbers of the groups that each unit is in."""
        found: list[list[int]] = [[] for _ in self.unit_ids]
        for number, members in enumerate(self.groups):
            for unit in members.tolist():
                found[unit].append(number)
        return tuple(np.array(numbers, dtype=int) for numbers in found)

    @cached_property
    def around_ft(self) -> Array:
        """Line [ft] around each unit that burns alone."""
        around = self.outer_ft.astype(float).copy()
        np.add.at(around, self.pairs[:, 0], self.pair_ft)
        np.add.at(around, self.pairs[:, 1], self.pair_ft)
        return around

    @cached_property
    def burn_usd(self) -> Array:
        """The most that a burn of each unit is worth [$], costs left out."""
        burns = BURN_OF[self.arcs.treatment]
        best_ac = np.where(burns, self.arc_worth_ac, 0.0).max(axis=1)
        most: Array = self.acres * best_ac[self.kind]
        return most

    def without_groups(self) -> "Problem":
        """The same where units may touch and need no refuge."""
        return replace(self, groups=(), group_most=np.zeros((0, self.years), dtype=int))


def line_ft(problem: Problem, plan: Array) -> Array:
    """Line [ft] to be made in each year; between two burns of one time there is none."""
    label = LABEL_OF[plan]
    outer = (problem.outer_ft[:, None] * (label >= 0)).sum(axis=0)
    one, other = label[problem.pairs[:, 0]], label[problem.pairs[:, 1]]
    between = (problem.pair_ft[:, None] * (one != other)).sum(axis=0)
    total: Array = outer + between
    return total


def used(problem: Problem, limit: Limit, plan: Array) -> Array:
    """What a plan takes of a limit, year by year or up to each year."""
    rows = np.arange(problem.units)[:, None]
    total: Array = limit.use[rows, plan].sum(axis=0)
    if limit.per_ft:
        total = total + limit.per_ft * line_ft(problem, plan)
    return np.cumsum(total) if limit.adds_up else total


def short_aum(problem: Problem, plan: Array) -> Array:
    """Animal-unit months that the herd is short of in each year."""
    rows = np.arange(problem.units)[:, None]
    short: Array = np.maximum(0.0, problem.demand_aum - problem.supply_aum[rows, plan].sum(axis=0))
    return short


def walked(problem: Problem, plan: Array) -> tuple[Array, Array]:
    """State before each year, and the arc of each, of every unit; -1 where it has none."""
    state = problem.start.copy()
    states = np.zeros(plan.shape, dtype=int)
    arcs = np.zeros(plan.shape, dtype=int)
    for year in range(problem.years):
        states[:, year] = state
        arcs[:, year] = problem.arcs.arc_of[state, plan[:, year]]
        state = np.where(arcs[:, year] < 0, state, problem.arcs.end[arcs[:, year]])
    return states, arcs


def unit_worth(problem: Problem, plan: Array) -> Array:
    """Worth [$] of each unit and year, what units share left out; forbidden where a rule breaks."""
    _, arcs = walked(problem, plan)
    rows, columns = np.arange(problem.units)[:, None], np.arange(problem.years)[None, :]
    kind = problem.kind[:, None]
    worth = (
        problem.worth[rows, columns, plan]
        + problem.acres[:, None] * problem.arc_worth_ac[kind, arcs]
    )
    broken = problem.arc_broken[kind, arcs] > 0
    worth = worth - BROKEN_USD * broken
    odd = (arcs < 0) | (broken & ~problem.settled) | (problem.barred[rows, columns, plan] > 0)
    result: Array = np.where(odd, FORBIDDEN, worth)
    return result


def fits(problem: Problem, plan: Array) -> bool:
    """Whether a plan keeps every limit and every group."""
    burns = BURN_OF[plan]
    kept = all((used(problem, limit, plan) <= limit.most + 1e-6).all() for limit in problem.limits)
    grouped = zip(problem.groups, problem.group_most, strict=True)
    return kept and all((burns[members].sum(axis=0) <= most).all() for members, most in grouped)


def plan_worth(problem: Problem, plan: Array) -> float:
    """Worth [$] of a plan; far below everything where it breaks a rule between a unit's years."""
    return float(
        unit_worth(problem, plan).sum()
        - problem.line_usd_ft * line_ft(problem, plan).sum()
        - problem.short_usd_aum * short_aum(problem, plan).sum()
    )
