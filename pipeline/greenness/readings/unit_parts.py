"""Burned and unburned ground of one unit between two pictures, where a perimeter splits it."""

from collections.abc import Mapping, Sequence

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.scene_names import Moments, ratio
from pipeline.ground.acreage import polygonal
from pipeline.ground.overlays import common, less, united
from pipeline.pictures.autocorrelation import Range, effective_pixels
from pipeline.pictures.raster_grid import Grid
from pipeline.pictures.zone_ground import Grounds, ZoneGround, zone_ground

PARTS = ("burned", "unburned")

Perimeters = Mapping[int, shapely.Geometry]
"""What burned of some zones, by their number."""


def perimeters_between(
    burned_ground: gpd.GeoDataFrame, unit_ids: Sequence[str], dates: tuple[pd.Timestamp, ...]
) -> dict[int, shapely.Geometry]:
    """What was drawn as burned of each unit after the first and before the second of two days."""
    before, after = dates
    drawn = burned_ground[(burned_ground["date"] > before) & (burned_ground["date"] < after)]
    shapes = {unit: rows.geometry.to_numpy() for unit, rows in drawn.groupby("unit_id")}
    return {n: united(shapes[unit]) for n, unit in enumerate(unit_ids) if unit in shapes}


def split_ground(
    grounds: Grounds, perimeters: Perimeters, grid: Grid, buffer_m: float
) -> ZoneGround:
    """The burned parts of the units that perimeters split, then their unburned parts, on a grid.

    The edge of the unit is left out; along the perimeter each pixel counts on either side by the
    share of it that lies there.
    """
    if not perimeters:
        nothing = np.empty(0)
        return ZoneGround(grid, np.empty(0, dtype=object), nothing, nothing, nothing)
    numbers = list(perimeters)
    inner = grounds.inner(buffer_m)[numbers]
    burned = [polygonal(common(s, p)) for s, p in zip(inner, perimeters.values(), strict=True)]
    left = [polygonal(less(s, p)) for s, p in zip(inner, perimeters.values(), strict=True)]
    return zone_ground(np.array([*burned, *left], dtype=object), grounds.crs, grid, 0.0)


def part_stats(
    parts: ZoneGround,
    perimeters: Perimeters,
    before_mean: np.ndarray,
    change: Moments,
    side_m: float,
    worth: pd.DataFrame,
) -> pd.DataFrame:
    """Statistics of the parts, one row a zone, empty where no perimeter splits it.

    ``worth`` holds the range of the change of each zone; the parts are taken as squares.
    """
    count = len(perimeters)
    alike = worth["alike_pct"].fillna(100.0) / 100.0
    ranges = [Range(r, 1.0 - a) for r, a in zip(worth["range_m"], alike, strict=True)]
    frame = pd.DataFrame(index=worth.index)
    for order, name in enumerate(PARTS):
        cells = slice(order * count, (order + 1) * count)
        pixels = change.count[cells]
        fitted = [ranges[zone] for zone in perimeters]
        values = {
            "pixels": pixels,
            "full_pixels": parts.full_pixels[cells].astype(float),
            "valid_pct": (100.0 * ratio(pixels, parts.whole_pixels[cells])).clip(0.0, 100.0),
            "before": before_mean[cells],
            "change": change.mean[cells],
            "sd": change.sd[cells],
            "effective_pixels": np.array(
                [effective_pixels(n, side_m, r) for n, r in zip(pixels, fitted, strict=True)]
            ),
        }
        told = pd.DataFrame(values, index=pd.Index(list(perimeters), dtype=int))
        frame = frame.join(told.add_prefix(f"{name}_"))
    return frame
