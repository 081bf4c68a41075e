"""Why the plan chooses what it does: the rule or weight behind each year of each unit."""

from dataclasses import replace
from functools import cached_property

import numpy as np

from pipeline.ahead.layers import OWNERS_CHOICE, STATIC_BARS, UNIT_RULES
from pipeline.ahead.search.problem import BURN_OF, FORBIDDEN, LABEL_OF, Array, Problem, walked
from pipeline.ahead.search.states import YOUNG
from pipeline.ahead.search.sweeps import Sweep
from pipeline.ahead.treatments import BURNS, CODES, HAY, REST, SEED, TREATMENTS, WAIT

TOLD = FORBIDDEN / 2
"""Worth below this is of something that may not be."""


class Account:
    """A plan and what speaks for each of its years, all other units as they are.

    ``rules`` is the unit rule that each treatment breaks by kind, state and treatment, 0 for none;
    ``late_years`` the longest return of each unit.
    """

    def __init__(self, problem: Problem, plan: Array, rules: Array, late_years: Array) -> None:
        self.problem, self.plan, self.rules, self.late_years = problem, plan, rules, late_years
        self.states, self.arcs = walked(problem, plan)
        self.sweep = Sweep(problem, plan)

    @cached_property
    def _without(self) -> dict[str, Sweep]:
        """The same plan where one of the weights counts nothing."""
        problem = self.problem
        changed = {
            "herd": replace(problem, short_usd_aum=0.0),
            "line": replace(problem, line_usd_ft=0.0),
        }
        return {code: Sweep(other, self.plan) for code, other in changed.items()}

    def state(self, unit: int, year: int) -> tuple[int, int, int]:
        """Phase, years since the burn and seasons of rest before a year."""
        state = self.problem.arcs.states[self.states[unit, year]]
        return state.phase, state.since, state.rested

    def table(self, unit: int) -> Array:
        """Worth [$] of the unit's best years with each treatment in each year."""
        return self.sweep.one(unit).by_choice(self.sweep.offered(unit))

    def next_best(self, unit: int, table: Array) -> list[tuple[str | None, float | None]]:
        """Next best treatment of each year, and how much better [$] the choice is."""
        found: list[tuple[str | None, float | None]] = []
        for year, chosen in enumerate(self.plan[unit]):
            others = table[year].copy()
            others[chosen] = -np.inf
            best = int(others.argmax())
            if others[best] < TOLD:
                found.append((None, None))
            else:
                found.append((CODES[best], max(0.0, float(table[year, chosen] - others[best]))))
        return found

    def no_burn_by(self, unit: int, table: Array) -> list[str | None]:
        """Why a unit does not burn in each year; None where it does."""
        lines = self.sweep.lines_ft(unit)
        refused = self.sweep.refused(unit, lines, as_now=False)
        tables: dict[str, Array] = {}
        found: list[str | None] = []
        for year, chosen in enumerate(self.plan[unit]):
            if BURN_OF[chosen]:
                found.append(None)
                continue
            told = self._rule(unit, year) or next(
                (code for code, full in refused.items() if code and full[year, list(BURNS)].all()),
                None,
            )
            found.append(told or self._weight(unit, year, tables))
        return found

    def _rule(self, unit: int, year: int) -> str | None:
        """Rule by which no burn may be in a year of the unit, of several the most lasting."""
        bars = {k: int(self.problem.barred[unit, year, k]) for k in BURNS}
        open_burns = [k for k, bar in bars.items() if not bar]
        if not open_burns:
            left_out = STATIC_BARS.index("time_left_out") + 1
            others = sorted(set(bars.values()) - {left_out})
            return STATIC_BARS[(others or [left_out])[0] - 1]
        rules = self.rules_of(unit, year)
        broken = [rules[k] for k in open_burns]
        return UNIT_RULES[min(broken) - 1] if all(broken) else None

    def rules_of(self, unit: int, year: int) -> Array:
        """Rule between the years that each treatment breaks in a year, 0 for none."""
        broken: Array = self.rules[self.problem.kind[unit], self.states[unit, year]]
        return broken

    def _weight(self, unit: int, year: int, tables: dict[str, Array]) -> str:
        """What weighs more than a burn that might be: what is gone when it counts nothing."""
        for code, sweep in self._without.items():
            if code not in tables:
                tables[code] = sweep.one(unit).by_choice(sweep.offered(unit))
            of_year = tables[code][year]
            if of_year[list(BURNS)].max() > of_year[self.plan[unit, year]] + 1e-6:
                return code
        return "worth"

    def reason(self, unit: int, year: int) -> str:
        """Why the chosen treatment is chosen, as a code."""
        chosen = int(self.plan[unit, year])
        kind = TREATMENTS[chosen].kind
        if self.problem.settled[unit, year]:
            return "fixed"
        if kind == "burn":
            return self._burn_reason(unit, year)
        if kind == "graze":
            return self._graze_reason(unit, year)
        if kind == "rest":
            return self._rest_reason(unit, year)
        return {HAY: "hay_wanted", SEED: "sows_field", WAIT: "waits_for_seed"}[chosen]

    def _burn_reason(self, unit: int, year: int) -> str:
        """Why a burn: overdue, line saved beside a neighbor, or its turn."""
        if self.state(unit, year)[1] >= self.late_years[unit]:
            return "overdue"
        near, feet = self.problem.beside[unit]
        with_it = LABEL_OF[self.plan[near, year]] == LABEL_OF[self.plan[unit, year]]
        return "burns_with_neighbor" if (feet * with_it).sum() > 0 else "within_return"

    def _graze_reason(self, unit: int, year: int) -> str:
        """Why a grazing: the herd needs it, or the rest was long."""
        own = self.problem.supply_aum[unit, self.plan[unit, year]]
        short = self.sweep.given[year] - own < self.problem.demand_aum[year]
        return "feeds_herd" if own > 0 and short else "ends_rest"

    def _rest_reason(self, unit: int, year: int) -> str:
        """Why a rest: a young sowing, a burn behind it or a burn ahead."""
        if self.state(unit, year)[0] == YOUNG:
            return "establishing"
        grazings = [k for k, t in enumerate(TREATMENTS) if t.kind == "graze"]
        after_burn = UNIT_RULES.index("burned_rest") + 1
        if all(self.rules_of(unit, year)[k] == after_burn for k in grazings):
            return "after_burn"
        used = [k for k in self.plan[unit, year:] if k != REST]
        return "grows_fuel" if used and BURN_OF[used[0]] else "nothing_better"


def breaks_rule(account: Account, unit: int, year: int, bars: Array) -> str | None:
    """Rule that a settled year breaks; ``bars`` hold where a year is not settled."""
    chosen = int(account.plan[unit, year])
    bar = int(bars[unit, year, chosen])
    if bar and STATIC_BARS[bar - 1] not in OWNERS_CHOICE:
        return STATIC_BARS[bar - 1]
    rule = int(account.rules_of(unit, year)[chosen])
    return UNIT_RULES[rule - 1] if rule else None
