"""Plans of years on made properties: time, memory, gap, and what a greedy plan would have done.

Run it with numbers of units, `python -m tests.benchmarks.bench_plan 60 500`, or with `greedy` for
50 properties side by side.
"""

import resource
import sys
import time

import numpy as np

from pipeline.ahead.search.engine import find_plan
from pipeline.ahead.search.problem import BURN_OF, Limit, Problem, fits, line_ft, short_aum, walked
from pipeline.ahead.search.states import (
    IN_SWARD,
    Horizon,
    State,
    UnitRules,
    broken_rule,
    kept_arcs,
    late,
    reachable,
    rests_long,
)
from pipeline.ahead.treatments import CODES, REST, TREATMENTS

BURNS = [CODES.index(name) for name in ("burn_early_spring", "burn_late_spring")]
GRAZINGS = [CODES.index(name) for name in ("graze_late", "graze_early")]
RULES = [UnitRules(3, 6, rests, 1, 3, vary_time=True) for rests in (1, 2)]
RULES += [UnitRules(2, 4, 1, 1, 3, vary_time=True)]
LINE_USD_FT = 150 / 5280


def made_problem(units, seed, years=10, late_usd_ac=15.0):
    """Units on a square map: acres, years since fire, forage and lines by chance; invented."""
    chance = np.random.default_rng(seed)
    acres, across = chance.uniform(20, 160, units), int(np.ceil(np.sqrt(units)))
    starts = [
        State(IN_SWARD, int(chance.integers(1, 7)), int(chance.choice([-1, *BURNS])), rested)
        for rested in chance.integers(0, 3, units).tolist()
    ]
    arcs = reachable(starts, [REST, *BURNS, *GRAZINGS], Horizon(6, 3, 3))
    arcs = kept_arcs(arcs, (np.array([broken_rule(arcs, r) for r in RULES]) == 0).any(axis=0))
    since = arcs.columns()["since"]
    worth_ac, broken = [], []
    for rules in RULES:
        for usd_ac in (40.0, 60.0):
            waited = np.minimum(since, rules.late_years) / rules.late_years
            gained = usd_ac * waited * BURN_OF[arcs.treatment]
            worth_ac.append(
                gained - late_usd_ac * late(arcs, rules) - 5.0 * rests_long(arcs, rules)
            )
            broken.append(broken_rule(arcs, rules))
    barred = np.ones((units, years, len(TREATMENTS)), dtype=np.int8)
    barred[:, :, [REST, *BURNS, *GRAZINGS]] = 0
    worth = np.zeros((units, years, len(TREATMENTS)))
    worth[:, :, BURN_OF] = -1000.0 * np.ceil(acres / 160)[:, None, None]
    supply, forage = np.zeros((units, len(TREATMENTS))), acres * chance.uniform(0.3, 1.2, units)
    supply[:, GRAZINGS[1]], supply[:, GRAZINGS[0]] = 0.5 * forage, forage
    steps = [(n, n + 1) for n in range(units - 1) if (n + 1) % across]
    steps += [(n, n + across) for n in range(units - across)]
    pairs = np.array(steps, dtype=int).reshape(-1, 2)
    beside = [[n] for n in range(units)]
    for one, other in steps:
        beside[one].append(other)
        beside[other].append(one)
    most = np.full(years, 0.33 * 0.95 * acres.sum())
    return Problem(
        unit_ids=tuple(f"U{n:04d}" for n in range(units)),
        first_year=2027,
        arcs=arcs,
        acres=acres,
        start=np.array([arcs.number[state] for state in starts]),
        kind=chance.integers(0, len(worth_ac), units),
        arc_worth_ac=np.array(worth_ac),
        arc_broken=np.array(broken),
        barred=barred,
        settled=np.zeros((units, years), dtype=bool),
        worth=worth,
        supply_aum=supply,
        demand_aum=np.full(years, 0.3 * forage.sum()),
        short_usd_aum=45.0,
        limits=(Limit("cap_whole", "", acres[:, None] * BURN_OF, most),),
        pairs=pairs,
        pair_ft=chance.uniform(500, 2600, len(pairs)),
        outer_ft=chance.uniform(0, 2600, units),
        line_usd_ft=LINE_USD_FT,
        groups=tuple(np.array(members) for members in beside),
        group_most=np.array([[len(members) - 1] * years for members in beside]),
    )


def greedy(problem):
    """Year by year: burn what waited longest and may, graze until the herd is fed, else rest."""
    plan = np.full((problem.units, problem.years), REST)
    arcs = problem.arcs
    for year in range(problem.years):
        states, _ = walked(problem, plan)
        now = [arcs.states[state] for state in states[:, year]]
        fed = 0.0
        for unit in sorted(range(problem.units), key=lambda n: (-now[n].since, n)):
            arc = arcs.arc_of[states[unit, year]]
            allowed = (arc >= 0) & (problem.arc_broken[problem.kind[unit], arc] == 0)
            wanted = [*BURNS, *(GRAZINGS if now[unit].since < 3 else [])]
            for treatment in wanted:
                plan[unit, year] = treatment
                enough = treatment in GRAZINGS and fed >= problem.demand_aum[year]
                if allowed[treatment] and not enough and fits(problem, plan):
                    fed += problem.supply_aum[unit, treatment]
                    break
                plan[unit, year] = REST
    return plan


def over_years(problem, plan):
    """Years of units past their longest return without a burn."""
    _, arcs = walked(problem, plan)
    rules = [rules for rules in RULES for _ in range(2)]
    passed = np.array([late(problem.arcs, one) for one in rules])
    return int(passed[problem.kind[:, None], arcs].sum())


def side_by_side(count=50, units=10):
    """Feet of line by burned acre, herd short, years past the longest return: plans and greedy.

    Of two plans one has a year past the longest return cost four times as much.
    """
    ways = {
        "plan": lambda seed: find_plan(made_problem(units, seed)).plan,
        "plan, late 4x": lambda seed: find_plan(made_problem(units, seed, late_usd_ac=60.0)).plan,
        "greedy": lambda seed: greedy(made_problem(units, seed)),
    }
    sums = {name: np.zeros(4) for name in ways}
    for seed in range(count):
        problem = made_problem(units, seed)
        for name, way in ways.items():
            plan = way(seed)
            acres = (problem.acres[:, None] * BURN_OF[plan]).sum()
            feet, short = line_ft(problem, plan).sum(), short_aum(problem, plan).sum()
            sums[name] += [acres, feet, short, over_years(problem, plan)]
    for name, (acres, feet, short, over) in sums.items():
        print(
            f"{name:14} {acres:9,.0f} ac burned {feet:11,.0f} ft of line {feet / acres:6.1f} ft/ac "
            f"{short:8,.0f} AUM short {over:5.0f} years of units past the longest return"
        )


def main(words):
    if words == ["greedy"]:
        side_by_side()
        return
    for units in map(int, words or ["60"]):
        problem = made_problem(units, 0)
        before = time.process_time()
        found = find_plan(problem)
        seconds = time.process_time() - before
        megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(
            f"{units} units: {seconds:.1f} s, {megabytes:.0f} MiB, worth {found.value_usd:,.0f}, "
            f"at most {found.bound_usd:,.0f}, gap {found.gap_pct:.2f} %"
        )


if __name__ == "__main__":
    main(sys.argv[1:])
