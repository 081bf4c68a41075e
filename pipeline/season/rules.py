"""The small language of the season rules: clauses joined by ``and``, read and checked, never run.

A clause is a name, an operator and a value: ``carries = yes``, ``burns_in_10_years < 2``,
``cover has pasture``, ``years_since_burn is unknown``. A clause about a missing value is neither
true nor false; the rule it stands in is then undecided and says what it needs.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.names import listed, suggestion

Facts = Mapping[str, float | str | None]


CLAUSE = re.compile(r"^(\w+)\s*(<=|>=|!=|<|>|=|\bhas\b|\bis\b)\s*(.+)$")


NUMERIC = ("<", "<=", ">", ">=", "=", "!=")


TEXTUAL = ("=", "!=", "has")


@dataclass(frozen=True, slots=True)
class Clause:
    """One condition on one fact. ``value`` is a number for numeric facts."""

    name: str
    operator: str
    value: float | str

    def holds(self, facts: Facts) -> bool | None:
        """True or false, None where the fact is missing."""
        fact = facts.get(self.name)
        missing = fact is None or (isinstance(fact, float) and math.isnan(fact))
        if self.operator == "is":
            return missing == (self.value == "unknown")
        if missing or fact is None:
            return None
        if isinstance(self.value, str):
            return _text_holds(str(fact), self.operator, self.value)
        return _number_holds(float(fact), self.operator, self.value)


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the rule table with its condition read."""

    number: int
    clauses: tuple[Clause, ...]
    suggestion: str
    window: str | None
    reason: str
    source: str


def _text_holds(fact: str, operator: str, value: str) -> bool:
    """Whether a text meets a clause; case does not count."""
    fact, value = fact.casefold(), value.casefold()
    if operator == "has":
        return value in fact
    return (fact == value) == (operator == "=")


def _number_holds(fact: float, operator: str, value: float) -> bool:
    """Whether a number meets a clause."""
    return {
        "<": fact < value, "<=": fact <= value, ">": fact > value, ">=": fact >= value,
        "=": fact == value, "!=": fact != value,
    }[operator]  # fmt: skip


def read_rules(
    table: pd.DataFrame, known: Mapping[str, tuple[str, ...] | None]
) -> tuple[list[Rule], list[Fault]]:
    """Rules in their order, with every fault of the table.

    ``known`` names the facts; each has its possible texts, an empty tuple for free text, or None
    for a number.
    """
    rules: list[Rule] = []
    faults: list[Fault] = []
    for row in table.sort_values("rule").itertuples(index=False):
        where = f"[sources.season_rules] rule {row.rule}"
        clauses, found = read_condition(row.when, known, where)
        faults += found
        rules.append(
            Rule(int(row.rule), clauses, row.suggestion, row.window, row.reason, row.source)
        )
    return rules, faults or unreachable_faults(rules)


def read_condition(
    text: str | None, known: Mapping[str, tuple[str, ...] | None], where: str
) -> tuple[tuple[Clause, ...], list[Fault]]:
    """Clauses of a condition and what is wrong with it; no text means always."""
    clauses, faults = [], []
    for part in re.split(r"\s+and\s+", text.strip()) if text else ():
        clause = _read_clause(part.strip(), known, where)
        if isinstance(clause, Clause):
            clauses.append(clause)
        else:
            faults.append(clause)
    return tuple(clauses), faults


def _read_clause(
    part: str, known: Mapping[str, tuple[str, ...] | None], where: str
) -> Clause | Fault:
    """One clause, or why it cannot be read."""
    match = CLAUSE.match(part)
    if match is None:
        return Fault(where, f'"{part}"', "name, operator (= != < <= > >= has, is) and value",
                     "write a clause such as carries = yes")  # fmt: skip
    name, operator, value = match.groups()
    if name not in known:
        return Fault(where, f'unknown column "{name}"', f"one of {listed(sorted(known), 60)}",
                     suggestion(name, known))  # fmt: skip
    if operator == "is":
        if value in ("unknown", "known"):
            return Clause(name, "is", value)
        return Fault(where, f'"{part}"', "is unknown, or is known", "write = for a value")
    choices = known[name]
    if choices is None:
        return _number_clause(name, operator, value, where)
    if operator not in TEXTUAL:
        return Fault(where, f'"{part}": {name} is a text', "= != or has", "change the operator")
    if choices and operator != "has" and value not in choices:
        return Fault(where, f'"{value}" for {name}', f"one of {listed(choices, 20)}",
                     suggestion(value, choices))  # fmt: skip
    return Clause(name, operator, value)


def _number_clause(name: str, operator: str, value: str, where: str) -> Clause | Fault:
    """A clause on a number."""
    try:
        number = float(value)
    except ValueError:
        number = math.nan
    if operator not in NUMERIC or not math.isfinite(number):
        return Fault(where, f'"{name} {operator} {value}": {name} is a number',
                     "= != < <= > >= and a number", "change the operator or the value")  # fmt: skip
    return Clause(name, operator, number)


def unreachable_faults(rules: list[Rule]) -> list[Fault]:
    """Rules that can never make a suggestion.

    They contradict themselves, or an earlier one always takes their place.
    """
    faults = []
    for position, rule in enumerate(rules):
        where = f"[sources.season_rules] rule {rule.number}"
        if _contradicts(rule.clauses):
            faults.append(Fault(where, "its clauses exclude each other",
                                "a condition that can hold", "mend or delete it"))  # fmt: skip
            continue
        for earlier in rules[:position]:
            if all(any(_implies(own, c) for own in rule.clauses) for c in earlier.clauses):
                faults.append(
                    Fault(where, f"never reached: rule {earlier.number} holds whenever it does",
                          "special rules before general ones", "move it up, or delete it")
                )  # fmt: skip
                break
    return faults


def _range(clause: Clause) -> tuple[float, float, bool, bool]:
    """Lowest and highest number a clause lets through, and whether each end is itself let in."""
    number = float(clause.value)
    if clause.operator in ("<", "<="):
        return -math.inf, number, False, clause.operator == "<="
    if clause.operator in (">", ">="):
        return number, math.inf, clause.operator == ">=", False
    return number, number, True, True


def _is_range(clause: Clause) -> bool:
    """Whether a clause lets through a stretch of numbers."""
    return isinstance(clause.value, float) and clause.operator != "!="


def _implies(own: Clause, other: Clause) -> bool:
    """Whether whatever meets ``own`` also meets ``other``."""
    if own == other:
        return True
    if own.name != other.name:
        return False
    if other.operator == "is":
        return other.value == "known" and own.operator != "is"
    if own.operator == "is":
        return False
    if _is_range(own) and _is_range(other):
        low, high, low_in, high_in = _range(own)
        least, most, least_in, most_in = _range(other)
        return (low > least or (low == least and (least_in or not low_in))) and (
            high < most or (high == most and (most_in or not high_in))
        )
    if own.operator == "=":
        return bool(other.holds({own.name: own.value}))
    return False


def _contradicts(clauses: tuple[Clause, ...]) -> bool:
    """Whether two clauses of a condition exclude each other."""
    return any(
        _exclude(first, second)
        for n, first in enumerate(clauses) for second in clauses[n + 1 :]
        if first.name == second.name
    )  # fmt: skip


def _exclude(first: Clause, second: Clause) -> bool:
    """Whether no value meets both clauses on the same fact."""
    if "is" in (first.operator, second.operator):
        unknown = [c.operator == "is" and c.value == "unknown" for c in (first, second)]
        return unknown[0] != unknown[1]
    for one, other in ((first, second), (second, first)):
        if one.operator == "=" and other.holds({one.name: one.value}) is False:
            return True
    if _is_range(first) and _is_range(second):
        low, high, low_in, high_in = _range(first)
        least, most, least_in, most_in = _range(second)
        return (
            low > most or least > high
            or (low == most and not (low_in and most_in))
            or (least == high and not (least_in and high_in))
        )  # fmt: skip
    return False


def first_match(rules: list[Rule], facts: Facts) -> tuple[Rule | None, dict[int, list[str]]]:
    """The first rule that holds, and the undecided ones before it with the facts they need."""
    undecided: dict[int, list[str]] = {}
    for rule in rules:
        told = [clause.holds(facts) for clause in rule.clauses]
        if False in told:
            continue
        if None not in told:
            return rule, undecided
        undecided[rule.number] = [
            c.name for c, holds in zip(rule.clauses, told, strict=True) if holds is None
        ]  # fmt: skip
    return None, undecided
