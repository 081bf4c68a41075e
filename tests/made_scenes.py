"""Small rasters, units and logs for the tests that read pictures."""

from datetime import date

import geopandas as gpd
import rasterio
from rasterio.transform import Affine

from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import SceneSource
from tests.literal_layers import literal_layer
from tests.made_season import log_of

LEFT, TOP = 600000, 4500600


def write_raster(path, array, *, pixel=10.0, left=LEFT, top=TOP, crs="EPSG:32614", scale=None,
                 offset=None, transform=None, **profile):  # fmt: skip
    """A GeoTIFF of one or more bands; returns its path."""
    bands = array if array.ndim == 3 else array[None]
    transform = transform or Affine(pixel, 0, left, 0, -pixel, top)
    with rasterio.open(
        path, "w", driver="GTiff", dtype=bands.dtype, count=len(bands), height=bands.shape[1],
        width=bands.shape[2], crs=crs, transform=transform, **profile,
    ) as raster:  # fmt: skip
        raster.write(bands)
        if scale is not None:
            raster.scales = [scale] * len(bands)
        if offset is not None:
            raster.offsets = [offset] * len(bands)
    return path


def units_frame(shapes, crs=32614):
    ids = [f"U{n}" for n in range(len(shapes))]
    return gpd.GeoDataFrame({"unit_id": ids}, geometry=list(shapes), crs=crs)


def inspected(folder, *sources):
    """Layer ``scenes`` of some sources, which must have no faults."""
    frame, _, faults = read_scenes(tuple(SceneSource(**s) for s in sources), folder)
    assert not faults, faults
    return frame


def told(path, when=date(2025, 7, 20), kind="ndvi", **more):
    return {"path": path.name, "date": when, "kind": kind, **more}


def treated(*rows):
    """Layer ``treatment_log``: unit, day and kind."""
    return log_of("unit_id start kind", *rows)


def readings(*rows, **changed):
    """Layer ``zone_scenes``: unit, day and mean NDVI, of pictures of a single day."""
    full = {"kind": "ndvi", "sd": 0.0, "pixels": 1600.0, "valid_pct": 100.0, "full_pixels": 1500}
    full |= {"lost_pct": 0.0, "out_of_range_pct": 0.0, "pixel_m": 10.0} | changed
    frames = [
        {"scene": n, "unit_id": unit, "date": day, "last_day": day, "mean": mean} | full
        for n, (unit, day, mean) in enumerate(rows)
    ]
    return literal_layer("zone_scenes", frames)
