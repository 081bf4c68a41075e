"""Look at the rasters of the property file without reading them whole."""

import warnings
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import rasterio
from pyproj import CRS
from rasterio.errors import NotGeoreferencedWarning, RasterioError
from rasterio.io import DatasetReader

from pipeline.core.errors import Fault, SourceError
from pipeline.core.layer import conform
from pipeline.intake.layers import SCENES
from pipeline.intake.safety import guard_path, sha256_of
from pipeline.intake.scene_names import AS_IT_STANDS, LANDSAT_8_LINE, Scaling, SceneName, scene_name
from pipeline.intake.settings import SceneMask, SceneSource

DRIVERS = ("GTiff", "JP2OpenJPEG", "HFA", "ENVI", "netCDF")
"""Formats that hold their pixels themselves; a virtual one could reach any other file."""


RASTER_OPTIONS = {"GDAL_CACHEMAX": 64 << 20, "GDAL_DISABLE_READDIR_ON_OPEN": "TRUE"}
"""64 MiB of decoded blocks; the default is a twentieth of the memory, for each process.

Files beside a raster that belong to it (a mask, its scale) are looked for by name; the folder is
not listed.
"""


OLDER_LANDSATS = ("LT04", "LT05", "LE07")


SAMPLE_PIXELS = 512


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
            path = guard_path(scene.path, folder, allowed, where=where)
            mask = None
            if scene.mask is not None:
                mask_where = f"{where}, mask {scene.mask.path}"
                mask = guard_path(scene.mask.path, folder, allowed, where=mask_where)
                sources.append(_mask_source(mask, scene.mask, number, mask_where))
            row, source = _inspected(scene, number, path, mask, where)
        except SourceError as error:
            faults += error.faults
            continue
        rows.append(row)
        sources.append(source)
    frame = pd.DataFrame(rows, columns=pd.Index(SCENES.column_names))
    return conform(frame, SCENES), sources, faults


def open_raster(path: Path, where: str) -> DatasetReader:
    """The raster, opened by a known driver. Raises SourceError."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            raster = rasterio.open(path)
    except (RasterioError, OSError, ValueError) as error:
        raise SourceError(
            Fault(where, f"cannot be opened as a raster ({_first_line(error)})",
                  "a GeoTIFF or another common raster", "save it as GeoTIFF")
        ) from error  # fmt: skip
    if raster.driver not in DRIVERS:
        driver = raster.driver
        raster.close()
        raise SourceError(Fault(where, f"a raster of the format {driver}",
                                f"one of {', '.join(DRIVERS)}", "save it as GeoTIFF"))  # fmt: skip
    return raster


def unreadable(where: str) -> Fault:
    """A raster that opens and whose pixels cannot be read."""
    return Fault(where, "its pixels cannot be read to the end", "a whole file",
                 "download or export it again")  # fmt: skip


def _first_line(error: Exception) -> str:
    """What a library says, in one short line."""
    return (str(error).splitlines() or ["no reason given"])[0][:120]


def _inspected(
    scene: SceneSource, number: int, path: Path, mask: Path | None, where: str
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Rows of the layers ``scenes`` and ``sources`` of one raster. Raises SourceError."""
    with rasterio.Env(**RASTER_OPTIONS), open_raster(path, where) as raster:
        bands = _bands(scene)
        faults = [*placing_faults(raster, where), *_band_faults(raster, bands, where)]
        named = scene_name(path.name)
        faults += [*_date_faults(scene, named, where), *_sensor_faults(scene, named, where)]
        if faults:
            raise SourceError(faults)
        used = [band for band in bands.values() if band]
        scale = _scale(scene, named, raster, used, where)
        line = LANDSAT_8_LINE if scene.as_landsat_8 else AS_IT_STANDS
        lowest, highest = scene.valid_range or RANGES[scene.kind]
        rule = scene.mask
        source = _source_row(raster, path, scene.path, f"scenes {number}", len(used))
        row = {
            "scene": number, "path": str(path), "name": scene.path, "kind": scene.kind,
            "sha256": source["sha256"],
            "product_fill": named.fill if _all_whole(raster, used) else None,
            "date": pd.Timestamp(scene.date or named.taken), "sensor": named.sensor,
            "span_days": scene.span_days or named.span_days,
            **bands, **scale, "line_scale": line.scale, "line_offset": line.offset,
            "lowest": lowest, "highest": highest,
            "zero_is_fill": scene.kind == "reflectance" and _no_fill_told(raster, used),
            "mask_path": str(mask) if mask else None,
            "mask_preset": rule.preset if rule else None,
            "drop_bits": _joined(rule.drop_bits) if rule else None,
            "keep_values": _joined(rule.keep_values) if rule else None,
        }  # fmt: skip
    return row, source


def _source_row(
    raster: DatasetReader, path: Path, told: str, role: str, used: int
) -> dict[str, Any]:
    """Row of the layer ``sources``; the bands stand for the rows."""
    return {
        "source": role, "path": told.replace("\\", "/"), "sha256": sha256_of(_parts(raster, path)),
        "driver": raster.driver, "crs": raster.crs.to_string() if raster.crs else None,
        "rows_read": raster.count, "rows_used": used,
    }  # fmt: skip


def _parts(raster: DatasetReader, path: Path) -> list[Path]:
    """The file of a raster and those beside it that belong to it."""
    beside = {Path(name) for name in raster.files} - {path}
    return [path, *(part for part in beside if part.is_file())]


def _mask_source(path: Path, rule: SceneMask, number: int, where: str) -> dict[str, Any]:
    """Row of the layer ``sources`` of a quality raster. Raises SourceError."""
    with rasterio.Env(**RASTER_OPTIONS), open_raster(path, where) as raster:
        faults = placing_faults(raster, where)
        if np.dtype(raster.dtypes[0]).kind not in "iu":
            faults.append(Fault(where, f"holds {raster.dtypes[0]} values", "whole numbers",
                                "give the product's own quality raster"))  # fmt: skip
        bits = 8 * np.dtype(raster.dtypes[0]).itemsize
        if rule.drop_bits and max(rule.drop_bits) >= bits:
            faults.append(Fault(where, f"drop_bits has {max(rule.drop_bits)}, the file {bits} bits",
                                "bits that it has", "count them from 0"))  # fmt: skip
        if faults:
            raise SourceError(faults)
        return _source_row(raster, path, rule.path, f"scenes {number} mask", 1)


def _bands(scene: SceneSource) -> dict[str, int | None]:
    """Band of each quantity, None where the raster has none."""
    told = scene.bands.model_dump() if scene.bands else {}
    bands = {f"{name}_band": told.get(name) for name in ("red", "nir", "swir1", "swir2")}
    return {"ndvi_band": 1 if scene.kind == "ndvi" else None, **bands}


def placing_faults(raster: DatasetReader, where: str) -> list[Fault]:
    """Why the pixels of a raster cannot be put on the ground."""
    faults = []
    a, b, _, d, e, _ = raster.transform[:6]
    if raster.crs is None:
        faults.append(Fault(where, "no coordinate reference system", "one in the file",
                            "export it again with its reference system"))  # fmt: skip
    elif CRS.from_user_input(raster.crs).geodetic_crs is None:
        faults.append(Fault(where, "a reference system not tied to the earth",
                            "a geographic or projected one", "export it again"))  # fmt: skip
    if b or d or a <= 0:
        faults.append(Fault(where, "a rotated or mirrored grid", "rows that run west to east",
                            "warp it first (gdalwarp)"))  # fmt: skip
    elif raster.transform.is_identity or not e:
        faults.append(Fault(where, "no place on the ground",
                            "a corner and a pixel size", "warp it first (gdalwarp)"))  # fmt: skip
    return faults


def _band_faults(
    raster: DatasetReader, bands: dict[str, int | None], where: str
) -> Iterable[Fault]:
    """Bands that are not there, or whose values cannot be used."""
    for name, band in bands.items():
        if band is None:
            continue
        if band > raster.count:
            told = f"{name.removesuffix('_band')} = {band}"
            yield Fault(where, f"{told}, the file has {raster.count}",
                        "a band of the file", "count the bands from 1")  # fmt: skip
        elif np.dtype(raster.dtypes[band - 1]).kind not in "iuf":
            yield Fault(where, f"band {band} holds {raster.dtypes[band - 1]} values",
                        "whole or decimal numbers", "export it again")  # fmt: skip
    if bands["ndvi_band"] and raster.count > 1:
        yield Fault(where, f'{raster.count} bands, and kind = "ndvi"', "one band",
                    'say kind = "reflectance" with its bands, or export NDVI alone')  # fmt: skip


def _date_faults(scene: SceneSource, named: SceneName, where: str) -> Iterable[Fault]:
    """A date that nobody tells, or two that contradict each other."""
    if scene.date is None and named.taken is None:
        yield Fault(where, "no date, and none can be read from the file's name", "date = …",
                    "say date = 2026-07-20, the day the picture was taken")  # fmt: skip
    if scene.date and named.sensor and named.taken and scene.date != named.taken:
        yield Fault(where, f"date = {scene.date}, the product's name says {named.taken}",
                    "the day the picture was taken", "mend the date, or leave it out")  # fmt: skip


def _sensor_faults(scene: SceneSource, named: SceneName, where: str) -> Iterable[Fault]:
    """NDVI of a sensor that no line to Landsat 8 was published for."""
    if scene.as_landsat_8 and named.sensor not in (None, *OLDER_LANDSATS):
        yield Fault(where, f"as_landsat_8, and the product's name says {named.sensor}",
                    "a scene of Landsat 4, 5 or 7", "leave as_landsat_8 out")  # fmt: skip


def _scale(
    scene: SceneSource, named: SceneName, raster: DatasetReader, used: list[int], where: str
) -> dict[str, Any]:
    """Scale and offset, told once and applied once. Raises SourceError where nobody tells them.

    The property file comes before the file's own tags, and those before the product's name.
    """
    of_file = {(raster.scales[band - 1], raster.offsets[band - 1]) for band in used}
    if len(of_file) > 1:
        raise SourceError(Fault(where, "bands with different scales", "one for all",
                                "export the bands with one scale"))  # fmt: skip
    of_the_file = Scaling(*of_file.pop())
    if not (of_the_file.scale > 0 and np.isfinite([of_the_file.scale, of_the_file.offset]).all()):
        raise SourceError(
            Fault(where, f"the file says scale {of_the_file.scale:g} and offset "
                  f"{of_the_file.offset:g}", "a scale above 0", "export it again without them")
        )  # fmt: skip
    of_product = named.scalings.get(scene.kind) if _all_whole(raster, used) else None
    if scene.scale is not None or scene.offset is not None:
        scale = 1.0 if scene.scale is None else scene.scale
        scaling, origin = Scaling(scale, scene.offset or 0.0), "property file"
    elif of_the_file != AS_IT_STANDS:
        scaling, origin = of_the_file, "file"
    elif of_product is not None:
        scaling, origin = of_product, "product name"
    else:
        scaling, origin = AS_IT_STANDS, "none needed"
    try:
        largest = _largest_of_sample(raster, used)
    except RasterioError as error:
        raise SourceError(unreadable(where)) from error
    if scaling.value(np.array(largest)) > HIGHEST_INDEX:
        do = "mend scale and offset"
        if origin == "none needed":
            do = "say scale = … as the product's description has it (often 0.0001)"
        raise SourceError(
            Fault(where, f"values up to {largest:g}, times {scaling.scale:g} plus "
                  f"{scaling.offset:g}", f"{scene.kind} of at most {HIGHEST_INDEX:g}", do)
        )  # fmt: skip
    return {
        "high": float(scaling.value(np.array(largest))),
        "scale": scaling.scale, "offset": scaling.offset, "scale_origin": origin,
        "file_scale": of_the_file.scale, "file_offset": of_the_file.offset,
        "product_scale": of_product.scale if of_product else None,
        "product_offset": of_product.offset if of_product else None,
    }  # fmt: skip


def _largest_of_sample(raster: DatasetReader, used: list[int]) -> float:
    """A large value (99th percentile) of every so many pixels, 0 where none is valid."""
    step = max(1, max(raster.shape) // SAMPLE_PIXELS)
    shape = (len(used), max(1, raster.height // step), max(1, raster.width // step))
    values = raster.read(used, out_shape=shape, masked=True).compressed().astype(float)
    values = values[np.isfinite(values)]
    return float(np.percentile(values, 99)) if len(values) else 0.0


def _no_fill_told(raster: DatasetReader, used: list[int]) -> bool:
    """Whether the file has whole numbers and no sign for "no data": then 0 is that sign."""
    told = raster.nodata is not None or _has_mask_band(raster)
    return _all_whole(raster, used) and not told


def _all_whole(raster: DatasetReader, used: list[int]) -> bool:
    """Whether all these bands hold whole numbers."""
    return all(np.dtype(raster.dtypes[band - 1]).kind in "iu" for band in used)


def _has_mask_band(raster: DatasetReader) -> bool:
    """Whether validity is told by a mask or alpha band instead of a value."""
    flags = {flag.name for band in raster.mask_flag_enums for flag in band}
    return bool(flags & {"per_dataset", "alpha"})


def _joined(numbers: Iterable[int] | None) -> str | None:
    """Numbers as one text, None for none."""
    return None if numbers is None else ",".join(map(str, numbers))
