"""Names of files, layers, units and columns that are no text, or orders to a terminal."""

import json
import shutil

import geopandas as gpd

from tests.hostile.ground import (
    CHECK,
    RUN,
    SCENE,
    START,
    UNITS,
    collection,
    squares,
    write_map,
    write_picture,
    write_property,
)
from tests.hostile.registry import maker
from tests.hostile.tables import LOTS


@maker
def escapes_in_dbf(folder, url):
    """Names of units that are orders to a terminal."""
    shapes = dict(zip(("\x1b[31mA", "\x9b2JB"), squares().values(), strict=True))
    write_property(folder, UNITS.replace("units.geojson", "map.shp"))
    write_map(folder / "map.shp", shapes, "ESRI Shapefile")
    return RUN


@maker
def escapes_in_geojson(folder, url):
    """The same, and a column."""
    write_property(folder)
    shapes = dict(zip(("\x1b[31mA", "\u202eB"), squares().values(), strict=True))
    text = json.dumps(collection(shapes)).replace('"UNIT"', '"UNIT\\u001b[5m"')
    (folder / "units.geojson").write_text(text)
    return CHECK


@maker
def escapes_in_layer(folder, url):
    """Layers of a GeoPackage whose names are orders to a terminal."""
    write_property(folder, UNITS.replace("units.geojson", "map.gpkg"))
    write_map(folder / "map.gpkg", squares())

    frame = gpd.GeoDataFrame(geometry=list(squares().values()), crs=4326)
    frame.to_file(folder / "map.gpkg", layer="\x1b[31mred", engine="pyogrio")
    return CHECK


@maker
def start_escapes(folder, url):
    """File names, layers, columns and values that are orders to a terminal, seen by a look."""
    escapes_in_layer(folder, url)
    escapes_in_dbf(folder, url)
    shutil.copy(folder / "units.geojson", folder / "\x1b[31munits.geojson")
    (folder / "\x1b[2Jlots.csv").write_text("\x1b[31mlot,species\n\x1b[5m1,2\n")
    return ("start", ".", "--explain")


@maker
def name_not_utf8(folder, url):
    """Files whose names are no text."""
    write_property(folder)
    shutil.copy(folder / "units.geojson", folder / "unit\udcff.geojson")
    write_picture(folder / "picture.tif")
    shutil.copy(folder / "picture.tif", folder / "picture\udcff.tif")
    (folder / "lots\udcff.csv").write_text(LOTS)
    return START


@maker
def property_not_utf8(folder, url):
    """A property file whose name is no text."""
    write_property(folder)
    (folder / "small.toml").rename(folder / "small\udcff.toml")
    return ("run", "small\udcff.toml")


@maker
def folder_not_utf8(folder, url):
    """A folder whose name is no text, in which a run is written."""
    inner = folder / "place"
    inner.mkdir()
    write_property(inner, UNITS + SCENE)
    write_picture(inner / "picture.tif")
    inner.rename(folder / "place\udcff")
    return ("run", "place\udcff/small.toml")
