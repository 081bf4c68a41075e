"""What a unit carries from one year of the plan to the next, and what each treatment makes of it.

A state is what the rules between years ask of a unit: years since its burn, time of that burn,
growing seasons of rest behind it, or the time it was last grazed. Arcs lead from each state by each
treatment to the next one; which of them a unit may take depends on its own few figures.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from pipeline.ahead.treatments import REST, TREATMENTS

IN_SWARD, BARE, YOUNG = range(3)
"""Phases: a sward, a field without one, a sowing that has not taken yet."""


@dataclass(frozen=True, slots=True, order=True)
class State:
    """A unit before a year of the plan.

    ``since`` are years since the burn, and the growing seasons since the sowing where it is young.
    ``burned`` is the treatment of the last burn, -1 where its time is not known. ``rested`` are
    growing seasons of rest in a row; ``used`` is last year's grazing or hay, -1 without.
    """

    phase: int
    since: int = 0
    burned: int = -1
    rested: int = 0
    used: int = -1


@dataclass(frozen=True, slots=True)
class Horizon:
    """Counts above which a state stays the same: years since a burn, seasons of rest, of a sowing.

    ``grown`` is the number of growing seasons after which a sowing is a sward.
    """

    most_since: int
    most_rested: int
    grown: int


def after(state: State, treatment: int, horizon: Horizon) -> State:
    """State after a year with a treatment, whether a rule allows it or not.

    A field stays bare until it is sown; a treatment that a sward cannot have leaves it as a rest.
    """
    kind = TREATMENTS[treatment].kind
    if state.phase == BARE:
        return _grown(1, horizon) if kind == "seed" else state
    if kind == "burn":
        return State(IN_SWARD, 1, treatment)
    if state.phase == YOUNG:
        return _grown(state.since + 1, horizon)
    since = min(state.since + 1, horizon.most_since)
    if kind in ("graze", "hay"):
        return State(IN_SWARD, since, state.burned, 0, treatment)
    return State(IN_SWARD, since, state.burned, min(state.rested + 1, horizon.most_rested))


def _grown(seasons: int, horizon: Horizon) -> State:
    """A sowing after so many growing seasons: young, or a sward that has rested since."""
    if seasons < horizon.grown:
        return State(YOUNG, seasons)
    rested = min(horizon.grown, horizon.most_rested)
    return State(IN_SWARD, min(horizon.grown, horizon.most_since), -1, rested)


@dataclass(frozen=True, slots=True)
class UnitRules:
    """Figures of the rules between the years of one unit, in years and growing seasons.

    ``late_years`` is the longest return, ``long_rest`` the seasons of rest in a row that are none
    too many.
    """

    least_years: int
    late_years: int
    rest_years: int
    burned_rest: int
    long_rest: int
    vary_time: bool


@dataclass(frozen=True)
class Arcs:
    """All states that may be met, and the arcs between them, by the state they start from."""

    states: tuple[State, ...]
    start: np.ndarray
    treatment: np.ndarray
    end: np.ndarray

    @cached_property
    def first(self) -> np.ndarray:
        """Place of the first arc of each state."""
        return np.searchsorted(self.start, np.arange(len(self.states)))

    @cached_property
    def number(self) -> dict[State, int]:
        """Number of each state."""
        return {state: n for n, state in enumerate(self.states)}

    @cached_property
    def arc_of(self) -> np.ndarray:
        """Arc of each state by each treatment, -1 where there is none."""
        table = np.full((len(self.states), len(TREATMENTS)), -1)
        table[self.start, self.treatment] = np.arange(len(self.start))
        return table

    def columns(self) -> dict[str, np.ndarray]:
        """Figures of the state that each arc starts from, by name."""
        names = ("phase", "since", "burned", "rested", "used")
        table = {n: np.array([getattr(s, n) for s in self.states]) for n in names}
        return {name: values[self.start] for name, values in table.items()}


def reachable(starts: Iterable[State], treatments: Iterable[int], horizon: Horizon) -> Arcs:
    """States and arcs that the starts may come to, in an order of their own."""
    treatments = sorted(treatments)
    found, ahead = set(starts), sorted(set(starts))
    while ahead:
        state = ahead.pop()
        for treatment in treatments:
            nearby = after(state, treatment, horizon)
            if nearby not in found:
                found.add(nearby)
                ahead.append(nearby)
    states = tuple(sorted(found))
    number = {state: n for n, state in enumerate(states)}
    rows = [
        (number[state], treatment, number[after(state, treatment, horizon)])
        for state in states
        for treatment in treatments
    ]
    start, treatment_of, end = np.array(rows, dtype=np.intp).reshape(-1, 3).T
    return Arcs(states, start, treatment_of, end)


def kept_arcs(arcs: Arcs, keep: np.ndarray) -> Arcs:
    """The same states with some of their arcs."""
    return Arcs(arcs.states, arcs.start[keep], arcs.treatment[keep], arcs.end[keep])


def broken_rule(arcs: Arcs, rules: UnitRules) -> np.ndarray:
    """Rule of a unit that each arc breaks: number among the unit rules, 0 for none."""
    told = arcs.columns()
    kinds = np.array([treatment.kind for treatment in TREATMENTS])[arcs.treatment]
    sward, fields = told["phase"] == IN_SWARD, np.isin(kinds, ("seed", "wait"))
    burn, use = (kinds == "burn") & sward, np.isin(kinds, ("graze", "hay")) & sward
    broken = np.zeros(len(arcs.start), dtype=np.int8)
    broken[use & (told["used"] == arcs.treatment)] = 3
    broken[use & (told["since"] <= rules.burned_rest)] = 4
    if rules.vary_time:
        broken[burn & (told["burned"] == arcs.treatment)] = 3
    broken[burn & (told["rested"] < rules.rest_years)] = 2
    broken[burn & (told["since"] < rules.least_years)] = 1
    broken[(told["phase"] == BARE) & ~fields] = 5
    broken[(told["phase"] == YOUNG) & (kinds != "rest")] = 5
    broken[sward & fields] = 5
    return broken


def late(arcs: Arcs, rules: UnitRules) -> np.ndarray:
    """Whether a year on each arc passes the longest return without a burn."""
    told = arcs.columns()
    kinds = np.array([treatment.kind == "burn" for treatment in TREATMENTS])[arcs.treatment]
    return (told["phase"] == IN_SWARD) & ~kinds & (told["since"] >= rules.late_years)


def rests_long(arcs: Arcs, rules: UnitRules) -> np.ndarray:
    """Whether a year on each arc is a rest after as many as are none too many."""
    told = arcs.columns()
    rests = (told["phase"] == IN_SWARD) & (arcs.treatment == REST)
    return rests & (told["rested"] >= rules.long_rest)
