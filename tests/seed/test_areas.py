"""Seeding areas: ground without what is left out, and the sums of their rates."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.core.units import M2_PER_AC
from pipeline.seed.areas import measure_seed_areas
from tests.literal_layers import literal_layer
from tests.made_seed import BIG, area, line, lot


def test_figures_are_sums_over_species_and_lots(seed_plan):
    # 3 + 1 lb PLS on 10 acres: 30 lb at 75 % are 40 lb bulk, 10 lb at 50 % are 20 lb.
    other = line("Dalea", pls_lb_ac=1.0, seeds_per_lb=43560.0)
    plan = seed_plan(
        units={"U1": 4.0, "U2": 6.0},
        mixes=[line(pls_lb_ac=3.0, seeds_per_lb=43560.0), other],
        seedings=[area(unit="U1"), area(unit="U2")],
        seed_lots=[
            lot("A", pls=75.0, on_hand_bulk_lb=100.0, price_usd_per_pls_lb=2.0),
            lot("B", "Dalea", pls=50.0, on_hand_bulk_lb=100.0, price_usd_per_pls_lb=4.0),
        ],
    )
    (row,) = plan["seed_areas"].itertuples()
    assert (row.unit_ids, row.gross_ac, row.net_ac) == ("U1, U2", 10, 10)
    assert (row.seeds_sqft, row.pls_lb_ac, row.pls_lb, row.bulk_lb) == (4, 4, 40, 60)
    assert row.cost_usd_ac == pytest.approx((30 * 2 + 10 * 4) / 10)
    assert row.geometry.area == pytest.approx(10 * M2_PER_AC)


def test_a_lot_without_a_price_makes_the_cost_unknown(seed_plan):
    plan = seed_plan(
        units={"U1": 4.0},
        mixes=[line(pls_lb_ac=3.0)],
        seedings=[area()],
        seed_lots=[lot("A", on_hand_bulk_lb=100.0)],
    )
    assert pd.isna(plan["seed_areas"]["cost_usd_ac"].iloc[0])
    assert plan["seed_areas"]["bulk_lb"].iloc[0] == pytest.approx(15)


def test_ground_left_out_is_neither_sown_nor_drawn():
    """A field of 100 × 100 m with a pond of 50 × 100 m: half of its ground and acres are sown."""
    crs, field, pond = 32614, shapely.box(0, 0, 100, 100), shapely.box(0, 0, 50, 100)
    acres = field.area / M2_PER_AC
    numbers = {column.name: 0.0 for column in LAYERS["units"].columns}
    unit = numbers | {"unit_id": "U1", "name": None, "cover": None}
    unit |= {"gross_ac": acres, "seedable_ac": acres / 2}
    units = gpd.GeoDataFrame([unit], geometry=[field], crs=crs)
    left = {column.name: None for column in LAYERS["exclusions"].columns}
    left |= {"kind": "pond", "applies_to": "seed"}
    made = measure_seed_areas(
        literal_layer("seedings", [area()]),
        units,
        gpd.GeoDataFrame([left], geometry=[pond], crs=crs),
        *(
            literal_layer(name)
            for name in ("seed_rates", "seed_use", "seed_order", "seed_companions")
        ),
    )
    (row,) = conform(made, LAYERS["seed_areas"], crs).itertuples()
    assert row.geometry.area == 5000
    assert (row.gross_ac, row.net_ac) == (acres, acres / 2)
    assert row.pls_lb == 0


def test_the_species_of_an_area_is_not_lost(seed_plan):
    plan = seed_plan(units={"U1": 4.0}, mixes=[line(pls_lb_ac=3.0)], seedings=[area()])
    assert list(plan["seed_rates"]["species"]) == [BIG]
