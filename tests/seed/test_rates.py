"""Rates on areas: each factor once, nurse crops and carriers apart, bags by their scarcest seed."""

import math

import pandas as pd
import pytest

from pipeline.seed.rates import factor_region, method_factor
from tests.literal_layers import literal_layer
from tests.made_seed import BIG, LITTLE, SPECIES, area, factor, line, lot

FACTORS = [factor("Colorado", "method", "broadcast", 2.0), factor("Iowa", "sod", "thick", 1.5)]


def test_method_factor_goes_in_once_by_construction():
    factors = {"broadcast": 2.0, "overseed": 0.5}
    assert method_factor("drill", "broadcast", factors) == 2
    assert method_factor("broadcast", "broadcast", factors) == 1
    assert method_factor("broadcast", "drill", factors) == 0.5
    assert method_factor("any", "broadcast", factors) == 1
    assert method_factor(None, "broadcast", factors) == 2
    assert method_factor("drill", "broadcast", {}) == 1
    assert math.isnan(method_factor("overseed", "drill", {"overseed": 0.0}))


@pytest.mark.parametrize(("written", "warned"), [("any", False), ("broadcast", True)])
def test_a_factor_told_for_the_area_is_never_dropped(seed_plan, written, warned):
    plan = seed_plan(
        units={"U1": 1.0},
        seedings=[area(method="broadcast", method_factor=2.0)],
        mixes=[line(pls_lb_ac=4.0, rate_method=written)],
    )
    row = plan["seed_rates"].iloc[0]
    assert (row["method_factor"], row["pls_lb_ac"]) == (2, 8)
    assert ("raised_again" in set(plan["seed_findings"]["code"])) is warned


@pytest.mark.parametrize(("written", "rate"), [("drill", 8.95), ("broadcast", 17.9)])
def test_broadcast_rate_doubled_from_drilled_as_printed(seed_plan, written, rate):
    # Colorado DRMS file 493681 prints 17.9 lb PLS broadcast and half of it drilled.
    plan = seed_plan(
        units={"U1": 1.0},
        seedings=[area(method="broadcast")],
        mixes=[line(pls_lb_ac=rate, rate_method=written)],
        seed_factors=FACTORS,
        place={"region": "Colorado"},
    )
    assert plan["seed_rates"]["pls_lb_ac"].iloc[0] == 17.9


def test_factors_are_named_apart_and_told_ones_win(seed_plan):
    # Tallgrass Prairie Center: +25 % out of season; Tennessee page: +50 % on 3:1 slopes.
    site = {"season": "July-August", "slope": "3:1 or steeper", "slope_factor": 2.0}
    plan = seed_plan(
        units={"U1": 1.0},
        mixes=[line(pls_lb_ac=4.0)],
        seed_factors=[
            factor("R", "season", "July-August", 1.25),
            factor("R", "slope", "3:1 or steeper", 1.5),
        ],
        seedings=[area(**site, sod_factor=0.5)],
        place={"region": "R"},
    )
    row = plan["seed_rates"].iloc[0]
    assert [row[f"{k}_factor"] for k in ("method", "season", "slope", "sod")] == [1, 1.25, 2, 0.5]
    assert row["pls_lb_ac"] == 4 * 1.25 * 2 * 0.5
    assert row["mix_pls_lb_ac"] == 4


@pytest.mark.parametrize(
    ("state", "region", "used"),
    [
        (None, "Colorado", "Colorado"),
        ("Nebraska", "colorado", "Colorado"),
        ("Iowa", "central plains", "Iowa"),
        ("Iowa", "Colorado", "Colorado"),
        ("Nebraska", "central plains", None),
        (None, None, None),
    ],
)
def test_factors_are_those_of_the_region_else_of_the_state(state, region, used):
    place = {"name": "P", "season": 2027, "state": state, "region": region}
    factors = literal_layer("seed_factors", FACTORS)
    assert factor_region(factors, literal_layer("property", [place])) == used


def test_nurse_crops_and_carriers_stay_out_of_seed(seed_plan):
    seed = line(pls_lb_ac=4.0)
    oats = line("oats", role="nurse", bulk_lb_ac=20.0)
    hulls = line("rice hulls", role="carrier", bulk_lb_ac=10.0)
    case = {
        "units": {"U1": 20.0},
        "species": SPECIES,
        "seedings": [area()],
        "seed_lots": [lot("A", pls=50.0, on_hand_bulk_lb=500.0)],
    }
    plan, alone = seed_plan(mixes=[seed, oats, hulls], **case), seed_plan(mixes=[seed], **case)
    for column in ("seeds_sqft", "pls_lb", "bulk_lb"):
        assert plan["seed_areas"][column].iloc[0] == alone["seed_areas"][column].iloc[0]
    # Grassland Restoration Network (7 Mar 2019): 10 lb of rice hulls an acre on 20 acres is 200 lb.
    assert plan["seed_areas"]["companion_lb"].iloc[0] == 20 * 20 + 200
    assert plan["seed_companions"].set_index("role")["bulk_lb"].to_dict() == {
        "nurse": 400,
        "carrier": 200,
    }


def test_acres_of_an_area_are_what_can_be_sown_of_its_units(seed_plan):
    two = [area(unit="U1"), area(unit="U2")]
    plan = seed_plan(units={"U1": 3.5, "U2": 4.0}, seedings=two, mixes=[line(pls_lb_ac=2.0)])
    assert plan["seed_rates"]["net_ac"].iloc[0] == 7.5
    assert plan["seed_rates"]["pls_lb"].iloc[0] == 15


def bag_line(species, purity, viable):
    return {"bag": "Mix 1", "species": species, "purity_pct": purity, "total_viable_pct": viable}


def test_bag_is_sown_for_the_species_that_needs_most(seed_plan):
    plan = seed_plan(
        units={"U1": 10.0},
        species=SPECIES,
        seedings=[area(bag="Mix 1")],
        mixes=[line(pls_lb_ac=3.0), line(LITTLE, pls_lb_ac=2.0)],
        seed_bags=[bag_line("big bluestem", 50.0, 80.0), bag_line(LITTLE, 20.0, 50.0)],
    )
    # Big bluestem 3 / (0.5 × 0.8) = 7.5 lb of the bag; little bluestem 2 / (0.2 × 0.5) = 20 lb.
    rows = plan["bag_rates"].set_index("species")
    assert list(rows.loc[[BIG, LITTLE], "needs_bulk_lb_ac"]) == pytest.approx([7.5, 20])
    assert list(rows.loc[[BIG, LITTLE], "limiting"]) == [False, True]
    assert rows.loc[BIG, "sown_pls_lb_ac"] == pytest.approx(8)
    assert plan["seed_areas"]["bulk_lb"].iloc[0] == pytest.approx(200)
    assert pd.isna(plan["seed_areas"]["cost_usd_ac"].iloc[0])
    assert list(plan["seed_order"]["role"]) == ["bag"]


def test_an_area_sown_from_a_bag_reports_what_is_sown(seed_plan):
    # The same bag: 8 lb PLS of big bluestem and 2 of little bluestem fall, not 3 and 2; and of
    # Canada wildrye (114,000 seeds/lb, USDA PLANTS), which nobody asked for, 20 × 10 % × 90 %.
    rye = {"species": "Elymus canadensis", "seeds_per_lb": 114000.0}
    plan = seed_plan(
        units={"U1": 10.0},
        species=[*SPECIES, rye],
        seedings=[area(bag="Mix 1")],
        mixes=[line(pls_lb_ac=3.0), line(LITTLE, pls_lb_ac=2.0)],
        seed_bags=[
            bag_line("big bluestem", 50.0, 80.0),
            bag_line(LITTLE, 20.0, 50.0),
            bag_line("Elymus canadensis", 10.0, 90.0),
        ],
        settings={"highest_seeds_sqft": 40.0},
    )
    rates = plan["seed_rates"].set_index("species")
    assert rates["pls_lb_ac"].to_dict() == pytest.approx(
        {BIG: 8, LITTLE: 2, "Elymus canadensis": 1.8}
    )
    assert rates["wanted_pls_lb_ac"].to_dict() == {BIG: 3, LITTLE: 2, "Elymus canadensis": 0}
    (row,) = plan["seed_areas"].itertuples()
    assert row.pls_lb == pytest.approx(118)
    seeds = (8 * 144240 + 2 * 255000 + 1.8 * 114000) / 43560
    assert row.seeds_sqft == pytest.approx(seeds)
    assert "thick" in set(plan["seed_findings"]["code"])


def test_a_species_that_is_not_in_the_bag_does_not_decide_an_unknown_one_does(seed_plan):
    case = {
        "units": {"U1": 10.0},
        "seedings": [area(bag="Mix 1")],
        "mixes": [line(pls_lb_ac=3.0), line(LITTLE, pls_lb_ac=2.0)],
    }
    missing = seed_plan(seed_bags=[bag_line(BIG, 50.0, 80.0)], **case)["bag_rates"]
    assert set(missing["bulk_lb_ac"]) == {7.5}
    assert missing.set_index("species").loc[LITTLE, "pls_pct"] == 0
    untold = [bag_line(BIG, 50.0, 80.0), bag_line(LITTLE, 20.0, None)]
    assert seed_plan(seed_bags=untold, **case)["bag_rates"]["bulk_lb_ac"].isna().all()
