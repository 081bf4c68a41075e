"""A property of four squares of forty acres, and ways to spoil it, for tests of the commands."""

import geopandas as gpd
import numpy as np
import rasterio
from shapely import box

from pipeline.cli import main

PROPERTY = """
[property]
name = "Four Forties"
season = 2027

[sources.units]
path = "units.geojson"
columns = { unit_id = "UNIT" }
"""


SEEDING = """
[sources.mixes]
path = "mixes.csv"
[sources.species]
path = "species.csv"

[[seedings]]
area = "North"
units = ["A"]
mix = "dry"
method = "drill"
"""


SCENE = """
[[sources.scenes]]
path = "scene.tif"
date = 2026-07-20
kind = "ndvi"
"""


def forties():
    """Four squares of forty acres that share their sides."""
    side = 402.336
    shapes = [box(x, y, x + side, y + side) for x in (0, side) for y in (0, side)]
    frame = gpd.GeoDataFrame({"UNIT": list("ABCD")}, geometry=shapes)
    return frame.set_crs("+proj=laea +lat_0=40 +lon_0=-96 +datum=WGS84 +units=m")


def write_four_forties(folder):
    """Units, a property file, and tables of a mix and its species."""
    forties().to_crs(4326).to_file(folder / "units.geojson")
    (folder / "four.toml").write_text(PROPERTY)
    (folder / "mixes.csv").write_text("mix,species,pls_lb_ac\ndry,Andropogon gerardii,6\n")
    (folder / "species.csv").write_text(
        "species,common_name,seeds_per_lb\nAndropogon gerardii,big bluestem,144240\n"
    )


def run(folder, *words):
    return main(["run", str(folder / "four.toml"), *words])


def text(name, content):
    return lambda folder: (folder / name).write_text(content)


def more(content):
    return lambda folder: (folder / "four.toml").write_text(PROPERTY + content)


def units(change):
    def write(folder):
        frame = change(forties())
        (folder / "units.geojson").unlink()
        frame.to_file(folder / "units.geojson")

    return write


def both(*changes):
    def write(folder):
        for change in changes:
            change(folder)

    return write


PROFILE = {
    "driver": "GTiff",
    "width": 10,
    "height": 10,
    "count": 1,
    "dtype": "float32",
    "crs": "EPSG:32614",
    "transform": rasterio.Affine(10, 0, 7e5, 0, -10, 4.43e6),
}


def raster(**profile):
    def write(folder):
        with rasterio.open(folder / "scene.tif", "w", **(PROFILE | profile)) as made:
            made.write(np.full((10, 10), 0.5, "float32"), 1)

    return write
