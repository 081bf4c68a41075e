"""Runs over sample pictures of public packages, and the figures of other software for them."""

import json

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import spyndex
from exactextract import exact_extract

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.zone_pixels import measure_zone_scenes
from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import SceneSource
from tests.part_runs import computed

BARE = "buffer_pixels = 0\nmixed_buffer_pixels = 0"
EIGHT_BITS = 1 / 255


def run(folder, units, scenes, comparison="", greenness=BARE):
    """Every layer of a property whose units are ``units``; ``scenes`` are lines of its file."""
    units.to_file(folder / "units.gpkg")
    lines = ["[property]", 'name = "Chip"', "season = 2001"]
    lines += ["[sources.units]", 'path = "units.gpkg"']
    for scene in scenes:
        lines += ["[[sources.scenes]]", scene]
    lines += [comparison, "[greenness]", greenness]
    (folder / "chip.toml").write_text("\n".join(lines))
    return computed(folder / "chip.toml")


def stack(name, red, nir, scale=EIGHT_BITS):
    """Lines of the property file for a picture with its day in the file's name."""
    bands = f"bands = {{ red = {red}, nir = {nir} }}"
    return f'path = "{name}"\nkind = "reflectance"\n{bands}\nscale = {scale}'


def compare(before, after, burned, reference):
    names = f"burned = {json.dumps(list(burned))}\nreference = {json.dumps(list(reference))}"
    return f'[[comparisons]]\nname = "c"\nbefore = {before}\nafter = {after}\n{names}'


def spyndex_ndvi(red, nir):
    return spyndex.computeIndex("NDVI", {"N": nir, "R": red})


def write(path, array, like, **changed):
    """A GeoTIFF of the given bands; what is not told is as in the profile ``like``."""
    bands = array if array.ndim == 3 else array[None]
    kept = {name: like[name] for name in ("crs", "transform", "nodata") if name in like}
    size = {"count": len(bands), "height": bands.shape[1], "width": bands.shape[2]}
    told = {"driver": "GTiff", "dtype": bands.dtype, **kept, **size, **changed}
    with rasterio.open(path, "w", **told) as raster:
        raster.write(bands)
    return path


def write_spyndex_ndvi(path, picture, red, nir):
    """NDVI of a picture by spyndex, as a raster that other software can read."""
    with rasterio.open(picture) as raster:
        bands = raster.read([red, nir], masked=True).astype(float).filled(np.nan)
        return write(path, spyndex_ndvi(*bands), raster.profile, nodata=np.nan)


def on_raster(units, picture):
    """Units of a run, in the reference system of a picture as the file itself has it.

    Their sides are straight in the run's plane, so they get corners before they are moved.
    """
    with rasterio.open(picture) as raster:
        return units.set_geometry(units.segmentize(100.0)).to_crs(raster.crs)


def by_exactextract(picture, zones, ops=("mean", "stdev", "count")):
    return exact_extract(str(picture), zones, list(ops), output="pandas")


def of_scene(layers, scene=1):
    """Rows of ``zone_scenes`` of one picture, in the order of the units."""
    frame = layers["zone_scenes"]
    own = frame[frame["scene"] == scene].set_index("unit_id")
    return own.loc[layers["units"]["unit_id"]]


def of_change(layers):
    """Rows of ``zone_changes``, in the order of the units."""
    return layers["zone_changes"].set_index("unit_id").loc[layers["units"]["unit_id"]]


def agrees(ours, theirs):
    """Whether means, spreads and counts are exactextract's, which stores shares in 32 bits."""
    assert ours["mean"].to_numpy() == pytest.approx(theirs["mean"], abs=1e-6, nan_ok=True)
    assert ours["sd"].to_numpy() == pytest.approx(theirs["stdev"], abs=1e-6, nan_ok=True)
    assert ours["pixels"].to_numpy() == pytest.approx(theirs["count"], rel=1e-6, abs=1e-6)


def measured(picture, shapes, crs, bands=None, scale=EIGHT_BITS):
    """Layer ``zone_scenes`` of zones given in the picture's own reference system."""
    reflectance = {"bands": {"red": bands[0], "nir": bands[1]}, "scale": scale} if bands else {}
    kind = "reflectance" if bands else "ndvi"
    source = SceneSource(path=picture.name, date="2000-03-31", kind=kind, **reflectance)
    scenes, _, faults = read_scenes((source,), picture.parent)
    assert not faults
    ids = [f"U{n:03d}" for n in range(len(shapes))]
    units = gpd.GeoDataFrame({"unit_id": ids}, geometry=list(shapes), crs=crs)
    frame = measure_zone_scenes(
        units,
        gpd.GeoDataFrame({"applies_to": []}, geometry=[], crs=units.crs),
        scenes,
        empty(LAYERS["mask_presets"]),
        empty(LAYERS["zonal_series"]),
        empty(LAYERS["treatment_log"]),
        GreennessSettings(buffer_pixels=0),
    )
    return conform(frame, LAYERS["zone_scenes"]).set_index("unit_id").loc[ids]
