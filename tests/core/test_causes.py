"""Findings summed by cause: nothing lost, in the order that is written down, whatever they are."""

import math
from itertools import pairwise

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.catalog import CAUSES, LAYERS, TOTALS, told_by_cause
from pipeline.core.causes import SEVERITIES, STAKES, UNITS, sum_by_cause
from pipeline.core.findings import Finding, findings_frame, gather_findings
from pipeline.core.units import UNIT_BY_SUFFIX

CAUSE_BY_CODE = {cause.code: cause for cause in CAUSES}
AMOUNTS = st.none() | st.floats(0, 1e6)
NAMES = st.none() | st.sampled_from(["A", "B", "C", "D", "E, F"])
FINDINGS = st.lists(
    st.builds(
        Finding,
        severity=st.sampled_from(SEVERITIES),
        code=st.sampled_from(list(CAUSE_BY_CODE)),
        amount=AMOUNTS,
        subject=NAMES,
        source=st.just("made"),
        message=st.just("Made up."),
    ),
    max_size=10,
)
PROPERTY = st.fixed_dictionaries({unit: st.just(0.0) | st.floats(1.0, 1e6) for unit in UNITS})


def summed(findings, totals):
    """Findings gathered as a run does it, and the same by cause."""
    told = gather_findings([findings_frame(findings)], CAUSES)
    return told, sum_by_cause(told, CAUSES, totals)


@settings(deadline=None, max_examples=60)
@given(FINDINGS, PROPERTY)
def test_every_finding_is_counted_and_every_amount_summed_once(findings, totals):
    told, by_cause = summed(findings, totals)
    assert by_cause["findings"].sum() == len(findings) == len(told)
    assert not by_cause.duplicated(["severity", "code"]).any()
    for row in by_cause.to_dict("records"):
        mine = [f for f in findings if (f["severity"], f["code"]) == (row["severity"], row["code"])]
        assert row["findings"] == len(mine)
        known = [f["amount"] for f in mine if f["amount"] is not None]
        if CAUSE_BY_CODE[row["code"]].unit and known:
            assert row["amount"] == pytest.approx(math.fsum(known))
            assert row["unit"] == CAUSE_BY_CODE[row["code"]].unit
        else:
            assert pd.isna(row["amount"])
            assert pd.isna(row["unit"])


@settings(deadline=None, max_examples=60)
@given(FINDINGS, PROPERTY)
def test_order_is_severity_then_stake_then_share_then_count(findings, totals):
    _, by_cause = summed(findings, totals)
    assert list(by_cause["rank"]) == list(range(1, len(by_cause) + 1))
    for first, second in pairwise(by_cause.to_dict("records")):
        for key in ("severity", "stake", "share", "findings", "code"):
            one, other = _worth(first, key), _worth(second, key)
            assert one >= other, key
            if one > other:
                break


def _worth(row, key):
    """How much a row is worth by one part of the rule: the more, the earlier."""
    if key == "severity":
        return ("note", "warning").index(row["severity"])
    if key == "stake":
        return -STAKES.index(row["stake"])
    if key == "share":
        return -1.0 if pd.isna(row["share_pct"]) else row["share_pct"]
    return row["findings"] if key == "findings" else -sorted(CAUSE_BY_CODE).index(row["code"])


@settings(deadline=None, max_examples=60)
@given(FINDINGS, PROPERTY, st.randoms(use_true_random=False))
def test_counts_do_not_hang_on_the_order_of_rows(findings, totals, dice):
    turned = list(findings)
    dice.shuffle(turned)
    columns = ["severity", "code", "findings", "cause"]
    one, other = (
        summed(rows, totals)[1][columns].to_numpy().tolist() for rows in (findings, turned)
    )
    assert sorted(one) == sorted(other)


def test_worst_places_are_those_with_the_largest_sums():
    amounts = {"A": 1.0, "B": 5.0, "C": 3.0, "D": 2.0}
    told = [
        Finding(severity="warning", source="s", code="overlap", message="m", subject=s, amount=a)
        for s, a in [*amounts.items(), ("A", 4.5), (None, 9.0)]
    ]
    (row,) = summed(told, {"ac": 49.0})[1].to_dict("records")
    assert row["worst"] == "A; B; C; and 1 more"
    assert row["amount"] == 24.5
    assert row["share_pct"] == 50.0
    assert row["cause"] == "pieces of ground in two units at once"


def test_nothing_is_said_by_cause_where_nothing_was_found():
    assert told_by_cause(findings_frame([]).assign(unit=None), {}).empty


@pytest.mark.parametrize("cause", CAUSES, ids=lambda cause: cause.code)
def test_a_cause_is_declared_whole(cause):
    assert cause.stake in STAKES
    assert cause.unit is None or cause.unit in UNITS
    for words in (cause.told(1), cause.told(2)):
        assert words[0].islower()
        assert not set(words) & set("[]|")
        assert len(words) <= 52, "a line of the terminal has room for names beside it"
    assert not cause.do.endswith(".")
    assert "|" not in cause.do, "what to do is told as it stands, for one or several"
    assert cause.do[0].islower()
    assert cause.told(1) != cause.told(2) or cause.words.startswith("species")


def test_codes_are_told_apart_and_units_are_known():
    assert len(CAUSE_BY_CODE) == len(CAUSES)
    assert set(UNITS) == set(TOTALS) <= set(UNIT_BY_SUFFIX)
    for layer, column in TOTALS.values():
        assert LAYERS[layer].column(column).kind == "number"


def test_layers_of_findings_take_the_codes_of_their_subject_and_no_others():
    layers = [layer for name, layer in LAYERS.items() if name.endswith("_findings")]
    codes = {code for layer in layers for code in layer.column("code").choices}
    assert codes == set(CAUSE_BY_CODE) == set(LAYERS["findings"].column("code").choices)
    assert "no_lot" not in LAYERS["firebreak_findings"].column("code").choices
    assert not any(layer.column("code").nullable for layer in layers)
