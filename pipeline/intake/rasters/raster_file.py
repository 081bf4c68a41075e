"""Open a raster: by the format that its own bytes tell, and with no part that lies elsewhere."""

import warnings
from collections.abc import Container
from functools import partial
from glob import escape as glob_escape
from pathlib import Path

import geopandas as gpd
import numpy as np
import rasterio
import shapely
from pyproj import CRS
from rasterio.errors import NotGeoreferencedWarning, RasterioError
from rasterio.io import DatasetReader

from pipeline.core.errors import Fault, SourceError
from pipeline.core.limits import PICTURE_BLOCK
from pipeline.ground.geometry import area_m2, is_of_the_earth
from pipeline.intake.network import OFF

SUFFIXES_BY_DRIVER = {
    "GTiff": (".tif", ".tiff"),
    "JP2OpenJPEG": (".jp2",),
    "HFA": (".img",),
    "ENVI": (".dat", ".bin", ".img"),
    "netCDF": (".nc",),
}
"""Formats that hold their pixels themselves; a virtual one could reach any other file."""

RASTER_SUFFIXES = frozenset(one for several in SUFFIXES_BY_DRIVER.values() for one in several)

DRIVER_BY_START = {
    b"II*\0": "GTiff",
    b"MM\0*": "GTiff",
    b"II+\0": "GTiff",
    b"MM\0+": "GTiff",
    b"\0\0\0\x0cjP": "JP2OpenJPEG",
    b"\xff\x4f\xff\x51": "JP2OpenJPEG",
    b"EHFA_HEADER_TAG": "HFA",
    b"CDF\x01": "netCDF",
    b"CDF\x02": "netCDF",
    b"CDF\x05": "netCDF",
    b"\x89HDF\r\n\x1a\n": "netCDF",
}
"""How a file of each format begins; one of ENVI begins with any pixel and has a header beside."""

RASTER_OPTIONS = {"GDAL_CACHEMAX": 64 << 20, "GDAL_DISABLE_READDIR_ON_OPEN": "TRUE", **OFF}
"""64 MiB of decoded blocks; the default is a twentieth of the memory, for each process.

Files beside a raster that belong to it (a mask, its scale) are looked for by name; the folder is
not listed.
"""

PICTURES_BESIDE = (".ovr", ".msk")
"""Files beside a raster with smaller copies of it, or where it has data: TIFF, or HFA."""

TEXTS_BESIDE = (".xml",)
NOT_IN_TEXTS = (b"overview_file", b"<vrt", b"/vsi")
"""What a text beside a raster says only where it names other files."""

NETCDF_SUFFIX = ".nc"

SMALLEST_PIXEL, LARGEST_PIXEL = 1e-7, 1e5
"""Side of a pixel in units of its system: a centimeter in degrees, a hundred km in meters."""


def open_raster(path: Path, where: str, variable: str | None = None) -> DatasetReader:
    """The raster, or a variable of a netCDF file, opened by a known driver. Raises SourceError."""
    refused = partial(SourceError.of, where)
    expected, do = f"one of {', '.join(SUFFIXES_BY_DRIVER)}", "save it as GeoTIFF"
    try:
        driver = _format(path)
        if driver is None:
            raise refused("not a raster of a format that is read", expected, do)
        _check_beside(path, where)
        if driver == "netCDF" and driver not in _drivers():
            found = "a netCDF file, which the rasterio that is installed cannot read"
            raise refused(found, "a GeoTIFF", f"{do}, or install rasterio's own wheel")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            name = path if variable is None else f'netcdf:"{path}":{variable}'
            raster = rasterio.open(name, driver=driver)
    except (RasterioError, OSError, ValueError) as error:
        found = f"cannot be opened as a raster ({_first_line(error)})"
        raise refused(found, "a GeoTIFF or another common raster", do) from error
    if "OVERVIEW_FILE" in raster.tags(ns="OVERVIEWS"):
        raster.close()
        raise _reaching(path, where)
    return raster


def _format(path: Path) -> str | None:
    """Name of the driver for a raster by its first bytes, None for anything else."""
    with path.open("rb") as file:
        head = file.read(16)
    for start, driver in DRIVER_BY_START.items():
        if head.startswith(start):
            return driver
    headers = (path.with_suffix(".hdr"), path.with_name(f"{path.name}.hdr"))
    return "ENVI" if any(header.is_file() for header in headers) else None


def _check_beside(path: Path, where: str) -> None:
    """Raise SourceError where a file beside a raster, which is read with it, reaches elsewhere."""
    own = path.parent.resolve()
    beside = [*path.parent.glob(f"{glob_escape(path.name)}.*"), path.with_suffix(".aux")]
    for part in beside:
        suffix = part.suffix.lower()
        if not part.is_file():
            continue
        if not part.resolve().is_relative_to(own):
            raise _reaching(part, where)
        if suffix in PICTURES_BESIDE and _format(part) not in ("GTiff", "HFA"):
            raise _reaching(part, where)
        if suffix in TEXTS_BESIDE and any(w in part.read_bytes().lower() for w in NOT_IN_TEXTS):
            raise _reaching(part, where)


def _reaching(path: Path, where: str) -> SourceError:
    """The error of a raster, or a file beside it, that is read from other files."""
    do = "delete it if it lies beside the raster, or save the raster anew as GeoTIFF"
    found = f"{path.name} names other files to read from"
    return SourceError.of(where, found, "a raster that holds its own pixels", do)


def _drivers() -> Container[str]:
    """Names of the formats that the installed rasterio reads."""
    with rasterio.Env() as env:
        return env.drivers()


def unreadable(where: str) -> Fault:
    """The fault of a raster that opens and whose pixels cannot be read."""
    found, do = "its pixels cannot be read to the end", "download or export it again"
    return Fault(where, found, "a whole file", do)


def crs_faults(raster: DatasetReader, where: str) -> list[Fault]:
    """The fault of a raster that does not say where on the earth it lies, or with odd pixels."""
    side = max(abs(step) for step in raster.transform[:2])
    if not SMALLEST_PIXEL <= side <= LARGEST_PIXEL and not raster.transform.is_identity:
        found, expected = f"pixels of {side:g} units", "pixels that can be meant"
        return [Fault(where, found, expected, "export it again with its place")]
    row, column = raster.block_shapes[0] if raster.block_shapes else (0, 0)
    block = row * column * max(np.dtype(kind).itemsize for kind in raster.dtypes)
    if block > PICTURE_BLOCK.most:
        found = f"blocks of {block / 1e6:,.0f} MB"
        return [Fault(where, found, str(PICTURE_BLOCK), "save it as a GeoTIFF in tiles")]
    if raster.crs is None:
        do = "export it again with its reference system"
        return [Fault(where, "no coordinate reference system", "one in the file", do)]
    if not is_of_the_earth(CRS.from_user_input(raster.crs)):
        found = "a reference system not tied to the earth"
        return [Fault(where, found, "a geographic or projected one", "export it again")]
    return []


def pixel_m2(raster: DatasetReader) -> float:
    """Ground [m²] of a pixel in the middle of a raster."""
    middle = np.array([raster.width // 2, raster.height // 2])
    corners = middle + np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    a, b, left, d, e, top = raster.transform[:6]
    pixel = shapely.Polygon(corners @ np.array([[a, d], [b, e]]) + (left, top))
    return float(area_m2(gpd.GeoSeries([pixel], crs=raster.crs))[0])


def _first_line(error: Exception) -> str:
    """The first line of a library's message, cut to a short one."""
    return (str(error).splitlines() or ["no reason given"])[0][:120]
