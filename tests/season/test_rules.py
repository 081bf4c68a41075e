"""The language of the season rules: what it reads, what it refuses, how it decides."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.season.rules import held, read_condition, read_rules
from tests.literal_layers import literal_layer
from tests.shipped_rules import shipped_season_rules

KNOWN = {
    "years": None,
    "share": None,
    "carries": ("yes", "patchy", "no"),
    "cover": (),
    "time": ("early_spring", "fall"),
}


def rules(*conditions, **more):
    """Rules with these conditions, all with the same further cells."""
    words = {"reason": "r", "source": "s", **more}
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
        ((None, None), 2),
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
    _, faults = rules(*conditions, alone=True)
    assert [f"rule {number}" in fault.where for fault in faults] == [True]


def test_rule_after_one_that_does_not_stand_alone_is_a_further_option():
    assert not rules("years > 3", "years >= 4")[1]
    assert [r.number for r in held(rules("years > 3", "years >= 4")[0], {"years": 5})[0]] == [1, 2]


def test_after_a_rule_that_stands_alone_none_is_tried():
    read, _ = rules("years > 3", "years > 2", "share > 1", alone=True)
    found, undecided = held(read, {"years": 5})
    assert ([rule.number for rule in found], undecided) == ([1], {})


def test_rule_without_a_condition_is_for_units_that_no_other_holds_for():
    read, faults = rules(None, "years > 3")
    assert not faults
    assert [rule.number for rule in held(read, {"years": 1})[0]] == [1]


def test_what_an_option_needs_is_one_of_a_few_codes():
    read, faults = rules("years > 3", needs="Fuel; stock")
    assert read[0].needs == ("fuel", "stock")
    assert not faults
    _, (fault,) = rules("years > 3", needs="fuel; luck")
    assert '"luck" in needs' in str(fault)


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


def test_those_that_hold_come_in_their_order_and_undecided_ones_say_what_they_need():
    read, _ = rules(
        "years > 3 and carries = yes", "share > 10", "carries = yes", "carries != no", None
    )
    found, undecided = held(read, {"carries": "yes"})
    assert [rule.number for rule in found] == [3, 4]
    assert undecided == {1: ["years"], 2: ["share"]}


def test_a_false_clause_decides_though_another_is_missing():
    read, _ = rules("years > 3 and carries = yes")
    assert held(read, {"carries": "no"}) == ([], {})


CLAUSES = st.lists(
    st.tuples(st.sampled_from(["<", "<=", ">", ">=", "="]), st.integers(0, 4)),
    min_size=1,
    max_size=3,
)


@settings(deadline=None)
@given(CLAUSES, CLAUSES)
def test_unreachable_rule_is_really_never_reached(first, second):
    conditions = [" and ".join(f"years {op} {n}" for op, n in rule) for rule in (first, second)]
    read, faults = rules(*conditions, alone=True)
    refused = {n for n in (1, 2) for fault in faults if f"rule {n}" in fault.where}
    for years in [x / 4 for x in range(-2, 20)]:
        found, _ = held(read, {"years": years})
        assert not {rule.number for rule in found} & refused


def test_rules_that_come_with_the_program_are_sound():
    read = shipped_season_rules()
    assert all(rule.source for rule in read)
    assert not read[-1].clauses, "the last one is for units that no other holds for"
