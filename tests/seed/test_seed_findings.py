"""Each check of a seed order triggered and not triggered; S numbers follow the list of errors seen.

S02, S13 and S16 (contradictory tags) stand in test_seed_quality.py, S01, S08, S09 and S19 (mixes
that cannot be sown) and S15 (rounding on the way) in test_seed_order.py and
test_seed_quantities.py: they are refused or impossible rather than told.
"""

import re

import pytest

from pipeline.core.layer import Layer
from pipeline.seed import order_layers

BIG = "Andropogon gerardii"
SPECIES = [
    {"species": BIG, "common_name": "big bluestem", "seeds_per_lb": 144240.0,
     "low_seeds_per_lb": 144240.0, "high_seeds_per_lb": 195514.0, "seed_unit": "spikelet",
     "seed_group": "warm-season grass", "box": "chaffy", "dormancy_tested": True},
    {"species": "Dalea purpurea", "seeds_per_lb": 317000.0, "low_seeds_per_lb": 141748.0,
     "high_seeds_per_lb": 317000.0, "seed_unit": "seed", "seed_group": "legume", "box": "small"},
    {"species": "Desmanthus illinoensis", "seeds_per_lb": 85000.0, "low_seeds_per_lb": 75599.0,
     "high_seeds_per_lb": 85000.0, "seed_unit": "seed", "seed_group": "legume", "box": "large"},
    {"species": "Monarda fistulosa", "seeds_per_lb": 1272500.0, "low_seeds_per_lb": 907185.0,
     "high_seeds_per_lb": 1272500.0, "seed_unit": "seed", "seed_group": "forb", "box": "small"},
    {"species": "Artemisia ludoviciana", "seeds_per_lb": 4048000.0, "low_seeds_per_lb": 3693130.0,
     "high_seeds_per_lb": 4123567.0, "seed_unit": "achene", "seed_group": "forb", "box": "small"},
]  # fmt: skip


def area(**told):
    return {"area": "North", "unit_id": "U1", "mix": "Hill", "method": "drill",
            "planting": "2027-05-20"} | told  # fmt: skip


def line(species="Dalea purpurea", **told):
    return {"mix": "Hill", "species": species, "pls_lb_ac": 5.0} | told


def lot(**told):
    return {"lot": "L1", "species": BIG, "purity_pct": 90.0, "germination_pct": 80.0,
            "dormant_pct": 5.0, "tested": "2026-11-10", "on_hand_bulk_lb": 5000.0,
            } | told  # fmt: skip


def case(mixes=None, lots=(), areas=None, settings=None, **tables):
    return {
        "units": {"U1": 10.0}, "species": SPECIES, "mixes": mixes or [line(pls_lb_ac=5.0)],
        "seed_lots": list(lots), "seedings": areas or [area()],
        "settings": {"test_months": 9, "state": "Iowa"} | (settings or {}),
    } | tables  # fmt: skip


FULL = {"full_rate": "F", "region": "r", "purpose": "p", "rate_method": "any", "pls_lb_ac": 5.0,
        "species": "Dalea purpurea"}  # fmt: skip
HULLS = {"mix": "Hill", "species": "rice hulls", "role": "carrier", "bulk_lb_ac": 10.0}
OATS = HULLS | {"species": "oats", "role": "nurse", "box": "large"}
BAG = {"bag": "B", "species": "Dalea purpurea", "purity_pct": 50.0, "total_viable_pct": 80.0}
COUNTED = {"harvest": "H", "species": BIG, "bulk_lb": 50.0, "sample_g": 1.0, "filled_seeds": 20,
           "cut_seeds": 20, "good_seeds": 16}  # fmt: skip
TWO_LOTS = [lot(on_hand_bulk_lb=10.0), lot(lot="L2", purity_pct=60.0)]

# name, words of the message, a case that triggers it, a case that does not
CHECKS = [
    ("S01 lot in bulk without PLS", "pure live seed is unknown",
     case(lots=[lot(germination_pct=None, dormant_pct=None)]), case(lots=[lot()])),
    ("S01 stated PLS alone", "cannot be checked",
     case(lots=[lot(germination_pct=None, dormant_pct=None, pls_pct=70.0)]), case(lots=[lot()])),
    # Oklahoma State: switchgrass under a year old may be more than 60 % dormant; 7 CFR 201.57a
    ("S03 dormant forgotten", "no dormant seed told",
     case(lots=[lot(germination_pct=40.0, dormant_pct=None)]),
     case(lots=[lot(germination_pct=40.0)])),
    ("S04 factors told", "is in the rates, once", case(areas=[area(sod_factor=0.5)]), case()),
    ("S04 method untold", "does not say which method",
     case(areas=[area(method="broadcast")]), case([line(rate_method="broadcast")],
                                                  areas=[area(method="broadcast")])),
    ("S04 no broadcast factor", "at factor 1",
     case(areas=[area(method="broadcast")]),
     case(areas=[area(method="broadcast", method_factor=2.0)])),
    ("S05 gross for net", "gross acres are counted", case(), None),
    ("S05 ground sown twice", "is also sown",
     case(areas=[area(), area(area="Again")]), case()),
    # 0.06 lb/ac × 40 ac = 2.4 lb; rounded to 0.1 first it is 4.0
    ("S06 small rates", "weigh in ounces", case([line(pls_lb_ac=0.06)]), case()),
    # Colorado table 2.05-7: prairie sage at 33,600 seeds/lb, about 120 times too few
    ("S07 far from the figures", "check it",
     case([line("Artemisia ludoviciana", seeds_per_lb=33600.0)]),
     case([line("Artemisia ludoviciana")])),
    ("S07 grass without seed unit", "not told",
     case([line(BIG)], species=[SPECIES[0] | {"seed_unit": None}]), case([line(BIG)])),
    # BWSR pilot mix: oats 25 % by seed and 90 % by weight
    ("S08 shares apart", "of the weight",
     case([line(), line("Desmanthus illinoensis")]),
     case([line(), line("Lespedeza", seeds_per_lb=300000.0)])),
    ("S09 percents meant", "as meant",
     case([line(pls_lb_ac=None, full_rate_pct=120.0, full_rate="F", not_100=True)],
          full_rates=[FULL]),
     case([line(pls_lb_ac=None, full_rate_pct=100.0, full_rate="F")], full_rates=[FULL])),
    ("S10 two lots", "not the average", case([line(BIG)], TWO_LOTS), case([line(BIG)], [lot()])),
    ("S11 short species", "covered by no lot",
     case([line(BIG)], [lot(on_hand_bulk_lb=1.0)]), case([line(BIG)], [lot()])),
    # Iowa Code 199.8: 9 months after the month of the test
    ("S12 stale test", "good through 2026-12-31",
     case([line(BIG)], [lot(tested="2026-03-05")]), case([line(BIG)], [lot()])),
    ("S12 no test", "no test date", case([line(BIG)], [lot(tested=None)]),
     case([line(BIG)], [lot()])),
    ("S12 rule unknown", "needs [seed] test_months",
     case([line(BIG)], [lot()], settings={"test_months": None}), case([line(BIG)], [lot()])),
    ("S12 planting unknown", "needs a planting date",
     case([line(BIG)], [lot()], [area(planting=None)]), case([line(BIG)], [lot()])),
    ("S14 seeds per ounce", "multiply by 16", case([line(seeds_per_lb=317000 / 16)]), case()),
    ("S17 calibrate with carrier", "not to the PLS rate", case([line(), HULLS]), case()),
    ("S18 thin", "thin", case([line(pls_lb_ac=0.2)]), case()),
    ("S18 thick", "thick", case([line(pls_lb_ac=50.0)]), case()),
    ("S18 one grass", "crowd out", case([line(BIG)]), case()),
    ("S19 nurse crop as seed", "counted as seed", case([line(), line("oats")]),
     case([line(), OATS])),
    ("S20 limiting species", "decides how much",
     case(areas=[area(bag="B")], seed_bags=[BAG]), case()),
    ("S20 not in the bag", "cannot give it",
     case([line(), line(BIG)], areas=[area(bag="B")], seed_bags=[BAG]), case()),
    ("S21 no box", "no drill box", case([line("Unknown one")]), case()),
    ("S21 box taken for granted", "is counted in the chaffy box",
     case([line(), HULLS]), case([line(), HULLS | {"box": "large"}])),
    ("S21 depth", "decides the depth",
     case([line("Desmanthus illinoensis"), line("Monarda fistulosa")]), case()),
    ("unknown name", "not in the species table", case([line("Nobody")]), case()),
    ("noxious weed", "noxious-weed seed list of Iowa",
     case(lots=[lot(noxious="Palmer amaranth 2/lb")]), case(lots=[lot(noxious="none")])),
    ("weed seed", "weed seed", case(lots=[lot(weed_pct=1.6)]), case(lots=[lot(weed_pct=1.5)])),
    ("law of the state", "Refuse unlabeled seed", case(), {"units": {"U1": 1.0}}),
    ("contracts", "easement", case(), {"units": {"U1": 1.0}}),
    ("own harvest", "not for sale", case(harvests=[COUNTED]), case()),
]  # fmt: skip


def messages(plan):
    return list(plan["seed_findings"]["message"])


@pytest.mark.parametrize(
    ("words", "odd", "fine"), [c[1:] for c in CHECKS], ids=[c[0] for c in CHECKS]
)
def test_check_speaks_when_it_should_and_only_then(seed_plan, words, odd, fine):
    told = messages(seed_plan(**odd))
    assert any(words in message for message in told)
    for message in told:
        assert not {"nan", "none", "nat"} & set(re.findall(r"\w+", message.casefold()))
    if fine is not None:
        assert not any(words in message for message in messages(seed_plan(**fine)))


def test_findings_of_an_area_lie_on_it(seed_plan):
    plan = seed_plan(**case(areas=[area(sod_factor=0.5)]))
    row = plan["seed_findings"].query("subject == 'North'").iloc[0]
    assert row.geometry.within(plan["seed_areas"].geometry.iloc[0])


def test_every_weight_column_says_bulk_or_pls():
    # S01 and S14: a bare "lb" could be either.
    for layer in (v for v in vars(order_layers).values() if isinstance(v, Layer)):
        for column in layer.columns:
            if (
                column.kind == "number"
                and "_lb" in column.name
                and "seeds_per_lb" not in column.name
            ):
                told = ("pls", "bulk", "pack", "companion", "setting", "fill")
                assert any(word in column.name for word in told), f"{layer.name}.{column.name}"
