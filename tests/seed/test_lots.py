"""Lots emptied in a stated order, each at its own quality."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.seed.lots import Stock, drawn
from tests.made_seed import area, line, lot

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
    lots = [
        Stock(f"L{n}", "held", pct / 100, pct / 100 * bulk) for n, (pct, bulk) in enumerate(held)
    ]
    areas = [f"A{n}" for n in range(len(wanted))]
    draws = list(drawn(zip(areas, wanted, strict=True), [*lots, TO_FIND]))
    for name, need in zip(areas, wanted, strict=True):
        assert sum(d.pls_lb for d in draws if d.area == name) == pytest.approx(need, abs=2e-9)
    for stock in lots:
        assert sum(d.pls_lb for d in draws if d.stock.lot == stock.lot) <= stock.pls_lb + 1e-9
    if any(d.stock.lot is None for d in draws):
        from_lots = sum(d.pls_lb for d in draws if d.stock.lot is not None)
        assert from_lots == pytest.approx(sum(s.pls_lb for s in lots), abs=1e-8)


def test_an_unknown_need_is_drawn_as_unknown():
    lots = [Stock("L", "held", 0.8, 8.0), TO_FIND]
    first, second = drawn([("A", math.nan), ("B", 4.0)], lots)
    assert (first.stock.lot, second.stock.lot) == (None, "L")
    assert math.isnan(first.pls_lb)
