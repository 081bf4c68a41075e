"""What is to be made of a line, against the rules themselves and worked examples.

Fuel of 6 ft asks for 12 ft of bare ground (Missouri NRCS, Firebreak (394) Guidance, February 2020,
page 1: twice the height) and downwind for 60 ft of bare, mown and burned-out ground together
(Extension, Fire prescriptions, rule 4: ten times; the Iowa column of 28 September 2020 prints 60).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from pipeline.fire.line_plan import Widths, planned_line
from pipeline.fire.mowing.settings import MowingSettings

BARE, ALL = "bare_or_burned", "bare_mown_or_burned"
MISSOURI, EXTENSION = (BARE, 12.0), (ALL, 60.0)
MOWN_20 = Widths(mown=20.0)


@pytest.mark.parametrize(
    ("there", "least", "asked", "choices", "made"),
    [
        # Mown grass does not count for the bare rule; what is bare counts for the whole.
        (Widths(), MOWN_20, [MISSOURI], {}, Widths(bare=12, mown=20)),
        (Widths(), MOWN_20, [EXTENSION], {}, Widths(mown=60)),
        (Widths(), MOWN_20, [EXTENSION, MISSOURI], {}, Widths(bare=12, mown=48)),
        # A road of 20 ft is bare enough; downwind it is widened beside.
        (Widths(bare=20), Widths(), [MISSOURI], {}, Widths()),
        (Widths(bare=20), Widths(), [EXTENSION, MISSOURI], {}, Widths(mown=40)),
        # A mown strip that is there is no bare ground.
        (Widths(mown=30), Widths(), [MISSOURI], {}, Widths(bare=12)),
        # The user's own order and limits.
        (Widths(), MOWN_20, [EXTENSION], {"order": ("burned", "mown")}, Widths(mown=20, burned=40)),
        (
            Widths(),
            MOWN_20,
            [EXTENSION, MISSOURI],
            {"most_mown_ft": 30, "most_bare_ft": 10},
            Widths(bare=10, mown=30, burned=20),
        ),
        # Where the ways allowed do not reach, all of them is made.
        (
            Widths(),
            MOWN_20,
            [EXTENSION, MISSOURI],
            {"order": ("mown", "bare"), "most_mown_ft": 30, "most_bare_ft": 8},
            Widths(bare=8, mown=30),
        ),
        (Widths(), MOWN_20, [], {}, Widths(mown=20)),
    ],
)
def test_worked_plans(there, least, asked, choices, made):
    assert planned_line(there, least, asked, MowingSettings(**choices)) == made


ft = st.integers(0, 80).map(float)
widths = st.builds(Widths, ft, ft, ft)
rules = st.lists(st.tuples(st.sampled_from([BARE, ALL]), ft), max_size=6)
orders = st.permutations(["mown", "bare", "burned"]).map(tuple)


@given(widths, widths, rules, orders)
def test_plan_without_limits_meets_every_rule_and_makes_no_foot_too_many(
    there, least, asked, order
):
    made = planned_line(there, least, asked, MowingSettings(order=order))

    def meets(line):
        return all((there + line).counted_ft(ground) >= width - 1e-6 for ground, width in asked)

    assert meets(made)
    for way in order:
        told = {name: getattr(made, name) for name in order}
        assert told[way] >= getattr(least, way)
        if told[way] > getattr(least, way):
            assert not meets(Widths(**told | {way: told[way] - 0.5}))


@given(rules, orders, st.tuples(ft, ft, ft))
def test_plan_keeps_to_the_limits_and_is_short_only_at_them(asked, order, most):
    limits = dict(zip(("most_mown_ft", "most_bare_ft", "most_burned_ft"), most, strict=True))
    made = planned_line(Widths(), Widths(), asked, MowingSettings(order=order, **limits))
    full = Widths(bare=most[1], mown=most[0], burned=most[2])
    for way in order:
        assert getattr(made, way) <= getattr(full, way)
    for ground, width in asked:
        reached = min(width, full.counted_ft(ground))
        assert made.counted_ft(ground) >= reached - 1e-6


def test_way_named_twice_is_refused():
    with pytest.raises(ValidationError, match="twice"):
        MowingSettings(order=("mown", "mown"))
