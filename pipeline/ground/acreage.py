"""Acres of each unit, gross and net of what is left out."""

import geopandas as gpd
import numpy as np
import shapely

from pipeline.ground.geometry import area_ac, length_ft
from pipeline.ground.overlays import common, united


def measure_excluded_ground(exclusions: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Layer ``excluded_ground``: every exclusion as drawn, with its whole area on the ellipsoid."""
    ground = exclusions[["exclusion_id", "kind", "applies_to", "geometry"]].copy()
    ground["area_ac"] = area_ac(exclusions.geometry)
    return ground


def left_out(units: gpd.GeoSeries, exclusions: gpd.GeoDataFrame, purpose: str) -> gpd.GeoSeries:
    """Part of each unit [polygon] covered by the exclusions for a purpose ("burn" or "seed").

    Overlapping exclusions count once. A unit that none of them touches gets an empty shape.
    """
    shapes = exclusions.loc[exclusions["applies_to"].isin([purpose, "both"]), "geometry"]
    pairs = shapes.sindex.query(units.geometry, predicate="intersects")
    result = np.full(len(units), shapely.MultiPolygon(), dtype=object)
    for position in np.unique(pairs[0]):
        covering = united(shapes.to_numpy()[pairs[1][pairs[0] == position]])
        result[position] = polygonal(common(units.iloc[position], covering))
    return gpd.GeoSeries(result, index=units.index, crs=units.crs)


def polygonal(shape: shapely.Geometry) -> shapely.MultiPolygon:
    """The polygons among the parts of a shape; points and lines of an overlay are dropped."""
    parts = shapely.get_parts(shapely.get_parts(shape))
    return shapely.MultiPolygon([part for part in parts if part.geom_type == "Polygon"])


def measure_units(drawn_units: gpd.GeoDataFrame, exclusions: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Layer ``units``: acres and perimeter of each drawn unit, on the ellipsoid.

    ``gross_ac = burnable_ac + no_burn_ac`` holds exactly, since what burns is the remainder.
    """
    shapes = drawn_units.geometry
    units = drawn_units[["unit_id", "name", "cover", "geometry"]].copy()
    units["gross_ac"] = area_ac(shapes)
    units["no_burn_ac"] = area_ac(left_out(shapes, exclusions, "burn"))
    units["no_seed_ac"] = area_ac(left_out(shapes, exclusions, "seed"))
    units["burnable_ac"] = (units["gross_ac"] - units["no_burn_ac"]).clip(lower=0)
    units["seedable_ac"] = (units["gross_ac"] - units["no_seed_ac"]).clip(lower=0)
    units["perimeter_ft"] = length_ft(shapes)
    return units
