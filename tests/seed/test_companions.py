"""Nurse crops, carriers and pre-mixed bags: lots like any other."""

import pandas as pd
import pytest

from tests.made_seed import BIG, SPECIES, area, line, lot

SEED = line(pls_lb_ac=4.0)
HELD = lot("A", pls=50.0, on_hand_bulk_lb=5000.0)
OATS = line("oats", role="nurse", bulk_lb_ac=30.0)
HULLS = line("rice hulls", role="carrier", bulk_lb_ac=10.0)
LOOSE = {"units": {"U1": 20.0}, "species": SPECIES, "seedings": [area()]}
BAG = {"bag": "Mix 1", "species": BIG, "purity_pct": 50.0, "total_viable_pct": 80.0}


def weighed(name, species, **told):
    """A lot that goes by weight and has no tag of its own."""
    return {"lot": name, "species": species} | told


def test_a_nurse_crop_in_the_shed_is_not_ordered_again(seed_plan):
    # 30 lb/ac on 20 ac are 600 lb; 5,000 lb are held.
    oats = weighed("O1", "oats", on_hand_bulk_lb=5000.0, tested="2026-09-01")
    plan = seed_plan(mixes=[SEED, OATS], seed_lots=[HELD, oats], **LOOSE)
    (row,) = plan["seed_order"].query("role == 'nurse'").itertuples()
    assert (row.lot, row.bulk_needed_lb, row.bulk_on_hand_lb) == ("O1", 600, 5000)
    assert (row.bulk_to_order_lb, row.cost_usd) == (0, 0)
    use = plan["seed_use"].query("role == 'nurse'").iloc[0]
    assert (use["lot"], use["stock"], use["bulk_lb"]) == ("O1", "held", 600)
    assert not {"pls_unknown", "unknown_species"} & set(
        plan["seed_findings"].query("subject in ['O1', 'oats']")["code"]
    )


def test_a_nurse_rate_in_pls_is_brought_to_bulk_by_its_lots(seed_plan):
    # SD DOT asks 56 lb/ac of oats at 75 % PLS or more: 30 lb PLS at 75 % are 40 lb bulk an acre.
    nurse = line("oats", role="nurse", pls_lb_ac=30.0)
    oats = lot("O1", "oats", pls=75.0, price_usd_per_bulk_lb=0.4, pack_lb=50.0)
    plan = seed_plan(mixes=[SEED, nurse], seed_lots=[HELD, oats], **LOOSE)
    (row,) = plan["seed_order"].query("role == 'nurse'").itertuples()
    assert (row.pls_needed_lb, row.bulk_needed_lb, row.bulk_to_order_lb) == (600, 800, 800)
    assert row.cost_usd == pytest.approx(320)
    (companion,) = plan["seed_companions"].itertuples()
    assert (companion.pls_lb_ac, companion.bulk_lb_ac, companion.bulk_lb) == (30, 40, 800)
    assert plan["seed_boxes"].set_index("box").loc["large", "setting_lb_ac"] == 40
    assert plan["seed_areas"]["companion_lb"].iloc[0] == 800
    # Nothing of it is seed of the mix.
    assert plan["seed_areas"]["pls_lb"].iloc[0] == 80
    untold = seed_plan(mixes=[SEED, nurse], seed_lots=[HELD], **LOOSE)
    assert pd.isna(untold["seed_companions"]["bulk_lb"].iloc[0])
    assert "no_lot" in set(untold["seed_findings"].query("subject == 'oats'")["code"])


def test_a_carrier_has_packs_and_a_price(seed_plan):
    # Grassland Restoration Network (7 Mar 2019): 10 lb/ac on 20 ac are 200 lb, four bales of 50.
    hulls = weighed("H1", "rice hulls", price_usd_per_bulk_lb=0.3)
    plan = seed_plan(mixes=[SEED, HULLS], seed_lots=[HELD, hulls], **LOOSE)
    (row,) = plan["seed_order"].query("role == 'carrier'").itertuples()
    assert (row.pack_lb, row.bulk_to_order_lb, row.cost_usd) == (50, 200, pytest.approx(60))
    more = line("rice hulls", role="carrier", bulk_lb_ac=10.1)
    plan = seed_plan(mixes=[SEED, more], **LOOSE)
    assert plan["seed_order"].set_index("role").loc["carrier", "bulk_to_order_lb"] == 250


def test_a_bag_has_stock_price_test_pack_and_trace(seed_plan):
    # 4 lb PLS of a bag of 40 % PLS on 20 ac: 200 lb; 50 are held, 150 are three sacks of 50, $9.
    bags = [
        weighed("M-1", "Mix 1", on_hand_bulk_lb=50.0, price_usd_per_bulk_lb=9.0),
        weighed("M-2", "Mix 1", price_usd_per_bulk_lb=9.0, pack_lb=50.0, tested="2026-10-01"),
        weighed("M-0", "Mix 1", price_usd_per_bulk_lb=5.0, pack_lb=50.0, tested="2023-10-01"),
    ]
    plan = seed_plan(
        units={"U1": 20.0},
        species=SPECIES,
        seedings=[area(bag="Mix 1", planting="2027-05-20")],
        mixes=[SEED],
        seed_bags=[BAG],
        seed_lots=bags,
        settings={"test_months": 9},
    )
    order = plan["seed_order"].set_index("lot")
    assert order["bulk_to_order_lb"].to_dict() == {"M-1": 0, "M-2": 150}
    assert order.loc["M-2", "cost_usd"] == pytest.approx(1350)
    use = plan["seed_use"].set_index("lot")
    assert use["bulk_lb"].to_dict() == pytest.approx({"M-1": 50, "M-2": 150})
    assert plan["seed_areas"]["cost_usd_ac"].iloc[0] == pytest.approx(200 * 9 / 20)
    told = set(zip(plan["seed_findings"]["subject"], plan["seed_findings"]["code"], strict=True))
    assert ("M-0", "test_too_old") in told
    assert ("M-1", "untested") in told
    assert not {("M-2", "pls_unknown"), ("Mix 1", "unknown_species")} & told
