"""Each finding of the seed steps, by its code: when it is told, and when it is not.

S numbers follow the list of errors seen in orders. S02, S13 and S16 (contradictory tags) stand in
test_lot_quality.py, S01, S08, S09 and S19 (mixes that cannot be sown) in test_mixes.py: they are
refused rather than told. S15 is rounding on the way, which stands in test_quantities.py.
"""

import re

import pytest

from pipeline.core.layer import Layer
from pipeline.seed import field_layers, order_layers
from tests.made_seed import BIG, area, factor, full_rate, line

DALEA, DESMANTHUS = "Dalea purpurea", "Desmanthus illinoensis"
MONARDA, ARTEMISIA = "Monarda fistulosa", "Artemisia ludoviciana"


def seed_of(species, seeds_per_lb, low, high, **told):
    """A row of the species table."""
    row = {"species": species, "seeds_per_lb": seeds_per_lb, "seed_unit": "seed"}
    return row | {"low_seeds_per_lb": low, "high_seeds_per_lb": high} | told


GRASS = {"seed_group": "warm-season grass", "box": "chaffy", "dormancy_tested": True}
SPECIES = [
    seed_of(BIG, 144240.0, 144240.0, 195514.0, common_name="big bluestem", **GRASS),
    seed_of(DALEA, 317000.0, 141748.0, 317000.0, seed_group="legume", box="small"),
    seed_of(DESMANTHUS, 85000.0, 75599.0, 85000.0, seed_group="legume", box="large"),
    seed_of(MONARDA, 1272500.0, 907185.0, 1272500.0, seed_group="forb", box="small"),
    seed_of(ARTEMISIA, 4048000.0, 3693130.0, 4123567.0, seed_group="forb", box="small"),
]
NO_SEED_UNIT = [SPECIES[0] | {"seed_unit": None}]
TWO_OF_A_NAME = [*SPECIES, seed_of("Andropogon hallii", 96640.0, 96640.0, 113500.0, **GRASS)]
TWO_OF_A_NAME[-1]["common_name"] = "big bluestem"


def sown(**told):
    """A seeding with a date."""
    return area(planting="2027-05-20") | told


def dalea(species=DALEA, **told):
    """A line of 5 lb PLS an acre, else as told."""
    return line(species, **({"pls_lb_ac": 5.0} | told))


def tagged(name="L1", **told):
    """A lot of big bluestem with a full tag, and enough of it."""
    row = {"lot": name, "species": BIG, "purity_pct": 90.0, "germination_pct": 80.0}
    rest = {"dormant_pct": 5.0, "tested": "2026-11-10", "on_hand_bulk_lb": 5000.0}
    return row | rest | told


def case(*mixes, lots=(), areas=None, settings=None, **tables):
    """Tables of one area of 10 acres in Iowa, where a test is good for 9 months."""
    return {
        "units": {"U1": 10.0},
        "species": SPECIES,
        "mixes": list(mixes) or [dalea()],
        "seed_lots": list(lots),
        "seedings": areas or [sown()],
        "settings": {"test_months": 9} | (settings or {}),
        "place": {"state": "Iowa"},
    } | tables


SOUND = case(dalea(BIG), lots=[tagged()])
NO_AREA = {"units": {"U1": 1.0}}
OFFERED = tagged(on_hand_bulk_lb=None, price_usd_per_pls_lb=9.0)
SHIPPED = {"settings": {"order_lead_days": 10}}
SHIPPED["test_rules"] = [{"state": "interstate", "months": 5, "sealed_months": 24}]
UNTESTED = tagged(germination_pct=None, dormant_pct=None)
FULL = {"full_rate_pct": 100.0, "full_rate": "F", "pls_lb_ac": None}
HULLS = line("rice hulls", role="carrier", bulk_lb_ac=10.0)
OATS = line("oats", role="nurse", box="large", bulk_lb_ac=10.0)
BAG = {"bag": "B", "species": DALEA, "purity_pct": 50.0, "total_viable_pct": 80.0}
FROM_BAG = [sown(bag="B")]
BROADCAST = [sown(method="broadcast")]
TWO_LOTS = [tagged(on_hand_bulk_lb=10.0), tagged("L2", purity_pct=60.0)]
PALMER = tagged(noxious="Palmer amaranth 2/lb")
NO_MONTHS = {"test_months": None}
COLORADO = [factor("Colorado", "method", "broadcast", 2.0)]
IOWA = [factor("Iowa", "season", "July-August", 1.25)]
RULES = [{"state": "Iowa", "months": 9}]
HARVEST = {"harvest": "H", "species": BIG, "bulk_lb": 50.0, "sample_g": 1.0, "filled_seeds": 20}
HARVEST |= {"cut_seeds": 20, "good_seeds": 16}

# code of the finding, words of its message, a case that has it, a case that has it not
CHECKS = [
    # S01: bulk without a tag; a PLS alone cannot be checked
    ("pls_unknown", "pure live seed is unknown", case(lots=[UNTESTED]), SOUND),
    ("pls_unknown", "stated 70 % PLS", case(lots=[UNTESTED | {"pls_pct": 70.0}]), SOUND),
    (
        "no_live_seed",
        "nothing is taken",
        case(dalea(BIG), lots=[tagged(germination_pct=0.0, dormant_pct=0.0)]),
        case(dalea(BIG), lots=[tagged(germination_pct=0.0)]),
    ),
    # S03. Oklahoma State: switchgrass under a year old may be more than 60 % dormant; 7 CFR 201.57a
    (
        "dormant_untold",
        "40 % germination",
        case(lots=[tagged(germination_pct=40.0, dormant_pct=None)]),
        case(lots=[tagged(germination_pct=40.0)]),
    ),
    ("dormant_untold", "", case(lots=[tagged(germination_pct=50.0, dormant_pct=None)]), SOUND),
    # S04
    ("factor_used", "sod factor 0.50", case(areas=[sown(sod_factor=0.5)]), SOUND),
    (
        "rate_method_unknown",
        "sown by broadcast",
        case(areas=BROADCAST),
        case(dalea(rate_method="broadcast"), areas=BROADCAST),
    ),
    (
        "no_method_factor",
        "at factor 1",
        case(areas=BROADCAST),
        case(areas=[sown(method="broadcast", method_factor=2.0)]),
    ),
    (
        "raised_again",
        "is written for broadcast",
        case(dalea(rate_method="broadcast"), areas=[sown(method="broadcast", method_factor=2.0)]),
        case(dalea(rate_method="broadcast"), areas=BROADCAST),
    ),
    # S05
    ("gross_is_net", "10.0 gross acres", case(), NO_AREA),
    ("sown_twice", "also sown as Again", case(areas=[sown(), sown(area="Again")]), SOUND),
    # S06: 0.06 lb/ac × 40 ac = 2.4 lb; rounded to 0.1 first it is 4.0. 0.06 lb are 0.96 oz.
    ("small_rates", f"{DALEA} 0.96", case(dalea(pls_lb_ac=0.06)), case(dalea(pls_lb_ac=0.1))),
    # S07. Colorado table 2.05-7: prairie sage at 33,600 seeds/lb, about 120 times too few
    (
        "seeds_per_lb_apart",
        "33,600 seeds per pound",
        case(dalea(ARTEMISIA, seeds_per_lb=33600.0)),
        case(dalea(ARTEMISIA)),
    ),
    ("zero_rate", "nothing of it is ordered", case(dalea(), dalea(BIG, pls_lb_ac=0.0)), case()),
    ("seed_unit_untold", "spikelet", case(dalea(BIG), species=NO_SEED_UNIT), SOUND),
    ("rate_unknown", "needs seeds per pound", case(line("Nobody", seeds_sqft=1.0)), SOUND),
    (
        "rate_unknown",
        "in the full rates of F",
        case(dalea(BIG, **FULL), full_rates=[full_rate(DALEA, 5.0)]),
        case(dalea(**FULL), full_rates=[full_rate(DALEA, 5.0)]),
    ),
    # S08. BWSR pilot mix: oats 25 % by seed and 90 % by weight
    (
        "shares_apart",
        "79 % of the seeds but 50 % of the weight",
        case(dalea(), dalea(DESMANTHUS)),
        case(dalea(), dalea("Lespedeza", seeds_per_lb=300000.0)),
    ),
    # S09
    (
        "percents_meant",
        "add to 120.0",
        case(
            dalea(**FULL | {"full_rate_pct": 120.0}, not_100=True),
            full_rates=[full_rate(DALEA, 5.0)],
        ),
        case(dalea(**FULL), full_rates=[full_rate(DALEA, 5.0)]),
    ),
    # S10
    ("several_lots", "L1, L2", case(dalea(BIG), lots=TWO_LOTS), SOUND),
    # S11
    ("no_lot", "49.24 lb PLS", case(dalea(BIG), lots=[tagged(on_hand_bulk_lb=1.0)]), SOUND),
    # S12. Iowa Code 199.8: 9 months after the month of the test
    (
        "test_too_old",
        "good through 2026-12-31 (9 months)",
        case(dalea(BIG), lots=[tagged(tested="2026-03-05")]),
        SOUND,
    ),
    (
        "test_too_old",
        "good through 2027-04-30",
        case(dalea(BIG), lots=[tagged(tested="2026-07-05")]),
        case(dalea(BIG), lots=[tagged(tested="2026-08-01")]),
    ),
    ("untested", "no test date", case(dalea(BIG), lots=[tagged(tested=None)]), SOUND),
    (
        "test_age_unknown",
        "needs [seed] test_months",
        case(dalea(BIG), lots=[tagged()], settings=NO_MONTHS),
        case(dalea(BIG), lots=[tagged()], settings=NO_MONTHS, test_rules=RULES),
    ),
    (
        "test_age_unknown",
        "needs a planting date",
        case(dalea(BIG), lots=[tagged()], areas=[sown(planting=None)]),
        SOUND,
    ),
    (
        "test_too_old",
        "as accept_expired says",
        case(dalea(BIG), lots=[tagged(tested="2026-03-05")], settings={"accept_expired": True}),
        SOUND,
    ),
    (
        "tested_after_planting",
        "look for a slip",
        case(dalea(BIG), lots=[tagged(tested="2027-06-01")]),
        case(dalea(BIG), lots=[tagged(tested="2027-05-28")]),  # the month counts
    ),
    (
        "not_bought",
        "farther than most_origin_mi",
        case(dalea(BIG), lots=[OFFERED | {"origin_mi": 300.0}], settings={"most_origin_mi": 200}),
        case(dalea(BIG), lots=[OFFERED | {"origin_mi": 90.0}], settings={"most_origin_mi": 200}),
    ),
    (
        "not_bought",
        "under lowest_pls_pct",
        case(dalea(BIG), lots=[OFFERED], settings={"lowest_pls_pct": 90.0}),
        case(dalea(BIG), lots=[OFFERED], settings={"lowest_pls_pct": 70.0}),
    ),
    (
        "variety_differs",
        "Kaw is wanted",
        case(dalea(BIG, variety="Kaw"), lots=[tagged(variety="VNS")]),
        case(dalea(BIG, variety="Kaw"), lots=[tagged(variety="kaw")]),
    ),
    # S14
    ("seeds_per_ounce", "multiply by 16", case(dalea(seeds_per_lb=317000 / 16)), case()),
    # S17
    ("set_to_bulk", "not to the PLS rate", case(dalea(), HULLS), SOUND),
    # S18
    ("thin", "1.5 live seeds", case(dalea(pls_lb_ac=0.2)), case()),
    ("thick", "363.9 live seeds", case(dalea(pls_lb_ac=50.0)), case()),
    ("one_grass", "100 % of the mix's seeds", case(dalea(BIG)), case()),
    # S19
    (
        "companion_as_seed",
        "oats: counted as seed",
        case(dalea(), dalea("oats")),
        case(dalea(), OATS),
    ),
    # S20
    ("limiting_species", "(12.5 lb per acre)", case(areas=FROM_BAG, seed_bags=[BAG]), SOUND),
    (
        "not_in_bag",
        "cannot give it",
        case(dalea(), dalea(BIG), areas=FROM_BAG, seed_bags=[BAG]),
        case(areas=FROM_BAG, seed_bags=[BAG]),
    ),
    # S21
    ("no_box", "Unknown one", case(dalea("Unknown one")), case()),
    ("box_assumed", "in the chaffy box", case(dalea(), HULLS), case(dalea(), OATS)),
    ("two_depths", "the finest decides", case(dalea(DESMANTHUS), dalea(MONARDA)), case()),
    ("unknown_species", "not in the species table", case(dalea("Nobody")), case()),
    (
        "unclear_species",
        f"{BIG} or Andropogon hallii",
        case(dalea("big bluestem"), species=TWO_OF_A_NAME),
        case(dalea("big bluestem")),
    ),
    (
        "unknown_species",
        f"Did you mean {BIG}",
        case(dalea("bluestem")),
        case(dalea("big bluestem")),
    ),
    (
        "name_corrected",
        f"taken for {BIG}",
        case(dalea("Andropogon gerardi")),
        case(dalea("Andropogon gerardii Vitman")),
    ),
    (
        "seed_was_worked",
        "Grain",  # NRCS Texas TX-PM-12-02: grain and combine-run seed differ in seeds per pound
        case(dalea("Bluestem, Big (Grain)")),
        case(dalea("Bluestem, Big")),
    ),
    ("noxious_weed", "list of Iowa", case(lots=[PALMER]), case(lots=[tagged(noxious="none")])),
    # 7 CFR 201.36: free, too, means that none was found
    ("noxious_weed", "", case(lots=[PALMER]), case(lots=[tagged(noxious="Free")])),
    *(
        ("noxious_weed", "", case(lots=[PALMER]), case(lots=[tagged(noxious=words)]))
        for words in ("None noted", "NIL", "none found", "N/F", "0 per lb", "No noxious weed seed")
    ),
    (
        "noxious_weed",
        "Nodding thistle",
        case(lots=[tagged(noxious="Nodding thistle 4/lb")]),
        case(),
    ),
    # 7 CFR 201.36: "none" is the word for a test that found none; an empty cell is no word
    (
        "noxious_blank",
        "empty for L1",
        case(dalea(BIG), lots=[tagged()]),
        case(dalea(BIG), lots=[tagged(noxious="none")]),
    ),
    # 7 CFR 201.22, 201.30a: 5 calendar months from the end of November 2026 are out on 30 April
    # 2027; the seed must be here 10 days before 20 May
    (
        "ship_by",
        "grown in Nebraska, sown in Iowa: between states it may be shipped on this test through "
        "2027-04-30 only",
        case(dalea(BIG), lots=[OFFERED | {"origin": "Gage County, NE"}], **SHIPPED),
        case(dalea(BIG), lots=[OFFERED | {"origin": "Adair County, IA"}], **SHIPPED),
    ),
    (
        "ship_by",
        "if it comes from another state, it may",
        case(dalea(BIG), lots=[OFFERED], **SHIPPED),
        case(dalea(BIG), lots=[OFFERED | {"sealed": True}], **SHIPPED),  # 24 months
    ),
    (
        "ship_by",
        "",
        case(dalea(BIG), lots=[OFFERED], **SHIPPED),
        case(dalea(BIG), lots=[OFFERED | {"tested": "2026-12-01"}], **SHIPPED),  # through 31 May
    ),
    ("noxious_untold", "unknown", case(lots=[tagged(noxious="see attached")]), case(lots=[PALMER])),
    (
        "seeds_per_lb_unsure",
        "from memory; published are 144,240 to 195,514",
        case(dalea(BIG), species=[SPECIES[0] | {"confidence": "from memory"}]),
        case(dalea(BIG), species=[SPECIES[0] | {"confidence": "published"}]),
    ),
    ("noxious_weed", "not told: [property] state", case(lots=[PALMER], place={}), case()),
    # Iowa Code 199.8
    ("weed_seed", "1.60 %", case(lots=[tagged(weed_pct=1.6)]), case(lots=[tagged(weed_pct=1.5)])),
    ("state_law", "State of use Iowa", case(), NO_AREA),
    ("state_law", "needs [property] state", case(place={}), NO_AREA),
    ("contract", "easement", case(), NO_AREA),
    ("no_factor_region", "no rows for Iowa", case(seed_factors=COLORADO), case(seed_factors=IOWA)),
    ("no_factor_region", "no region or state", case(seed_factors=IOWA, place={}), case()),
    (
        "factors_of_state",
        "those of Iowa are used",
        case(seed_factors=IOWA, place={"state": "Iowa", "region": "central plains"}),
        case(seed_factors=IOWA, place={"region": "Iowa"}),
    ),
    (
        "no_test_rule",
        "no rule for Texas",
        case(test_rules=RULES, settings=NO_MONTHS, place={"state": "Texas"}),
        case(test_rules=RULES, settings=NO_MONTHS),
    ),
    (
        "no_test_rule",
        "no state is told",
        case(test_rules=RULES, settings=NO_MONTHS, place={}),
        case(test_rules=RULES, place={}),
    ),
    ("untested_harvest", "not for sale", case(harvests=[HARVEST]), case()),
]


@pytest.mark.parametrize(
    ("code", "words", "odd", "fine"), CHECKS, ids=[f"{c[0]}: {c[1][:24]}" for c in CHECKS]
)
def test_finding_is_told_when_it_should_be_and_only_then(seed_plan, code, words, odd, fine):
    told = seed_plan(**odd)["seed_findings"]
    assert set(told["code"]) <= {check[0] for check in CHECKS}, "every code has a check"
    assert any(words in message for message in told.loc[told["code"].eq(code), "message"])
    for message in told["message"]:
        assert not {"nan", "none", "nat"} & set(re.findall(r"\w+", message.casefold()))
    assert code not in set(seed_plan(**fine)["seed_findings"]["code"])


def test_findings_of_an_area_lie_on_it(seed_plan):
    plan = seed_plan(**case(areas=[sown(sod_factor=0.5)]))
    row = plan["seed_findings"].query("subject == 'North'").iloc[0]
    assert row.geometry.within(plan["seed_areas"].geometry.iloc[0])


def test_blend_of_two_lots_is_by_weight(seed_plan):
    # 10 lb of 76.5 % and the other 42.35 lb PLS from the 51 % lot, 83.04 lb of it: 53.7 %.
    told = seed_plan(**case(dalea(BIG), lots=TWO_LOTS))["seed_findings"]
    (message,) = told.loc[told["code"].eq("several_lots"), "message"]
    assert "is 53.7 % (by weight)" in message


def test_every_weight_column_says_bulk_or_pls():
    # S01 and S14: a bare "lb" could be either.
    said = ("pls", "bulk", "pack", "companion", "setting", "fill", "seeds_per_lb")
    declared = (vars(order_layers) | vars(field_layers)).values()
    for layer in (value for value in declared if isinstance(value, Layer)):
        for column in layer.columns:
            if column.kind == "number" and "_lb" in column.name:
                assert any(word in column.name for word in said), f"{layer.name}.{column.name}"
