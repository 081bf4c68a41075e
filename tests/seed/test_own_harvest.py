"""Own harvest: counts, cut tests, acres covered."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.errors import SourceError
from pipeline.seed.own_harvest import sound_fraction_interval
from pipeline.seed.quantities import covered_ac
from tests.made_seed import area

BIG = "Andropogon gerardii"
GATHERED = {"harvest": "Draw", "species": BIG, "target_seeds_sqft": 10.0}
COUNTS = {"sample_g": 1.0, "filled_seeds": 22, "cut_seeds": 20, "good_seeds": 16}
COUNTED = GATHERED | COUNTS | {"bulk_lb": 40.0}
SHARES = {"low_pls_pct": 2.0, "likely_pls_pct": 5.0, "high_pls_pct": 20.0}


def test_wilson_interval_of_sixteen_in_twenty():
    # Wilson (1927); the notes give 58 to 92 % for 16 of 20, which this reproduces.
    low, share, high = sound_fraction_interval(16, 20, confidence_pct=95)
    assert share == 0.8
    assert round(low, 2) == 0.58
    assert round(high, 2) == 0.92


def test_wilson_interval_stays_inside_at_the_ends():
    # All of n good: the low end is n / (n + z²), from Wilson's formula with a share of 1.
    low, _, high = sound_fraction_interval(20, 20, confidence_pct=95)
    assert low == pytest.approx(20 / (20 + 1.959963984540054**2), abs=1e-12)
    assert high == 1
    assert sound_fraction_interval(0, 20, confidence_pct=95)[0] == 0


@settings(max_examples=60)
@given(st.integers(1, 300), st.data())
def test_interval_holds_the_share(cut, data):
    good = data.draw(st.integers(0, cut))
    low, share, high = sound_fraction_interval(good, cut, confidence_pct=95)
    assert 0 <= low <= share + 1e-12
    assert share - 1e-12 <= high <= 1


def test_acres_from_counts_written_out(seed_plan):
    # NPS Wind Cave study: 22 good big bluestem seeds in a gram of rough-cleaned bulk.
    # Live: 22 × 0.8 = 17.6 per g; 40 lb × 453.59237 g × 17.6 / (10 × 43,560) = 0.7331 ac.
    row = seed_plan(units={"U1": 1.0}, harvests=[COUNTED])["own_harvest"].iloc[0]
    assert row["likely_seeds_g"] == pytest.approx(17.6)
    assert row["likely_ac"] == pytest.approx(0.73307, abs=1e-5)
    assert row["low_ac"] < row["likely_ac"] < row["high_ac"]
    assert row["sound_pct"] == 80


def test_acres_from_a_pls_need_seeds_per_pound(seed_plan):
    told = GATHERED | SHARES | {"bulk_lb": 100.0}
    species = [{"species": BIG, "seeds_per_lb": 144240.0}]
    row = seed_plan(units={"U1": 1.0}, harvests=[told], species=species)["own_harvest"].iloc[0]
    # 100 lb × 5 % × 144,240 / (10 × 43,560) = 1.65565 ac, and twice-fifths and four times that.
    assert row["likely_ac"] == pytest.approx(1.65565, abs=1e-5)
    assert row["low_ac"] == pytest.approx(row["likely_ac"] * 0.4)
    assert row["high_ac"] == pytest.approx(row["likely_ac"] * 4)
    assert row["likely_pls_lb"] == pytest.approx(5)
    unknown = seed_plan(units={"U1": 1.0}, harvests=[told])["own_harvest"].iloc[0]
    assert unknown["likely_ac"] != unknown["likely_ac"]


def test_target_comes_from_the_mixes_where_it_is_not_told(seed_plan):
    # Two areas put 4 and 6 seeds of it on a square foot: the denser one is the target.
    lines = {"species": BIG, "seeds_per_lb": 144240.0}
    plan = seed_plan(
        units={"U1": 1.0, "U2": 1.0},
        harvests=[COUNTED | {"target_seeds_sqft": None}],
        mixes=[lines | {"mix": "M", "seeds_sqft": 4.0}, lines | {"mix": "N", "seeds_sqft": 6.0}],
        seedings=[area("A", "U1", "M"), area("B", "U2", "N")],
    )
    assert plan["own_harvest"]["target_seeds_sqft"].iloc[0] == pytest.approx(6)


NO_COUNTS = dict.fromkeys(COUNTS)


@pytest.mark.parametrize(
    ("told", "word"),
    [
        ({"good_seeds": 21}, "21 good of 20 cut"),
        ({"cut_seeds": 0, "good_seeds": 0}, "more than none cut"),
        ({"sample_g": None}, "only part"),
        ({"likely_pls_pct": 4.0}, "counts and a PLS"),
        (NO_COUNTS, "neither counts nor"),
        (NO_COUNTS | {"likely_pls_pct": 4.0}, "only part"),
        (NO_COUNTS | SHARES | {"low_pls_pct": 6.0}, "in this order"),
    ],
)
def test_counts_that_cannot_be_are_refused(seed_plan, told, word):
    with pytest.raises(SourceError, match="harvests, Draw") as refused:
        seed_plan(units={"U1": 1.0}, harvests=[COUNTED | told])
    assert word in str(refused.value)


@settings(max_examples=40)
@given(st.floats(0.1, 1000), st.floats(0.1, 3000))
def test_twice_the_harvest_covers_twice_the_ground(bulk, per_g):
    assert covered_ac(2 * bulk, per_g, 5.0) == pytest.approx(2 * covered_ac(bulk, per_g, 5.0))
