"""Costs of the season: every sum against the layer it comes from, and by hand on made tables.

There is no outside source for a price: the figures are what multiplying gives. That work and money
are counted once is held against the layers of mowing, lines and the seed order.
"""

import pandas as pd
import pytest
import shapely

from pipeline.work.layers import TASK_KINDS
from pipeline.work.settings import CostSettings
from tests.literal_layers import literal_layer
from tests.made_season import square_units
from tests.made_seed import area, line, lot
from tests.made_work import MADE, planned, row_of, season_work

PRICES = {name: float(number) for number, name in enumerate(CostSettings.model_fields, 1)}
FIGURES = ["work_hours", "work_ac", "length_ft", "seed_lb", "cost_usd"]


@pytest.fixture(scope="module")
def priced_sample(sample_run):
    """The sample's season with every price told."""
    made = set(MADE) - {"planned_work"}
    layers = {name: frame for name, frame in sample_run.frames.items() if name not in made}
    return season_work(layers, costs=PRICES)


@pytest.mark.parametrize("figure", FIGURES)
def test_sum_by_task_is_sum_by_place_is_total(figure, priced_sample):
    costs, tasks = priced_sample["season_costs"], priced_sample["tasks"]
    total = tasks[figure].sum()
    assert total > 0
    assert costs.groupby("kind")[figure].sum().sum() == pytest.approx(total, rel=1e-12)
    assert costs.groupby("place")[figure].sum().sum() == pytest.approx(total, rel=1e-12)
    by_kind = tasks.groupby("kind")[figure].sum()
    again = costs.groupby("kind")[figure].sum()
    assert (again - by_kind.loc[again.index]).abs().max() < 1e-9 * total


def test_hours_feet_and_seed_are_those_of_their_layers(priced_sample):
    costs = priced_sample["season_costs"].groupby("kind")[FIGURES].sum()
    strips, lines = priced_sample["mow_strips"], priced_sample["made_lines"]
    work, order = priced_sample["line_work"], priced_sample["seed_order"]
    assert costs.at["mow_breaks", "work_hours"] == pytest.approx(strips["hours"].sum(), rel=1e-12)
    assert costs.at["prepare_line", "work_hours"] == pytest.approx(lines["hours"].sum(), rel=1e-12)
    mown = work.loc[work["way"] == "mown", "length_ft"].sum()
    assert costs.at["mow_breaks", "length_ft"] == pytest.approx(mown, rel=1e-12)
    assert costs.at["order_seed", "cost_usd"] == pytest.approx(order["cost_usd"].sum(), rel=1e-12)
    bulk = order["bulk_to_order_lb"].sum()
    assert costs.at["order_seed", "seed_lb"] == pytest.approx(bulk, rel=1e-12)


def test_every_price_that_a_task_names_is_a_setting(priced_sample):
    left = set(priced_sample["tasks"]["without_price"].dropna())
    assert left == {"price_usd_per_pls_lb"}, "a lot of the sample has no price"


def test_rows_stand_by_task_and_place_and_each_once(priced_sample):
    costs = priced_sample["season_costs"]
    assert not costs.duplicated(["kind", "place"]).any()
    kinds = list(costs["kind"].map(TASK_KINDS.index))
    assert kinds == sorted(kinds)


def test_what_has_no_price_is_told_by_the_name_of_its_setting(sample_run):
    costs, tasks = sample_run.frames["season_costs"], sample_run.frames["tasks"]
    # The sample names three prices: of the mower's hour, the drilled acre and the crew's day.
    priced_kinds = {"order_seed", "mow_breaks", "window_opens"}
    drilled = (costs["kind"] == "sow") & (costs["place"] == "Windmill")
    unpriced = costs[~costs["kind"].isin(priced_kinds) & ~drilled]
    assert unpriced["cost_usd"].isna().all(), "a zero would be a price"
    assert not unpriced["priced"].any()
    assert set(unpriced["without_price"]) <= set(CostSettings.model_fields)
    assert set(unpriced["without_price"]) >= {"bare_line_usd_mi", "broadcast_usd_ac"}
    mowing = tasks[tasks["kind"] == "mow_breaks"]
    assert mowing["cost_usd"].sum() == pytest.approx(90 * mowing["work_hours"].sum())
    # A lot of the sample has no price: what is known is summed, and the gap is told.
    order = sample_run.frames["seed_order"]
    assert order["cost_usd"].isna().any()
    bought = costs[costs["kind"] == "order_seed"]
    assert bought["without_price"].eq("price_usd_per_pls_lb").any()


def test_price_of_nothing_is_a_price():
    units = square_units(A=40)
    hay = {
        "work_id": "hay:A:2027-07-20",
        "unit_id": "A",
        "kind": "hay",
        "first_day": "2027-07-20",
        "last_day": "2027-07-20",
    }
    layers = season_work(
        {"units": units, "planned_work": planned(units, hay)}, costs={"hay_usd_ac": 0.0}
    )
    (row,) = layers["season_costs"].to_dict("records")
    assert (row["cost_usd"], row["priced"], row["place"]) == (0.0, True, "A")


def seeded(seed_plan, **costs):
    """Two areas that share a line of the order, ten acres and thirty."""
    frames = seed_plan(
        units={"A": 10.0, "B": 30.0},
        mixes=[line("Big bluestem", pls_lb_ac=4.0)],
        seedings=[
            area("Small", "A", planting="2027-05-20"),
            area("Large", "B", planting="2027-05-10"),
        ],
        seed_lots=[
            lot(
                "0012",
                "Big bluestem",
                80.0,
                price_usd_per_pls_lb=10.0,
                pack_lb=50.0,
                offered_bulk_lb=500.0,
            )
        ],
    )
    units = frames["units"]
    work = planned(
        units,
        *(
            {
                "work_id": f"seed:{name}",
                "unit_id": unit,
                "kind": "seed",
                "area": name,
                "first_day": day,
                "last_day": day,
                "method": "drill",
            }
            for name, unit, day in (
                ("Small", "A", "2027-05-20"),
                ("Large", "B", "2027-05-10"),
            )
        ),
    )
    del frames["property"]
    return season_work(frames | {"planned_work": work}, costs=costs)


def test_line_of_the_order_is_parted_by_what_each_area_takes(seed_plan):
    layers = seeded(seed_plan, drill_usd_ac=20.0)
    costs = layers["season_costs"].set_index(["kind", "place"])
    # 160 lb PLS at 80 % are 200 lb, four packs; at $10 a PLS pound $1,600, a quarter of it on
    # ten of forty acres.
    assert costs.at[("order_seed", "Small"), "cost_usd"] == pytest.approx(400.0)
    assert costs.at[("order_seed", "Large"), "cost_usd"] == pytest.approx(1200.0)
    assert costs.at[("order_seed", "Large"), "seed_lb"] == pytest.approx(150.0)
    assert costs.at[("sow", "Small"), "cost_usd"] == pytest.approx(200.0)
    assert costs.at[("sow", "Small"), "priced"]


def test_order_is_due_before_its_first_planting(seed_plan):
    tasks = seeded(seed_plan)["tasks"]
    (order,) = tasks[tasks["kind"] == "order_seed"].to_dict("records")
    # Planting on 10 May less 60 days here, less 30 on the way.
    assert order["due"] == pd.Timestamp("2027-05-10") - pd.Timedelta(days=90)
    assert pd.isna(order["area"])
    assert order["amount"] == pytest.approx(200.0)
    for name in ("sow:seed:small", "sow:seed:large"):
        assert order["task_id"] in row_of(tasks, name)["waits_for"].split(", ")


def test_lot_whose_test_is_out_is_tested_before_its_order(seed_plan):
    frames = seed_plan(
        units={"A": 10.0},
        mixes=[line("Big bluestem", pls_lb_ac=4.0)],
        seedings=[area("Small", "A", planting="2027-05-20")],
        seed_lots=[
            lot("old", "Big bluestem", on_hand_bulk_lb=30.0, tested="2026-02-10"),
            lot("young", "Big bluestem", on_hand_bulk_lb=3.0, tested="2026-11-10"),
        ],
        settings={"test_months": 9},
    )
    work = planned(
        frames["units"],
        {
            "work_id": "seed:Small",
            "unit_id": "A",
            "kind": "seed",
            "area": "Small",
            "first_day": "2027-05-20",
            "last_day": "2027-05-20",
        },
    )
    del frames["property"]
    tasks = season_work(frames | {"planned_work": work}, costs={"seed_test_usd_lot": 90.0})["tasks"]
    (test,) = tasks[tasks["kind"] == "test_lot"].to_dict("records")
    (order,) = tasks[tasks["kind"] == "order_seed"].to_dict("records")
    # Iowa Code 199.8: nine months after the month of the test; February and nine is November.
    assert "test good through 2026-11-30" in test["source"]
    assert test["names"].startswith("old, ")
    assert (test["amount"], test["area"], test["cost_usd"]) == (1.0, "Small", 90.0)
    assert test["due"] == order["due"] - pd.Timedelta(days=45)
    assert order["waits_for"] == test["task_id"]


def test_sowing_of_part_of_a_unit_counts_the_part():
    units = square_units(A=40)
    west, south, _, north = units.total_bounds
    part = shapely.MultiPolygon([shapely.box(west, south, west + 100, north)])
    seed_areas = literal_layer(
        "seed_areas",
        [
            {
                "area": "Draw",
                "unit_ids": "A",
                "mix": "wet",
                "method": "broadcast",
                "planting": "2027-02-01",
                "gross_ac": 40.0,
                "net_ac": 12.5,
            }
        ],
        shapes=[part],
        crs=units.crs,
    )
    work = planned(
        units,
        {
            "work_id": "seed:Draw",
            "unit_id": "A",
            "kind": "seed",
            "area": "Draw",
            "mix": "wet",
            "method": "broadcast",
            "first_day": "2027-02-01",
            "last_day": "2027-02-01",
        },
    )
    told = {"units": units, "planned_work": work, "seed_areas": seed_areas}
    layers = season_work(told, costs={"broadcast_usd_ac": 30.0, "drill_usd_ac": 1.0})
    sowing = row_of(layers["tasks"], "sow:seed:draw")
    assert (sowing["amount"], sowing["cost_usd"]) == (12.5, pytest.approx(375.0))
    assert sowing["geometry"].equals(part)
    (row,) = layers["season_costs"].to_dict("records")
    assert (row["work_ac"], row["place"]) == (12.5, "Draw")


def test_area_that_is_sown_already_asks_for_no_order_and_costs_no_seed(priced_sample, sample_run):
    work = sample_run.frames["planned_work"]
    made = set(MADE) - {"planned_work"}
    layers = {name: frame for name, frame in sample_run.frames.items() if name not in made}
    layers["conflicts"] = layers["conflicts"].iloc[:0]
    left = work[work["area"] != "Lantern and Lark"].reset_index(drop=True)
    now = season_work(layers | {"planned_work": left}, costs=PRICES)
    assert "Lantern and Lark" not in set(now["season_costs"]["place"])
    assert now["season_costs"]["cost_usd"].sum() == pytest.approx(now["tasks"]["cost_usd"].sum())
    assert now["tasks"]["seed_lb"].sum() < priced_sample["tasks"]["seed_lb"].sum()
    unsown = work[work["kind"] != "seed"].reset_index(drop=True)
    none = season_work(layers | {"planned_work": unsown}, costs=PRICES)
    assert not none["tasks"]["kind"].eq("order_seed").any()
    assert none["season_costs"]["seed_lb"].isna().all()
