"""Slope of the ground under units and along breaks, from the property's own raster of heights.

Flags and lengths over the ground only: no published multiplier of break widths was found, so no
width depends on what is measured here.
"""

import math
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.layer import empty
from pipeline.core.units import M_PER_FT
from pipeline.fire.slope.layers import BREAK_SLOPES, UNIT_SLOPES
from pipeline.fire.slope.settings import SlopeSettings
from pipeline.ground.geometry import segment_bearings_deg
from pipeline.ground.terrain import Profile, Terrain, lattice, profile
from pipeline.pictures.heights import read_terrain

MOST_POINTS = 5_000
"""Places read in a unit; a larger unit is read at wider spacing, which the layer tells."""

ONE_WAY_SHARE = 0.5
"""A unit falls one way where its slopes together are at least this share of their sizes' sum."""

NEARLY_FLAT = 0.01
"""Ground that rises less than this as a whole [m per m] has no direction to tell."""

TAKEN_OVER = ["break_id", "block", "neighbor_block", "status", "length_ft"]


def measure_unit_slopes(
    units: gpd.GeoDataFrame, elevation: pd.DataFrame, settings: SlopeSettings
) -> pd.DataFrame:
    """Table ``unit_slopes``: heights, slopes and aspect of each unit; empty without heights."""
    if elevation.empty or units.empty:
        return empty(UNIT_SLOPES)
    terrain = _terrain(units, elevation, margin_m=0.0)
    rows = [
        {"unit_id": unit_id} | unit_slope(terrain, shape, units.crs, settings)
        for unit_id, shape in zip(units["unit_id"], units.geometry, strict=True)
    ]
    return pd.DataFrame(rows)


def measure_break_slopes(
    firebreaks: gpd.GeoDataFrame, elevation: pd.DataFrame, settings: SlopeSettings
) -> gpd.GeoDataFrame:
    """Layer ``break_slopes``: slope along, across and toward stretches; empty without heights."""
    if elevation.empty or firebreaks.empty:
        return empty(BREAK_SLOPES, firebreaks.crs)
    terrain = _terrain(firebreaks, elevation, margin_m=settings.run_ft * M_PER_FT)
    rows = [_stretch_slope(terrain, row, settings) for row in firebreaks.itertuples()]
    figures = pd.DataFrame(rows, index=firebreaks.index)
    told = firebreaks[[*TAKEN_OVER, "geometry"]]
    return gpd.GeoDataFrame(pd.concat([told, figures], axis=1), crs=firebreaks.crs)


def _terrain(shapes: gpd.GeoDataFrame, elevation: pd.DataFrame, margin_m: float) -> Terrain:
    """Heights over shapes and some ground around them."""
    west, south, east, north = shapes.total_bounds
    bounds = (west - margin_m, south - margin_m, east + margin_m, north + margin_m)
    return read_terrain(elevation.iloc[0].to_dict(), bounds, shapes.crs)


def unit_slope(
    terrain: Terrain, shape: shapely.Geometry, crs: object, settings: SlopeSettings
) -> dict[str, float]:
    """Figures of one unit: heights [ft], slopes [percent], aspect [degree], shares [percent]."""
    spacing_m = max(terrain.step_m, math.sqrt(shape.area / MOST_POINTS))
    points = lattice(shape, spacing_m)
    gradient = terrain.gradient(points)
    known = np.isfinite(gradient).all(axis=1)
    row = {"known_pct": 100.0 * float(known.mean()), "spacing_ft": spacing_m / M_PER_FT}
    if not known.any():
        return row | dict.fromkeys(set(UNIT_SLOPES.column_names) - {"unit_id", *row}, math.nan)
    heights_ft = terrain.height_m(points[known]) / M_PER_FT
    gradient = gradient[known]
    slope_pct = 100.0 * np.hypot(*gradient.T)
    return row | {
        "lowest_ft": heights_ft.min(),
        "highest_ft": heights_ft.max(),
        "least_pct": slope_pct.min(),
        "median_pct": float(np.median(slope_pct)),
        "most_pct": slope_pct.max(),
        "aspect_deg": aspect_deg(gradient, points[known].mean(axis=0), crs),
        "over_mower_pct": 100.0 * float((slope_pct > settings.mower_limit_pct).mean()),
        "over_drill_pct": 100.0 * float((slope_pct > settings.drill_limit_pct).mean()),
    }


def aspect_deg(gradient: np.ndarray, place: np.ndarray, crs: Any) -> float:
    """Direction [degree from true north] that ground falls to as a whole; NaN where it has none."""
    fall = -gradient.mean(axis=0)
    together = float(np.hypot(*fall))
    if together < max(NEARLY_FLAT, ONE_WAY_SHARE * float(np.hypot(*gradient.T).mean())):
        return math.nan
    return float(segment_bearings_deg(np.array([place, place + fall / together]), crs)[0])


def _stretch_slope(terrain: Terrain, stretch: Any, settings: SlopeSettings) -> dict[str, float]:
    """Figures of one stretch, which has its block on the left hand."""
    line = profile(terrain, stretch.geometry)
    gradient = terrain.gradient(line.middles)
    along_pct = 100.0 * np.abs(line.rise)
    outward = _outward(line)
    across_pct = 100.0 * (gradient * outward).sum(axis=1)
    slope_pct = 100.0 * np.hypot(*gradient.T)
    own, other = (_rise_pct(terrain, line, side, settings) for side in (outward, -outward))
    if pd.isna(stretch.neighbor_block):
        other = np.full_like(other, np.nan)
    feet = stretch.length_ft / len(line.middles)
    return {
        "surface_ft": stretch.length_ft * line.surface_ratio,
        "along_mean_pct": _of_known(np.mean, along_pct),
        "along_most_pct": _of_known(np.max, along_pct),
        "across_pct": _of_known(np.mean, across_pct),
        "across_most_pct": _of_known(np.max, np.abs(across_pct)),
        "rise_pct": _of_known(np.max, own),
        "uphill_ft": _feet_where(own >= settings.steep_pct, own, feet),
        "neighbor_rise_pct": _of_known(np.max, other),
        "neighbor_uphill_ft": _feet_where(other >= settings.steep_pct, other, feet),
        "over_mower_ft": _feet_where(slope_pct > settings.mower_limit_pct, slope_pct, feet),
        "known_pct": 100.0 * float(np.isfinite(along_pct).mean()),
    }


def _outward(line: Profile) -> np.ndarray:
    """Direction away from the block of each span, which has the block on its left hand."""
    return np.column_stack([line.ahead[:, 1], -line.ahead[:, 0]])


def _rise_pct(
    terrain: Terrain, line: Profile, outward: np.ndarray, settings: SlopeSettings
) -> np.ndarray:
    """Rise [percent] of the ground over the last way before the edge, outward, span by span."""
    run_m = settings.run_ft * M_PER_FT
    before = terrain.height_m(line.middles - run_m * outward)
    return 100.0 * (terrain.height_m(line.middles) - before) / run_m


def _of_known(figure: Any, values: np.ndarray) -> float:
    """A figure of the values that are known, NaN where none is."""
    known = values[np.isfinite(values)]
    return float(figure(known)) if len(known) else math.nan


def _feet_where(there: np.ndarray, values: np.ndarray, feet: float) -> float:
    """Length [ft] of the spans where something is so, NaN where no value is known."""
    return float(there.sum() * feet) if np.isfinite(values).any() else math.nan
