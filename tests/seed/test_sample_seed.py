"""The sample property's seed order by hand, and the seed tables that ship in config/."""

import csv
import math
import runpy
from decimal import Decimal
from pathlib import Path

import pytest

from pipeline.catalog import LAYERS
from pipeline.core.units import half_up
from pipeline.intake.settings import TableSource
from pipeline.intake.tables import read_table

PROJECT = Path(__file__).parents[2]
CONFIG = PROJECT / "config"
D = Decimal


@pytest.fixture(scope="module")
def sample(sample_run):
    return sample_run.frames


def test_big_bluestem_of_the_windmill_field_by_hand(sample):
    """Arithmetic in decimals, starting from the field's net acres and the tags in seed_lots.csv."""
    net_ac = sample["seed_areas"].set_index("area").loc["Windmill", "net_ac"]
    # 7 live seeds per ft² × 43,560 ft² / 144,240 seeds per pound = 2.11398 lb PLS per acre.
    rate = D(7) * D(43560) / D(144240)
    need = rate * D(repr(float(net_ac)))
    order = sample["seed_order"].set_index("lot")
    # LP-001: 88.40 % pure × (71 + 12) % live = 73.372 % PLS; 60 lb hold 44.0232 lb. The older test
    # goes first, so all of it is used.
    first = D(60) * D("0.884") * D("0.83")
    assert float(first) == 44.0232
    assert order.loc["LP-001", "pls_needed_lb"] == pytest.approx(44.0232, rel=1e-12)
    # LP-002: 79.20 % × (58 + 22) % = 63.36 % PLS; the rest of the need comes from it.
    rest = (need - first) / (D("0.792") * D("0.80"))
    assert order.loc["LP-002", "bulk_needed_lb"] == pytest.approx(float(rest), rel=1e-12)
    # 45 lb are in the shed, the others come in bags of 25 lb.
    bags = math.ceil((rest - 45) / 25)
    assert order.loc["LP-002", "bulk_to_order_lb"] == float(bags * 25)
    assert order.loc["LP-002", "cost_usd"] == pytest.approx(
        float(bags * 25 * D("0.6336") * D("9.75"))
    )


def test_order_covers_each_species_of_the_sample(sample):
    rates = sample["seed_rates"].groupby("species")["pls_lb"].sum()
    use = sample["seed_use"].query("role == 'seed'").groupby("species")["pls_lb"].sum()
    assert rates.to_dict() == pytest.approx(use.to_dict(), rel=1e-12)
    areas = sample["seed_rates"].groupby("area")["pls_lb"].sum()
    assert areas.to_dict() == pytest.approx(
        sample["seed_areas"].set_index("area")["pls_lb"].to_dict(), rel=1e-12
    )
    held = sample["seed_use"].query("stock == 'held'").groupby("lot")["bulk_lb"].sum()
    shed = sample["seed_lots"].set_index("lot")["on_hand_bulk_lb"]
    assert (held <= shed.loc[held.index] * (1 + 1e-12)).all()


@pytest.mark.parametrize("name", ["species", "full_rates", "seed_factors", "test_rules"])
def test_shipped_tables_are_read_without_a_word(name):
    read = read_table(TableSource(path=f"{name}.csv"), LAYERS[name], CONFIG)
    assert not read.faults
    assert not read.findings
    assert len(read.frame)


@pytest.mark.parametrize("name", ["species", "full_rates", "seed_factors", "test_rules"])
def test_every_shipped_figure_names_its_source(name):
    rows = list(csv.DictReader((CONFIG / f"{name}.csv").read_text(encoding="utf-8").splitlines()))
    assert all(row["reference"].strip() for row in rows)


def test_shipped_figures_lie_in_their_range_and_match_public_sheets():
    text = (CONFIG / "species.csv").read_text(encoding="utf-8")
    rows = {row["species"]: row for row in csv.DictReader(text.splitlines())}
    for row in rows.values():
        low, count, high = (int(row[f"{k}seeds_per_lb"]) for k in ("low_", "", "high_"))
        assert low <= count <= high, row["species"]
    # USDA PLANTS, Seed per Pound.
    assert rows["Andropogon gerardii"]["seeds_per_lb"] == "144240"
    assert rows["Panicum virgatum"]["seeds_per_lb"] == "259000"
    # Oklahoma State University: switchgrass at 5 lb PLS is at least 20 seeds per square foot.
    assert half_up(5 * int(rows["Panicum virgatum"]["seeds_per_lb"]) / 43560, 1) == D("29.7")


def test_large_orders_run_through_in_small():
    bench = runpy.run_path(str(Path(__file__).parents[1] / "benchmarks" / "bench_seed_orders.py"))
    frames, crs = bench["tables"](50, 4, 30, lines_in_a_mix=10)
    bench["walk"](frames, crs)
    assert len(frames["seed_rates"]) == 40
    assert frames["seed_use"]["pls_lb"].sum() == pytest.approx(frames["seed_rates"]["pls_lb"].sum())
