"""Where pixels lie, and how much ground each covers on a grid in degrees."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from pyproj import CRS, Geod

from pipeline.pictures.raster_grid import Grid, aligned, pixel_m, pixel_m2, pixel_sides_m

DEGREES = Grid(CRS("EPSG:4326").to_wkt(), -97.0, 43.0, 0.01, 0.01, 300, 40)
METERS = Grid(CRS("EPSG:32614").to_wkt(), 600000, 4500000, 10, 10, 300, 40)
PLANE = CRS("+proj=laea +lat_0=41.5 +lon_0=-96.8 +datum=WGS84 +units=m")


def test_pixels_of_a_grid_in_degrees_shrink_toward_the_pole_as_their_areas_on_the_ellipsoid():
    # pyproj's geodesic polygon areas (Karney's algorithm) on the ellipsoid of WGS 84. A parallel is
    # no geodesic, so the sides are given vertices.
    geod, areas = Geod(ellps="WGS84"), []
    for row in (0, 99, 150, 299):
        top = DEGREES.top - row * DEGREES.pixel_y
        pixel = shapely.box(-97.0, top - DEGREES.pixel_y, -96.99, top)
        areas.append(abs(geod.geometry_area_perimeter(shapely.segmentize(pixel, 1e-4))[0]))
    sizes = DEGREES.row_sizes(150.5)
    assert sizes[150] == 1.0
    assert sizes[[0, 99, 299]] == pytest.approx(np.array(areas)[[0, 1, 3]] / areas[2], rel=2e-7)


def test_pixels_of_a_grid_in_meters_all_count_alike():
    assert METERS.row_sizes(150) is None


def test_sides_of_a_pixel_in_degrees():
    # A degree of longitude at 41.5° north is 83.4 km, one of latitude 111.1 km: pyproj's Geod.
    geod = Geod(ellps="WGS84")
    middle = np.array([shapely.Point(0, 0).buffer(1000)])
    width, height = pixel_sides_m(DEGREES, middle, PLANE)
    assert width == pytest.approx(geod.inv(-96.8, 41.5, -96.79, 41.5)[2], rel=1e-4)
    assert height == pytest.approx(geod.inv(-96.8, 41.5, -96.8, 41.51)[2], rel=1e-4)
    assert pixel_m(DEGREES, middle, PLANE) == height
    assert pixel_m2(DEGREES, middle, PLANE) == pytest.approx(width * height, rel=1e-4)


def test_grids_of_the_same_pixels_join():
    other = Grid(METERS.crs_wkt, 600200, 4500100, 10, 10, 5, 50)
    assert METERS.offset_of(other) == (-10, 20)
    union, places = aligned([METERS, other])
    assert (union.left, union.top, union.shape) == (600000, 4500100, (310, 70))
    assert places == [(10, 0), (0, 20)]
    shifted = Grid(METERS.crs_wkt, 600205, 4500100, 10, 10, 5, 50)
    assert METERS.offset_of(shifted) is None
    assert aligned([METERS, other, shifted]) is None


def test_pixels_that_match_do_not_come_apart_on_the_grid_that_holds_them_all():
    # A pixel size rounded in one of the files: the slip grows with the distance from the first.
    first = Grid(
        DEGREES.crs_wkt, -97.0, 43.0, 8.983152841195215e-05, 8.983152841195215e-05, 9, 3000
    )
    second = replace(first, left=-97.0 + 1500 * first.pixel_x, pixel_x=8.98315e-05)
    union, places = aligned([first, second])
    assert places == [(0, 0), (0, 1500)]
    assert union.shape == (9, 4500)
    slips = [replace(METERS, left=600000 + 10 * slip) for slip in (0.0, 0.0008, -0.0008)]
    assert aligned(slips) is not None
    assert aligned(slips[1:]) is None
