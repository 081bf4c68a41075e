"""Small rasters, units and logs for the tests that read pictures."""

from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import rasterio
import shapely
from rasterio.transform import Affine

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness.readings.zone_changes import measure_pixel_changes
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.zone_pixels import measure_zone_scenes
from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import SceneSource
from tests.literal_layers import literal_layer
from tests.made_season import log_of

LEFT, TOP = 600000, 4500600
BARE = GreennessSettings(buffer_pixels=0, mixed_buffer_pixels=0)
DISCS = [(33.0, 41.0, 133.0), (420.0, 300.0, 120.0), (550.0, 80.0, 100.0)]
NO_TREATMENTS = empty(LAYERS["treatment_log"])


def write_raster(
    path,
    array,
    *,
    pixel=10.0,
    left=LEFT,
    top=TOP,
    crs="EPSG:32614",
    scale=None,
    offset=None,
    transform=None,
    **profile,
):
    """A GeoTIFF of one or more bands; returns its path."""
    bands = array if array.ndim == 3 else array[None]
    transform = transform or Affine(pixel, 0, left, 0, -pixel, top)
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        dtype=bands.dtype,
        count=len(bands),
        height=bands.shape[1],
        width=bands.shape[2],
        crs=crs,
        transform=transform,
        **profile,
    ) as raster:
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


def smooth_greenness(rows=60, columns=60, seed=3):
    """NDVI between 0.3 and 0.8."""
    chance = np.random.default_rng(seed)
    wave = np.sin(np.arange(rows) / 9)[:, None] * np.cos(np.arange(columns) / 7)[None, :]
    return 0.55 + 0.15 * wave + 0.05 * chance.standard_normal((rows, columns)).clip(-2, 2)


def round_units():
    """Discs, one of them over the raster's edge."""
    return units_frame([shapely.Point(LEFT + x, TOP - y).buffer(r) for x, y, r in DISCS])


def measured(
    units,
    scenes,
    settings=BARE,
    presets=None,
    treatments=NO_TREATMENTS,
    *,
    left_out=None,
    series=(),
):
    """Layer ``zone_scenes`` by unit; nothing is left out of the units."""
    none = gpd.GeoDataFrame({"applies_to": []}, geometry=[], crs=units.crs)
    out = none if left_out is None else left_out
    presets = empty(LAYERS["mask_presets"]) if presets is None else presets
    table = literal_layer("zonal_series", series)
    frame = measure_zone_scenes(units, out, scenes, presets, table, treatments, settings)
    return conform(frame, LAYERS["zone_scenes"]).set_index("unit_id")


def changed(units, scenes, settings=BARE, *, left_out=None, series=(), burned=None, dates=None):
    """Layer ``pixel_changes`` by unit, from the first date to the last."""
    none = gpd.GeoDataFrame({"applies_to": []}, geometry=[], crs=units.crs)
    dates = sorted(scenes["date"].unique()) if dates is None else list(map(pd.Timestamp, dates))
    comparisons = conform(
        pd.DataFrame(
            {
                "comparison": "c",
                "before": dates[0],
                "after": dates[-1],
                "unit_id": units["unit_id"],
                "role": "burned",
            }
        ),
        LAYERS["comparisons"],
    )
    frame = measure_pixel_changes(
        units,
        none if left_out is None else left_out,
        comparisons,
        scenes,
        empty(LAYERS["mask_presets"]),
        literal_layer("zonal_series", series),
        empty(LAYERS["burned_ground"], units.crs) if burned is None else burned,
        settings,
    )
    return conform(frame, LAYERS["pixel_changes"]).set_index("unit_id")


def greenness_raster(folder):
    """Raster of whole numbers with a scale of its own and some pixels missing; its path."""
    stored = np.rint(smooth_greenness() * 10000).astype("int16")
    stored[5:9, 3:12] = -3000
    blocks = {"tiled": True, "blockxsize": 16, "blockysize": 16}
    return write_raster(folder / "ndvi.tif", stored, scale=0.0001, nodata=-3000, **blocks)
