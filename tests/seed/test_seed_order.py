"""From mixes, acres and lots to rates, lots on areas and an order."""

from decimal import Decimal

import pandas as pd
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from pipeline.core.errors import SourceError
from pipeline.seed.lots import Stock, drawn
from pipeline.seed.order import order_lb
from pipeline.seed.order_layers import TO_ORDER
from pipeline.seed.rates import method_factor

D = Decimal
NO_SHRINKING = [p for p in Phase if p is not Phase.shrink]
BIG, LITTLE = "Andropogon gerardii", "Schizachyrium scoparium"
SPECIES = [
    {"species": BIG, "common_name": "big bluestem", "usda_symbol": "ANGE", "seeds_per_lb": 144240.0,
     "seed_group": "warm-season grass", "box": "chaffy"},
    {"species": LITTLE, "common_name": "little bluestem", "synonyms": "Andropogon scoparius",
     "seeds_per_lb": 255000.0, "seed_group": "warm-season grass", "box": "chaffy"},
]  # fmt: skip


def area(name="North", unit="U1", mix="Hill", method="drill", **told):
    return {"area": name, "unit_id": unit, "mix": mix, "method": method} | told


def line(species=BIG, mix="Hill", **told):
    return {"mix": mix, "species": species} | told


def lot(name, species=BIG, pls=80.0, **told):
    return {"lot": name, "species": species, "purity_pct": pls, "total_viable_pct": 100.0} | told


def test_order_written_out_by_hand(seed_plan):
    """All figures below are worked out by hand, in this order."""
    plan = seed_plan(
        units={"U1": 12.5}, species=SPECIES, seedings=[area()],
        mixes=[line(seeds_sqft=10.0), line("little bluestem", pls_lb_ac=2.0)],
        seed_lots=[
            lot("A", pls=80.0, on_hand_bulk_lb=20.0, tested="2026-03-01"),
            lot("B", pls=60.0, offered_bulk_lb=100.0, pack_lb=25.0, price_usd_per_pls_lb=12.0,
                tested="2026-09-01"),
        ],
    )  # fmt: skip
    # Big bluestem: 10 seeds × 43,560 / 144,240 = 3.01996672 lb PLS/ac; × 12.5 ac = 37.749584 lb.
    rates = plan["seed_rates"].set_index("species")
    assert rates.loc[BIG, "pls_lb_ac"] == pytest.approx(3.0199667, abs=5e-8)
    assert rates.loc[BIG, "pls_lb"] == pytest.approx(37.749584, abs=5e-7)
    # Little bluestem: 2 lb × 255,000 / 43,560 = 11.7080 seeds; × 12.5 = 25 lb.
    assert rates.loc[LITTLE, "seeds_sqft"] == pytest.approx(11.70799, abs=5e-6)
    assert rates.loc[LITTLE, "pls_lb"] == 25
    # Lot A is older and held: 20 lb × 80 % = 16 lb PLS. The other 21.749584 lb at 60 % are
    # 36.249307 lb bulk of lot B, in packs of 25: 50 lb, 13.750693 lb over, 30 lb PLS, $360.
    order = plan["seed_order"].set_index("lot")
    assert order.loc["A", "pls_needed_lb"] == 16
    assert order.loc["A", "bulk_to_order_lb"] == 0
    assert order.loc["B", "bulk_needed_lb"] == pytest.approx(36.249307, abs=5e-7)
    assert order.loc["B", "bulk_to_order_lb"] == 50
    assert order.loc["B", "excess_bulk_lb"] == pytest.approx(13.750693, abs=5e-7)
    assert order.loc["B", "cost_usd"] == 360
    # No lot of little bluestem: 25 lb PLS to be found, bulk unknown.
    assert order.loc[TO_ORDER, "species"] == LITTLE
    assert order.loc[TO_ORDER, "pls_to_order_lb"] == 25
    assert pd.isna(order.loc[TO_ORDER, "bulk_to_order_lb"])
    whole = plan["seed_areas"].iloc[0]
    assert whole["pls_lb"] == pytest.approx(62.749584, abs=5e-7)
    assert whole["seeds_sqft"] == pytest.approx(21.70799, abs=5e-6)
    assert pd.isna(whole["bulk_lb"])
    needs = plan["seed_needs"].set_index("species").loc[BIG]
    assert needs["pls_held_lb"] == 16
    assert needs["pls_short_lb"] == pytest.approx(21.749584, abs=5e-7)


def test_percent_of_full_rate_as_on_the_form(seed_plan):
    # USDA-SCS form CO-ECS-5 (10 Jun 1983): blue grama full 3.0 × 25 % × 10 ac = 7.5 PLS lb.
    # Seed plan in Colorado DRMS file 1061914: 1.0 × 15 % × 10 ac = 1.5, shown as 0.2 × 10.
    full = {"full_rate": "SCS", "region": "Colorado", "purpose": "critical area",
            "rate_method": "any"}  # fmt: skip
    plan = seed_plan(
        units={"U1": 10.0}, seedings=[area()],
        full_rates=[full | {"species": "blue grama", "pls_lb_ac": 3.0},
                    full | {"species": "junegrass", "pls_lb_ac": 1.0}],
        mixes=[line("blue grama", full_rate_pct=25.0, full_rate="SCS", not_100=True),
               line("junegrass", full_rate_pct=15.0, full_rate="SCS")],
    )  # fmt: skip
    pounds = plan["seed_rates"].set_index("species")["pls_lb"]
    assert pounds["blue grama"] == 7.5
    assert pounds["junegrass"] == 1.5
    assert "Colorado, critical area" in plan["mix_sheet"]["full_rate"].iloc[0]


def test_shares_by_seed_and_by_weight_are_told_apart(seed_plan):
    # BWSR pilot mix, 5 Jul 2018: oats 37.88 lb of 42.3 lb are 89.5 % by weight and, at 12,800
    # seeds per pound, 11.13 of 44.3 seeds: 25 % by seed.
    rest = 42.3 - 37.88
    plan = seed_plan(mixes=[
        line("oats", pls_lb_ac=37.88, seeds_per_lb=12800.0),
        line("rest", pls_lb_ac=rest, seeds_per_lb=(44.3 - 11.130946) * 43560 / rest),
    ])  # fmt: skip
    oats = plan["mix_sheet"].set_index("species").loc["oats"]
    assert oats["share_by_weight_pct"] == pytest.approx(89.5, abs=0.06)
    assert oats["share_by_seed_pct"] == pytest.approx(25.12, abs=0.06)


def test_nurse_crops_and_carriers_stay_out_of_seed(seed_plan):
    lines = [line(pls_lb_ac=4.0), line("oats", role="nurse", bulk_lb_ac=20.0),
             line("rice hulls", role="carrier", bulk_lb_ac=10.0)]  # fmt: skip
    lots = [lot("A", pls=50.0, on_hand_bulk_lb=500.0)]
    plan = seed_plan(units={"U1": 20.0}, species=SPECIES, seedings=[area()], mixes=lines,
                     seed_lots=lots)  # fmt: skip
    alone = seed_plan(units={"U1": 20.0}, species=SPECIES, seedings=[area()], mixes=lines[:1],
                      seed_lots=lots)  # fmt: skip
    for column in ("seeds_sqft", "pls_lb", "bulk_lb"):
        assert plan["seed_areas"][column].iloc[0] == alone["seed_areas"][column].iloc[0]
    # Grassland Restoration Network (7 Mar 2019): 10 lb of rice hulls an acre on 20 acres is 200 lb.
    assert plan["seed_areas"]["companion_lb"].iloc[0] == 20 * 20 + 200
    boxes = plan["seed_boxes"].set_index("box")
    # 4 lb PLS at 50 % is 8 lb bulk; with 10 lb of hulls the chaffy box is set to 18 lb.
    assert boxes.loc["chaffy", "setting_lb_ac"] == 18
    assert boxes.loc["large", "setting_lb_ac"] == 20
    # University of Kentucky factors in No-Till Farmer: 7.5 in rows, 150 ft: 0.98 g per lb/ac.
    assert boxes.loc["chaffy", "catch_g"] == pytest.approx(18 * 0.976223, abs=1e-4)


def test_one_species_as_seed_and_as_nurse_crop_elsewhere_is_ordered_twice_and_priced_once(
    seed_plan,
):
    plan = seed_plan(
        units={"U1": 10.0, "U2": 10.0},
        seedings=[area(), area("South", "U2", "Other")],
        mixes=[line("oats", pls_lb_ac=3.0), line(mix="Other", pls_lb_ac=1.0),
               line("oats", mix="Other", role="nurse", bulk_lb_ac=20.0)],
    )  # fmt: skip
    oats = plan["seed_order"].query("species == 'oats'").set_index("role")
    assert oats.loc["nurse", "bulk_needed_lb"] == 200
    assert oats.loc["seed", "pls_to_order_lb"] == 30
    assert plan["seed_needs"].set_index("species").loc["oats", "pls_to_order_lb"] == 30


def test_method_factor_goes_in_once_by_construction():
    factors = {"broadcast": D(2), "overseed": D("0.5")}
    assert method_factor("drill", "broadcast", factors) == 2
    assert method_factor("broadcast", "broadcast", factors) == 1
    assert method_factor("broadcast", "drill", factors) == D("0.5")
    assert method_factor("any", "broadcast", factors) == 1
    assert method_factor(None, "broadcast", factors) == 2
    assert method_factor("drill", "broadcast", {}) == 1


def test_broadcast_rate_doubled_from_drilled_as_printed(seed_plan):
    # Colorado DRMS file 493681 prints 17.9 lb PLS broadcast and half of it drilled.
    factor = {"region": "Colorado", "kind": "method", "name": "broadcast", "factor": 2.0}
    for written, rate in (("drill", 8.95), ("broadcast", 17.9)):
        plan = seed_plan(units={"U1": 1.0}, seedings=[area(method="broadcast")],
                         mixes=[line(pls_lb_ac=rate, rate_method=written)],
                         seed_factors=[factor], settings={"region": "Colorado"})  # fmt: skip
        assert plan["seed_rates"]["pls_lb_ac"].iloc[0] == 17.9


def test_factors_are_named_apart_and_told_ones_win(seed_plan):
    # Tallgrass Prairie Center: +25 % out of season; Tennessee page: +50 % on 3:1 slopes.
    table = [{"region": "R", "kind": "season", "name": "July-August", "factor": 1.25},
             {"region": "R", "kind": "slope", "name": "3:1 or steeper", "factor": 1.5}]  # fmt: skip
    plan = seed_plan(
        units={"U1": 1.0}, mixes=[line(pls_lb_ac=4.0)], seed_factors=table,
        seedings=[area(season="July-August", slope="3:1 or steeper", slope_factor=2.0,
                       sod_factor=0.5)],
        settings={"region": "R"},
    )  # fmt: skip
    row = plan["seed_rates"].iloc[0]
    assert [row[f"{k}_factor"] for k in ("method", "season", "slope", "sod")] == [1, 1.25, 2, 0.5]
    assert row["pls_lb_ac"] == 4 * 1.25 * 2 * 0.5


@pytest.mark.parametrize(
    ("case", "word"),
    [
        ({"mixes": [line(pls_lb_ac=1.0, seeds_sqft=2.0)]}, "exactly one"),
        ({"mixes": [line()]}, "no rate"),
        ({"mixes": [line(bulk_lb_ac=3.0)]}, "bulk for seed"),  # S01
        ({"mixes": [line("hulls", role="carrier", pls_lb_ac=3.0)]}, "has no seed"),  # S19
        ({"mixes": [line(full_rate_pct=50.0)]}, "full_rate"),  # S08
        ({"mixes": [line(pls_lb_ac=1.0), line("ANGE", pls_lb_ac=1.0)]}, "second time"),
        ({"mixes": [line(pls_lb_ac=1.0, mix="Other")]}, 'mix "Hill"'),
        ({"mixes": [line(pls_lb_ac=1.0)], "settings": {"region": "Mars"}}, "Mars"),
        ({"mixes": [line(pls_lb_ac=1.0)], "seedings": [area(slope="steep")]}, "steep"),
        ({"mixes": [line(pls_lb_ac=1.0)], "seedings": [area(), area(unit="U2", mix="B")]}, "two"),
        ({"mixes": [line(pls_lb_ac=1.0)], "seedings": [area(bag="X")]}, 'bag "X"'),
    ],
)
def test_what_cannot_be_sown_is_refused_in_one_line(seed_plan, case, word):
    told = {"units": {"U1": 1.0, "U2": 1.0}, "species": SPECIES, "seedings": [area()]} | case
    with pytest.raises(SourceError) as refused:
        seed_plan(**told)
    assert word in str(refused.value)


@pytest.mark.parametrize(("shares", "meant", "fails"), [
    ((35, 20, 20, 10, 10, 5), None, False),  # USDA-SCS letter, DRMS file 518541: adds to 100
    ((35, 20, 20, 10, 10, 15), None, True),
    ((35, 20, 20, 10, 10, 15), True, False),
])  # fmt: skip
def test_percents_add_to_100_unless_meant_otherwise(seed_plan, shares, meant, fails):
    # S09
    full = {"full_rate": "S", "region": "r", "purpose": "p", "rate_method": "any", "pls_lb_ac": 5.0}
    case = {
        "full_rates": [full | {"species": f"g{n}"} for n in range(6)],
        "mixes": [line(f"g{n}", full_rate_pct=float(s), full_rate="S", not_100=meant)
                  for n, s in enumerate(shares)],
    }  # fmt: skip
    if fails:
        with pytest.raises(SourceError, match="add to 110"):
            seed_plan(**case)
    else:
        assert len(seed_plan(**case)["mix_sheet"]) == 6


def test_names_resolve_and_unknown_ones_are_kept(seed_plan):
    plan = seed_plan(units={"U1": 10.0}, species=SPECIES, seedings=[area()], mixes=[
        line("BIG  bluestem", pls_lb_ac=1.0), line("Andropogon scoparius", pls_lb_ac=1.0),
        line("Never heardof", seeds_sqft=2.0)])  # fmt: skip
    assert set(plan["seed_rates"]["species"]) == {BIG, LITTLE, "Never heardof"}
    # Unknown pounds are not zero: they make the totals unknown.
    assert pd.isna(plan["seed_rates"].set_index("species").loc["Never heardof", "pls_lb"])
    assert pd.isna(plan["seed_areas"]["pls_lb"].iloc[0])
    assert "Never heardof" in set(plan["seed_order"]["species"])


def test_own_seeds_per_pound_win(seed_plan):
    plan = seed_plan(species=SPECIES, mixes=[line(seeds_sqft=10.0, seeds_per_lb=160000.0)])
    row = plan["mix_sheet"].iloc[0]
    # Tallgrass Prairie Center, Irvine Prairie (2021): 1.00 seed/ft² is 0.272 lb at 160,000.
    assert row["pls_lb_ac"] == pytest.approx(2.72, abs=0.005)
    assert row["seeds_per_lb_from"] == "mix"


def test_bag_is_sown_for_the_species_that_needs_most(seed_plan):
    plan = seed_plan(
        units={"U1": 10.0}, species=SPECIES, seedings=[area(bag="Mix 1")],
        mixes=[line(pls_lb_ac=3.0), line(LITTLE, pls_lb_ac=2.0)],
        seed_bags=[
            {"bag": "Mix 1", "species": "big bluestem", "purity_pct": 50.0,
             "total_viable_pct": 80.0},
            {"bag": "Mix 1", "species": LITTLE, "purity_pct": 20.0, "total_viable_pct": 50.0},
        ],
    )  # fmt: skip
    # Big bluestem 3 / (0.5 × 0.8) = 7.5 lb of the bag; little bluestem 2 / (0.2 × 0.5) = 20 lb.
    rows = plan["bag_rates"].set_index("species")
    assert list(rows.loc[[BIG, LITTLE], "needs_bulk_lb_ac"]) == [7.5, 20]
    assert list(rows.loc[[BIG, LITTLE], "limiting"]) == [False, True]
    assert rows.loc[BIG, "sown_pls_lb_ac"] == 8
    assert plan["seed_areas"]["bulk_lb"].iloc[0] == 200
    assert plan["seed_use"].empty
    assert list(plan["seed_order"]["role"]) == ["bag"]


def test_stated_order_of_lots(seed_plan):
    lots = [lot("Z", on_hand_bulk_lb=10.0, tested="2025-01-01", price_usd_per_pls_lb=9.0),
            lot("A", on_hand_bulk_lb=10.0, tested="2026-01-01", price_usd_per_pls_lb=5.0),
            lot("M", on_hand_bulk_lb=10.0)]  # fmt: skip
    case = {"units": {"U1": 1.0}, "seedings": [area()], "mixes": [line(pls_lb_ac=12.0)],
            "seed_lots": lots}  # fmt: skip
    assert list(seed_plan(**case)["seed_use"]["lot"]) == ["A", "Z"]
    use = seed_plan(**case)["seed_use"].set_index("lot")["bulk_lb"]
    assert (use["Z"], use["A"]) == (10, 5)
    use = seed_plan(settings={"lot_order": "cheapest PLS"}, **case)["seed_use"].set_index("lot")
    assert (use["bulk_lb"]["A"], use["bulk_lb"]["Z"]) == (10, 5)


def test_seed_to_be_found_is_reckoned_at_the_poorest_lot_or_as_told(seed_plan):
    case = {"units": {"U1": 10.0}, "seedings": [area()], "mixes": [line(pls_lb_ac=3.0)],
            "seed_lots": [lot("A", pls=80.0, on_hand_bulk_lb=10.0),
                          lot("B", pls=50.0, on_hand_bulk_lb=8.0)]}  # fmt: skip
    # 30 lb PLS less 8 of A and 4 of B leave 18 lb PLS: 36 lb bulk at 50 %, 45 lb at 40 %.
    for told, bulk in (({}, 36), ({"assumed_pls_pct": 40.0}, 45)):
        order = seed_plan(settings=told, **case)["seed_order"].set_index("lot")
        assert order.loc[TO_ORDER, "bulk_to_order_lb"] == bulk
        assert order.loc[TO_ORDER, "pls_to_order_lb"] == 18


@pytest.mark.parametrize(("need", "pack", "offered", "order"), [
    ("36.2", "25", "NaN", "50"), ("25", "25", "NaN", "25"), ("0.03", "0.0625", "NaN", "0.0625"),
    ("10.000000000000001", "1", "NaN", "10"), ("10.2", "1", "10.5", "10.5"), ("0", "1", "NaN", "0"),
])  # fmt: skip
def test_orders_are_whole_packs_up(need, pack, offered, order):
    assert order_lb(D(need), D(pack), D(offered)) == D(order)


stocks = st.lists(st.tuples(st.integers(5, 95), st.integers(1, 4000)), max_size=6)
needs = st.lists(st.integers(1, 90000).map(lambda n: D(n) / 1000), min_size=1, max_size=6)


@settings(max_examples=80)
@given(needs, stocks)
def test_every_need_is_met_and_no_lot_gives_more_than_it_holds(wanted, held):
    lots = [Stock(f"L{n}", "held", D(pct) / 100, D(pct) / 100 * bulk)
            for n, (pct, bulk) in enumerate(held)]  # fmt: skip
    areas = [f"A{n}" for n in range(len(wanted))]
    draws = list(drawn(zip(areas, wanted, strict=True),
                       [*lots, Stock(TO_ORDER, TO_ORDER, D("NaN"), None)]))  # fmt: skip
    for name, need in zip(areas, wanted, strict=True):
        assert sum(d.pls_lb for d in draws if d.area == name) == need
    for stock in lots:
        assert sum(d.pls_lb for d in draws if d.stock.lot == stock.lot) <= stock.pls_lb
    bought = [d for d in draws if d.stock.lot == TO_ORDER]
    if bought:
        assert sum(d.pls_lb for d in draws) - sum(d.pls_lb for d in bought) == sum(
            s.pls_lb for s in lots
        )


lot_rows = st.lists(
    st.tuples(st.floats(10, 99).map(lambda x: round(x, 2)), st.integers(0, 200),
              st.integers(0, 300),
              st.sampled_from([1.0, 25.0, 50.0])),
    min_size=1, max_size=5,
)  # fmt: skip


@settings(max_examples=10, deadline=None, phases=NO_SHRINKING)
@given(lot_rows, st.floats(0.01, 12).map(lambda x: round(x, 3)), st.permutations(range(3)),
       st.sampled_from([2, 7]))  # fmt: skip
def test_order_covers_need_scales_and_does_not_depend_on_rows(seed_plan, lots, rate, turn, times):
    rows = [lot(f"L{n}", pls=pls, on_hand_bulk_lb=float(held), offered_bulk_lb=float(offer),
                pack_lb=pack, tested=f"2026-0{1 + n}-01")
            for n, (pls, held, offer, pack) in enumerate(lots)]  # fmt: skip
    acres = {"U1": 3.0, "U2": 40.0, "U3": 11.5}
    areas = [area(f"A{n}", f"U{n}") for n in (1, 2, 3)]
    case = {"mixes": [line(pls_lb_ac=rate)], "species": SPECIES}
    plan = seed_plan(units=acres, seedings=areas, seed_lots=rows, **case)
    order = plan["seed_order"]
    fraction = order["pls_pct"] / 100
    need = plan["seed_rates"]["pls_lb"].sum()
    used = (order["bulk_on_hand_lb"].clip(upper=order["bulk_needed_lb"]) * fraction).sum()
    assert used + (order["bulk_to_order_lb"] * fraction).sum() >= need * (1 - 1e-12) - 1e-8
    assert plan["seed_areas"]["pls_lb"].sum() == pytest.approx(need, rel=1e-12)
    on_hand = order.set_index("lot")["bulk_on_hand_lb"]
    held = plan["seed_use"].query("stock == 'held'").groupby("lot")["bulk_lb"].sum()
    for name, bulk in held.items():
        assert bulk <= on_hand[name] * (1 + 1e-12)
    shuffled = seed_plan(
        units=acres, seedings=[areas[n] for n in turn], seed_lots=rows[::-1], **case
    )
    pd.testing.assert_frame_equal(shuffled["seed_order"], order)
    pd.testing.assert_frame_equal(shuffled["seed_use"], plan["seed_use"])
    larger = seed_plan(units={u: ac * times for u, ac in acres.items()}, seedings=areas, **case)
    assert larger["seed_rates"]["pls_lb"].sum() == pytest.approx(need * times, rel=1e-12)


def test_nothing_given_nothing_made(seed_plan):
    plan = seed_plan(units={"U1": 1.0})
    for name in ("mix_sheet", "seed_rates", "seed_use", "seed_order", "seed_areas", "seed_boxes",
                 "seed_needs", "bag_rates", "own_harvest", "seed_findings"):  # fmt: skip
        assert plan[name].empty
