"""What goes into which box of the drill or the spreader, and what it should drop."""

import pandas as pd
import pytest

from pipeline.seed.sheets import BOXES_TABLE, DRILL_CATCH_TABLE
from tests.made_seed import LITTLE, SPECIES, area, line, lot

SEED = line(pls_lb_ac=4.0)
OATS = line("oats", role="nurse", bulk_lb_ac=20.0)
HULLS = line("rice hulls", role="carrier", bulk_lb_ac=10.0)
CASE = {
    "units": {"U1": 20.0},
    "species": SPECIES,
    "seed_lots": [lot("A", pls=50.0, on_hand_bulk_lb=500.0)],
}


def test_a_box_is_set_to_bulk_and_carrier(seed_plan):
    plan = seed_plan(seedings=[area()], mixes=[SEED, OATS, HULLS], **CASE)
    boxes = plan["seed_boxes"].set_index("box")
    # 4 lb PLS at 50 % is 8 lb bulk; with 10 lb of hulls the chaffy box is set to 18 lb, and 20
    # acres take 360 lb.
    assert boxes.loc["chaffy", "seed_bulk_lb_ac"] == 8
    assert boxes.loc["chaffy", "companion_lb_ac"] == 10
    assert boxes.loc["chaffy", "setting_lb_ac"] == 18
    assert boxes.loc["chaffy", "fill_lb"] == 360
    assert boxes.loc["chaffy", "contents"] == "Andropogon gerardii, rice hulls"
    assert boxes.loc["large", "setting_lb_ac"] == 20


def test_catch_as_in_the_printed_factors(seed_plan):
    # University of Kentucky factors in No-Till Farmer: 7.5 in rows, 150 ft: 0.98 g per lb/ac.
    told = {"seedings": [area()], "mixes": [SEED, HULLS]} | CASE
    caught = [
        seed_plan(settings={"catch_rows": rows}, **told)["seed_boxes"].set_index("box")
        for rows in (1, 3)
    ]
    assert caught[0].loc["chaffy", "catch_g"] == pytest.approx(18 * 0.976223, abs=1e-4)
    assert caught[1].loc["chaffy", "catch_g"] == pytest.approx(3 * 18 * 0.976223, abs=3e-4)
    assert [boxes.loc["chaffy", "catch_rows"] for boxes in caught] == [1, 3]
    assert "catch_rows" in DRILL_CATCH_TABLE.columns
    assert "catch_rows" in BOXES_TABLE.columns


def test_row_of_a_square_foot_and_seeds_in_it(seed_plan):
    # A row of 7.5 in holds a square foot in 12 / 7.5 = 1.6 ft: 16 seeds per square foot are 10 in
    # a foot of row.
    mixes = [line(seeds_sqft=16.0)]
    row = seed_plan(seedings=[area()], mixes=mixes, **CASE)["seed_boxes"].iloc[0]
    assert row["row_ft_sqft"] == pytest.approx(1.6)
    assert row["seeds_row_ft"] == pytest.approx(10)


def test_fills_by_what_a_box_holds(seed_plan):
    # The chaffy box runs 18 lb/ac, 360 lb over 20 ac: of 100 lb usable that is 5.56 ac a fill and
    # four fills. Of the large box nothing is told.
    told = {"seedings": [area()], "mixes": [SEED, OATS, HULLS]} | CASE
    boxes = seed_plan(settings={"chaffy_box_lb": 100.0}, **told)["seed_boxes"].set_index("box")
    assert boxes.loc["chaffy", "fill_ac"] == pytest.approx(100 / 18)
    assert boxes.loc["chaffy", "fills"] == 4
    assert pd.isna(boxes.loc["large", "fill_ac"])
    assert pd.isna(boxes.loc["large", "fills"])


def test_lots_of_an_area_are_sown_one_after_the_other(seed_plan):
    # 4 lb PLS on 20 ac: lot A's 20 lb PLS sow 5 ac at 8 lb bulk an acre, B's the other 15 at 16.
    lots = [
        lot("B", pls=50.0, on_hand_bulk_lb=40.0, tested="2026-01-01"),
        lot("A", pls=25.0, on_hand_bulk_lb=500.0, tested="2026-09-01"),
    ]
    plan = seed_plan(seedings=[area()], mixes=[SEED], **CASE | {"seed_lots": lots})
    use = plan["seed_use"].set_index("lot")
    assert use["sequence"].to_dict() == {"B": 1, "A": 2}
    assert use["sown_ac"].to_dict() == pytest.approx({"B": 5, "A": 15})
    assert use["bulk_lb_ac"].to_dict() == pytest.approx({"B": 8, "A": 16})


def test_a_spreader_has_one_box_and_no_rows(seed_plan):
    mixes = [SEED | {"rate_method": "any"}, line(LITTLE, pls_lb_ac=1.0), OATS, HULLS]
    (row,) = seed_plan(seedings=[area(method="overseed")], mixes=mixes, **CASE)[
        "seed_boxes"
    ].itertuples()
    assert row.box == "spreader"
    assert pd.isna(row.catch_g)
    assert pd.isna(row.row_spacing_in)


def test_a_bag_runs_from_a_box_that_is_not_known(seed_plan):
    bag = {"bag": "B", "species": "ANGE", "purity_pct": 50.0, "total_viable_pct": 80.0}
    (row,) = seed_plan(seedings=[area(bag="B")], mixes=[SEED], seed_bags=[bag], **CASE)[
        "seed_boxes"
    ].itertuples()
    # 4 lb PLS of a bag of 40 % PLS: 10 lb of the bag an acre.
    assert (row.box, row.contents) == ("unknown", "B")
    assert row.setting_lb_ac == pytest.approx(10)
