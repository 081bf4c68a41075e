"""The plain property that a hostile file is put into: two squares, a property file, a raster."""

import json
import sqlite3
from contextlib import closing

import geopandas as gpd
import numpy as np
import rasterio
import shapely

LEFT, BOTTOM, SIDE = -96.0, 40.0, 0.0036
PLACE = rasterio.Affine(20, 0, 585_000, 0, -20, 4_429_500)

HEAD = """
[property]
name = "Small Place"
season = 2027

[sources]
"""
BURN = """
[[burns]]
block = "West"
units = ["A"]
wind_from_deg = 225
fuel_height_ft = 4.0
"""
UNITS = 'units = { path = "units.geojson", columns = { unit_id = "UNIT" } }\n'
SCENE = 'scenes = [{ path = "picture.tif", date = 2026-07-20, kind = "ndvi" }]\n'
HEIGHTS = 'elevation = { path = "picture.tif", height_unit = "ft" }\n'
CHECK, RUN, START = ("check", "small.toml"), ("run", "small.toml"), ("start", ".")


def write_property(folder, sources=UNITS, more=""):
    """The property file, and the map of its units."""
    (folder / "small.toml").write_text(HEAD + sources + more)
    (folder / "units.geojson").write_text(json.dumps(collection(squares())))


def squares():
    """Outlines of two units of some 30 acres, by name."""
    return {
        name: shapely.box(LEFT + n * SIDE, BOTTOM, LEFT + (n + 1) * SIDE, BOTTOM + SIDE)
        for n, name in enumerate("AB")
    }


def collection(shapes):
    """GeoJSON of shapes by name."""
    return {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"UNIT": name},
                "geometry": shapely.geometry.mapping(shape),
            }
            for name, shape in shapes.items()
        ],
    }


def write_map(path, shapes, driver="GPKG", crs=4326):
    """Shapes by name in a map file."""
    frame = gpd.GeoDataFrame({"UNIT": list(shapes)}, geometry=list(shapes.values()), crs=crs)
    frame.to_file(path, driver=driver, engine="pyogrio", layer="units")


def write_picture(path, kind="float32", place=PLACE, fill=0.5, **more):
    """A raster of 50 × 50 pixels around the units."""
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=50,
        height=50,
        count=1,
        dtype=kind,
        crs="EPSG:32614",
        transform=place,
        **more,
    ) as raster:
        raster.write(np.full((50, 50), fill, kind), 1)


def change_database(path, *commands):
    """Run commands on a database."""
    with closing(sqlite3.connect(path)) as database, database:
        for command in commands:
            database.execute(command)
