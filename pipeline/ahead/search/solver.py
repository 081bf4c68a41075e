"""The plan of years as an integer program for a solver: a proof, or a better plan.

It runs in a process of its own with a time limit, for solvers overrun theirs; without the solver
or an answer in time the plan stays as it is. The program is the walk along the arcs of each unit's
states, so that it has the same rules as the engine's own.
"""

import pickle
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib.util import find_spec
from typing import Any

import numpy as np

from pipeline.ahead.search.problem import BROKEN_USD, BURN_OF, LABEL_OF, Array, Problem, walked

GRACE_SECONDS = 10
"""Seconds beyond its limit after which the solver is ended."""


ANSWER = b"\nanswer\n"
"""What stands before the answer: the solver says things of its own on the same stream."""


Answer = tuple[Array | None, float | None]
"""A plan and a bound [$], None where the solver has none."""


def solver_at_hand() -> bool:
    """Whether the solver is installed."""
    return find_spec("highspy") is not None


def asked_solver(problem: Problem, plan: Array, seconds: float) -> Answer:
    """What the solver finds in so many seconds, from a plan on; nothing where it fails."""
    command = [sys.executable, "-m", "pipeline.ahead.search.solver"]
    told = pickle.dumps((problem, plan, seconds))
    try:
        done = subprocess.run(
            command, input=told, capture_output=True, timeout=seconds + GRACE_SECONDS, check=True
        )
    except (subprocess.SubprocessError, OSError):
        return None, None
    answer: Answer = pickle.loads(done.stdout.split(ANSWER, 1)[1])
    return answer


@dataclass
class Program:
    """Columns and rows of an integer program that is to be made as large as can be."""

    worth: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[float, float, list[int], list[float]]] = field(default_factory=list)

    def column(self, worth: float, most: float, *, whole: bool) -> int:
        """A further column from 0 to ``most``; its number."""
        self.worth.append(worth)
        self.most.append(most)
        self.whole.append(whole)
        return len(self.worth) - 1

    def row(self, low: float, high: float, terms: list[tuple[int, float]]) -> None:
        """A sum of columns that lies between two figures; a column may stand in it twice."""
        summed: dict[int, float] = {}
        for number, factor in terms:
            summed[number] = summed.get(number, 0.0) + factor
        self.rows.append((low, high, list(summed), list(summed.values())))


Steps = dict[tuple[int, int], list[tuple[int, int]]]
"""Columns of each unit and year, each with its arc."""


def written(problem: Problem) -> tuple[Program, Steps]:
    """The problem as an integer program, and the columns of its arcs."""
    program = Program()
    steps: Steps = {}
    for unit in range(problem.units):
        steps |= dict(_walk(problem, program, unit))
    _shared(problem, program, steps)
    _lines(problem, program, steps)
    return program, steps


def _walk(
    problem: Problem, program: Program, unit: int
) -> Iterator[tuple[tuple[int, int], list[tuple[int, int]]]]:
    """Columns of a unit's arcs, and the rows that make a walk of them."""
    arcs, kind = problem.arcs, problem.kind[unit]
    inflow: dict[int, list[tuple[int, float]]] = {int(problem.start[unit]): []}
    for year in range(problem.years):
        columns: list[tuple[int, int]] = []
        flow: dict[int, list[tuple[int, float]]] = {}
        for state, coming in inflow.items():
            leaving = []
            for treatment, arc in enumerate(arcs.arc_of[state]):
                broken = bool(problem.arc_broken[kind, arc] > 0)
                ruled = broken and not problem.settled[unit, year]
                if arc < 0 or ruled or problem.barred[unit, year, treatment] > 0:
                    continue
                usd = problem.worth[unit, year, treatment]
                usd += problem.acres[unit] * problem.arc_worth_ac[kind, arc] - BROKEN_USD * broken
                number = program.column(float(usd), 1.0, whole=True)
                columns.append((number, int(arc)))
                leaving.append((number, 1.0))
                flow.setdefault(int(arcs.end[arc]), []).append((number, -1.0))
            into = 1.0 if year == 0 else 0.0
            program.row(into, into, leaving + coming)
        inflow = flow
        yield (unit, year), columns


def _taking(
    problem: Problem, steps: Steps, unit: int, year: int, of: Array
) -> list[tuple[int, float]]:
    """Terms of what a unit's arcs of a year take, by their treatments."""
    treatment = problem.arcs.treatment
    return [(n, float(of[treatment[arc]])) for n, arc in steps[unit, year] if of[treatment[arc]]]


def _shared(problem: Problem, program: Program, steps: Steps) -> None:
    """Rows of the herd and of the groups of neighbors."""
    for year in range(problem.years):
        short = program.column(-problem.short_usd_aum, np.inf, whole=False)
        terms = [(short, 1.0)]
        for unit in range(problem.units):
            terms += _taking(problem, steps, unit, year, problem.supply_aum[unit])
        program.row(float(problem.demand_aum[year]), np.inf, terms)
        for members, most in zip(problem.groups, problem.group_most, strict=True):
            terms = []
            for unit in members:
                terms += _taking(problem, steps, int(unit), year, BURN_OF)
            program.row(-np.inf, float(most[year]), terms)


def _lines(problem: Problem, program: Program, steps: Steps) -> None:
    """Columns of the lines made between neighbors, and the rows of all limits."""
    before: dict[str, list[tuple[int, float]]] = {}
    for year in range(problem.years):
        feet: list[tuple[int, float]] = []
        for unit in range(problem.units):
            feet += _taking(problem, steps, unit, year, BURN_OF * problem.outer_ft[unit])
        for (one, other), length in zip(problem.pairs, problem.pair_ft, strict=True):
            made = program.column(0.0, 1.0, whole=False)
            feet.append((made, float(length)))
            for label in problem.labels:
                here = _taking(problem, steps, int(one), year, np.equal(LABEL_OF, label))
                there = _taking(problem, steps, int(other), year, np.equal(LABEL_OF, label))
                differ = [*here, *((n, -factor) for n, factor in there)]
                program.row(-np.inf, 0.0, [*differ, (made, -1.0)])
                program.row(0.0, np.inf, [*differ, (made, 1.0)])
        for number, length in feet:
            program.worth[number] -= problem.line_usd_ft * length
        for limit in problem.limits:
            terms = [(number, limit.per_ft * length) for number, length in feet if limit.per_ft]
            for unit in range(problem.units):
                terms += _taking(problem, steps, unit, year, limit.use[unit])
            if limit.adds_up:
                terms = before[limit.code] = before.get(limit.code, []) + terms
            program.row(-np.inf, float(limit.most[year]), terms)


def solved(problem: Problem, plan: Array, seconds: float) -> Answer:
    """What the solver finds, in this process."""
    import highspy as solver

    highspy: Any = solver
    program, steps = written(problem)
    model = highspy.Highs()
    model.setOptionValue("output_flag", False)
    model.setOptionValue("time_limit", float(seconds))
    model.setOptionValue("threads", 1)
    model.setOptionValue("random_seed", 0)
    model.passModel(_model(highspy, program))
    start = highspy.HighsSolution()
    start.col_value = _values(problem, program, steps, plan)
    model.setSolution(start)
    model.run()
    info = model.getInfo()
    bound = float(info.mip_dual_bound)
    if not np.isfinite(info.objective_function_value) or not info.primal_solution_status:
        return None, bound if np.isfinite(bound) else None
    values = model.getSolution().col_value
    found = plan.copy()
    for (unit, year), columns in steps.items():
        arc = max(columns, key=lambda column: values[column[0]])[1]
        found[unit, year] = problem.arcs.treatment[arc]
    return found, bound if np.isfinite(bound) else None


def _model(highspy: Any, program: Program) -> object:
    """The program as the solver takes it."""
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(program.worth), len(program.rows)
    model.col_cost_ = np.array(program.worth)
    model.col_lower_, model.col_upper_ = np.zeros(model.num_col_), np.array(program.most)
    model.sense_ = highspy.ObjSense.kMaximize
    kinds = highspy.HighsVarType
    model.integrality_ = [kinds.kInteger if w else kinds.kContinuous for w in program.whole]
    low, high, columns, factors = zip(*program.rows, strict=True)
    model.row_lower_, model.row_upper_ = np.array(low), np.array(high)
    matrix = model.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.start_ = np.concatenate([[0], np.cumsum([len(row) for row in columns])])
    matrix.index_ = np.concatenate([np.array(row, dtype=np.int32) for row in columns])
    matrix.value_ = np.concatenate([np.array(row, dtype=float) for row in factors])
    return model


def _values(problem: Problem, program: Program, steps: Steps, plan: Array) -> list[float]:
    """Columns of a plan's own arcs: where the solver begins; it fills in what follows."""
    values = np.zeros(len(program.worth))
    _, arcs = walked(problem, plan)
    for (unit, year), columns in steps.items():
        for number, arc in columns:
            values[number] = float(arc == arcs[unit, year])
    return values.tolist()


if __name__ == "__main__":
    told = pickle.dumps(solved(*pickle.loads(sys.stdin.buffer.read())))
    sys.stdout.buffer.write(ANSWER + told)
