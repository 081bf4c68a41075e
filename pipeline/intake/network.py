"""Keep the libraries that open files from reaching beyond the file they are given.

Nor may they read it otherwise on a computer of another language. Called before any of them is
loaded. A file may name a server or another file in many ways, and the formats that exist for that
are opened also as a part beside a harmless file.
"""

import contextlib
import locale
import logging
import os

OFF = {
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": "{none}",
    "GDAL_HTTP_PROXY": "none://off",
    "GDAL_HTTPS_PROXY": "none://off",
    "PROJ_NETWORK": "OFF",
}
"""Options of GDAL and PROJ. A proxy of an unknown kind ends each request before a socket opens."""

ELSEWHERE = (
    # made of other files
    *("OGR_VRT", "GTI", "GDALG", "DERIVED", "MRF", "Zarr", "PDS4", "KMLSUPEROVERLAY"),
    *("GNMFile", "GNMDatabase", "MBTiles", "PMTiles", "MVT", "Rasterlite", "PCIDSK", "TIL"),
    # servers, and a program that is started
    *("HTTP", "WMS", "WMTS", "WCS", "WFS", "OAPIF", "OGCAPI", "CSW", "STACTA", "STACIT"),
    *("EEDA", "EEDAI", "PLMOSAIC", "PLSCENES", "DAAS", "Carto", "AmigoCloud", "NGW"),
    *("Elasticsearch", "ADBC", "GPSBabel"),
)
"""Formats of GDAL that read from elsewhere; none of them is read, so that they are left out."""

TELL_OF_LEFT_OUT = ("rasterio._env", "fiona._env")
"""Logs that would warn of each of these formats that a build doesn't have anyway."""


def switch_off() -> None:
    """Turn off, in this process and those it starts, all that reaches beyond a file.

    What GDAL would write to the terminal by itself is dropped too: it may quote any file as it is.
    """
    os.environ.update(OFF)
    os.environ.setdefault("CPL_LOG", os.devnull)
    own = os.environ.get("GDAL_SKIP", "").replace(",", " ").split()
    os.environ["GDAL_SKIP"] = ",".join(dict.fromkeys((*own, *ELSEWHERE)))
    for name in TELL_OF_LEFT_OUT:
        logging.getLogger(name).setLevel(logging.ERROR)


def speak_plainly() -> None:
    """Have the C library compare letters as in English, whatever the language of the computer.

    GDAL asks it whether the names of options are the same: in Turkish, a small i is not that of a
    capital I, and options get lost. Where the system has no such alphabet, its own stays.
    """
    with contextlib.suppress(locale.Error):
        locale.setlocale(locale.LC_CTYPE, "C.UTF-8")
