"""Findings of the seed steps, in the words of a grower."""

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import findings_frame
from pipeline.seed.area_findings import find_areas, find_boxes, find_harvests, find_supply
from pipeline.seed.lot_findings import find_lots
from pipeline.seed.mix_findings import find_mixes
from pipeline.seed.settings import SeedSettings


def find_seed(
    seed_lots: pd.DataFrame,
    species: pd.DataFrame,
    mixes: pd.DataFrame,
    test_rules: pd.DataFrame,
    seedings: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    seed_rates: pd.DataFrame,
    bag_rates: pd.DataFrame,
    seed_use: pd.DataFrame,
    seed_order: pd.DataFrame,
    seed_companions: pd.DataFrame,
    seed_areas: gpd.GeoDataFrame,
    seed_boxes: pd.DataFrame,
    own_harvest: pd.DataFrame,
    settings: SeedSettings,
) -> gpd.GeoDataFrame:
    """Findings of the seed steps: what to look at before ordering and sowing."""
    return findings_frame(
        [
            *find_mixes(mix_sheet, mixes, seed_lots, species, settings),
            *find_lots(seed_lots, species, test_rules, seedings, seed_use, settings),
            *find_areas(seed_areas, seed_rates, mix_sheet, seedings, settings),
            *find_supply(seed_use, seed_order),
            *find_boxes(seed_boxes, bag_rates, seed_companions),
            *find_harvests(own_harvest),
        ],
        seed_areas.crs,
    )
