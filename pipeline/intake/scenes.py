"""Look at the rasters of the property file without reading them whole."""

from collections.abc import Iterable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import rasterio
from rasterio.errors import RasterioError
from rasterio.io import DatasetReader

from pipeline.core.errors import Fault, SourceError
from pipeline.core.layer import conform
from pipeline.core.names import listed
from pipeline.core.scene_names import AS_IT_STANDS, LANDSAT_8_LINE, Scaling, SceneName, scene_name
from pipeline.intake.files.checksums import sha256_of
from pipeline.intake.layers import SCENES
from pipeline.intake.rasters.picture_list import REFLECTANCE, Picture, pictures_of
from pipeline.intake.rasters.raster_file import (
    NETCDF_SUFFIX,
    RASTER_OPTIONS,
    crs_faults,
    open_raster,
    pixel_m2,
    unreadable,
)
from pipeline.intake.rasters.samples import sampled_numbers
from pipeline.intake.safety import guard_path, plain_reading
from pipeline.intake.settings import SceneMask, SceneSource

OLDER_LANDSATS = ("LT04", "LT05", "LE07")

LOW_PERCENTILE, HIGH_PERCENTILE = 1, 99
"""Percentiles of a sample that stand for its small and its large numbers."""

HIGHEST_INDEX = 2.0
"""An index or a reflectance beyond this is a scaled whole number that doesn't say so."""

RANGES = {"ndvi": (-1.0, 1.0), "reflectance": (-0.2, 1.6)}
"""Reflectance: range of Landsat Collection 2 surface reflectance (USGS LSDS-1619).

Range from memory, to be checked.
"""


def read_scenes(
    scenes: tuple[SceneSource, ...], folder: Path, allowed: tuple[Path, ...] = ()
) -> tuple[pd.DataFrame, list[dict[str, Any]], list[Fault]]:
    """Layer ``scenes``, rows for the layer ``sources``, and all faults of all rasters."""
    rows: list[dict[str, Any]] = []
    sources: list[dict[str, Any]] = []
    faults: list[Fault] = []
    for number, scene in enumerate(scenes, 1):
        where = f"scenes {number}: {scene.path}"
        try:
            with plain_reading(where):
                path = guard_path(scene.path, folder, allowed, where=where)
                mask = None
                if scene.mask is not None:
                    mask_where = f"{where}, mask {scene.mask.path}"
                    mask = guard_path(scene.mask.path, folder, allowed, where=mask_where)
                    sources.append(_mask_source(mask, scene.mask, number, mask_where))
                pictures, source = _inspected(scene, number, path, mask, where)
        except SourceError as error:
            faults += error.faults
            continue
        rows += [{"scene": n} | row for n, row in enumerate(pictures, len(rows) + 1)]
        sources.append(source)
    frame = pd.DataFrame(rows, columns=pd.Index(SCENES.column_names))
    return conform(frame, SCENES), sources, faults


def _variable(scene: SceneSource, path: Path, where: str) -> str | None:
    """Variable of a netCDF file that is meant, None where there is no choice. Raises SourceError.

    Of several variables the one that is called NDVI is meant, where nobody says otherwise.
    """
    if scene.variable is None and path.suffix.lower() != NETCDF_SUFFIX:
        return None
    with open_raster(path, where) as raster:
        names = [text.rpartition(":")[2] for text in raster.subdatasets]
        is_netcdf = raster.driver == "netCDF"
    if scene.variable is not None and not is_netcdf:
        found, do = f'variable = "{scene.variable}"', "leave it out, or say band = …"
        raise SourceError.of(where, found, "a netCDF file", do)
    if not names:
        return None
    if scene.variable in names:
        return scene.variable
    indices = [name for name in names if "ndvi" in name.lower()]
    if scene.variable is None and scene.kind == "ndvi" and len(indices) == 1:
        return indices[0]
    found = f'variable = "{scene.variable}"' if scene.variable else f"{len(names)} variables"
    do = f"the file has {listed(names, 12)}; of bands in several variables make a GeoTIFF"
    raise SourceError.of(where, found, "variable = … for one of the file's", do)


def _inspected(
    scene: SceneSource, number: int, path: Path, mask: Path | None, where: str
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Rows of the layer ``scenes`` and one of ``sources`` of one raster. Raises SourceError."""
    with rasterio.Env(**RASTER_OPTIONS):
        variable = _variable(scene, path, where)
        with open_raster(path, where, variable) as raster:
            named = scene_name(path.name)
            pictures, faults = pictures_of(scene, named, raster, where)
            faults = [
                *placing_faults(raster, where),
                *faults,
                *(fault for picture in pictures[:1] for fault in _kinds(raster, picture, where)),
                *(fault for p in pictures for fault in _date_faults(scene, named, p, where)),
                *_sensor_faults(scene, named, where),
            ]
            if faults:
                raise SourceError(faults)
            used = {band for picture in pictures for band in picture.bands.values()}
            source = source_row(raster, path, scene.path, f"scenes {number}", len(used))
            file = {"path": str(path), "variable": variable, "sha256": source["sha256"]}
            file["pixel_m2"] = pixel_m2(raster)
            rows = [
                file
                | _as_given(scene, named, picture, mask)
                | _as_stored(scene, named, raster, picture, where)
                for picture in pictures
            ]
            for row, picture in zip(rows, pictures, strict=True):
                several = len(pictures) > 1
                row["name"] = f"{scene.path}, {picture.taken}" if several else scene.path
    return rows, source


def _as_given(
    scene: SceneSource, named: SceneName, picture: Picture, mask: Path | None
) -> dict[str, Any]:
    """Cells of the layer ``scenes`` that property file and file name fill."""
    line = LANDSAT_8_LINE if scene.as_landsat_8 else AS_IT_STANDS
    lowest, highest = scene.valid_range or RANGES[scene.kind]
    rule = scene.mask
    return {
        "kind": scene.kind,
        "date": pd.Timestamp(picture.taken),
        "span_days": scene.span_days or named.span_days,
        "sensor": named.sensor,
        "line_scale": line.scale,
        "line_offset": line.offset,
        "lowest": lowest,
        "highest": highest,
        "offset_unknown": named.offset_unknown and scene.offset is None,
        "mask_path": str(mask) if mask else None,
        "mask_preset": rule.preset if rule else None,
        "drop_bits": _joined(rule.drop_bits) if rule else None,
        "keep_values": _joined(rule.keep_values) if rule else None,
        "mask_nodata_is_clear": bool(rule and rule.nodata_is_clear),
    }


def _as_stored(
    scene: SceneSource, named: SceneName, raster: DatasetReader, picture: Picture, where: str
) -> dict[str, Any]:
    """Cells of the layer ``scenes`` on the numbers of a picture. Raises SourceError."""
    used = list(picture.bands.values())
    fill = named.fill if _all_whole(raster, used) else None
    if scene.kind == "ndvi" and fill == 0:
        fill = None  # it is that of reflectance: an index may be 0
    bands = {f"{name}_band": picture.bands.get(name) for name in ("ndvi", *REFLECTANCE)}
    return {
        "product_fill": fill if scene.fill is None else scene.fill,
        "zero_is_fill": scene.kind == "reflectance" and _has_no_fill(raster, used),
        **bands,
        **_scale(scene, named, raster, used, where),
    }


def source_row(
    raster: DatasetReader, path: Path, given: str, role: str, used: int
) -> dict[str, Any]:
    """Row of the layer ``sources``; the bands stand for the rows."""
    return {
        "source": role,
        "path": given.replace("\\", "/"),
        "sha256": sha256_of(_parts(raster, path)),
        "driver": raster.driver,
        "crs": raster.crs.to_string() if raster.crs else None,
        "rows_read": raster.count,
        "rows_used": used,
    }


def _parts(raster: DatasetReader, path: Path) -> list[Path]:
    """The file of a raster and those beside it that belong to it."""
    beside = {Path(name) for name in raster.files} - {path}
    return [path, *(part for part in beside if part.is_file())]


def _mask_source(path: Path, rule: SceneMask, number: int, where: str) -> dict[str, Any]:
    """Row of the layer ``sources`` of a quality raster. Raises SourceError."""
    with rasterio.Env(**RASTER_OPTIONS), open_raster(path, where) as raster:
        faults = placing_faults(raster, where)
        if np.dtype(raster.dtypes[0]).kind not in "iu":
            found, do = f"holds {raster.dtypes[0]} values", "give the product's own quality raster"
            faults.append(Fault(where, found, "whole numbers", do))
        bits = 8 * np.dtype(raster.dtypes[0]).itemsize
        if rule.drop_bits and max(rule.drop_bits) >= bits:
            found = f"drop_bits has {max(rule.drop_bits)}, the file {bits} bits"
            faults.append(Fault(where, found, "bits that it has", "count them from 0"))
        if faults:
            raise SourceError(faults)
        return source_row(raster, path, rule.path, f"scenes {number} mask", 1)


def placing_faults(raster: DatasetReader, where: str) -> list[Fault]:
    """Faults of a raster whose pixels cannot be put on the ground."""
    fault = partial(Fault, where)
    faults = crs_faults(raster, where)
    a, b, _, d, e, _ = raster.transform[:6]
    if b or d or a <= 0:
        found, expected = "a rotated or mirrored grid", "rows that run west to east"
        faults.append(fault(found, expected, "warp it first (gdalwarp)"))
    elif raster.transform.is_identity or not e:
        found, expected = "no place on the ground", "a corner and a pixel size"
        faults.append(fault(found, expected, "warp it first (gdalwarp)"))
    return faults


def _kinds(raster: DatasetReader, picture: Picture, where: str) -> Iterator[Fault]:
    """Faults of bands whose numbers cannot be used."""
    for band in picture.bands.values():
        if np.dtype(raster.dtypes[band - 1]).kind not in "iuf":
            found = f"band {band} holds {raster.dtypes[band - 1]} values"
            yield Fault(where, found, "whole or decimal numbers", "export it again")


def _date_faults(
    scene: SceneSource, named: SceneName, picture: Picture, where: str
) -> Iterator[Fault]:
    """Faults of a date that nobody gives, or of two that contradict each other."""
    if picture.taken is None and named.days:
        found = f"its name has several days: {listed(named.days)}"
        do = "say date = …, the day the picture was taken (and span_days = … of a composite)"
        yield Fault(where, found, "one of them", do)
    elif picture.taken is None:
        found = "no date, and none can be read from the file's name"
        do = "say date = 2026-07-20, the day the picture was taken"
        yield Fault(where, found, "date = …", do)
    if scene.date and named.sensor and named.taken and scene.date != named.taken:
        found = f"date = {scene.date}, the product's name says {named.taken}"
        do = "mend the date, or leave it out"
        yield Fault(where, found, "the day the picture was taken", do)


def _sensor_faults(scene: SceneSource, named: SceneName, where: str) -> Iterator[Fault]:
    """Faults of NDVI from a sensor that no line to Landsat 8 was published for."""
    if scene.as_landsat_8 and named.sensor not in (None, *OLDER_LANDSATS):
        found = f"as_landsat_8, and the product's name says {named.sensor}"
        yield Fault(where, found, "a scene of Landsat 4, 5 or 7", "leave as_landsat_8 out")


def _scale(
    scene: SceneSource, named: SceneName, raster: DatasetReader, used: list[int], where: str
) -> dict[str, Any]:
    """Scale and offset, given once and applied once. Raises SourceError where nobody gives them."""
    of_file = _scaling_of_file(raster, used, where)
    of_product = named.scalings.get(scene.kind) if _all_whole(raster, used) else None
    scaling, origin = _chosen_scaling(scene, of_file, of_product)
    try:
        stored = sampled_numbers(raster, used)
    except RasterioError as error:
        raise SourceError(unreadable(where)) from error
    if not len(stored):
        stored = np.zeros(1)
    small, largest = np.percentile(stored, [LOW_PERCENTILE, HIGH_PERCENTILE])
    low, high = scaling.value(np.array([small, largest])).tolist()
    if high > HIGHEST_INDEX:
        found = f"values up to {largest:g}, times {scaling.scale:g} plus {scaling.offset:g}"
        do = "mend scale and offset"
        if origin == "none_needed":
            do = "say scale = … as the product's description has it (often 0.0001)"
        if named.offset_unknown:
            do = "say scale = 0.0001 and offset = -0.1, or offset = 0.0 of a harmonized file"
        raise SourceError.of(where, found, f"{scene.kind} of at most {HIGHEST_INDEX:g}", do)
    return {
        "low": low,
        "high": high,
        "scale": scaling.scale,
        "offset": scaling.offset,
        "scale_origin": origin,
        "file_scale": of_file.scale,
        "file_offset": of_file.offset,
        "product_scale": of_product.scale if of_product else None,
        "product_offset": of_product.offset if of_product else None,
    }


def _scaling_of_file(raster: DatasetReader, used: list[int], where: str) -> Scaling:
    """Scale and offset that the file itself gives for its bands. Raises SourceError."""
    of_bands = {Scaling(raster.scales[band - 1], raster.offsets[band - 1]) for band in used}
    if len(of_bands) > 1:
        found, do = "bands with different scales", "export the bands with one scale"
        raise SourceError.of(where, found, "one for all", do)
    scaling = of_bands.pop()
    if not (scaling.scale > 0 and np.isfinite([scaling.scale, scaling.offset]).all()):
        found = f"the file says scale {scaling.scale:g} and offset {scaling.offset:g}"
        raise SourceError.of(where, found, "a scale above 0", "export it again without them")
    return scaling


def _chosen_scaling(
    scene: SceneSource, of_file: Scaling, of_product: Scaling | None
) -> tuple[Scaling, str]:
    """The scaling that is applied, and who gives it.

    The property file comes before the file's own tags, and those before the product's name.
    """
    if scene.scale is not None or scene.offset is not None:
        scale = 1.0 if scene.scale is None else scene.scale
        return Scaling(scale, scene.offset or 0.0), "property_file"
    if of_file != AS_IT_STANDS:
        return of_file, "file"
    return (of_product, "product_name") if of_product else (AS_IT_STANDS, "none_needed")


def _has_no_fill(raster: DatasetReader, used: list[int]) -> bool:
    """Whether the file has whole numbers and no sign for "no data": then 0 is that sign."""
    has_sign = raster.nodata is not None or _has_mask_band(raster)
    return _all_whole(raster, used) and not has_sign


def _all_whole(raster: DatasetReader, used: list[int]) -> bool:
    """Whether all these bands hold whole numbers."""
    return all(np.dtype(raster.dtypes[band - 1]).kind in "iu" for band in used)


def _has_mask_band(raster: DatasetReader) -> bool:
    """Whether validity is told by a mask or alpha band instead of a value."""
    flags = {flag.name for band in raster.mask_flag_enums for flag in band}
    return bool(flags & {"per_dataset", "alpha"})


def _joined(numbers: Iterable[int] | None) -> str | None:
    """Numbers as one text with commas between them, None where there are no numbers."""
    return None if numbers is None else ",".join(map(str, numbers))
