"""Situations of seed: sowings that must raise a clash, and near ones that must not.

One species at 6 lb PLS an acre takes 240 lb on a square of 40 acres, 300 lb of a lot of 80 % PLS.
Iowa lets a test count for 9 months after its own (Iowa Code 199.8), Minnesota one of native seed
for 15 (Minnesota Statutes 21.86). Green-up of the northern plains is taken to begin on April 25.
"""

from typing import Any

import shapely

from tests.made_properties import QUARTER_M
from tests.made_seed import BIG
from tests.work.made_plan import logged
from tests.work.made_stock import burn, square
from tests.work.stock_situations import Situation

ON_A = ("seed:a", "A")
OF_A = ("seed:a", None)
SPRAYED = logged("A", "spray", "2026-10-01")
MOWN = logged("A", "mow", "2026-10-01")
LOT = {"lot": "L1", "species": BIG, "purity_pct": 80.0, "total_viable_pct": 100.0}
LOT |= {"on_hand_bulk_lb": 400.0, "tested": "2026-09-10", "noxious": "none"}


def sown(planting="2027-05-20", method="drill", unit="A", area="a"):
    return {"area": area, "unit_id": unit, "mix": "m", "method": method, "planting": planting}


def of(*treatments, plan=None, lots=(), line=None, **more) -> dict[str, Any]:
    """A sowing of A with what was done before it, and its seed."""
    mix = {"mix": "m", "species": BIG, "pls_lb_ac": 6.0, "rate_method": "any"}
    return {
        "treatments": list(treatments),
        "seedings": plan or [sown()],
        "mixes": [line or mix],
        "seed_lots": [LOT | lot for lot in lots or ({},)],
        **more,
    }


def scattered(planting, *treatments, **more):
    return of(*treatments, plan=[sown(planting, "broadcast")], **more)


def slopes(**told):
    zero = {"over_drill_pct": 0.0, "median_pct": 0.0, "known_pct": 100.0}
    return {"unit_slopes": [{"unit_id": "A", **zero, **told}]}


HALF = shapely.box(0, 0, QUARTER_M / 2, QUARTER_M)
BURNED = logged("A", "burn", "2026-10-10")
GRAZED = {"head": 5.0, "animal_unit_equivalent": 1.0}
HARVEST = {"harvest": "Draw", "species": BIG, "bulk_lb": 900.0}
HARVEST |= {"low_pls_pct": 20.0, "likely_pls_pct": 30.0, "high_pls_pct": 40.0}
COUNTED = {"seed": {"own_harvest_counts_as": "likely"}}
TWO = [sown(), sown("2027-06-01", unit="B", area="b")]
BOTH = (SPRAYED, logged("B", "spray", "2026-10-01"))


def drawn(shape, day="2026-10-10"):
    return {"burned_areas": ([{"unit_id": "A", "date": day}], [shape])}


def left_out(purpose):
    row = {"exclusion_id": 1, "kind": "pond", "applies_to": purpose}
    return {"exclusions": ([row], [square(0)])}


SEED = (
    Situation(
        "sown_unprepared",
        ON_A,
        None,
        of(),
        (
            of(SPRAYED),
            of(logged("A", "till", "2027-05-18")),
            of(logged("A", "spray", "2027-04-20")),
            of(logged("A", "graze", "2026-10-01", residual_height_in=2.5, **GRAZED)),
            of(burns=[burn("A", "2027-04-20", "2027-05-10")]),
            of(covers="corn stubble"),
            of(covers=None),
        ),
    ),
    Situation(
        "sown_unprepared",
        ON_A,
        None,
        of(logged("A", "graze", "2026-10-01", residual_height_in=6.0, **GRAZED)),
        (of(logged("A", "graze", "2026-10-01", residual_height_in=3.0, **GRAZED)),),
    ),
    Situation(
        "sown_unprepared",
        ON_A,
        None,
        of(logged("A", "spray", "2026-05-19")),  # a year and a day before
        (of(logged("A", "spray", "2026-05-20")),),
    ),
    Situation(
        "sown_unprepared",
        ON_A,
        None,
        of(logged("A", "mow", "2027-05-21")),  # after the sowing
        (of(logged("A", "mow", "2027-05-20")),),
    ),
    Situation(
        "sown_unprepared",
        ON_A,
        None,
        of(logged("B", "spray", "2026-10-01"), logged("A", "rest", "2026-10-01")),
        (of(SPRAYED, logged("A", "rest", "2026-10-01")),),
    ),
    Situation(
        "sown_part_unprepared",
        ON_A,
        25,
        of(SPRAYED | {"acres_treated_ac": 10.0}),
        (
            of(SPRAYED | {"acres_treated_ac": 37.0}),
            of(SPRAYED | {"acres_treated_ac": 20.0}, MOWN | {"acres_treated_ac": 20.0}),
            of(SPRAYED),
        ),
    ),
    Situation(
        "sown_part_unprepared",
        ON_A,
        50,
        of(BURNED, **drawn(HALF)),
        (
            of(BURNED, **drawn(square(0))),
            of(BURNED, **drawn(HALF, "2024-10-10")),
            of(BURNED, SPRAYED, **drawn(HALF)),
        ),
    ),
    Situation("sown_ground_untold", ON_A, None, of(covers=None), (of(), of(SPRAYED, covers=None))),
    Situation(
        "sown_after_green_up",
        ON_A,
        None,
        scattered("2027-05-20", MOWN),
        (
            scattered("2027-03-01", MOWN),
            scattered("2027-11-10", MOWN),
            scattered("2027-05-20", burns=[burn("A", "2027-04-20", "2027-05-10")]),
            scattered("2027-05-20", logged("A", "till", "2027-05-01")),
            scattered("2027-05-20", covers="fallow"),
            of(MOWN),
        ),
    ),
    Situation(
        "sown_after_green_up",
        ON_A,
        None,
        of(
            plan=[sown("2027-05-20", "overseed")],
            burns=[burn("A", "2027-04-01", "2027-04-19")],  # 31 days before
        ),
        (
            of(
                plan=[sown("2027-05-20", "overseed")],
                burns=[burn("A", "2027-04-01", "2027-04-20")],
            ),
        ),
    ),
    Situation(
        "sown_out_of_window",
        ON_A,
        None,
        of(SPRAYED, plan=[sown("2027-07-20")]),
        (of(SPRAYED), of(SPRAYED, plan=[sown("2027-11-10")]), of(SPRAYED, plan=[sown(None)])),
    ),
    Situation(
        "sown_out_of_window",
        ON_A,
        None,
        of(SPRAYED, plan=[sown("2026-12-10")], place={"state": "Nebraska"}),
        (
            of(SPRAYED, plan=[sown("2027-02-10")], place={"state": "NE"}),
            of(SPRAYED, plan=[sown("2026-12-10")]),
        ),
    ),
    Situation(
        "sown_too_steep",
        ON_A,
        30,
        of(SPRAYED) | slopes(over_drill_pct=30.0),
        (
            of(SPRAYED) | slopes(over_drill_pct=9.0),
            scattered("2027-05-20", SPRAYED) | slopes(over_drill_pct=30.0),
            of(SPRAYED),
        ),
    ),
    Situation(
        "frost_seed_on_slope",
        ON_A,
        14,
        scattered("2027-02-10", SPRAYED) | slopes(median_pct=14.0),
        (
            scattered("2027-02-10", SPRAYED) | slopes(median_pct=9.0),
            scattered("2027-05-20", SPRAYED) | slopes(median_pct=14.0),
            of(SPRAYED, plan=[sown("2027-02-10")]) | slopes(median_pct=14.0),
        ),
    ),
    Situation(
        "sown_no_ground",
        ON_A,
        0,
        of(SPRAYED, **left_out("both")),
        (of(SPRAYED, **left_out("burn")), of(SPRAYED)),
    ),
    Situation(
        "sowing_without_area",
        ("seed:B:2027-05-20", "B"),
        None,
        of(SPRAYED, logged("B", "seed", "2027-05-20")),
        (of(SPRAYED), of(SPRAYED, logged("B", "seed", "2026-05-20"))),
    ),
    Situation(
        "seed_rate_unknown",
        OF_A,
        None,
        of(SPRAYED, line={"mix": "m", "species": "Ambiguus herbus", "seeds_sqft": 10.0}),
        (
            of(
                SPRAYED,
                line={
                    "mix": "m",
                    "species": "Ambiguus herbus",
                    "seeds_sqft": 10.0,
                    "seeds_per_lb": 100_000.0,
                },
            ),
            of(SPRAYED),
        ),
    ),
    Situation(
        "seed_missing",
        OF_A,
        240,
        of(SPRAYED, seed_lots=[]),
        (of(SPRAYED), of(SPRAYED, lots=[{"on_hand_bulk_lb": 100.0}])),
    ),
    Situation(
        "seed_more_than_offered",
        OF_A,
        160,
        of(SPRAYED, lots=[{"on_hand_bulk_lb": 100.0}]),
        (
            of(SPRAYED),
            of(SPRAYED, lots=[{"on_hand_bulk_lb": 100.0, "offered_bulk_lb": 201.0}]),
            of(SPRAYED, seed_lots=[]),
        ),
    ),
    Situation(
        "seed_late",
        OF_A,
        25,  # sixty days before December 20 are October 21
        of(SPRAYED, plan=[sown("2026-12-20")], seed_lots=[]),
        (
            of(SPRAYED, plan=[sown("2026-12-20")]),
            of(SPRAYED, seed_lots=[]),
            of(
                SPRAYED,
                plan=[sown("2026-12-20")],
                seed_lots=[],
                settings={"seed": {"order_lead_days": 35}},
            ),
        ),
    ),
    Situation(
        "seed_test_out",
        OF_A,
        None,
        of(SPRAYED, lots=[{"tested": "2026-07-31"}], settings={"seed": {"accept_expired": True}}),
        (
            of(SPRAYED, lots=[{"tested": "2026-08-01"}]),
            of(SPRAYED, lots=[{"tested": "2026-07-31"}]),
        ),
    ),
    Situation(
        "seed_test_out_left",
        OF_A,
        None,
        of(SPRAYED, lots=[{"tested": "2026-07-31"}]),
        (
            of(SPRAYED, lots=[{"tested": "2026-08-01"}]),
            of(SPRAYED, lots=[{"tested": "2026-07-31"}], place={"state": "Minnesota"}),
            of(SPRAYED, lots=[{"tested": "2026-07-31"}], plan=[sown("2027-04-30")]),
        ),
    ),
    Situation(
        "seed_own_untested",
        OF_A,
        240,
        of(SPRAYED, seed_lots=[], harvests=[HARVEST], settings=COUNTED),
        (of(SPRAYED, seed_lots=[], harvests=[HARVEST]), of(SPRAYED, settings=COUNTED)),
    ),
    Situation(
        "seed_noxious_named",
        OF_A,
        1,
        of(SPRAYED, lots=[{"noxious": "Canada thistle 3 per lb"}]),
        (
            of(SPRAYED),
            of(SPRAYED, lots=[{}, {"lot": "L2", "on_hand_bulk_lb": 0.0, "noxious": "thistle"}]),
        ),
    ),
    Situation(
        "seed_noxious_blank",
        OF_A,
        1,
        of(SPRAYED, lots=[{"noxious": None}]),
        (of(SPRAYED), of(SPRAYED, lots=[{"noxious": "free"}])),
    ),
    Situation(
        "seed_lot_shared",
        ("seed:b", None),
        100 * 20 / 620,
        of(*BOTH, plan=TWO, lots=[{"on_hand_bulk_lb": 620.0}]),
        (
            of(*BOTH, plan=TWO, lots=[{"on_hand_bulk_lb": 700.0}]),
            of(*BOTH, lots=[{"on_hand_bulk_lb": 300.0}]),
        ),
    ),
)
