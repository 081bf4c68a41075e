"""The ground of each unit that greenness is read from, and whether there is enough of it."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.compute.acreage import left_out, polygonal
from pipeline.compute.raster_grid import Grid, moved
from pipeline.compute.zone_sums import covered_shares
from pipeline.settings.greenness import GreennessSettings
from pipeline.units import half_up

WHOLE = 1.0 - 1e-9
"""Covered share from which a pixel counts as wholly inside."""


@dataclass(frozen=True, slots=True)
class ZoneGround:
    """Ground used of each zone in pixel coordinates of a grid, and how much of it there is.

    ``whole_pixels`` is the size of the ground in pixels, on the raster or not.
    """

    zones: np.ndarray
    whole_pixels: np.ndarray
    full_pixels: np.ndarray
    lost_pct: np.ndarray


def burnable_ground(units: gpd.GeoDataFrame, exclusions: gpd.GeoDataFrame) -> np.ndarray:
    """Shape of each unit without what is left out for burning: ponds, buildings, refuges."""
    gone = left_out(units.geometry, exclusions, "burn")
    return shapely.difference(units.geometry.to_numpy(), gone.to_numpy())


def inner_ground(grounds: np.ndarray, buffer_m: float) -> np.ndarray:
    """Grounds without an edge of some width [m], where pixels also show what lies outside."""
    return np.array(
        [polygonal(shape) for shape in shapely.buffer(grounds, -buffer_m)], dtype=object
    )


def zone_ground(grounds: np.ndarray, crs: CRS, grid: Grid, buffer_m: float) -> ZoneGround:
    """Ground used of each zone on a grid, after taking off an edge [m]."""
    inner = inner_ground(grounds, buffer_m)
    zones = grid.to_pixels(moved(inner, crs, CRS.from_wkt(grid.crs_wkt)))
    before, after = shapely.area(grounds), shapely.area(inner)
    lost = np.divide(before - after, before, out=np.ones_like(before), where=before > 0)
    full = np.array([full_pixels(zone) for zone in zones], dtype=int)
    return ZoneGround(zones, shapely.area(zones), full, 100.0 * lost.clip(0.0, 1.0))


def full_pixels(zone: shapely.Geometry) -> int:
    """Number of pixels that lie wholly inside a zone given in pixel coordinates."""
    if zone.is_empty:
        return 0
    left, top, right, bottom = zone.bounds
    corner = np.floor([left, top])
    shape = (int(np.ceil(bottom - corner[1])), int(np.ceil(right - corner[0])))
    shares = covered_shares(shapely.transform(zone, lambda p: p - corner), shape=shape)
    return int((shares >= WHOLE).sum())


def gate_reasons(stats: pd.DataFrame, settings: GreennessSettings) -> pd.Series:
    """Why each zone's figures are not to be used, None where they are.

    *Source*: size and edge: P. Vajsova et al., Remote Sensing 12 (2020) 2195.
    """

    def reason(row: pd.Series) -> str | None:
        if row["lost_pct"] >= settings.most_lost_pct:
            return (
                f"too small or too narrow: {half_up(row['lost_pct'], 0)} percent of it is edge, "
                f"where pixels also show the ground outside"
            )
        if row["full_pixels"] < settings.least_full_pixels:
            return (
                f"too small for these pixels: {int(row['full_pixels'])} whole pixels, "
                f"{settings.least_full_pixels} are needed"
            )
        if not row["valid_pct"] >= settings.least_valid_pct:
            return f"only {half_up(row['valid_pct'], 0)} percent of it has usable pixels"
        return None

    reasons = [reason(row) for _, row in stats.iterrows()]
    return pd.Series(reasons, index=stats.index, dtype=object)
