"""Which winds the layout allows: where the smoke of each unit would go, and what lies there.

Drawn from the map alone: no plume, no spread, no terrain.
"""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.layer import empty
from pipeline.core.units import M_PER_MI
from pipeline.fire.layers import WINDS
from pipeline.fire.settings import WeatherSettings
from pipeline.fire.wind_sides import off_downwind_deg

DIRECTIONS_DEG = np.arange(0.0, 360.0, 22.5)


def bearing_deg(dx: np.ndarray, dy: np.ndarray) -> np.ndarray:
    """Direction [degree clockwise from north] of a step east and north."""
    return np.mod(np.degrees(np.arctan2(dx, dy)), 360.0)


def list_winds(
    units: gpd.GeoDataFrame, smoke_points: gpd.GeoDataFrame, settings: WeatherSettings
) -> pd.DataFrame:
    """Table ``winds``: for each unit and each of 16 directions, the places downwind.

    Seen from every corner of the unit's hull, so that a wide unit close to a place is judged by
    its near corner. A place that touches the unit counts in every wind.
    """
    if smoke_points.empty or units.empty:
        return empty(WINDS)
    rows = []
    places = smoke_points.geometry.to_numpy()
    kinds = smoke_points["kind"].fillna("place").to_numpy()
    for unit_id, shape in zip(units["unit_id"], units.geometry, strict=True):
        away_mi = shapely.distance(places, shape) / M_PER_MI
        near = np.flatnonzero(away_mi <= settings.smoke_distance_mi)
        for wind_deg in DIRECTIONS_DEG:
            half_deg = settings.smoke_half_angle_deg
            hit = [n for n in near if _lies_downwind(shape, places[n], wind_deg, half_deg)]
            row = {"unit_id": unit_id, "wind_from_deg": wind_deg, "allowed": not hit}
            row["places"] = len(hit)
            row["nearest_mi"] = away_mi[hit].min() if hit else np.nan
            row["kinds"] = ", ".join(sorted(set(kinds[hit]))) or None
            rows.append(row)
    return pd.DataFrame(rows)


def _lies_downwind(
    shape: shapely.Geometry, place: shapely.Geometry, wind_deg: float, half_angle_deg: float
) -> bool:
    """Whether a place lies within the sector downwind of any corner of a unit."""
    if shape.intersects(place):
        return True
    corners = shapely.get_coordinates(shape.convex_hull)
    targets = shapely.get_coordinates(place)
    steps = targets[None, :, :] - corners[:, None, :]
    off = off_downwind_deg(bearing_deg(steps[..., 0], steps[..., 1]).ravel(), wind_deg)
    return bool((off <= half_angle_deg).any())
