"""Look at the user's own air photo without reading it whole: a backdrop of the packet's maps."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import rasterio
import shapely
from pyproj import CRS, Transformer
from rasterio.enums import ColorInterp
from rasterio.errors import RasterioError
from rasterio.io import DatasetReader
from rasterio.windows import Window

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.core.layer import conform, empty
from pipeline.core.names import listed
from pipeline.intake.layers import BACKDROP
from pipeline.intake.rasters.raster_file import (
    RASTER_OPTIONS,
    crs_faults,
    open_raster,
    unreadable,
)
from pipeline.intake.rasters.samples import sampled_numbers
from pipeline.intake.safety import SourceRead, guard_path
from pipeline.intake.scenes import source_row
from pipeline.intake.settings import BackdropSource

WHERE = "[sources.backdrop]"

DARK_PERCENTILE, BRIGHT_PERCENTILE = 1, 99
"""Percentiles of a sample that are drawn darkest and brightest; common practice, no source."""

SIDE_PLACES = 16
"""Places along the edge of a unit where the picture is looked for."""

MOST_PIXELS = 50_000_000
"""Pixels from which on a picture without smaller copies of itself is slow to draw small."""


def read_backdrop(
    source: BackdropSource, folder: Path, allowed: tuple[Path, ...] = ()
) -> SourceRead:
    """The layer ``backdrop``, what was found in the picture's header, and all its faults."""
    try:
        path = guard_path(source.path, folder, allowed, where=WHERE)
        with rasterio.Env(**RASTER_OPTIONS), open_raster(path, WHERE) as raster:
            if faults := _faults(raster):
                return SourceRead(empty(BACKDROP), faults=faults)
            count = 3 if len(_seen_bands(raster)) >= 3 else 1
            dark, bright = _tones(raster, list(range(1, count + 1)))
            row = {"path": str(path), "name": source.path, "bands": count}
            row |= {"darkest": dark, "brightest": bright}
            findings = list(_slow(raster))
            of_file = source_row(raster, path, source.path, "backdrop", count)
    except SourceError as error:
        return SourceRead(empty(BACKDROP), faults=list(error.faults))
    return SourceRead(conform(pd.DataFrame([row]), BACKDROP), findings, of_file)


def _seen_bands(raster: DatasetReader) -> list[int]:
    """Numbers of the bands that hold the picture: all but those that say where it is clear."""
    return [n for n, use in enumerate(raster.colorinterp, 1) if use != ColorInterp.alpha]


def _faults(raster: DatasetReader) -> list[Fault]:
    """Faults of a raster that has no place on the ground or is no picture; it may be rotated."""
    fault = partial(Fault, WHERE)
    faults = crs_faults(raster, WHERE)
    if raster.transform.is_identity or not raster.transform.determinant:
        found, expected = "no place on the ground", "a corner and a pixel size"
        faults.append(fault(found, expected, "export it again as a GeoTIFF with its place"))
    seen = _seen_bands(raster)
    if len(seen) not in (1, 3, 4):
        found = f"{len(seen)} bands"
        expected = "1 band of gray, or 3 of red, green and blue (4 with near-infrared)"
        faults.append(fault(found, expected, "export those bands alone"))
    kinds = sorted({kind for kind in raster.dtypes if np.dtype(kind).kind not in "iuf"})
    if kinds:
        found, expected = f"holds {kinds[0]} values", "whole or decimal numbers"
        faults.append(fault(found, expected, "export it again"))
    if raster.colorinterp[0] == ColorInterp.palette:
        do = "export it as RGB (gdal_translate -expand rgb)"
        faults.append(fault("colors by number, from a palette", "colors or grays themselves", do))
    return faults


def _tones(raster: DatasetReader, bands: list[int]) -> tuple[float, float]:
    """Stored numbers that are drawn darkest and brightest. Raises SourceError."""
    try:
        stored = sampled_numbers(raster, bands)
    except RasterioError as error:
        raise SourceError(unreadable(WHERE)) from error
    if not len(stored):
        found, do = "no pixel of a sample has a value", "name the right file"
        raise SourceError.of(WHERE, found, "a picture", do)
    dark, bright = np.percentile(stored, [DARK_PERCENTILE, BRIGHT_PERCENTILE])
    return float(dark), float(bright)


def _slow(raster: DatasetReader) -> Iterator[Finding]:
    """A note on a large picture without smaller copies: all of its pixels must be read."""
    if raster.width * raster.height <= MOST_PIXELS or raster.overviews(1):
        return
    message = (
        f"the picture has {raster.width:,} by {raster.height:,} pixels and no overviews, so that "
        "drawing it small takes seconds a map: gdaladdo makes them"
    )
    yield Finding(severity="note", source="backdrop", message=message, code="no_overviews")


def backdrop_faults(frames: Mapping[str, pd.DataFrame]) -> Iterator[Fault]:
    """The fault of a picture that reaches no unit; none where the units have no shapes yet."""
    backdrop, units = frames.get("backdrop"), frames["drawn_units"]
    if backdrop is None or backdrop.empty or not isinstance(units, gpd.GeoDataFrame):
        return
    with _opened(backdrop) as raster:
        reached = _inside(raster, _pixels(raster, units))
    if not reached.any():
        found, expected = "the picture shows no unit", "a picture of the property"
        yield Fault(WHERE, found, expected, "name the right file, or its true reference system")


def find_backdrop(frames: Mapping[str, pd.DataFrame]) -> Iterator[Finding]:
    """A finding on units that the picture does not show, or not all of: they stay white.

    Raises SourceError for pixels that cannot be read.
    """
    backdrop, units = frames["backdrop"], frames["drawn_units"]
    if backdrop.empty:
        return
    with _opened(backdrop) as raster:
        shown = _shown(raster, _pixels(raster, units))
    if shown.all():
        return
    names, is_part = units["unit_id"].to_numpy(), shown.any(axis=1)
    white, part = names[~is_part], names[is_part & ~shown.all(axis=1)]
    told = [f"all of {listed(white)}"] * bool(len(white))
    told += [f"part of {listed(part)}"] * bool(len(part))
    message = f"the picture under the packet's maps leaves white {' and '.join(told)}"
    subject = listed([*white, *part])
    yield Finding(
        severity="note", source="backdrop", subject=subject, message=message, code="picture_short"
    )


@contextmanager
def _opened(backdrop: pd.DataFrame) -> Iterator[DatasetReader]:
    """The picture that the layer names. Raises SourceError."""
    with (
        rasterio.Env(**RASTER_OPTIONS),
        open_raster(Path(backdrop["path"].iloc[0]), WHERE) as raster,
    ):
        yield raster


def _pixels(raster: DatasetReader, units: gpd.GeoDataFrame) -> np.ndarray:
    """Places of each unit as columns and rows of the picture: one inside, some on its outline."""
    inside = shapely.get_coordinates(units.geometry.representative_point().to_numpy())
    shares = np.linspace(0.0, 1.0, SIDE_PLACES, endpoint=False)
    edges = units.geometry.boundary.to_numpy()[:, None]
    around = shapely.line_interpolate_point(edges, shares, normalized=True)
    along = shapely.get_coordinates(around).reshape(len(edges), SIDE_PLACES, 2)
    places = np.concatenate([inside[:, None, :], along], axis=1)
    there = Transformer.from_crs(units.crs, CRS.from_user_input(raster.crs), always_xy=True)
    x, y = there.transform(places[..., 0], places[..., 1])
    a, b, left, d, e, top = (~raster.transform)[:6]
    return np.stack([a * x + b * y + left, d * x + e * y + top], axis=-1)


def _inside(raster: DatasetReader, pixels: np.ndarray) -> np.ndarray:
    """Whether places lie on the grid of the picture; those that no number tells do not."""
    size = np.array([raster.width, raster.height])
    return np.asarray(((pixels >= 0) & (pixels < size)).all(axis=-1))


def _shown(raster: DatasetReader, pixels: np.ndarray) -> np.ndarray:
    """Whether the picture has a value at each place. Raises SourceError."""
    shown = _inside(raster, pixels)
    if all("all_valid" in {flag.name for flag in flags} for flags in raster.mask_flag_enums):
        return shown
    corners = np.floor(pixels[shown]).astype(int).tolist()
    try:
        masks = [raster.dataset_mask(window=Window(*corner, 1, 1))[0, 0] for corner in corners]
    except RasterioError as error:
        raise SourceError(unreadable(WHERE)) from error
    shown[shown] = np.array(masks) > 0
    return shown
