"""The small language of the season rules: clauses joined by ``and``, read and checked, never run.

A clause is a name, an operator and a value: ``carries = yes``, ``burns_in_10_years < 2``,
``cover has pasture``, ``years_since_burn is unknown``. A clause about a missing value is neither
true nor false; the rule it stands in is then undecided and says what it needs.

Every rule that holds is an option, in the order of the table. After one that stands alone no
further one is tried; one without a condition is for units that no other rule holds for.
"""

import math
import operator
import re
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.names import listed, suggestion
from pipeline.season.source_layers import NEEDS

Facts = Mapping[str, float | str | None]


CLAUSE = re.compile(r"^(\w+)\s*(<=|>=|!=|<|>|=|\bhas\b|\bis\b)\s*(.+)$")


COMPARISONS = {
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
    "=": operator.eq,
    "!=": operator.ne,
}


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
        return bool(COMPARISONS[self.operator](float(fact), self.value))


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the rule table with its condition read."""

    number: int
    clauses: tuple[Clause, ...]
    suggestion: str
    window: str | None
    reason: str
    source: str
    leads_to: str | None
    time: str | None = None
    needs: tuple[str, ...] = ()
    rules_out: str | None = None
    alone: bool = False

    @property
    def facts(self) -> list[str]:
        """Names of the facts whose values make the rule hold."""
        return [clause.name for clause in self.clauses if clause.operator != "is"]


def _text_holds(fact: str, sign: str, value: str) -> bool:
    """Whether a text meets a clause; upper and lower case are the same."""
    fact, value = fact.casefold(), value.casefold()
    if sign == "has":
        return value in fact
    return (fact == value) == (sign == "=")


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
        needs, odd = _read_needs(row.needs, where)
        faults += [*found, *odd]
        words = (row.suggestion, row.window, row.reason, row.source, row.leads_to, row.time)
        alone = bool(pd.notna(row.alone) and row.alone)
        rules.append(Rule(int(row.rule), clauses, *words, needs, row.rules_out, alone))
    return rules, faults or unreachable_faults(rules)


def _read_needs(text: str | None, where: str) -> tuple[tuple[str, ...], list[Fault]]:
    """What an option needs, from codes with semicolons between, and the ones that are none."""
    codes = tuple(part.strip().casefold() for part in text.split(";")) if text else ()
    odd = [code for code in codes if code not in NEEDS]
    expected = f"some of {listed(NEEDS)}, with semicolons between"
    return codes, [
        Fault(where, f'"{code}" in needs', expected, suggestion(code, NEEDS)) for code in odd
    ]


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
        expected = "name, operator (= != < <= > >= has, is) and value"
        return Fault(where, f'"{part}"', expected, "write a clause such as carries = yes")
    name, sign, value = match.groups()
    if name not in known:
        expected = f"one of {listed(sorted(known), 60)}"
        return Fault(where, f'unknown column "{name}"', expected, suggestion(name, known))
    if sign == "is":
        if value in ("unknown", "known"):
            return Clause(name, "is", value)
        return Fault(where, f'"{part}"', "is unknown, or is known", "write = for a value")
    choices = known[name]
    if choices is None:
        return _number_clause(name, sign, value, where)
    if sign not in TEXTUAL:
        return Fault(where, f'"{part}": {name} is a text', "= != or has", "change the operator")
    return _text_clause(name, sign, value, choices, where)


def _text_clause(
    name: str, sign: str, value: str, choices: tuple[str, ...], where: str
) -> Clause | Fault:
    """A clause on a text. A code may be written with blanks: early spring for early_spring."""
    if not choices:
        return Clause(name, sign, value)
    code = value.casefold().replace(" ", "_")
    if code in choices or (sign == "has" and any(code in choice for choice in choices)):
        return Clause(name, sign, code)
    expected = f"one of {listed(choices, 20)}"
    return Fault(where, f'"{value}" for {name}', expected, suggestion(value, choices))


def _number_clause(name: str, sign: str, value: str, where: str) -> Clause | Fault:
    """A clause on a number."""
    try:
        number = float(value)
    except ValueError:
        number = math.nan
    if sign in COMPARISONS and math.isfinite(number):
        return Clause(name, sign, number)
    found = f'"{name} {sign} {value}": {name} is a number'
    expected = "= != < <= > >= and a number"
    return Fault(where, found, expected, "change the operator or the value")


def unreachable_faults(rules: list[Rule]) -> list[Fault]:
    """Rules that can never make a suggestion.

    They contradict themselves, or an earlier one always takes their place.
    """
    faults = []
    for position, rule in enumerate(rules):
        where = f"[sources.season_rules] rule {rule.number}"
        if _contradicts(rule.clauses):
            found, expected = "its clauses exclude each other", "a condition that can hold"
            faults.append(Fault(where, found, expected, "mend or delete it"))
        elif (earlier := _taken_by(rule, rules[:position])) is not None:
            found = f"never reached: rule {earlier.number} holds whenever it does"
            expected = "special rules before general ones"
            faults.append(Fault(where, found, expected, "move it up, or delete it"))
    return faults


def _taken_by(rule: Rule, before: list[Rule]) -> Rule | None:
    """The first rule before this one that leaves no room for it, None without any.

    Such a rule holds whenever it does and stands alone; of rules without a condition only the
    first is ever taken.
    """
    return next(
        (
            earlier
            for earlier in before
            if (earlier.alone or not (earlier.clauses or rule.clauses))
            and all(any(_implies(c, other) for c in rule.clauses) for other in earlier.clauses)
        ),
        None,
    )


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


def _implies(clause: Clause, other: Clause) -> bool:
    """Whether whatever meets the clause also meets the other one."""
    if clause == other:
        return True
    if clause.name != other.name:
        return False
    if other.operator == "is":
        return other.value == "known" and clause.operator != "is"
    if clause.operator == "is":
        return False
    if _is_range(clause) and _is_range(other):
        low, high, low_in, high_in = _range(clause)
        least, most, least_in, most_in = _range(other)
        return (low > least or (low == least and (least_in or not low_in))) and (
            high < most or (high == most and (most_in or not high_in))
        )
    if clause.operator == "=":
        return bool(other.holds({clause.name: clause.value}))
    return False


def _contradicts(clauses: tuple[Clause, ...]) -> bool:
    """Whether two clauses of a condition exclude each other."""
    pairs = combinations(clauses, 2)
    return any(first.name == second.name and _exclude(first, second) for first, second in pairs)


def _exclude(first: Clause, second: Clause) -> bool:
    """Whether no value meets both clauses on the same fact."""
    if "is" in (first.operator, second.operator):
        unknown = [c.operator == "is" and c.value == "unknown" for c in (first, second)]
        return unknown[0] != unknown[1]
    for one, other in ((first, second), (second, first)):
        if one.operator == "=" and other.holds({one.name: one.value}) is False:
            return True
    if not (_is_range(first) and _is_range(second)):
        return False
    low, high, low_in, high_in = _range(first)
    least, most, least_in, most_in = _range(second)
    apart = low > most or least > high
    touch_low = low == most and not (low_in and most_in)
    touch_high = least == high and not (least_in and high_in)
    return apart or touch_low or touch_high


def held(rules: list[Rule], facts: Facts) -> tuple[list[Rule], dict[int, list[str]]]:
    """Rules that hold for a unit in their order, and the undecided ones with what they need.

    What comes after a rule that stands alone is not looked at.
    """
    found: list[Rule] = []
    undecided: dict[int, list[str]] = {}
    for rule in rules:
        holds = {clause: clause.holds(facts) for clause in rule.clauses}
        if False in holds.values() or (found and not rule.clauses):
            continue
        needs = [clause.name for clause, met in holds.items() if met is None]
        if needs:
            undecided[rule.number] = needs
            continue
        found.append(rule)
        if rule.alone:
            break
    return found, undecided
