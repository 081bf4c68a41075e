"""Step that looks at a sample of each picture: what may be wrong with the picture itself."""

from itertools import combinations
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import CRS

from pipeline.greenness.readings.layers import PICTURE_SAMPLES
from pipeline.pictures.mosaics import open_mosaics
from pipeline.pictures.picture_samples import picture_sample, shown
from pipeline.pictures.raster_grid import on_grid
from pipeline.pictures.scene_rasters import SceneRaster

ALL_SHOWN = 0.95
"""Two rasters that share so much of the units that they show are two of the same ground."""

MOST_TIMES = 1e6
"""A number without any beside it is told as so many times commoner."""


def sample_pictures(
    units: gpd.GeoDataFrame, scenes: pd.DataFrame, mask_presets: pd.DataFrame
) -> pd.DataFrame:
    """Layer ``picture_samples``: what a sample of the pixels of each picture shows."""
    shapes, crs = units.geometry.to_numpy(), CRS(units.crs)
    rows: list[dict[str, Any]] = []
    for _, of_date in scenes.groupby(["date", "kind"], sort=True):
        with open_mosaics(of_date, mask_presets) as mosaics:
            rasters = [raster for mosaic in mosaics for raster in mosaic.rasters]
            grounds = [on_grid(shapes, crs, raster.grid) for raster in rasters]
            twins = _twins(rasters, grounds)
            rows += [
                _row(raster, ground) | {"same_ground_as": twin}
                for raster, ground, twin in zip(rasters, grounds, twins, strict=True)
            ]
    return pd.DataFrame(rows, columns=PICTURE_SAMPLES.column_names)


def _row(raster: SceneRaster, ground: np.ndarray) -> dict[str, Any]:
    """What a sample of one raster shows."""
    scene, told = raster.scene, picture_sample(raster, ground)
    most, quality = told.commonest, raster.mask
    return {
        **{name: scene[name] for name in ("scene", "name", "date", "kind")},
        "pixels": told.pixels,
        "commonest_stored": most.number if most else np.nan,
        "commonest_value": most.number * scene["scale"] + scene["offset"] if most else np.nan,
        "commonest_pct": most.share_pct if most else np.nan,
        "times_its_neighbors": min(most.times, MOST_TIMES) if most else np.nan,
        "unmarked_pct": told.unmarked_pct,
        "quality_nodata": quality.nodata if quality is not None else np.nan,
    }


def _twins(rasters: list[SceneRaster], grounds: list[np.ndarray]) -> list[str | None]:
    """Name of an earlier raster of the same date that shows the same units; None without one."""
    held = [shown(raster.grid, ground) for raster, ground in zip(rasters, grounds, strict=True)]
    twins: list[str | None] = [None] * len(rasters)
    for first, second in combinations(range(len(rasters)), 2):
        least = min(held[first].sum(), held[second].sum())
        if least and (held[first] & held[second]).sum() >= ALL_SHOWN * least:
            twins[second] = twins[second] or str(rasters[first].scene["name"])
    return twins
