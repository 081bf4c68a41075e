"""Tags: one way to the live seed, contradictions refused, test dates."""

import math
from datetime import date

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.seed import lot_quality
from pipeline.seed.lot_quality import Viability, lot_faults
from pipeline.seed.settings import SeedSettings
from pipeline.seed.test_age import last_good_day
from tests.literal_layers import literal_layer


def tag(germination=None, hard=None, dormant=None, total=None, tetrazolium=None):
    told = (germination, hard, dormant, total, tetrazolium)
    return Viability(*(math.nan if value is None else float(value) for value in told))


def rated(*lots, harvests=(), **told):
    """Table ``lot_quality`` of lots and harvests."""
    tables = literal_layer("seed_lots", lots), literal_layer("species")
    own = literal_layer("own_harvest", harvests)
    where = literal_layer("property", [{"name": "P", "season": 2027}])
    rules = literal_layer("test_rules")
    made = lot_quality.rate_lots(*tables, own, rules, where, SeedSettings(**told))
    return conform(made, LAYERS["lot_quality"])


def lot(**told):
    return {"lot": "L1", "species": "big bluestem", "purity_pct": 90.0} | told


def test_viable_seed_counts_hard_and_dormant():
    # Allamakee SWCD, Iowa: germination 88 and dormant 5; EC3 sheet: germination 92 and hard 5.
    assert tag(88, dormant=5).viable_pct == 93
    assert tag(92, hard=5).viable_pct == 97
    assert tag(total=85).viable_pct == tag(tetrazolium=85).viable_pct == 85


def test_total_may_stand_beside_its_parts_but_counts_once():
    # The three lines of a trade tag: 7 CFR 201.21 keeps them apart, the total is their sum.
    whole = tag(60, 5, 20, 85)
    assert whole.contradiction() is None
    assert whole.viable_pct == 85
    assert tag(60, 5, 20, 85.4).contradiction() is None


def test_total_with_germination_alone_stands_for_untold_dormant_seed():
    assert tag(60, total=85).contradiction() is None
    assert tag(60, total=85).viable_pct == 85


@pytest.mark.parametrize(
    ("told", "way"),
    [
        ({"germination_pct": 60.0}, "germination_hard_dormant"),
        ({"total_viable_pct": 85.0}, "total_viable"),
        ({"germination_pct": 60.0, "total_viable_pct": 85.0}, "total_viable"),
        ({"tetrazolium_pct": 85.0}, "tetrazolium"),
        ({}, "unknown"),
    ],
)
def test_the_way_to_the_live_seed_is_a_code(told, way):
    assert rated(lot(**told))["viable_from"].iloc[0] == way


@pytest.mark.parametrize(
    ("odd", "word"),
    [
        (tag(60, dormant=25, total=60), "once"),  # S02: dormant counted twice
        (tag(60, 5, 20, 85.6), "sum"),
        (tag(85, total=60), "sum"),
        (tag(60, dormant=25, tetrazolium=85), "one way"),
        (tag(total=85, tetrazolium=85), "one way"),
        (tag(80, 15, 15), "110 %"),
        (tag(dormant=20), "germination"),
    ],
)
def test_contradictions_are_told(odd, word):
    assert word in " ".join(odd.contradiction())


def test_parts_that_make_100_in_tenths_do():
    # 33.3 + 33.4 + 33.3 is 100 on paper; binary numbers may add to a hair more.
    assert tag(33.3, 33.4, 33.3).contradiction() is None
    assert tag(90.1, 5.3, 4.6).contradiction() is None


def test_lot_comes_to_its_pls():
    # Penn State Extension, Calculating the Price of PLS (2023): 85 × 60 = 51 %.
    row = rated(lot(purity_pct=85.0, germination_pct=60.0, on_hand_bulk_lb=100.0)).iloc[0]
    assert row["pls_pct"] == 51
    assert row["on_hand_pls_lb"] == 51
    assert not row["on_offer"]


def test_price_by_bulk_becomes_a_price_by_pls():
    # Wind River Seed (trade): $5.00 bulk at 98 × 95 is $5.37 a PLS pound.
    row = rated(lot(purity_pct=98.0, germination_pct=95.0, price_usd_per_bulk_lb=5.0)).iloc[0]
    assert row["price_usd_per_pls_lb"] == pytest.approx(5.3706, abs=5e-5)
    assert row["on_offer"]
    told = rated(lot(purity_pct=98.0, germination_pct=95.0, price_usd_per_pls_lb=5.0)).iloc[0]
    assert told["price_usd_per_pls_lb"] == 5


@pytest.mark.parametrize(
    ("told", "word"),
    [
        ({"purity_pct": 0.9}, "write 90"),  # S13: a fraction
        ({"inert_pct": 5.0, "weed_pct": 1.0, "other_crop_pct": 1.0}, "97 %"),  # S13
        ({"germination_pct": 80.0, "pls_pct": 75.0}, "75 % stated, 72 computed"),  # S16
        ({"germination_pct": 80.0, "pls_pct": 72.2}, "within 0.1"),
        ({"price_usd_per_bulk_lb": 4.0, "price_usd_per_pls_lb": 5.0}, "one price"),
        ({"germination_pct": 80.0, "dormant_pct": 30.0}, "110 %"),  # S02
    ],
)
def test_impossible_tags_are_refused(told, word):
    (fault,) = lot_faults(literal_layer("seed_lots", [lot(**told)]))
    assert word in str(fault)
    assert "L1" in fault.where


@pytest.mark.parametrize("inert", [33.38, 33.28, 33.18])
def test_tag_that_misses_by_a_tenth_is_accepted(inert):
    # Parts of 100.1, 100 and 99.9 %; in binary numbers the first and last miss by a hair more.
    parts = {"purity_pct": 65.11, "other_crop_pct": 0.85, "inert_pct": inert, "weed_pct": 0.76}
    assert lot_faults(literal_layer("seed_lots", [lot(**parts)])) == []


def test_stated_pls_within_a_tenth_is_accepted():
    told = lot(germination_pct=80.0, pls_pct=72.1)
    assert lot_faults(literal_layer("seed_lots", [told])) == []


def test_lot_without_germination_is_unknown_and_not_zero():
    row = rated(lot(on_hand_bulk_lb=10.0)).iloc[0]
    assert row["viable_from"] == "unknown"
    assert pd.isna(row["pls_pct"])
    assert pd.isna(row["on_hand_pls_lb"])


@pytest.mark.parametrize(
    ("months", "last"),
    [
        (5, date(2025, 8, 31)),  # federal rule, months counted from the end of the test month
        (9, date(2025, 12, 31)),  # Iowa Code 199.8, test month not counted
        (15, date(2026, 6, 30)),  # Minnesota Statutes 21.86, native grass and forb
    ],
)
def test_last_good_day_counts_from_the_end_of_the_test_month(months, last):
    for day in (1, 31):
        assert last_good_day(date(2025, 3, day), months) == last


@settings(max_examples=60)
@given(st.dates(date(2000, 1, 1), date(2050, 1, 1)), st.integers(0, 60))
def test_last_good_day_is_a_last_of_month(tested, months):
    last = last_good_day(tested, months)
    assert last >= tested
    assert (last.year - tested.year) * 12 + last.month - tested.month == months


@pytest.mark.parametrize(
    ("counts_as", "pls"), [("nothing", []), ("low", [10.0]), ("likely", [20.0])]
)
def test_own_harvest_counts_as_a_lot_only_when_told(counts_as, pls):
    harvest = {"harvest": "Draw", "species": "A b", "bulk_lb": 50.0}
    made = rated(
        harvests=[harvest | {"low_pls_lb": 5.0, "likely_pls_lb": 10.0}],
        own_harvest_counts_as=counts_as,
    )
    assert list(made["pls_pct"]) == pls
    assert set(made["viable_from"]) <= {"own_count"}


def test_dead_seed_has_no_price_by_weight():
    # No pounds of it hold a pound of live seed, so a price for live seed says nothing of them.
    row = rated(lot(germination_pct=0.0, price_usd_per_pls_lb=5.0)).iloc[0]
    assert row["pls_pct"] == 0
    assert math.isnan(row["price_usd_per_bulk_lb"])
