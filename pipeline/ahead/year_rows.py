"""Rows of the plan: what each unit gets in each year, why, and what it takes."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from pipeline.ahead.build import Asked, cost_usd, crew_days, static_bars, unit_rules
from pipeline.ahead.layers import SHARED_RULES, STATIC_BARS
from pipeline.ahead.reasons import Account, breaks_rule
from pipeline.ahead.search.problem import BURN_OF, LABEL_OF, Array, Problem
from pipeline.ahead.search.states import IN_SWARD, Arcs, broken_rule
from pipeline.ahead.settled import SettledYear
from pipeline.ahead.treatments import CODES, TREATMENTS, UNDECIDED
from pipeline.core.names import listed

RESTS_FOR = ("grows_fuel", "nothing_better")
"""Reasons of a rest that hold only where something else might be."""


UNIT_CELLS = (
    "unit_id",
    "year",
    "treatment",
    "reason",
    "changed",
    "next_best",
    "ahead_usd",
    "breaks_rule",
    "no_burn_by",
    "years_since_burn",
    "settled_from",
    "settled_until",
    "settled_by_fuel",
)
"""Cells of a row that are told unit by unit."""


def year_rows(asked: Asked, problem: Problem, plan: Array) -> pd.DataFrame:
    """A row for each unit and year of a plan, with its reason and figures."""
    late_years = asked.units["most_years"].to_numpy(int)
    account = Account(problem, plan, _rules_broken(asked, problem), late_years)
    free_bars, _ = static_bars(asked.units, replace(asked, settled={}))
    rows = [
        row
        for unit, known in enumerate(asked.units.to_dict("records"))
        for row in _unit_rows(asked, account, unit, known, free_bars)
    ]
    frame = pd.DataFrame(rows).reindex(columns=UNIT_CELLS)
    figures = _figures(asked, problem, plan, frame["treatment"].to_numpy())
    frame = frame.assign(**figures)
    return frame.assign(competes_with=_competes(frame, problem))


def _unit_rows(
    asked: Asked, account: Account, unit: int, known: dict[Any, Any], free_bars: Array
) -> Iterator[dict[str, object]]:
    """Cells of the years of one unit."""
    problem, plan, table = account.problem, account.plan, account.table(unit)
    next_best, no_burn = account.next_best(unit, table), account.no_burn_by(unit, table)
    dim = pd.notna(known["undecided_by"])
    for year in range(problem.years):
        key = (known["unit_id"], problem.first_year + year)
        row = {"unit_id": key[0], "year": key[1], "changed": _changed(asked, key, plan, unit)}
        if dim and key not in asked.settled:
            yield row | {"treatment": UNDECIDED, "reason": known["undecided_by"]}
            continue
        row |= {
            "treatment": CODES[plan[unit, year]],
            "reason": account.reason(unit, year),
            "no_burn_by": no_burn[year],
            "years_since_burn": _since(account, unit, year, known),
        }
        if problem.settled[unit, year]:
            days = asked.settled.get(key, SettledYear(()))
            row |= {"settled_from": days.first_day, "settled_until": days.last_day}
            row["settled_by_fuel"] = days.by_fuel
            row["breaks_rule"] = None if dim else breaks_rule(account, unit, year, free_bars)
        else:
            row["next_best"], row["ahead_usd"] = next_best[year]
            barred = row["no_burn_by"] in STATIC_BARS and row["next_best"] is None
            if barred and row["reason"] in RESTS_FOR:
                row["reason"] = "nothing_else"
            if _kept(asked, key, row, known["burnable_ac"]):
                row["reason"] = "former_plan"
        yield row


def _rules_broken(asked: Asked, problem: Problem) -> Array:
    """Number of the unit rule that a treatment breaks, by kind, state and treatment; 0 for none.

    The arcs of the problem leave out what no unit may do, and so do not tell why.
    """
    states, treatments = len(problem.arcs.states), len(TREATMENTS)
    every = Arcs(
        problem.arcs.states,
        np.repeat(np.arange(states), treatments),
        np.tile(np.arange(treatments), states),
        np.zeros(states * treatments, dtype=int),
    )
    kinds = range(len(problem.arc_broken))
    rows = asked.units.iloc[[int(np.argmax(problem.kind == kind)) for kind in kinds]]
    broken = [broken_rule(every, unit_rules(row, asked)) for row in rows.itertuples(index=False)]
    return np.array(broken).reshape(len(broken), states, treatments)


def _since(account: Account, unit: int, year: int, known: dict[Any, Any]) -> int | None:
    """Years since the burn before a year; None where no burn is on record or planned before.

    A burn on record before the ground was sown is none of what stands there.
    """
    burned = np.flatnonzero(BURN_OF[account.plan[unit, :year]])
    if len(burned):
        return int(year - burned[-1])
    if not known["burn_on_record"] or account.state(unit, 0)[0] != IN_SWARD:
        return None
    return int(known["years_since_burn"]) + year


def _changed(asked: Asked, key: tuple[str, int], plan: Array, unit: int) -> bool | None:
    """Whether the former plan has something else for a year; None where it has nothing."""
    told = asked.former.get(key)
    return None if told is None else bool(told != plan[unit, key[1] - asked.first_year])


def _kept(asked: Asked, key: tuple[str, int], told: dict[str, object], burnable_ac: float) -> bool:
    """Whether a choice is only kept since the former plan has it."""
    same = asked.former.get(key) == CODES.index(str(told["treatment"]))
    ahead = told["ahead_usd"]
    return same and isinstance(ahead, float) and ahead <= asked.plan.keep_usd_ac * burnable_ac


def _figures(
    asked: Asked, problem: Problem, plan: Array, treatments: np.ndarray
) -> dict[str, np.ndarray]:
    """Acres, line, crew days, dollars and forage of each row; missing where nothing is chosen."""
    rows = np.arange(problem.units)[:, None]
    burns = BURN_OF[plan]
    lines = _own_line_ft(problem, plan)
    days = crew_days(problem.acres, asked.plan)[:, None] * burns
    cost = cost_usd(asked.units, asked)[rows, plan] + lines * problem.line_usd_ft
    figures = {
        "burned_ac": problem.acres[:, None] * burns,
        "line_ft": lines,
        "crew_days": days,
        "cost_usd": cost,
        "supply_aum": problem.supply_aum[rows, plan],
    }
    chosen = treatments != UNDECIDED
    return {name: np.where(chosen, cells.ravel(), np.nan) for name, cells in figures.items()}


def _own_line_ft(problem: Problem, plan: Array) -> Array:
    """Line [ft] at each unit that burns; one between burns of two times counts half at each."""
    label, burns = LABEL_OF[plan], BURN_OF[plan].astype(int)
    lines = problem.outer_ft[:, None] * burns
    for (one, other), feet in zip(problem.pairs, problem.pair_ft, strict=True):
        apart = (label[one] != label[other]) * feet / np.maximum(1, burns[one] + burns[other])
        lines[one] += apart * burns[one]
        lines[other] += apart * burns[other]
    result: Array = lines
    return result


def _competes(frame: pd.DataFrame, problem: Problem) -> list[str | None]:
    """Units that burn where another was held back by what they share, and the other way round."""
    names = {unit_id: n for n, unit_id in enumerate(problem.unit_ids)}
    burning = frame["treatment"].isin([CODES[k] for k in np.flatnonzero(BURN_OF)])
    held = frame["no_burn_by"].isin(SHARED_RULES)
    by_year = {
        year: (rows.loc[burning[rows.index]], rows.loc[held[rows.index]])
        for year, rows in frame.groupby("year")
    }
    found: list[str | None] = []
    for row, burns, waits in zip(frame.itertuples(), burning, held, strict=True):
        lit, left = by_year[row.year]
        if waits:
            pairs = [(unit_id, row.no_burn_by) for unit_id in lit["unit_id"]]
        else:
            pairs = list(zip(left["unit_id"], left["no_burn_by"], strict=True)) if burns else []
        others = [u for u, code in pairs if _shares(problem, names, code, row.unit_id, u)]
        found.append(listed(others) if others else None)
    return found


def _shares(problem: Problem, names: dict[str, int], code: str, one: str, other: str) -> bool:
    """Whether two units share the rule of a code in their burns."""
    here, there = names[one], names[other]
    if code == problem.group_code:
        return any(there in problem.groups[group] for group in problem.groups_of[here])
    limits = [limit for limit in problem.limits if limit.code == code]
    burns = np.flatnonzero(BURN_OF)[0]
    return any(limit.use[here, burns] > 0 and limit.use[there, burns] > 0 for limit in limits)
