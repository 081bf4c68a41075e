"""Mixes: one of three ways to a rate, names as the species table spells them, shares."""

import pandas as pd
import pytest

from pipeline.core.errors import SourceError
from tests.made_seed import BIG, LITTLE, SPECIES, area, full_rate, line


def test_percent_of_full_rate_as_on_the_form(seed_plan):
    # USDA-SCS form CO-ECS-5 (10 Jun 1983): blue grama full 3.0 × 25 % × 10 ac = 7.5 PLS lb.
    # Seed plan in Colorado DRMS file 1061914: 1.0 × 15 % × 10 ac = 1.5, shown as 0.2 × 10.
    plan = seed_plan(
        units={"U1": 10.0},
        seedings=[area()],
        full_rates=[full_rate("blue grama", 3.0), full_rate("junegrass", 1.0)],
        mixes=[
            line("blue grama", full_rate_pct=25.0, full_rate="F", not_100=True),
            line("junegrass", full_rate_pct=15.0, full_rate="F"),
        ],
    )
    pounds = plan["seed_rates"].set_index("species")["pls_lb"]
    assert pounds.to_dict() == pytest.approx({"blue grama": 7.5, "junegrass": 1.5})
    assert set(plan["mix_sheet"]["full_rate"]) == {"F (Colorado, critical area)"}
    assert set(plan["mix_sheet"]["basis"]) == {"full_rate_pct"}


def test_method_of_a_full_rate_is_that_of_its_set(seed_plan):
    drilled = full_rate("blue grama", 3.0, rate_method="drill")
    told = line("blue grama", full_rate_pct=100.0, full_rate="F", rate_method="broadcast")
    plan = seed_plan(full_rates=[drilled], mixes=[told, line(pls_lb_ac=1.0, rate_method="any")])
    methods = plan["mix_sheet"].set_index("species")["rate_method"]
    assert methods.to_dict() == {"blue grama": "drill", BIG: "any"}


def test_shares_by_seed_and_by_weight_are_told_apart(seed_plan):
    # BWSR pilot mix, 5 Jul 2018: oats 37.88 lb of 42.3 lb are 89.5 % by weight and, at 12,800
    # seeds per pound, 11.13 of 44.3 seeds: 25 % by seed.
    rest = 42.3 - 37.88
    of_rest = (44.3 - 11.130946) * 43560 / rest
    plan = seed_plan(
        mixes=[
            line("oats", pls_lb_ac=37.88, seeds_per_lb=12800.0),
            line("rest", pls_lb_ac=rest, seeds_per_lb=of_rest),
            line("hulls", role="carrier", bulk_lb_ac=20.0),
        ]
    )
    shares = plan["mix_sheet"].set_index("species")
    assert shares.loc["oats", "share_by_weight_pct"] == pytest.approx(89.5, abs=0.06)
    assert shares.loc["oats", "share_by_seed_pct"] == pytest.approx(25.12, abs=0.06)
    assert pd.isna(shares.loc["hulls", "share_by_weight_pct"])
    assert shares.loc["hulls", "bulk_lb_ac"] == 20


@pytest.mark.parametrize(
    ("rates", "word"),
    [
        ({"pls_lb_ac": 1.0, "seeds_sqft": 2.0}, "exactly one"),
        ({}, "no rate"),
        ({"bulk_lb_ac": 3.0}, "bulk for seed"),  # S01
        ({"role": "carrier", "pls_lb_ac": 3.0}, "has no seed"),  # S19
        ({"full_rate_pct": 100.0}, "full_rate"),  # S08
    ],
)
def test_a_rate_that_cannot_be_sown_is_refused_in_one_line(seed_plan, rates, word):
    with pytest.raises(SourceError, match=word) as refused:
        seed_plan(species=SPECIES, mixes=[line(**rates)])
    assert len(refused.value.faults) == 1


def test_a_species_twice_in_a_mix_is_refused_under_any_of_its_names(seed_plan):
    with pytest.raises(SourceError, match="second time"):
        seed_plan(species=SPECIES, mixes=[line(pls_lb_ac=1.0), line("ANGE", pls_lb_ac=1.0)])


def test_a_species_twice_in_a_set_of_full_rates_is_refused(seed_plan):
    with pytest.raises(SourceError, match="full_rates, row 2"):
        seed_plan(species=SPECIES, full_rates=[full_rate(BIG, 5.0), full_rate("ANGE", 6.0)])


@pytest.mark.parametrize(
    ("shares", "meant", "fails"),
    [
        ((35, 20, 20, 10, 10, 5), None, False),  # USDA-SCS letter, DRMS file 518541: adds to 100
        ((35.1, 20, 20, 10, 10, 5), None, False),  # a tenth too much is rounding
        ((35.2, 20, 20, 10, 10, 5), None, True),
        ((35, 20, 20, 10, 10, 15), None, True),
        ((35, 20, 20, 10, 10, 15), True, False),
    ],
)
def test_percents_add_to_100_unless_meant_otherwise(seed_plan, shares, meant, fails):
    # S09
    case = {
        "full_rates": [full_rate(f"g{n}", 5.0) for n in range(6)],
        "mixes": [
            line(f"g{n}", full_rate_pct=float(share), full_rate="F", not_100=meant)
            for n, share in enumerate(shares)
        ],
    }
    if fails:
        with pytest.raises(SourceError, match="add to 1"):
            seed_plan(**case)
    else:
        assert len(seed_plan(**case)["mix_sheet"]) == 6


@pytest.mark.parametrize(("share", "fails"), [(100.0, False), (60.0, False), (200.0, True)])
def test_a_mix_partly_by_percent_may_not_pass_100_either(seed_plan, share, fails):
    case = {
        "full_rates": [full_rate(BIG, 5.0)],
        "mixes": [line(full_rate_pct=share, full_rate="F"), line(LITTLE, pls_lb_ac=1.0)],
    }
    if fails:
        with pytest.raises(SourceError, match="add to 200"):
            seed_plan(**case)
    else:
        assert len(seed_plan(**case)["mix_sheet"]) == 2


def test_names_resolve_and_unknown_ones_are_kept(seed_plan):
    plan = seed_plan(
        units={"U1": 10.0},
        species=SPECIES,
        seedings=[area()],
        mixes=[
            line("BIG  bluestem", pls_lb_ac=1.0),
            line("Andropogon scoparius", pls_lb_ac=1.0),
            line("Never heardof", seeds_sqft=2.0),
        ],
    )
    assert set(plan["seed_rates"]["species"]) == {BIG, LITTLE, "Never heardof"}
    # Unknown pounds are not zero: they make the totals unknown.
    assert pd.isna(plan["seed_rates"].set_index("species").loc["Never heardof", "pls_lb"])
    assert pd.isna(plan["seed_areas"]["pls_lb"].iloc[0])
    assert "Never heardof" in set(plan["seed_order"]["species"])


def test_own_seeds_per_pound_win(seed_plan):
    plan = seed_plan(
        species=SPECIES,
        mixes=[line(seeds_sqft=10.0, seeds_per_lb=160000.0), line(LITTLE, pls_lb_ac=1.0)],
    )
    rows = plan["mix_sheet"].set_index("species")
    # Tallgrass Prairie Center, Irvine Prairie (2021): 1.00 seed/ft² is 0.272 lb at 160,000.
    assert rows.loc[BIG, "pls_lb_ac"] == pytest.approx(2.72, abs=0.005)
    assert rows["seeds_per_lb_from"].to_dict() == {BIG: "mix", LITTLE: "species_table"}
