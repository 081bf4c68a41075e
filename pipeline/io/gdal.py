"""The two builds of the map library that are used, set the same way for each opening."""

from collections.abc import Iterator
from contextlib import contextmanager

import fiona
import pyogrio

# Rings are sorted by what lies in what, not by their direction, which drawing programs get wrong.
# The network is off: a file on disk has no business there.
OPTIONS = {
    "OGR_ORGANIZE_POLYGONS": "DEFAULT",
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": "{none}",
    "GDAL_DISABLE_READDIR_ON_OPEN": "FALSE",
}


@contextmanager
def gdal_options(**more: str) -> Iterator[None]:
    """Options for both builds; those of before hold again afterwards."""
    options = OPTIONS | more
    before = {name: pyogrio.get_gdal_config_option(name) for name in options}
    pyogrio.set_gdal_config_options(options)
    try:
        with fiona.Env(**options):
            yield
    finally:
        pyogrio.set_gdal_config_options(before)
