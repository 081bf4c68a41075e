"""The arithmetic of pure live seed against published worked examples.

Each row of tests/data/seed/worked_examples.csv names its publication, the printed figure and the
rounding step that leads from the exact figure to the printed one. Source slips are rows whose
printed figure no rounding reaches; what the arithmetic gives instead is written out below.
"""

import csv
from decimal import ROUND_CEILING, ROUND_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.units import KG_PER_LB, M_PER_FT, half_up
from pipeline.seed import quantities as q

EXAMPLES = Path(__file__).parents[1] / "data" / "seed" / "worked_examples.csv"
WITH_SOURCE = list(csv.DictReader(EXAMPLES.read_text(encoding="utf-8").splitlines()))
D = Decimal

FORMULAS = {
    "pls_pct": lambda purity, *viable: q.pls_fraction(purity, sum(viable)) * 100,
    "pls_fraction": q.pls_fraction,
    "bulk_lb": q.bulk_lb,
    "pls_lb": q.pls_lb,
    "usd_per_pls_lb": q.usd_per_pls_lb,
    "pls_lb_ac": q.pls_lb_ac,
    "seeds_sqft": q.seeds_sqft,
    "seeds_sqft_from_oz": lambda oz, per_oz: q.seeds_sqft(oz / 16, per_oz * 16),
    "seeds_ac": lambda sqft: sqft * q.SQFT_PER_AC,
    "seeds_m2": lambda sqft: sqft / D(str(M_PER_FT)) ** 2,
    "seeds_per_row_in": lambda sqft, spacing: q.seeds_row_ft(sqft, spacing) / 12,
    "share_of_full_rate_lb_ac": q.share_of_full_rate_lb_ac,
    "total_pls_lb": lambda full, pct, ac: q.share_of_full_rate_lb_ac(full, pct) * ac,
    "sum": lambda *parts: sum(parts),
    "catch_g_150_ft": lambda spacing: q.catch_g(D(1), q.drill_width_ft(D(1), spacing), D(150)),
    "test_sqft": lambda wheel, row, turns: q.strip_ac(row, wheel * turns) * q.SQFT_PER_AC,
    "drill_width_ft": q.drill_width_ft,
    "distance_ft": lambda sqft, width: sqft / width,
    "row_in_sqft": lambda spacing: q.row_ft_sqft(spacing) * 12,
    "seeds_per_lb_of_20_g": lambda counted: counted * q.G_PER_LB / 20,
    "grams_for_seeds": lambda want, good, cut, per_g: want / q.live_seeds_g(
        per_g, D(1), good / cut),
    "kg_ha": lambda lb_ac: lb_ac * D(str(KG_PER_LB)) * 10000 / (
        q.SQFT_PER_AC * D(str(M_PER_FT)) ** 2),
    "sqft_per_lb": lambda sqft, per_lb: q.SQFT_PER_AC / q.pls_lb_ac(sqft, per_lb),
}  # fmt: skip

ROUNDING = {"half-up": ROUND_HALF_UP, "truncated": ROUND_DOWN, "rounded up": ROUND_CEILING}

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
    return FORMULAS[row["formula"]](*map(D, row["numbers"].split()))


def rows(*steps):
    return [pytest.param(r, id=r["id"]) for r in WITH_SOURCE if r["step"] in steps]


@pytest.mark.parametrize("row", rows(*ROUNDING))
def test_printed_figure_is_the_exact_one_after_its_rounding_step(row):
    step = D(1).scaleb(-int(row["places"]))
    assert figure(row).quantize(step, ROUNDING[row["step"]]) == D(row["published"])


@pytest.mark.parametrize("row", rows("inputs rounded"))
def test_printed_figure_fits_inside_the_rounding_of_the_printed_input(row):
    first, *rest = map(D, row["numbers"].split())
    half = D("0.005")
    low, high = (FORMULAS[row["formula"]](first + d, *rest) for d in (-half, half))
    assert low <= D(row["published"]) <= high


@pytest.mark.parametrize("row", rows("source slip"))
def test_source_slips_are_known_and_explained(row):
    published = D(row["published"])
    places = int(row["places"])
    assert figure(row).quantize(D(1).scaleb(-places), ROUND_HALF_UP) == D(SLIPS[row["id"]])
    assert abs(figure(row) - published) > D("0.5").scaleb(-places)


def test_every_example_is_checked_one_way():
    assert len(WITH_SOURCE) > 100
    assert {r["step"] for r in WITH_SOURCE} == {*ROUNDING, "inputs rounded", "source slip"}
    assert {r["id"] for r in WITH_SOURCE if r["step"] == "source slip"} == set(SLIPS)
    assert all(r["source"] for r in WITH_SOURCE)


def test_ties_round_half_up_as_printed():
    # MBS Seed (trade): 30 lb bulk at 80.75 % is printed as 24.23; half-even would give 24.22.
    exact = q.pls_lb(D(30), D("0.8075"))
    assert exact == D("24.225")
    assert half_up(float(exact), 2) == D("24.23")
    assert exact.quantize(D("0.01"), ROUND_HALF_EVEN) == D("24.22")


def test_nothing_is_rounded_on_the_way():
    # TxDOT prints 1.56 bulk lb per PLS lb because it rounds 0.6375 to 0.64 first (1.5625).
    assert q.bulk_lb(D(1), q.pls_fraction(D(85), D(75))).quantize(D("0.01")) == D("1.57")


def test_blend_is_weighted_by_bulk_and_not_the_average():
    # Equal bulk of 80 % and 40 % lots is 60 %; equal pounds of live seed of them is 53.3 %.
    fractions = np.array([D("0.8"), D("0.4")], dtype=object)
    assert q.blended_pls_fraction(np.array([D(10), D(10)], dtype=object), fractions) == D("0.6")
    bulk = np.array([D(10) / D("0.8"), D(10) / D("0.4")], dtype=object)
    assert q.blended_pls_fraction(bulk, fractions).quantize(D("0.001")) == D("0.533")


def test_price_of_a_thousand_seeds():
    # $28.00 a PLS pound at 317,000 seeds per pound: 28 / 317 = 8.8 cents a thousand.
    assert q.usd_per_thousand_seeds(D(28), D(317000)).quantize(D("0.0001")) == D("0.0883")


percents = st.decimals("0.01", "100", places=2)
amounts = st.decimals("0.001", "100000", places=3)


@settings(max_examples=100)
@given(amounts, percents, percents, st.integers(1000, 6_000_000))
def test_conversions_run_both_ways(amount, purity, viable, per_lb):
    fraction = q.pls_fraction(purity, viable)
    back = q.pls_lb(q.bulk_lb(amount, fraction), fraction)
    assert abs(back - amount) <= amount * D("1e-26")
    rate = q.pls_lb_ac(amount, D(per_lb))
    assert abs(q.seeds_sqft(rate, D(per_lb)) - amount) <= amount * D("1e-26")
    covered = q.covered_ac(rate, D(per_lb) / q.G_PER_LB, amount)
    assert abs(covered - 1) < D("1e-24")
