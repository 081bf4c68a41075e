"""Pictures of numbers and places that no picture of the ground has."""

import rasterio

from tests.hostile.ground import HEIGHTS, RUN, SCENE, START, UNITS, write_picture, write_property
from tests.hostile.maps import crs_of_the_moon
from tests.hostile.registry import MAKERS, maker


@maker
def picture_of_the_moon(folder, url):
    """A raster on another body."""
    crs_of_the_moon(folder, url)
    moon = (folder / "map.prj").read_text()
    write_property(folder, UNITS + SCENE)
    write_picture(folder / "picture.tif")
    with rasterio.open(folder / "picture.tif", "r+") as raster:
        raster.crs = rasterio.crs.CRS.from_wkt(moon)
    return RUN


def _picture(name, sources=UNITS + SCENE, command=RUN, **more):
    def make(folder, url):
        write_property(folder, sources)
        write_picture(folder / "picture.tif", **more)
        return command

    MAKERS[name] = make


TINY = rasterio.Affine(1e-9, 0, 585_400, 0, -1e-9, 4_429_000)
HUGE = rasterio.Affine(1e9, 0, 585_400, 0, -1e9, 4_429_000)
NAN = rasterio.Affine(float("nan"), 0, 585_400, 0, -20, 4_429_000)
_picture("complex_picture", kind="complex64")
_picture("complex_heights", UNITS + HEIGHTS, kind="complex64")
_picture("start_complex", command=START, kind="complex64")
_picture("tiny_pixels", place=TINY)
_picture("tiny_heights", UNITS + HEIGHTS, place=TINY)
_picture("huge_pixels", place=HUGE)
_picture("huge_heights", UNITS + HEIGHTS, place=HUGE)
_picture("nan_pixels", place=NAN)
_picture("nan_heights", UNITS + HEIGHTS, place=NAN)
_picture("nan_picture", fill=float("nan"))
_picture("infinite_heights", UNITS + HEIGHTS, fill=float("inf"))


@maker
def huge_sparse_picture(folder, url):
    """A raster that says it has more pixels than could be read."""
    write_property(folder, UNITS + SCENE)
    with rasterio.open(
        folder / "picture.tif",
        "w",
        driver="GTiff",
        width=300_000,
        height=300_000,
        count=1,
        dtype="float32",
        crs="EPSG:32614",
        transform=rasterio.Affine(0.005, 0, 585_000, 0, -0.005, 4_429_500),
        sparse_ok=True,
        tiled=True,
        bigtiff=True,
        blockxsize=16384,
        blockysize=16384,
    ):
        pass
    return RUN
