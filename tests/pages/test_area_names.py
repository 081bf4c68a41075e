"""Names of blocks and seed areas, and winds, on the map: inside their ground, the right way.

A wind is named by where it comes from (WMO-No. 8, Guide to Instruments and Methods of Observation,
part I, 5.1): a west wind, 270 degrees, blows to the east.
"""

import math
import re

import geopandas as gpd
import pytest
import shapely
from lxml import etree

from pipeline.catalog import LAYERS
from pipeline.pages.map_frame import MapFrame
from pipeline.pages.maps.area_names import block_names, wind_arrows

FRAME = MapFrame(west=0.0, north=1000.0, width_m=1000.0, height_m=1000.0)
SHAPE = shapely.Polygon([(100, 100), (900, 100), (900, 300), (300, 300), (300, 900), (100, 900)])


def blocks(*winds):
    told = {column.name: None for column in LAYERS["burn_blocks"].columns}
    rows = [told | {"block": f"B{n}", "wind_from_deg": wind} for n, wind in enumerate(winds)]
    return gpd.GeoDataFrame(rows, geometry=[SHAPE] * len(rows), crs=26914)


@pytest.mark.parametrize(("wind", "east", "north"), [(270, 1, 0), (0, 0, -1), (225, 0.7, 0.7)])
def test_an_arrow_points_to_where_the_wind_blows(wind, east, north):
    (drawn,) = wind_arrows(blocks(wind), FRAME)
    (x, y), (tip_x, tip_y) = [
        tuple(map(int, pair.split()))
        for pair in re.match(
            r"M([-\d ]+)L([-\d ]+)M", etree.fromstring(str(drawn)).get("d")
        ).groups()
    ]
    length = math.hypot(tip_x - x, tip_y - y)
    assert (tip_x - x) / length == pytest.approx(east, abs=0.02)
    assert (y - tip_y) / length == pytest.approx(north, abs=0.02)


def test_a_block_without_a_planned_wind_has_no_arrow_and_is_named_inside_its_ground():
    assert len(wind_arrows(blocks(None, 90), FRAME)) == 1
    for name in block_names(blocks(None, 90), FRAME):
        text = etree.fromstring(str(name))
        assert SHAPE.contains(
            shapely.Point(int(text.get("x")) / 10, 1000 - int(text.get("y")) / 10)
        )
