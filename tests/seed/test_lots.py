"""Lots emptied in a stated order, each at its own quality."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.seed.lots import Need, Stock, drawn
from tests.made_seed import BIG, SPECIES, area, line, lot

TO_FIND = Stock(None, "to_order", math.nan, math.inf)


def taken(plan):
    """Bulk [lb] taken from each lot, in the order of the use."""
    return dict(plan["seed_use"][["lot", "bulk_lb"]].itertuples(index=False, name=None))


def test_stated_order_of_lots(seed_plan):
    lots = [
        lot("Z", on_hand_bulk_lb=10.0, tested="2025-01-01", price_usd_per_pls_lb=9.0),
        lot("A", on_hand_bulk_lb=10.0, tested="2026-01-01", price_usd_per_pls_lb=5.0),
        lot("M", on_hand_bulk_lb=10.0),
    ]
    case = {"units": {"U1": 1.0}, "seedings": [area()], "mixes": [line(pls_lb_ac=12.0)]}
    # 12 lb PLS at 80 % are 15 lb bulk: all of the first lot and half of the second.
    assert taken(seed_plan(seed_lots=lots, **case)) == pytest.approx({"Z": 10, "A": 5})
    cheapest = {"lot_order": "cheapest_pls"}
    assert taken(seed_plan(settings=cheapest, seed_lots=lots, **case)) == pytest.approx(
        {"A": 10, "Z": 5}
    )


def test_held_seed_goes_before_what_is_on_offer(seed_plan):
    lots = [
        lot("Old offer", offered_bulk_lb=100.0, tested="2025-01-01"),
        lot("Shed", on_hand_bulk_lb=10.0, tested="2026-01-01"),
    ]
    plan = seed_plan(
        units={"U1": 1.0}, seedings=[area()], mixes=[line(pls_lb_ac=12.0)], seed_lots=lots
    )
    assert taken(plan) == pytest.approx({"Shed": 10, "Old offer": 5})
    assert dict(zip(plan["seed_use"]["lot"], plan["seed_use"]["stock"], strict=True)) == {
        "Shed": "held",
        "Old offer": "offered",
    }


def test_a_lot_called_to_order_is_a_lot_like_any_other(seed_plan):
    lots = [lot("to order", on_hand_bulk_lb=5.0, tested="2026-01-01")]
    plan = seed_plan(
        units={"U1": 1.0}, seedings=[area()], mixes=[line(pls_lb_ac=12.0)], seed_lots=lots
    )
    use = plan["seed_use"].set_index("stock")
    assert use.loc["held", "lot"] == "to order"
    assert use.loc["to_order", "lot"] is None
    assert use.loc["to_order", "pls_lb"] == pytest.approx(8)
    assert len(plan["seed_order"]) == 2


def test_a_lot_that_just_suffices_leaves_no_trace_of_another(seed_plan):
    # 0.1 lb/ac on three areas of an acre are the 0.3 lb PLS of the lot; in binary numbers 0.3 less
    # three times 0.1 is not 0.
    assert 0.3 - 0.1 - 0.1 < 0.1
    plan = seed_plan(
        units={f"U{n}": 1.0 for n in range(3)},
        seedings=[area(f"A{n}", f"U{n}") for n in range(3)],
        mixes=[line(pls_lb_ac=0.1)],
        seed_lots=[lot("L", pls=30.0, on_hand_bulk_lb=1.0)],
    )
    assert list(plan["seed_use"]["lot"]) == ["L", "L", "L"]
    assert list(plan["seed_order"]["lot"]) == ["L"]


stocks = st.lists(st.tuples(st.integers(5, 95), st.integers(1, 4000)), max_size=6)
needs = st.lists(st.integers(1, 90000).map(lambda n: n / 1000), min_size=1, max_size=6)


@settings(max_examples=80)
@given(needs, stocks)
def test_every_need_is_met_and_no_lot_gives_more_than_it_holds(wanted, held):
    lots = [Stock(f"L{n}", "held", pct / 100, float(bulk)) for n, (pct, bulk) in enumerate(held)]
    areas = [f"A{n}" for n in range(len(wanted))]
    asked = [Need(name, "seed", lb) for name, lb in zip(areas, wanted, strict=True)]
    draws = list(drawn(asked, [*lots, TO_FIND]))
    for need in asked:
        assert sum(d.pls_lb for d in draws if d.need is need) == pytest.approx(need.lb, abs=2e-9)
    for stock in lots:
        assert sum(d.bulk_lb for d in draws if d.stock is stock) <= stock.bulk_lb + 1e-8
    if any(d.stock.lot is None for d in draws):
        from_lots = sum(d.bulk_lb for d in draws if d.stock.lot is not None)
        assert from_lots == pytest.approx(sum(s.bulk_lb for s in lots), abs=1e-6)


def test_an_unknown_need_is_drawn_as_unknown():
    lots = [Stock("L", "held", 0.8, 8.0), TO_FIND]
    first, second = drawn([Need("A", "seed", math.nan), Need("B", "seed", 4.0)], lots)
    assert (first.stock.lot, second.stock.lot) == (None, "L")
    assert math.isnan(first.pls_lb)


def test_own_harvest_does_not_set_the_quality_of_seed_to_be_bought(seed_plan):
    # 116.64 lb PLS at the lot's 72 % are 162 lb bulk; at the harvest's 3.72 % they were 3,135.
    harvest = {"harvest": "Draw", "species": BIG, "bulk_lb": 0.001, "target_seeds_sqft": 5.0}
    shares = {"low_pls_pct": 3.72, "likely_pls_pct": 3.72, "high_pls_pct": 3.72}
    case = {
        "units": {"U1": 1.0},
        "species": SPECIES,
        "seedings": [area()],
        "mixes": [line(pls_lb_ac=116.64 + 0.001 * (0.0372 + 0.72))],
        "harvests": [harvest | shares],
        "settings": {"own_harvest_counts_as": "likely"},
    }
    plan = seed_plan(seed_lots=[lot("A", pls=72.0, on_hand_bulk_lb=0.001)], **case)
    (row,) = plan["seed_order"].query("lot.isna()").itertuples()
    assert row.bulk_needed_lb == pytest.approx(162, abs=1e-6)
    (row,) = seed_plan(**case)["seed_order"].query("lot.isna()").itertuples()
    assert math.isnan(row.bulk_needed_lb)


EARLY, LATE = "2027-02-15", "2027-05-20"


def test_areas_are_served_by_their_day_of_planting(seed_plan):
    plan = seed_plan(
        units={"U1": 1.0, "U2": 1.0, "U3": 1.0},
        seedings=[
            area("A", "U1"),
            area("B", "U2", planting=LATE),
            area("C", "U3", planting=EARLY),
        ],
        mixes=[line(pls_lb_ac=8.0)],
        seed_lots=[lot("L", on_hand_bulk_lb=15.0, tested="2026-09-01")],
    )
    # 15 lb at 80 % are 12 lb PLS: all 8 of C, sown first, 4 of B; the area without a day is last.
    use = plan["seed_use"].query("lot == 'L'").set_index("area")["pls_lb"]
    assert use.to_dict() == pytest.approx({"C": 8, "B": 4})


def test_a_lot_out_of_test_on_the_day_is_left_out_unless_accepted(seed_plan):
    # Iowa Code 199.8: 9 months. A test of May 2026 is good through 28 Feb 2027.
    case = {
        "units": {"U1": 1.0, "U2": 1.0},
        "seedings": [area("Feb", "U1", planting=EARLY), area("May", "U2", planting=LATE)],
        "mixes": [line(pls_lb_ac=8.0)],
        "seed_lots": [
            lot("Old", on_hand_bulk_lb=100.0, tested="2026-05-10"),
            lot("New", on_hand_bulk_lb=100.0, tested="2026-10-10"),
        ],
    }
    by_law = seed_plan(settings={"test_months": 9}, **case)["seed_use"]
    assert dict(zip(by_law["area"], by_law["lot"], strict=True)) == {"Feb": "Old", "May": "New"}
    told = seed_plan(settings={"test_months": 9, "accept_expired": True}, **case)["seed_use"]
    assert dict(zip(told["area"], told["lot"], strict=True)) == {"Feb": "Old", "May": "Old"}


def test_a_test_after_the_day_of_planting_counts_for_nothing(seed_plan):
    plan = seed_plan(
        units={"U1": 1.0},
        seedings=[area(planting=LATE)],
        mixes=[line(pls_lb_ac=8.0)],
        seed_lots=[lot("L", on_hand_bulk_lb=100.0, tested="2027-06-01")],
    )
    assert plan["seed_use"]["lot"].isna().all()
    assert "tested_after_planting" in set(plan["seed_findings"]["code"])


def offer(name, price=10.0, tested="2026-09-01", **told):
    """A lot of 80 % that can be bought without limit."""
    return lot(name, price_usd_per_pls_lb=price, tested=tested) | told


def bought(seed_plan, *lots, need=12.0, planting=LATE, **settings):
    """Lots that seed for one acre is bought from, with their bulk [lb] to order."""
    plan = seed_plan(
        units={"U1": 1.0},
        seedings=[area(planting=planting)],
        mixes=[line(pls_lb_ac=need)],
        seed_lots=list(lots),
        settings={"test_months": 9} | settings,
    )
    rows = plan["seed_order"].query("bulk_to_order_lb > 0")
    return dict(zip(rows["lot"], rows["bulk_to_order_lb"], strict=True))


def test_what_is_bought_is_cheap_fresh_or_near_and_never_stale(seed_plan):
    lots = [
        offer("Stale", 5.0, "2023-09-01", origin_mi=1.0),
        offer("Cheap", 10.0, "2026-09-01", origin_mi=90.0),
        offer("Fresh", 20.0, "2027-01-10", origin_mi=90.0),
        offer("Near", 20.0, "2026-09-01", origin_mi=10.0),
    ]
    assert bought(seed_plan, *lots) == {"Cheap": 15}
    assert bought(seed_plan, *lots, buy_order="freshest_test") == {"Fresh": 15}
    assert bought(seed_plan, *lots, buy_order="nearest_origin") == {"Near": 15}
    assert bought(seed_plan, *lots, accept_expired=True) == {"Stale": 15}
    assert bought(seed_plan, *lots, buy_order="freshest_test", most_origin_mi=50.0) == {"Near": 15}


def test_the_cheapest_offer_is_the_one_whose_whole_packs_cost_least(seed_plan):
    # 1 lb PLS at 80 % is 1.25 lb bulk: a bag of 50 lb holds 40 lb PLS, $200; 2 packs of a pound
    # hold 1.6 lb PLS, $16.
    lots = [offer("Bag", 5.0, pack_lb=50.0), offer("Pound", 10.0, pack_lb=1.0)]
    assert bought(seed_plan, *lots, need=1.0) == {"Pound": 2}
    assert bought(seed_plan, *lots, need=40.0) == {"Bag": 50}


def test_an_offer_gives_whole_packs_and_the_next_one_the_rest(seed_plan):
    # 130 lb on offer in bags of 50 are two bags; 120 lb are needed.
    lots = [offer("A", offered_bulk_lb=130.0, pack_lb=50.0), offer("B", 12.0, pack_lb=10.0)]
    assert bought(seed_plan, *lots, need=96.0) == {"A": 100, "B": 20}


def test_a_lot_that_is_used_up_is_not_on_offer_for_its_price(seed_plan):
    assert bought(seed_plan, offer("Gone", on_hand_bulk_lb=0.0), offer("B", 12.0)) == {"B": 15}
