"""Rules of the road: which event moves a unit from which state to which, by which condition."""

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.names import listed, suggestion
from pipeline.season.road.layers import NATIVES, STATES
from pipeline.season.rules import Clause, Facts, read_condition

ROAD_FACTS: dict[str, tuple[str, ...] | None] = {
    "cover": (),
    "share_pct": None,
    "burns_in_10_years": None,
    "years_since_burn": None,
    "years_since_seeding": None,
    "years_in_state": None,
    "native_share_pct": None,
    "cool_exotic_share_pct": None,
    "natives": NATIVES,
    "across_burn": ("yes", "no"),
    "new_natives": None,
    "verdict": (),
}
"""What a rule may ask of a unit on the day of an event: texts, free texts, or None for a number.

``years_since_burn`` and ``burns_in_10_years`` are of burns of the greater part; of a burn the years
are those since the one before it. ``natives`` are those of a survey against the one before it, and
``across_burn`` tells whether the last burn lies between the two."""


@dataclass(frozen=True, slots=True)
class RoadRule:
    """One row of the rule table with its condition read. ``to_state`` None: the unit stays."""

    number: int
    event: str
    from_states: tuple[str, ...]
    clauses: tuple[Clause, ...]
    to_state: str | None
    needs: str | None
    reason: str
    source: str

    def is_for(self, event: str, state: str | None) -> bool:
        """Whether it is tried on an event that meets a unit in a state."""
        return self.event == event and (not self.from_states or state in self.from_states)

    def holds(self, facts: Facts) -> bool:
        """Whether its condition is known to hold; what is not known moves nothing."""
        return all(clause.holds(facts) for clause in self.clauses)


def read_road_rules(table: pd.DataFrame) -> tuple[list[RoadRule], list[Fault]]:
    """Rules in their order, with every fault of the table."""
    rules: list[RoadRule] = []
    faults: list[Fault] = []
    for row in table.sort_values("rule").itertuples(index=False):
        where = f"[sources.road_rules] rule {row.rule}"
        clauses, found = read_condition(row.when, ROAD_FACTS, where)
        states = tuple(part.strip() for part in (row.from_states or "").split(";") if part.strip())
        faults += [*found, *_state_faults(states, where)]
        words = (row.to_state, row.needs, row.reason, row.source)
        rules.append(RoadRule(int(row.rule), row.event, states, clauses, *words))
    begins = [rule for rule in rules if rule.event == "start"]
    if not any(rule.to_state and not rule.clauses and not rule.from_states for rule in begins):
        where, expected = "[sources.road_rules]", "a rule start without a condition"
        faults.append(Fault(where, "no start for every unit", expected, "add it with a to_state"))
    return rules, faults


def _state_faults(states: Iterable[str], where: str) -> list[Fault]:
    """States that the road does not have."""
    expected = f"states among {listed(STATES, 20)}"
    return [
        Fault(f"{where} from_states", f'"{state}"', expected, suggestion(state, STATES))
        for state in states
        if state not in STATES
    ]


def moves_on(rules: list[RoadRule], state: str, facts: Facts) -> str | None:
    """What a person would have to do or find so that a unit in a state moves on.

    Rules that the burns, seedings and kind of ground of the unit keep out of reach are left out;
    years that are still to pass do not.
    """
    ahead = [rule for rule in rules if state in rule.from_states]
    near = [rule for rule in ahead if not any(_is_barred(c, facts) for c in rule.clauses)]
    return "; ".join(dict.fromkeys(rule.needs for rule in near if rule.needs)) or None


def _is_barred(clause: Clause, facts: Facts) -> bool:
    """Whether a clause does not hold, and waiting alone will not mend it."""
    waits = clause.name.startswith("years_") and clause.operator in (">", ">=")
    return clause.holds(facts) is False and not waits
