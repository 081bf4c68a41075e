"""The order: whole packs, costs, and every need met."""

import math
from fractions import Fraction

import pandas as pd
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from pipeline.seed.packs import order_lb, order_pack_lb
from pipeline.seed.settings import SeedSettings
from tests.made_seed import BIG, LITTLE, SPECIES, area, line, lot

NO_SHRINKING = [p for p in Phase if p is not Phase.shrink]


def ordered(need, pack, offered=math.nan):
    """Bulk [lb] to order for a single need."""
    return order_lb(*(pd.Series([float(value)]) for value in (need, pack, offered))).item()


@pytest.fixture(scope="module")
def by_hand(seed_plan):
    """One area, one species with two lots, one with none; the tests work it out by hand."""
    two = lot("B", pls=60.0, offered_bulk_lb=100.0, pack_lb=25.0, price_usd_per_pls_lb=12.0)
    return seed_plan(
        units={"U1": 12.5},
        species=SPECIES,
        seedings=[area()],
        mixes=[line(seeds_sqft=10.0), line("little bluestem", pls_lb_ac=2.0)],
        seed_lots=[
            lot("A", pls=80.0, on_hand_bulk_lb=20.0, tested="2026-03-01"),
            two | {"tested": "2026-09-01"},
        ],
    )


def test_rates_written_out_by_hand(by_hand):
    # Big bluestem: 10 seeds × 43,560 / 144,240 = 3.01996672 lb PLS/ac; × 12.5 ac = 37.749584 lb.
    rates = by_hand["seed_rates"].set_index("species")
    assert rates.loc[BIG, "pls_lb_ac"] == pytest.approx(3.0199667, abs=5e-8)
    assert rates.loc[BIG, "pls_oz_ac"] == pytest.approx(48.319468, abs=5e-7)
    assert rates.loc[BIG, "pls_lb"] == pytest.approx(37.749584, abs=5e-7)
    assert rates.loc[BIG, "pls_oz"] == pytest.approx(603.99334, abs=5e-6)
    # Little bluestem: 2 lb × 255,000 / 43,560 = 11.7080 seeds; × 12.5 = 25 lb.
    assert rates.loc[LITTLE, "seeds_sqft"] == pytest.approx(11.70799, abs=5e-6)
    assert rates.loc[LITTLE, "pls_lb"] == 25


def test_order_written_out_by_hand(by_hand):
    # Lot A is older and held: 20 lb × 80 % = 16 lb PLS. The other 21.749584 lb at 60 % are
    # 36.249307 lb bulk of lot B, in packs of 25: 50 lb, 13.750693 lb over, 30 lb PLS, $360.
    order = by_hand["seed_order"].set_index("lot")
    assert order.loc["A", "pls_needed_lb"] == pytest.approx(16)
    assert order.loc["A", "bulk_to_order_lb"] == 0
    assert order.loc["A", "cost_usd"] == 0
    assert order.loc["B", "bulk_needed_lb"] == pytest.approx(36.249307, abs=5e-7)
    assert order.loc["B", "bulk_to_order_lb"] == 50
    assert order.loc["B", "excess_bulk_lb"] == pytest.approx(13.750693, abs=5e-7)
    assert order.loc["B", "pls_to_order_lb"] == pytest.approx(30)
    assert order.loc["B", "cost_usd"] == pytest.approx(360)


def test_seed_without_a_lot_is_ordered_by_pls_and_its_bulk_is_unknown(by_hand):
    (row,) = by_hand["seed_order"].query("lot.isna()").itertuples()
    assert row.species == LITTLE
    assert row.pls_to_order_lb == 25
    assert pd.isna(row.bulk_to_order_lb)
    assert pd.isna(row.cost_usd)


def test_needs_written_out_by_hand(by_hand):
    needs = by_hand["seed_needs"].set_index("species").loc[BIG]
    assert needs["pls_held_lb"] == pytest.approx(16)
    assert needs["pls_short_lb"] == pytest.approx(21.749584, abs=5e-7)
    assert needs["lots"] == 2
    assert needs["sown_ac"] == 12.5
    assert by_hand["seed_needs"].set_index("species").loc[LITTLE, "lots"] == 0


def test_what_the_shed_has_too_much_of_is_not_short(seed_plan):
    plan = seed_plan(
        units={"U1": 10.0},
        seedings=[area()],
        mixes=[line(pls_lb_ac=3.0)],
        seed_lots=[lot("A", pls=80.0, on_hand_bulk_lb=50.0)],
    )
    needs = plan["seed_needs"].iloc[0]
    assert (needs["pls_held_lb"], needs["pls_short_lb"]) == (40, 0)


def test_price_of_a_species_over_the_lots_that_are_used(seed_plan):
    # 10 lb PLS at $5 and 20 lb at $8 are $210 on 10 acres: $7 a pound, $21 an acre; at 144,240
    # seeds per pound a thousand live seeds cost 700 / 144.24 = 4.853 cents.
    plan = seed_plan(
        units={"U1": 10.0},
        species=SPECIES,
        seedings=[area()],
        mixes=[line(pls_lb_ac=3.0)],
        seed_lots=[
            lot("A", pls=100.0, on_hand_bulk_lb=10.0, price_usd_per_pls_lb=5.0),
            lot("B", pls=50.0, offered_bulk_lb=500.0, price_usd_per_pls_lb=8.0),
        ],
    )
    needs = plan["seed_needs"].iloc[0]
    assert needs["seed_cost_usd"] == pytest.approx(210)
    assert needs["cost_usd_per_pls_lb"] == pytest.approx(7)
    assert needs["cost_usd_ac"] == pytest.approx(21)
    assert needs["cost_usd_per_thousand_seeds"] == pytest.approx(0.04853, abs=5e-6)
    assert plan["seed_areas"]["cost_usd_ac"].iloc[0] == pytest.approx(21)


def test_price_of_a_thousand_seeds_follows_the_count_of_each_mix(seed_plan):
    # $10 a PLS lb on two areas of an acre, 1 lb PLS each, 100,000 seeds in one mix's pound and
    # 300,000 in the other's: $20 for 400,000 seeds, whichever mix is last.
    mixes = [line(pls_lb_ac=1.0, seeds_per_lb=1e5), line(mix="M2", pls_lb_ac=1.0, seeds_per_lb=3e5)]
    case = {
        "units": {"U1": 1.0, "U2": 1.0},
        "seedings": [area(), area("South", "U2", "M2")],
        "seed_lots": [lot("A", pls=100.0, on_hand_bulk_lb=10.0, price_usd_per_pls_lb=10.0)],
    }
    for rows in (mixes, mixes[::-1]):
        needs = seed_plan(mixes=rows, **case)["seed_needs"].iloc[0]
        assert needs["cost_usd_per_thousand_seeds"] == pytest.approx(0.05)


def test_a_species_at_rate_zero_is_told(seed_plan):
    plan = seed_plan(
        units={"U1": 1.0}, seedings=[area()], mixes=[line(pls_lb_ac=0.0), line(LITTLE, pls_lb_ac=1)]
    )
    told = plan["seed_findings"].query("code == 'zero_rate'")
    assert BIG in told["message"].iloc[0]


def test_one_species_as_seed_and_as_nurse_crop_elsewhere_is_ordered_twice_and_priced_once(
    seed_plan,
):
    plan = seed_plan(
        units={"U1": 10.0, "U2": 10.0},
        seedings=[area(), area("South", "U2", "Other")],
        mixes=[
            line("oats", pls_lb_ac=3.0),
            line(mix="Other", pls_lb_ac=1.0),
            line("oats", mix="Other", role="nurse", bulk_lb_ac=20.0),
        ],
    )
    oats = plan["seed_order"].query("species == 'oats'").set_index("role")
    assert oats.loc["nurse", "bulk_needed_lb"] == 200
    assert oats.loc["seed", "pls_to_order_lb"] == 30
    assert plan["seed_needs"].set_index("species").loc["oats", "pls_to_order_lb"] == 30


def test_seed_to_be_found_is_reckoned_at_the_poorest_lot_or_as_told(seed_plan):
    case = {
        "units": {"U1": 10.0},
        "seedings": [area()],
        "mixes": [line(pls_lb_ac=3.0)],
        "seed_lots": [
            lot("A", pls=80.0, on_hand_bulk_lb=10.0),
            lot("B", pls=50.0, on_hand_bulk_lb=8.0),
        ],
    }
    # 30 lb PLS less 8 of A and 4 of B leave 18 lb PLS: 36 lb bulk at 50 %, 45 lb at 40 %.
    for told, bulk in (({}, 36), ({"assumed_pls_pct": 40.0}, 45)):
        (row,) = seed_plan(settings=told, **case)["seed_order"].query("lot.isna()").itertuples()
        assert row.bulk_to_order_lb == bulk
        assert row.pls_to_order_lb == pytest.approx(18)


@pytest.mark.parametrize(
    ("need", "pack", "offered", "order"),
    [
        (36.2, 25, math.nan, 50),
        (25, 25, math.nan, 25),
        (0.03, 0.0625, math.nan, 0.0625),
        (130.00000000000001, 65, math.nan, 130),
        (130.001, 65, math.nan, 195),
        (10.2, 1, 10.5, 10.5),
        (0, 1, math.nan, 0),
        (1e-12, 1, math.nan, 0),
    ],
)
def test_orders_are_whole_packs_up(need, pack, offered, order):
    made = ordered(need, pack, offered)
    assert made == order
    assert not math.copysign(1, made) < 0


def test_unknown_need_is_an_unknown_order():
    assert math.isnan(ordered(math.nan, 25, 100))


def test_pack_is_the_lots_own_else_a_pound_or_an_ounce():
    # 1.0075 lb at $217 were 2 lb, $434: the trade's price breaks lie at a pound and at ten, so
    # what is less than ten pounds goes by the ounce (17 of them here).
    needs = pd.Series([30.0, 30.0, 0.5, 1.0075])
    packs = pd.Series([25.0, math.nan, math.nan, math.nan])
    made = order_pack_lb(needs, packs, SeedSettings())
    assert list(made) == [25, 1, 1 / 16, 1 / 16]
    assert order_lb(needs, made, packs).iloc[-1] == 17 / 16


packs = st.sampled_from(["0.0625", "0.1", "0.3", "1", "2.5", "25", "40", "50", "0.7"])


@settings(max_examples=200)
@given(packs, st.integers(1, 4000), st.lists(st.integers(1, 50), min_size=1, max_size=40))
def test_exact_multiples_of_a_pack_are_not_rounded_up_by_one(pack, count, weights):
    # The need of whole packs, split over areas and added up again in binary numbers; Python's
    # exact fractions say what it is.
    exact = Fraction(pack) * count
    need = sum(float(exact * weight / sum(weights)) for weight in weights)
    assert ordered(need, float(pack)) == float(pack) * count


@settings(max_examples=200)
@given(packs, st.integers(0, 4000), st.integers(1, 999))
def test_a_need_above_whole_packs_takes_one_more(pack, count, thousandths):
    exact = Fraction(pack) * (count + Fraction(thousandths, 1000))
    assert ordered(float(exact), float(pack)) == float(pack) * math.ceil(exact / Fraction(pack))


lot_rows = st.lists(
    st.tuples(
        st.floats(10, 99).map(lambda x: round(x, 2)),
        st.integers(0, 200),
        st.integers(0, 300),
        st.sampled_from([1.0, 25.0, 50.0]),
    ),
    min_size=1,
    max_size=5,
)


@settings(max_examples=10, deadline=None, phases=NO_SHRINKING)
@given(
    lot_rows,
    st.floats(0.01, 12).map(lambda x: round(x, 3)),
    st.permutations(range(3)),
    st.sampled_from([2, 7]),
)
def test_order_covers_need_scales_and_does_not_depend_on_rows(seed_plan, lots, rate, turn, times):
    rows = [
        lot(f"L{n}", pls=pls, on_hand_bulk_lb=float(held), offered_bulk_lb=float(offer))
        | {"pack_lb": pack, "tested": f"2026-0{1 + n}-01"}
        for n, (pls, held, offer, pack) in enumerate(lots)
    ]
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
    on_hand = order.dropna(subset="lot").set_index("lot")["bulk_on_hand_lb"]
    held = plan["seed_use"].query("stock == 'held'").groupby("lot")["bulk_lb"].sum()
    for name, bulk in held.items():
        assert bulk <= on_hand[name] * (1 + 1e-12)
    turned = [areas[n] for n in turn]
    shuffled = seed_plan(units=acres, seedings=turned, seed_lots=rows[::-1], **case)
    pd.testing.assert_frame_equal(shuffled["seed_order"], order)
    pd.testing.assert_frame_equal(shuffled["seed_use"], plan["seed_use"])
    larger = seed_plan(units={u: ac * times for u, ac in acres.items()}, seedings=areas, **case)
    assert larger["seed_rates"]["pls_lb"].sum() == pytest.approx(need * times, rel=1e-12)


def test_nothing_given_nothing_made(seed_plan):
    plan = seed_plan(units={"U1": 1.0})
    made = ["mix_sheet", "seed_rates", "seed_use", "seed_order", "seed_areas", "seed_boxes"]
    for name in [*made, "seed_needs", "bag_rates", "own_harvest", "seed_findings"]:
        assert plan[name].empty
