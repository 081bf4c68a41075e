"""The arithmetic of pure live seed against published worked examples.

Each row of tests/data/seed/worked_examples.csv names its publication, the printed figure and the
rounding step that leads from the figure to the printed one. Source slips are rows whose printed
figure no rounding reaches; what the arithmetic gives instead is written out below.
"""

import csv
from decimal import ROUND_CEILING, ROUND_DOWN, Decimal
from fractions import Fraction
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.units import G_PER_LB, M_PER_FT, SQFT_PER_AC, half_up
from pipeline.seed import quantities as q

EXAMPLES = Path(__file__).parents[1] / "data" / "seed" / "worked_examples.csv"
WITH_SOURCE = list(csv.DictReader(EXAMPLES.read_text(encoding="utf-8").splitlines()))
D = Decimal


def grams_for_seeds(wanted, good, cut, per_g):
    return wanted / q.live_seeds_g(per_g, 1.0, good / cut)


def kg_ha(lb_ac):
    return lb_ac * G_PER_LB / 1000 * 10000 / (SQFT_PER_AC * M_PER_FT**2)


FORMULAS = {
    "pls_pct": lambda purity, *viable: q.pls_fraction(purity, sum(viable)) * 100,
    "pls_fraction": q.pls_fraction,
    "bulk_lb": q.bulk_lb,
    "pls_lb": q.pls_lb,
    "usd_per_pls_lb": q.usd_per_pls_lb,
    "pls_lb_ac": q.pls_lb_ac,
    "seeds_sqft": q.seeds_sqft,
    "seeds_sqft_from_oz": lambda oz, per_oz: q.seeds_sqft(oz / 16, per_oz * 16),
    "seeds_ac": lambda sqft: sqft * SQFT_PER_AC,
    "seeds_m2": lambda sqft: sqft / M_PER_FT**2,
    "seeds_per_row_in": lambda sqft, spacing: q.seeds_row_ft(sqft, spacing) / 12,
    "share_of_full_rate_lb_ac": q.share_of_full_rate_lb_ac,
    "total_pls_lb": lambda full, pct, ac: q.share_of_full_rate_lb_ac(full, pct) * ac,
    "sum": lambda *parts: sum(parts),
    "catch_g_150_ft": lambda spacing: q.catch_g(1.0, q.drill_width_ft(1, spacing), 150.0),
    "test_sqft": lambda wheel, row, turns: q.strip_ac(row, wheel * turns) * SQFT_PER_AC,
    "drill_width_ft": q.drill_width_ft,
    "distance_ft": lambda sqft, width: sqft / width,
    "row_in_sqft": lambda spacing: q.row_ft_sqft(spacing) * 12,
    "seeds_per_lb_of_20_g": lambda counted: counted * G_PER_LB / 20,
    "grams_for_seeds": grams_for_seeds,
    "kg_ha": kg_ha,
    "sqft_per_lb": lambda sqft, per_lb: SQFT_PER_AC / q.pls_lb_ac(sqft, per_lb),
}


def cut_to(rounding):
    return lambda value, places: D(repr(value)).quantize(D(1).scaleb(-places), rounding)


ROUNDING = {
    "half-up": half_up,
    "truncated": cut_to(ROUND_DOWN),
    "rounded up": cut_to(ROUND_CEILING),
}

SLIPS = {
    # Printed figure is 50 lb × 91.83 %, the text says 55 lb.
    "A4b": "50.5",
    # The text prices the lot at $2.50, multiplies $3.00, and rounds the factor to 1.1.
    "B1e": "3.37",
    # One of twelve cells of the table; the other eleven agree.
    "C8-10000-35": "152",
    # The page pairs 1.1-3.4 kg/ha with 3-5 lb/ac.
    "F3": "3.4",
}


def figure(row):
    return FORMULAS[row["formula"]](*map(float, row["numbers"].split()))


def rows(*steps):
    return [pytest.param(r, id=r["id"]) for r in WITH_SOURCE if r["step"] in steps]


@pytest.mark.parametrize("row", rows(*ROUNDING))
def test_printed_figure_is_ours_after_its_rounding_step(row):
    assert ROUNDING[row["step"]](figure(row), int(row["places"])) == D(row["published"])


@pytest.mark.parametrize("row", rows("inputs rounded"))
def test_printed_figure_fits_inside_the_rounding_of_the_printed_input(row):
    first, *rest = map(float, row["numbers"].split())
    low, high = (FORMULAS[row["formula"]](first + d, *rest) for d in (-0.005, 0.005))
    assert low <= float(row["published"]) <= high


@pytest.mark.parametrize("row", rows("source slip"))
def test_source_slips_are_known_and_explained(row):
    places = int(row["places"])
    assert half_up(figure(row), places) == D(SLIPS[row["id"]])
    assert abs(figure(row) - float(row["published"])) > 0.5 * 10**-places


def test_every_example_is_checked_one_way():
    assert len(WITH_SOURCE) > 100
    assert {r["step"] for r in WITH_SOURCE} == {*ROUNDING, "inputs rounded", "source slip"}
    assert {r["id"] for r in WITH_SOURCE if r["step"] == "source slip"} == set(SLIPS)
    assert all(r["source"] for r in WITH_SOURCE)


def test_ties_round_half_up_as_printed():
    # MBS Seed (trade): 30 lb bulk at 80.75 % is printed as 24.23; half-even would give 24.22.
    assert half_up(q.pls_lb(30.0, 0.8075), 2) == D("24.23")


def test_nothing_is_rounded_on_the_way():
    # TxDOT prints 1.56 bulk lb per PLS lb because it rounds 0.6375 to 0.64 first (1.5625).
    assert half_up(q.bulk_lb(1.0, q.pls_fraction(85.0, 75.0)), 2) == D("1.57")


def test_blend_is_weighted_by_bulk_and_not_the_average():
    # Equal bulk of 80 % and 40 % lots is 60 %; equal pounds of live seed of them is 53.3 %.
    fractions = pd.Series([0.8, 0.4])
    assert q.blended_pls_fraction(pd.Series([10.0, 10.0]), fractions) == pytest.approx(0.6)
    bulk = 10 / fractions
    assert q.blended_pls_fraction(bulk, fractions) == pytest.approx(0.533, abs=5e-4)


def test_price_of_a_thousand_seeds():
    # $28.00 a PLS pound at 317,000 seeds per pound: 28 / 317 = 8.8 cents a thousand.
    assert half_up(q.usd_per_thousand_seeds(28.0, 317000.0), 4) == D("0.0883")


percents = st.decimals("0.01", "100", places=2)
amounts = st.decimals("0.001", "100000", places=3)


@settings(max_examples=200)
@given(amounts, percents, percents, st.integers(1000, 6_000_000))
def test_binary_numbers_agree_with_exact_fractions(amount, purity, viable, per_lb):
    # Python's exact fractions are the judge; no figure shown has more than 8 digits.
    exact_share = Fraction(purity) * Fraction(viable) / 10000
    exact = {
        "bulk": Fraction(amount) / exact_share,
        "rate": Fraction(amount) * 43560 / per_lb,
        "seeds": Fraction(amount) * per_lb / 43560,
    }
    share = q.pls_fraction(float(purity), float(viable))
    ours = {
        "bulk": q.bulk_lb(float(amount), share),
        "rate": q.pls_lb_ac(float(amount), float(per_lb)),
        "seeds": q.seeds_sqft(float(amount), float(per_lb)),
    }
    for name, figure in ours.items():
        assert abs(Fraction(figure) / exact[name] - 1) < Fraction(1, 10**15)


def test_a_sum_with_an_unknown_part_is_unknown():
    parts = pd.DataFrame({"area": ["A", "A", "B"], "lb": [1.0, float("nan"), 2.0]})
    sums = q.known_sums(parts, "area", ["lb"])["lb"]
    assert pd.isna(sums["A"])
    assert sums["B"] == 2
