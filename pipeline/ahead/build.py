"""From layers to the arrays of the problem: what may be, what binds, what it is worth."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from pipeline.ahead.layers import STATIC_BARS
from pipeline.ahead.own_seed import OwnSeed
from pipeline.ahead.search.groups import groups_of_units
from pipeline.ahead.search.problem import BURN_OF, Array, Limit, Problem
from pipeline.ahead.search.states import (
    BARE,
    IN_SWARD,
    YOUNG,
    Arcs,
    Horizon,
    State,
    UnitRules,
    broken_rule,
    kept_arcs,
    late,
    reachable,
    rests_long,
)
from pipeline.ahead.settings import PlanSettings
from pipeline.ahead.settled import Settled, SettledYear
from pipeline.ahead.treatments import CODES, GRAZINGS, HAY, REST, SEED, TREATMENTS
from pipeline.ahead.unit_facts import ON_ITS_WAY
from pipeline.core.units import FT_PER_MI
from pipeline.fire.mowing.mow_strips import line_hours, pass_count
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.season.options.settings import AimsSettings
from pipeline.season.settings import SeasonSettings
from pipeline.work.settings import CostSettings

SOWN_LATER = 0.95
"""Share of its worth that a sowing keeps with each year that it comes later: a field is sown as
soon as there is seed. Judgment of this program, no source."""


@dataclass(frozen=True)
class Asked:
    """All that a plan is made of: tables, what is settled, and settings.

    ``settled`` and ``former`` are by unit and calendar year. Change a setting and build again to
    see what would come of it. A unit of which not enough is known is settled to a rest that stands
    for nothing, but in years that are fixed.
    """

    units: pd.DataFrame
    edges: pd.DataFrame
    first_year: int
    demand_aum: float
    seed: OwnSeed
    settled: Settled
    former: dict[tuple[str, int], int]
    plan: PlanSettings
    season: SeasonSettings
    aims: AimsSettings
    costs: CostSettings
    mowing: MowingSettings


def build_problem(asked: Asked) -> Problem:
    """The arrays of the plan that is asked for."""
    units, plan = asked.units, asked.plan
    rules = [unit_rules(row, asked) for row in units.itertuples(index=False)]
    horizon = _horizon(rules, asked.season)
    starts = [
        _start(row, rule, horizon) for row, rule in zip(units.itertuples(), rules, strict=True)
    ]
    worths = [_burn_usd_ac(row, plan) for row in units.itertuples()]
    kinds = list(zip(rules, worths, strict=True))
    distinct = list(dict.fromkeys(kinds))
    barred, settled = static_bars(units, asked)
    arcs = _arcs(starts, [rule for rule, _ in distinct], horizon, barred, bool(settled.any()))
    names = units["unit_id"].tolist()
    pairs, pair_ft, outer_ft = _lines(asked.edges, names)
    acres = units["burnable_ac"].to_numpy(float)
    group_code, groups, most = groups_of_units(
        names, asked.edges, plan.refuge, _burning(barred, settled)
    )
    problem = Problem(
        unit_ids=tuple(names),
        first_year=asked.first_year,
        arcs=arcs,
        acres=acres,
        start=np.array([arcs.number[state] for state in starts], dtype=int),
        kind=np.array([distinct.index(kind) for kind in kinds], dtype=int),
        arc_worth_ac=np.array([_arc_worth_ac(arcs, *kind, plan) for kind in distinct]),
        arc_broken=np.array([broken_rule(arcs, rule) for rule, _ in distinct]),
        barred=barred,
        settled=settled,
        worth=_worth(units, asked),
        supply_aum=supply_aum(units, plan),
        demand_aum=np.full(plan.years, asked.demand_aum),
        short_usd_aum=plan.short_usd_aum * (100.0 if plan.herd_met else 1.0),
        limits=(),
        pairs=pairs,
        pair_ft=pair_ft,
        outer_ft=outer_ft,
        line_usd_ft=line_usd_ft(asked),
        group_code=group_code,
        groups=groups,
        group_most=most,
    )
    return with_limits(problem, _limits(problem, units, asked))


def with_limits(problem: Problem, limits: tuple[Limit, ...]) -> Problem:
    """The problem with limits, each raised to what is settled already."""
    burning = _burning(problem.barred, problem.settled)
    feet = (problem.around_ft[:, None] * burning).sum(axis=0)
    raised = []
    for limit in limits:
        least = np.where(problem.barred > 0, np.inf, limit.use[:, None, :]).min(axis=2)
        taken = np.where(problem.settled, least, 0.0).sum(axis=0) + limit.per_ft * feet
        taken = np.cumsum(taken) if limit.adds_up else taken
        # What is sown because it is settled has its seed; other limits count what is settled.
        most = limit.most + taken if limit.adds_up else np.maximum(limit.most, taken)
        raised.append(replace(limit, most=most))
    return replace(problem, limits=tuple(raised))


def _burning(barred: Array, settled: Array) -> Array:
    """Units and years that are settled to be a burn."""
    others_open: Array = (barred[:, :, ~BURN_OF] == 0).any(axis=2)
    return settled & ~others_open


def unit_rules(row: object, asked: Asked) -> UnitRules:
    """Rules between the years of a unit."""
    return UnitRules(
        least_years=int(row.least_years),  # type: ignore[attr-defined]
        late_years=int(row.most_years),  # type: ignore[attr-defined]
        rest_years=int(row.rest_years),  # type: ignore[attr-defined]
        burned_rest=asked.plan.burned_rest_years,
        long_rest=asked.season.most_rested_seasons,
        vary_time=asked.plan.vary_burn_time,
    )


def _horizon(rules: list[UnitRules], season: SeasonSettings) -> Horizon:
    """Counts above which states are the same, over all units."""
    since = [max(r.least_years, r.late_years, r.burned_rest + 1) for r in rules]
    rested = [max(r.rest_years, r.long_rest) for r in rules]
    return Horizon(max(since, default=1), max(rested, default=1), season.establishment_years)


def _start(row: object, rules: UnitRules, horizon: Horizon) -> State:
    """State of a unit before the first year.

    Without a burn on record no shortest return holds it back; nor where the season's burn is done
    already, which is no matter of choice.
    """
    unit = row._asdict()  # type: ignore[attr-defined]
    if unit["state"] == "cropped":
        return State(BARE)
    seeded = unit["years_since_seeding"]
    if unit["state"] == "establishing" and pd.notna(seeded) and seeded < horizon.grown:
        return State(YOUNG, max(1, int(seeded)))
    since = 0 if pd.isna(unit["years_since_burn"]) else int(unit["years_since_burn"])
    done = unit["burn_on_record"] and since == 0
    if done or not unit["burn_on_record"]:
        since = max(since, rules.least_years, rules.burned_rest + 1)
    time, used = None if done else unit["last_burn_time"], unit["last_grazed"]
    burns = {t.time: n for n, t in enumerate(TREATMENTS) if t.kind == "burn"}
    rested = max(int(unit["rested_seasons"]), rules.rest_years if done else 0)
    rested = min(rested, horizon.most_rested)
    last = CODES.index(used) if isinstance(used, str) else -1
    return State(
        IN_SWARD,
        min(max(since, 1), horizon.most_since),
        burns.get(time, -1) if isinstance(time, str) else -1,
        rested,
        last,
    )


def _arcs(
    starts: list[State], rules: list[UnitRules], horizon: Horizon, barred: Array, settled: bool
) -> Arcs:
    """Arcs that some unit may take; where years are settled, against the rules too."""
    treatments = np.flatnonzero((barred == 0).any(axis=(0, 1))).tolist()
    arcs = reachable(starts, treatments, horizon)
    if settled or not rules:
        return arcs
    return kept_arcs(arcs, (np.array([broken_rule(arcs, r) for r in rules]) == 0).any(axis=0))


def _burn_usd_ac(row: object, plan: PlanSettings) -> float | None:
    """What a burn of a unit within its return is worth [$/ac]; None where nothing is chosen."""
    unit = row._asdict()  # type: ignore[attr-defined]
    if pd.notna(unit["undecided_by"]):
        return None
    return plan.recovery_worth_usd_ac if unit["state"] in ON_ITS_WAY else plan.burn_worth_usd_ac


def _arc_worth_ac(
    arcs: Arcs, rules: UnitRules, burn_usd_ac: float | None, plan: PlanSettings
) -> Array:
    """What each arc is worth by the acre [$]: burns the more the longer they were waited for."""
    if burn_usd_ac is None:
        return np.zeros(len(arcs.start))
    since = arcs.columns()["since"]
    waited = np.minimum(since, rules.late_years) / rules.late_years
    worth: Array = np.where(BURN_OF[arcs.treatment], burn_usd_ac * waited, 0.0)
    worth = worth - plan.late_usd_ac * late(arcs, rules)
    return worth - plan.long_rest_usd_ac * rests_long(arcs, rules)


def static_bars(units: pd.DataFrame, asked: Asked) -> tuple[Array, Array]:
    """Number of the static bar of each unit, year and treatment, and which years are settled."""
    plan = asked.plan
    bar = {code: n for n, code in enumerate(STATIC_BARS, 1)}
    barred = np.zeros((len(units), plan.years, len(TREATMENTS)), dtype=np.int8)
    settled = np.zeros((len(units), plan.years), dtype=bool)
    for n, unit in enumerate(units.to_dict("records")):
        closed = dict(zip(_split(unit["closed"]), _split(unit["closed_until"]), strict=True))
        undecided = SettledYear((REST,)) if pd.notna(unit["undecided_by"]) else None
        for k, treatment in enumerate(TREATMENTS):
            code = _bar(treatment.code, unit, asked)
            barred[n, :, k] = bar[code] if code else 0
            if code is None and treatment.code in closed:
                barred[n, : int(closed[treatment.code]) - asked.first_year + 1, k] = bar["limit"]
            told = pd.notna(unit["open_times"])
            passed = told and treatment.time not in _split(unit["open_times"])
            if treatment.kind == "burn" and passed and not barred[n, 0, k]:
                barred[n, 0, k] = bar["window_passed"]
        for year in range(plan.years):
            fixed = asked.settled.get((unit["unit_id"], asked.first_year + year), undecided)
            if fixed is not None:
                settled[n, year] = True
                barred[n, year, :] = bar["fixed_otherwise"]
                barred[n, year, list(fixed.treatments)] = 0
    return barred, settled


def _split(codes: object) -> list[str]:
    """Codes with semicolons between as a list."""
    return codes.split("; ") if isinstance(codes, str) else []


def _bar(code: str, unit: dict[object, object], asked: Asked) -> str | None:
    """Why a treatment is no choice of a unit in any year; None where it may be one."""
    treatment = TREATMENTS[CODES.index(code)]
    if treatment.kind in ("seed", "wait"):
        if unit["state"] != "cropped":
            return "not_wanted"
        return "no_supply" if code == "seed" and not asked.seed.year_ac else None
    if treatment.kind == "burn":
        if unit["no_burn_by"] is not None and pd.notna(unit["no_burn_by"]):
            return str(unit["no_burn_by"])
        return None if treatment.time in asked.plan.burn_times else "time_left_out"
    if treatment.kind == "graze":
        if not asked.demand_aum:
            return "no_herd"
        return "no_supply" if pd.isna(unit["supply_aum"]) else None
    if treatment.kind == "hay":
        return None if unit["unit_id"] in asked.aims.hay_units else "not_wanted"
    return None


def crew_days(acres: Array, plan: PlanSettings) -> Array:
    """Days of the crew that a burn of each unit takes; a started day counts as one."""
    days: Array = np.ceil(acres / plan.burn_day_ac - 1e-9)
    return np.maximum(days, 1.0)


def crew_usd_day(plan: PlanSettings, costs: CostSettings) -> float:
    """Price of a day of the burn crew: yours, else the stand-in."""
    told = costs.burn_crew_usd_day
    return plan.crew_usd_day if told is None else told


def line_usd_ft(asked: Asked) -> float:
    """Price of a foot of line: mown at least as wide as set, bare line beside it where priced."""
    mowing, costs = asked.mowing, asked.costs
    if costs.mower_usd_hour is None:
        return asked.plan.line_usd_mi / FT_PER_MI
    passes = pass_count(mowing.mow_width_ft, mowing.mower_width_ft, mowing.overlap_ft)
    hours = line_hours(FT_PER_MI * passes, mowing.speed_mph, mowing.efficiency_pct)
    bare = (costs.bare_line_usd_mi or 0.0) if mowing.bare_speed_mph else 0.0
    return (hours * costs.mower_usd_hour + bare) / FT_PER_MI


def cost_usd(units: pd.DataFrame, asked: Asked) -> Array:
    """Dollars spent on each unit by treatment, lines left out."""
    acres = units["burnable_ac"].to_numpy(float)
    cost = np.zeros((len(units), len(TREATMENTS)))
    day_usd = crew_usd_day(asked.plan, asked.costs)
    cost[:, BURN_OF] = (crew_days(acres, asked.plan) * day_usd)[:, None]
    cost[:, SEED] = acres * (asked.costs.drill_usd_ac or 0.0)
    return cost


def _worth(units: pd.DataFrame, asked: Asked) -> Array:
    """What each treatment is worth in a year [$], its state left out."""
    plan, acres = asked.plan, units["burnable_ac"].to_numpy(float)
    worth = -cost_usd(units, asked)
    closed = units["smoke_closed"].fillna(False).to_numpy(bool)
    worth[:, BURN_OF] -= plan.smoke_usd * closed[:, None]
    worth[:, HAY] += plan.hay_worth_usd_ac * acres
    yearly = np.repeat(worth[:, None, :], plan.years, axis=1)
    sooner = SOWN_LATER ** np.arange(plan.years)
    yearly[:, :, SEED] += plan.seed_worth_usd_ac * acres[:, None] * sooner
    row_of = {unit_id: n for n, unit_id in enumerate(units["unit_id"])}
    for (unit_id, year), treatment in asked.former.items():
        if unit_id in row_of and 0 <= year - asked.first_year < plan.years:
            unit = row_of[unit_id]
            yearly[unit, year - asked.first_year, treatment] += plan.keep_usd_ac * acres[unit]
    return yearly


def supply_aum(units: pd.DataFrame, plan: PlanSettings) -> Array:
    """Forage [AUM] that each unit gives the herd by treatment."""
    supply = np.zeros((len(units), len(TREATMENTS)))
    shares = {"early": plan.early_supply_pct, "late": plan.late_supply_pct}
    for grazing in GRAZINGS:
        share = shares[str(TREATMENTS[grazing].time)] / 100.0
        supply[:, grazing] = units["supply_aum"].fillna(0.0).to_numpy(float) * share
    return supply


def _lines(edges: pd.DataFrame, names: list[str]) -> tuple[Array, Array, Array]:
    """Pairs of units along one edge, the line [ft] between them, and each unit's other line."""
    number = {name: n for n, name in enumerate(names)}
    outer = np.zeros(len(names))
    pairs, feet = [], []
    for row in edges.itertuples(index=False):
        one, other = number.get(row.unit_id), number.get(row.neighbor)
        if one is not None and other is not None:
            pairs.append((one, other))
            feet.append(row.line_ft)
            continue
        for unit in (one, other):
            if unit is not None:
                outer[unit] += row.line_ft
    return np.array(pairs, dtype=int).reshape(-1, 2), np.array(feet, dtype=float), outer


def caps_ac(units: pd.DataFrame, plan: PlanSettings) -> dict[str, float]:
    """Acres that may be burned in a year by cap, less the margin.

    The key "" is the cap of all ground; others are kinds of ground. Fields without a sward are left
    out of the ground that the share is of, and count among what burns once they have one; undecided
    units are not left out.
    """
    sward = units[units["state"] != "cropped"]
    share = 1.0 - plan.margin_pct / 100.0
    parts = {"": (plan.most_burned_pct, sward)} | {
        cover: (pct, sward[sward["cover"] == cover])
        for cover, pct in plan.most_cover_burned_pct.items()
    }
    return {
        name: pct / 100.0 * share * float(part["burnable_ac"].sum())
        for name, (pct, part) in parts.items()
    }


def _limits(problem: Problem, units: pd.DataFrame, asked: Asked) -> tuple[Limit, ...]:
    """What the units of a year share: acres, crew, money, seed."""
    plan, years = asked.plan, problem.years
    burns = problem.acres[:, None] * BURN_OF
    limits = []
    for name, most in caps_ac(units, plan).items():
        inside = units["cover"].eq(name) if name else pd.Series(True, units.index)
        code = "cap_cover" if name else "cap_whole"
        limits.append(Limit(code, name, burns * inside.to_numpy()[:, None], np.full(years, most)))
    if plan.crew_days is not None:
        days = crew_days(problem.acres, plan)[:, None] * BURN_OF
        limits.append(Limit("crew_days", "", days, np.full(years, plan.crew_days)))
    if plan.money_usd is not None:
        cost = cost_usd(units, asked)
        most_usd = np.full(years, plan.money_usd)
        limits.append(Limit("money", "", cost, most_usd, problem.line_usd_ft))
    if (units["state"] == "cropped").any():
        sown = np.zeros((problem.units, len(TREATMENTS)))
        sown[:, SEED] = problem.acres
        supply = asked.seed.year_ac * np.arange(1, years + 1)
        limits.append(Limit("own_seed", "", sown, supply, adds_up=True))
    return tuple(limits)
