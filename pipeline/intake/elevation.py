"""Look at the raster of heights without reading it whole."""

from functools import partial
from pathlib import Path

import numpy as np
import pandas as pd
import rasterio
from pyproj import CRS
from rasterio.errors import RasterioError
from rasterio.io import DatasetReader

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.core.layer import conform, empty
from pipeline.core.units import M_PER_FT
from pipeline.intake.layers import ELEVATION
from pipeline.intake.rasters.raster_file import (
    RASTER_OPTIONS,
    crs_faults,
    open_raster,
    unreadable,
)
from pipeline.intake.rasters.samples import sampled_numbers
from pipeline.intake.safety import SourceRead, guard_path
from pipeline.intake.scenes import source_row
from pipeline.intake.settings import ElevationSource

WHERE = "[sources.elevation]"

M_PER_HEIGHT_UNIT = {"m": 1.0, "ft": M_PER_FT, "us-ft": 1200 / 3937}
"""Meters of a height unit. *Source*: NIST Special Publication 811 (2008), appendix B."""

LOWEST_M, HIGHEST_M = -500.0, 9000.0
"""No land lies lower or higher: the shore of the Dead Sea is near −430 m, Everest 8,849 m."""

UNIT_BY_WORD = {
    **dict.fromkeys(("m", "metre", "meter", "metres", "meters"), "m"),
    **dict.fromkeys(("ft", "foot", "feet", "international foot"), "ft"),
    **dict.fromkeys(
        ("us-ft", "us survey foot", "us survey feet", "sfoot", "us_survey_foot"), "us-ft"
    ),
}
"""Spellings of units in the headers of rasters; common practice, no source."""


def read_elevation(
    source: ElevationSource, folder: Path, allowed: tuple[Path, ...] = ()
) -> SourceRead:
    """The layer ``elevation``, what was found in the raster's header, and all its faults."""
    try:
        path = guard_path(source.path, folder, allowed, where=WHERE)
        with rasterio.Env(**RASTER_OPTIONS), open_raster(path, WHERE) as raster:
            if faults := _faults(raster, source):
                return SourceRead(empty(ELEVATION), faults=faults)
            row = {
                "path": str(path),
                "name": source.path,
                "band": source.band,
                "height_unit": source.height_unit,
                "scale": raster.scales[source.band - 1],
                "offset": raster.offsets[source.band - 1],
            }
            findings = _other_units(raster, source)
            of_file = source_row(raster, path, source.path, "elevation", 1)
    except SourceError as error:
        return SourceRead(empty(ELEVATION), faults=list(error.faults))
    return SourceRead(conform(pd.DataFrame([row]), ELEVATION), findings, of_file)


def _faults(raster: DatasetReader, source: ElevationSource) -> list[Fault]:
    """Faults of a raster that has no place on the ground or no heights; it may be rotated."""
    fault = partial(Fault, WHERE)
    faults = crs_faults(raster, WHERE)
    if raster.transform.is_identity or not raster.transform.determinant:
        found, expected = "no place on the ground", "a corner and a pixel size"
        faults.append(fault(found, expected, "export it again as a GeoTIFF with its place"))
    if source.band > raster.count:
        found = f"band = {source.band}, the file has {raster.count}"
        return [*faults, fault(found, "a band of the file", "count the bands from 1")]
    kind = raster.dtypes[source.band - 1]
    if np.dtype(kind).kind not in "iuf":
        found = f"band {source.band} holds {kind} values"
        return [*faults, fault(found, "whole or decimal numbers", "export it again")]
    return [*faults, *_height_faults(raster, source)]


def _height_faults(raster: DatasetReader, source: ElevationSource) -> list[Fault]:
    """The fault of heights that no land has, by a sample of the raster."""
    try:
        stored = sampled_numbers(raster, [source.band])
    except RasterioError:
        return [unreadable(WHERE)]
    band = source.band - 1
    heights = stored * raster.scales[band] + raster.offsets[band]
    if not len(heights):
        return []
    middle = float(np.median(heights))
    if LOWEST_M <= middle * M_PER_HEIGHT_UNIT[source.height_unit] <= HIGHEST_M:
        return []
    found = f'half of its values lie beyond {middle:,.0f}, and height_unit = "{source.height_unit}"'
    expected = f"heights of land, {LOWEST_M:,.0f} to {HIGHEST_M:,.0f} m"
    return [Fault(WHERE, found, expected, "mend height_unit, or name the number for no data in it")]


def _other_units(raster: DatasetReader, source: ElevationSource) -> list[Finding]:
    """A finding on a header that tells another unit than the property file, which is used."""
    told = {UNIT_BY_WORD.get(str(raster.units[source.band - 1] or "").strip().lower())}
    vertical = [crs for crs in CRS.from_user_input(raster.crs).sub_crs_list if crs.is_vertical]
    for axis in (axis for crs in vertical for axis in crs.axis_info):
        told |= {
            unit
            for unit, meters in M_PER_HEIGHT_UNIT.items()
            if abs(axis.unit_conversion_factor / meters - 1) < 1e-9
        }
    other = sorted(unit for unit in told if unit and unit != source.height_unit)
    if not other:
        return []
    message = (
        f"the file says that its heights are in {', '.join(other)}, the property file says "
        f'height_unit = "{source.height_unit}", which is used: look up which is right'
    )
    return [Finding(severity="warning", source="elevation", message=message, code="height_unit")]
