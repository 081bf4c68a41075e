"""A small property of four units whose sources can be spoiled one by one."""

import geopandas as gpd
import pytest
from shapely import LineString, box

from pipeline.core.errors import SourceError
from pipeline.runner import read_property

X, Y, SIDE = 700_000.0, 4_430_000.0, 402.336


UTM = "EPSG:26914"


PROPERTY = """
[property]
name = "East Place"
season = 2027
[sources.units]
path = "units.shp"
columns = { unit_id = "UNIT" }
"""


BREAKS = """
[[sources.breaks]]
path = "roads.gpkg"
kind = "road"
width_ft = 16
[[sources.breaks]]
path = "creek.geojson"
kind = "creek"
"""


LISTS = """
[[burns]]
block = "North"
units = ["A", "B"]
fuel_height_ft = 4
[[burns]]
block = "South"
units = ["C"]
[[seedings]]
area = "East"
units = ["D"]
mix = "dry"
method = "drill"
[[comparisons]]
name = "Spring"
before = 2025-07-20
after = 2026-07-22
burned = ["A"]
reference = ["C", "D"]
"""


def intake(folder, text):
    (folder / "p.toml").write_text(text)
    return read_property(folder / "p.toml")[1]


def write_east_place(folder):
    """Four squares of forty acres, a road, a creek and a mix."""
    shapes = [box(X + n * SIDE, Y, X + (n + 1) * SIDE, Y + SIDE) for n in range(4)]
    units = gpd.GeoDataFrame({"UNIT": list("ABCD")}, geometry=shapes, crs=UTM)
    units.to_file(folder / "units.shp")
    road = LineString([(X, Y), (X + 2 * SIDE, Y)])
    gpd.GeoDataFrame({"n": [1]}, geometry=[road], crs="EPSG:26914").to_file(folder / "roads.gpkg")
    gpd.GeoDataFrame({"n": [1]}, geometry=[road], crs=UTM).to_crs(4326).to_file(
        folder / "creek.geojson"
    )
    (folder / "mixes.csv").write_text("mix,species,pls_lb_ac\ndry,Andropogon gerardii,6\n")


def faults(folder, text):
    with pytest.raises(SourceError) as caught:
        intake(folder, text)
    return [str(fault) for fault in caught.value.faults]


MIXES = '[sources.mixes]\npath = "mixes.csv"\n'
