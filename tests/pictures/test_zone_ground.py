"""The ground of zones on a grid: its size in pixels, whole pixels, and the edge left out.

Sizes by hand on square shapes, and by shapely's own areas.
"""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS

from pipeline.pictures.raster_grid import Grid
from pipeline.pictures.zone_ground import Grounds, full_pixels, whole_pixels

DEGREES = Grid(CRS("EPSG:4326").to_wkt(), -97.0, 43.0, 0.01, 0.01, 300, 40)
UTM = CRS("EPSG:32614")
METERS = Grid(UTM.to_wkt(), 600000, 4500000, 10, 10, 300, 40)


def test_zones_of_a_grid_in_meters_have_the_size_of_their_area():
    zone = np.array([shapely.box(600100, 4498000, 600200, 4498300)])
    assert whole_pixels(zone, METERS) == pytest.approx([300])


def test_zones_of_a_grid_in_degrees_have_the_size_of_their_pixels():
    zones = np.array(
        [
            shapely.box(-96.9, 42.0, -96.8, 42.5),
            shapely.box(-96.9, 40.5, -96.8, 41.0),
            shapely.Polygon(),
        ]
    )
    sizes = DEGREES.pixel_grid(zones).row_sizes
    expected = [10 * sizes[50:100].sum(), 10 * sizes[200:250].sum(), 0]
    assert whole_pixels(zones, DEGREES) == pytest.approx(expected, rel=1e-5)


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.1, 30), st.integers(3, 12))
def test_full_pixels_are_those_that_lie_within(dx, dy, radius, sides):
    zone = shapely.Point(30 + dx, 30 + dy).buffer(radius, quad_segs=sides)
    cells = [shapely.box(c, r, c + 1, r + 1) for r in range(64) for c in range(64)]
    covered = shapely.area(shapely.intersection(np.array(cells), zone))
    assert full_pixels(zone) == (covered >= 1 - 1e-9).sum()


def test_edge_that_is_left_out_is_in_meters_and_told_as_a_share():
    # A square of 200 m: without 20 m along its edge 160 m are left, 16 by 16 pixels of 10 m.
    square = shapely.box(600100, 4498000, 600300, 4498200)
    ground = Grounds(np.array([square]), UTM).on(METERS, 20.0)
    assert ground.whole_pixels == pytest.approx([256])
    assert ground.full_pixels.tolist() == [256]
    assert ground.lost_pct == pytest.approx([100 * (1 - 160**2 / 200**2)])
