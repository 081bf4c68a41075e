"""Breaks of the sources as two layers: each shape in one of them, and back again whole.

*Source*: a table is drawn by the kind of its shapes; OGC 06-103r4, Simple Features, 6.1,
has lines and ground as kinds of their own.
"""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.fire.breaks.given_breaks import given_breaks, list_break_areas, list_break_lines
from tests.literal_layers import literal_layer

ROAD = shapely.LineString([(0, 0), (400, 0)])
CREEK = shapely.MultiLineString([[(0, 50), (100, 60)], [(120, 60), (400, 50)]])
FIELD = shapely.box(0, 100, 400, 200)
PONDS = shapely.MultiPolygon([shapely.box(0, 300, 9, 309), shapely.box(50, 300, 59, 309)])
CRS = 26914


def breaks(*shapes):
    cells = [
        {"source_id": 1, "source_row": n, "kind": shape.geom_type, "width_ft": None}
        for n, shape in enumerate(shapes, 1)
    ]
    return literal_layer("breaks", cells, shapes=list(shapes), crs=CRS)


def split(given):
    lines, areas = list_break_lines(given), list_break_areas(given)
    return conform(lines, LAYERS["break_lines"], CRS), conform(areas, LAYERS["break_areas"], CRS)


@pytest.mark.parametrize(
    "shapes",
    [(ROAD, FIELD, CREEK, PONDS), (FIELD,), (ROAD, CREEK), ()],
    ids=["mixed", "ground alone", "lines alone", "none"],
)
def test_every_break_stands_in_one_layer_of_one_kind_and_comes_back(shapes):
    given = breaks(*shapes) if shapes else empty(LAYERS["breaks"], CRS)
    lines, areas = split(given)
    assert set(lines.geom_type) <= {"MultiLineString"}
    assert set(areas.geom_type) <= {"MultiPolygon"}
    assert len(lines) + len(areas) == len(given)
    back = conform(given_breaks(lines, areas), LAYERS["breaks"], CRS)
    assert isinstance(back, gpd.GeoDataFrame)
    pd.testing.assert_frame_equal(
        back.drop(columns="geometry"), given.drop(columns="geometry"), check_dtype=False
    )
    assert all(shapely.equals(back.geometry, given.geometry))
