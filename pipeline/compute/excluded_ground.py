"""The ground left out of burning or seeding, as a layer of its own."""

import geopandas as gpd

from pipeline.compute.geometry import area_ac


def measure_excluded_ground(exclusions: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Layer ``excluded_ground``: every exclusion as drawn, with its whole area on the ellipsoid."""
    ground = exclusions[["exclusion_id", "kind", "applies_to", "geometry"]].copy()
    ground["area_ac"] = area_ac(exclusions.geometry)
    return ground
