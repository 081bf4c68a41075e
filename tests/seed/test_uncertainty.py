"""Ranges of seed counts and tests, and what ten percent do."""

import math

import pandas as pd
import pytest

from pipeline.seed.sheets import ORDER_TABLE, RATES_TABLE
from tests.made_seed import BIG, area, line, lot

# A count from memory with a range from 0.35 to 4.5 million, as published figures of one species go.
ASTER = {
    "species": "Symphyotrichum ericoides",
    "seeds_per_lb": 3.2e6,
    "low_seeds_per_lb": 0.35e6,
    "high_seeds_per_lb": 4.5e6,
    "confidence": "from memory",
}
SURE = {"species": BIG, "seeds_per_lb": 144240.0, "confidence": "published"}


@pytest.fixture(scope="module")
def plan(seed_plan):
    return seed_plan(
        units={"U1": 10.0},
        species=[ASTER, SURE],
        seedings=[area()],
        mixes=[line(ASTER["species"], seeds_sqft=1.0), line(pls_lb_ac=2.0)],
        seed_lots=[lot("A", ASTER["species"], 50.0, on_hand_bulk_lb=9.0)],
    )


def test_pounds_by_count_have_the_range_of_the_count(plan):
    # 1 seed × 43,560 / 3.2 million × 10 ac = 0.1361 lb; at 4.5 and 0.35 million 0.0968, 1.2446.
    rates = plan["seed_rates"].set_index("species")
    row = rates.loc[ASTER["species"]]
    assert row["pls_lb"] == pytest.approx(0.1361, abs=5e-5)
    assert row["low_pls_lb"] == pytest.approx(0.0968, abs=5e-5)
    assert row["high_pls_lb"] == pytest.approx(1.2446, abs=5e-5)
    assert row["confidence"] == "from memory"
    assert rates.loc[BIG, "confidence"] == "published"
    assert {"low_pls_lb", "high_pls_lb", "confidence"} <= set(RATES_TABLE.columns)
    assert {"low_bulk_needed_lb", "high_bulk_needed_lb", "confidence"} <= set(ORDER_TABLE.columns)


def test_live_seeds_of_a_weight_have_the_range_of_the_count(seed_plan):
    plan = seed_plan(
        units={"U1": 10.0},
        species=[ASTER],
        seedings=[area()],
        mixes=[line(ASTER["species"], pls_lb_ac=0.1)],
    )
    (row,) = plan["seed_rates"].itertuples()
    assert row.low_pls_lb == row.high_pls_lb == row.pls_lb == pytest.approx(1)
    assert (row.low_seeds_sqft, row.high_seeds_sqft) == pytest.approx((35e3 / 43560, 45e4 / 43560))


def test_a_count_of_ones_own_has_no_published_range(seed_plan):
    own = line(ASTER["species"], seeds_sqft=1.0, seeds_per_lb=3e6)
    plan = seed_plan(units={"U1": 10.0}, species=[ASTER], seedings=[area()], mixes=[own])
    (row,) = plan["seed_rates"].itertuples()
    assert row.low_pls_lb == row.high_pls_lb == row.pls_lb
    assert row.confidence == "own count"


def test_a_test_of_400_seeds_leaves_four_points_open(seed_plan):
    # 95 % of tests of 400 seeds of a lot that is 80 % alive lie within about 4 points of it.
    rows = [
        {"lot": "G", "species": BIG, "purity_pct": 100.0, "germination_pct": 80.0},
        {"lot": "T", "species": BIG, "purity_pct": 100.0, "tetrazolium_pct": 80.0},
    ]
    lots = seed_plan(seed_lots=rows)["lot_quality"].set_index("lot")
    assert lots.loc["G", "low_pls_pct"] == pytest.approx(76, abs=0.5)
    assert lots.loc["G", "high_pls_pct"] == pytest.approx(84, abs=0.5)
    # 200 seeds of a tetrazolium test: wider by the root of two.
    widths = lots["high_pls_pct"] - lots["low_pls_pct"]
    assert widths["T"] / widths["G"] == pytest.approx(math.sqrt(2), abs=0.02)


def test_the_order_has_the_range_of_both(plan):
    order = plan["seed_order"].set_index("species")
    row, tag = order.loc[ASTER["species"]], plan["lot_quality"].iloc[0]
    assert row["low_pls_needed_lb"] == pytest.approx(0.0968, abs=5e-5)
    assert row["high_bulk_needed_lb"] == pytest.approx(1.24457 / tag["low_pls_pct"] * 100, rel=1e-4)
    assert row["low_bulk_needed_lb"] == pytest.approx(0.0968 / tag["high_pls_pct"] * 100, rel=1e-3)
    assert row["low_bulk_needed_lb"] < row["bulk_needed_lb"] < row["high_bulk_needed_lb"]


def test_what_ten_percent_do(seed_plan):
    # 10 seeds by count (43,560 in a pound: 10 lb) and 30 lb by weight an acre, all at 50 % PLS.
    other = line("Other", pls_lb_ac=30.0, seeds_per_lb=43560.0)
    plan = seed_plan(
        units={"U1": 10.0},
        seedings=[area()],
        mixes=[line(seeds_sqft=10.0, seeds_per_lb=43560.0), other],
        seed_lots=[
            lot("A", pls=50.0, on_hand_bulk_lb=900.0, price_usd_per_bulk_lb=1.0),
            lot("B", "Other", 50.0, on_hand_bulk_lb=900.0, price_usd_per_bulk_lb=1.0),
        ],
    )
    errors = plan["seed_errors"].set_index("error")
    # 100 lb PLS by count become 111.1, 300 by weight stay and give 27 seeds in place of 30.
    fewer = errors.loc["fewer_seeds_per_lb"]
    assert fewer["bulk_lb"] == pytest.approx((100 / 0.9 + 300) / 0.5)
    assert fewer["seeds_sqft"] == pytest.approx(37)
    assert fewer["cost_usd"] == pytest.approx((100 / 0.9 + 300) / 0.5)
    assert errors.loc["less_live_seed", "bulk_lb"] == pytest.approx(800 / 0.9)
    high = errors.loc["setting_too_high"]
    assert high["covered_ac"] == pytest.approx(10 / 1.1)
    assert high["seeds_sqft"] == pytest.approx(44)
    assert pd.notna(errors["bulk_lb"]).all()
