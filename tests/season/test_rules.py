"""The language of the season rules: what it reads, what it refuses, how it decides."""

from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.season.facts import known_facts
from pipeline.season.rules import first_match, read_condition, read_rules
from tests.literal_layers import literal_layer

KNOWN = {
    "years": None,
    "share": None,
    "carries": ("yes", "patchy", "no"),
    "cover": (),
    "time": ("early_spring", "fall"),
}
PROJECT = Path(__file__).parents[2]


def rules(*conditions):
    words = {"reason": "r", "source": "s"}
    rows = [
        {"rule": n, "when": when, "suggestion": f"s{n}", **words}
        for n, when in enumerate(conditions, 1)
    ]
    return read_rules(literal_layer("season_rules", rows), KNOWN)


def decided(when, **facts):
    (clause,), faults = read_condition(when, KNOWN, "here")
    assert not faults
    return clause.holds(facts)


@pytest.mark.parametrize(
    ("when", "facts", "holds"),
    [
        ("years >= 3", {"years": 3}, True),
        ("years > 3", {"years": 3}, False),
        ("years != 3", {"years": 4}, True),
        ("carries = yes", {"carries": "yes"}, True),
        ("carries != yes", {"carries": "no"}, True),
        ("time = early spring", {"time": "early_spring"}, True),
        ("time = Early_Spring", {"time": "early_spring"}, True),
        ("time has early spring", {"time": "early_spring"}, True),
        ("time has spring", {"time": "early_spring"}, True),
        ("cover has Pasture", {"cover": "native pasture"}, True),
        ("years >= 3", {}, None),
        ("years >= 3", {"years": float("nan")}, None),
        ("years is unknown", {}, True),
        ("years is known", {}, False),
        ("years is known", {"years": 0}, True),
    ],
)
def test_clauses(when, facts, holds):
    assert decided(when, **facts) is holds


@pytest.mark.parametrize(
    ("when", "words"),
    [
        ("yeers > 3", 'unknown column "yeers"'),
        ("yeers > 3", 'did you mean "years"'),
        ("years has 3", "is a number"),
        ("years > three", "is a number"),
        ("years > inf", "is a number"),
        ("carries = maybe", '"maybe" for carries'),
        ("carries > yes", "is a text"),
        ("time has summer", '"summer" for time'),
        ("years is 3", "is unknown"),
        ("years", "name, operator"),
        ("__import__('os') = 1", "name, operator"),
    ],
)
def test_what_cannot_be_read_is_a_fault(when, words):
    _, faults = rules(when)
    assert words in str(faults[0])
    assert "rule 1" in str(faults[0])


def test_every_fault_of_a_table_is_told():
    assert len(rules("yeers > 3 and carries = maybe", "nothing")[1]) == 3


@pytest.mark.parametrize(
    ("conditions", "number"),
    [
        ((None, "years > 3"), 2),
        (("years > 3", "years >= 4"), 2),
        (("years > 3", "carries = yes", "years > 5 and carries = yes"), 3),
        (("carries != yes", "carries = no"), 2),
        (("years is known", "years = 2"), 2),
        (("years < 2 and years > 3",), 1),
        (("carries = yes and carries = no",), 1),
        (("years is unknown and years > 1",), 1),
        (("years > 3 and years <= 3",), 1),
    ],
)
def test_rule_that_is_never_reached_is_a_fault(conditions, number):
    _, faults = rules(*conditions)
    assert [f"rule {number}" in fault.where for fault in faults] == [True]


@pytest.mark.parametrize(
    "conditions",
    [
        ("years >= 4", "years > 3"),
        ("years > 3 and share < 2", "years > 3"),
        ("carries = no", "carries != yes"),
        ("years = 3", "years >= 3"),
        ("years is unknown", "years > 1"),
    ],
)
def test_special_before_general_is_no_fault(conditions):
    assert not rules(*conditions)[1]


def test_first_that_holds_wins_and_undecided_ones_say_what_they_need():
    read, _ = rules("years > 3 and carries = yes", "share > 10", "carries = yes", None)
    rule, undecided = first_match(read, {"carries": "yes"})
    assert rule.number == 3
    assert undecided == {1: ["years"], 2: ["share"]}


def test_a_false_clause_decides_though_another_is_missing():
    read, _ = rules("years > 3 and carries = yes")
    assert first_match(read, {"carries": "no"}) == (None, {})


CLAUSES = st.lists(
    st.tuples(st.sampled_from(["<", "<=", ">", ">=", "="]), st.integers(0, 4)),
    min_size=1,
    max_size=3,
)


@settings(deadline=None)
@given(CLAUSES, CLAUSES)
def test_unreachable_rule_is_really_never_reached(first, second):
    conditions = [" and ".join(f"years {op} {n}" for op, n in rule) for rule in (first, second)]
    read, faults = rules(*conditions)
    refused = {n for n in (1, 2) for fault in faults if f"rule {n}" in fault.where}
    for years in [x / 4 for x in range(-2, 20)]:
        rule, _ = first_match(read, {"years": years})
        assert rule is None or rule.number not in refused


def test_rules_that_come_with_the_program_are_sound():
    layer_rows = pd.read_csv(PROJECT / "config" / "season_rules.csv").to_dict("records")
    read, faults = read_rules(literal_layer("season_rules", layer_rows), known_facts())
    assert not faults
    assert all(rule.source for rule in read)
    assert not read[-1].clauses, "the last one holds always"
