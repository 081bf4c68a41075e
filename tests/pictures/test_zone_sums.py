"""Sums over zones, against exactextract (coverage by area) and worked cases."""

import numpy as np
import pytest
import shapely
from exactextract import exact_extract
from exactextract.raster import NumPyRasterSource
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.pictures.zone_sums import PixelGrid, covered_shares, edges_of, pieces_of, sum_by_zone

NINE = np.arange(1, 10).reshape(3, 3) / 10
TINY = shapely.box(0.4, 0.3, 2.6, 2.2)


def counting_reader(array, log):
    """Reader that gives count, sum and sum of squares, and notes what was read."""

    def read(first, end, spans):
        log.extend((first, end, span) for span in spans)
        packed = np.concatenate([array[first:end, a:b] for a, b in spans], axis=1)
        return lambda low, high: [
            np.ones_like(packed[low:high]),
            packed[low:high],
            packed[low:high] ** 2,
        ]

    return read


def summed(zones, array, band_rows=16, log=None):
    read = counting_reader(array, [] if log is None else log)
    return sum_by_zone(
        np.array(zones), grid=PixelGrid(array.shape), band_rows=band_rows, rasters=3, read=read
    )


def by_exactextract(zones, array):
    rows, columns = array.shape
    source = NumPyRasterSource(array, xmin=0, ymin=0, xmax=columns, ymax=rows)
    features = [
        {
            "type": "Feature",
            "properties": {},
            "geometry": shapely.geometry.mapping(
                shapely.transform(zone, lambda p: p * [1, -1] + [0, rows])
            ),
        }
        for zone in zones
    ]
    told = exact_extract(source, features, ["count", "sum", "stdev"])
    return [[f["properties"][name] for f in told] for name in ("count", "sum", "stdev")]


def test_tiny_case_worked_by_hand():
    # A 3 × 3 raster and a box: coverage of each pixel is a product of two lengths.
    expected = [[0.42, 0.70, 0.42], [0.60, 1.0, 0.60], [0.12, 0.20, 0.12]]
    shares = covered_shares(edges_of(np.array([TINY])), rows=(0, 3), width=3)
    assert shares == pytest.approx(np.array(expected), abs=1e-12)
    count, total, squares = summed([TINY], NINE)[:, 0]
    assert count == pytest.approx(4.18)
    assert total == pytest.approx(1.76)
    assert total / count == pytest.approx(0.421053, abs=5e-7)
    spread = np.sqrt(squares / count - (total / count) ** 2)
    assert spread == pytest.approx(0.204581, abs=5e-7), "population standard deviation"


def odd_zones():
    chance = np.random.default_rng(7)
    zones = []
    for number in range(240):
        x, y = chance.uniform(-5, 85), chance.uniform(-5, 65)
        size = chance.choice([0.03, 0.2, 1, 5, 20])
        zone = shapely.Point(x, y).buffer(size, quad_segs=int(chance.integers(1, 8)))
        if number % 3 == 0:
            zone = zone.difference(shapely.Point(x + size / 4, y).buffer(size / 3))
        if number % 5 == 0:
            zone = zone.union(shapely.box(x + 7, y + 4, x + 9.25, y + 4.5))
        if number % 7 == 0:
            zone = shapely.LineString([(x, y), (x + 30, y + 11)]).buffer(0.45)
        zones.append(zone)
    return [*zones, shapely.box(-9, -9, 99, 99), shapely.box(3, 2, 9, 12), shapely.Polygon()]


def test_holes_overlaps_multiparts_slivers_and_zones_over_the_edge_agree_with_exactextract():
    array = np.random.default_rng(1).random((60, 80))
    zones = [zone for zone in odd_zones() if not zone.is_empty]
    count, total, _ = summed(zones, array)
    their_count, their_total, _ = by_exactextract(zones, array)
    assert count == pytest.approx(their_count, abs=1e-6)
    assert total == pytest.approx(their_total, abs=1e-6)


def test_empty_zones_and_zones_off_the_raster_sum_to_nothing():
    array = np.ones((60, 80))
    zones = [shapely.Polygon(), shapely.box(100, 0, 120, 20), shapely.box(-20, -20, -1, -1)]
    assert (summed(zones, array) == 0).all()
    assert summed([], array).shape == (3, 0)


@pytest.mark.parametrize("band_rows", [1, 7, 64])
def test_bands_make_no_difference(band_rows):
    array = np.random.default_rng(2).random((60, 80))
    assert summed(odd_zones(), array, band_rows) == pytest.approx(
        summed(odd_zones(), array, 60), abs=1e-9
    )


def test_each_pixel_is_read_once_and_only_where_zones_lie():
    array = np.ones((4000, 4000))
    corners = [(100, 100), (130, 120), (3000, 90), (100, 3500)]
    zones = [shapely.Point(x, y).buffer(10.3) for x, y in corners]
    log = []
    summed(zones, array, 256, log)
    read = sum((end - first) * (b - a) for first, end, (a, b) in log)
    assert read < 10_000
    seen = np.zeros(array.shape, int)
    for first, end, (a, b) in log:
        seen[first:end, a:b] += 1
    assert seen.max() == 1


def test_cost_grows_with_the_zones_not_with_the_raster():
    zones = [shapely.Point(50, 50).buffer(20)]
    logs = []
    for size in (200, 2000):
        log = []
        summed(zones, np.ones((size, size)), 64, log)
        logs.append(log)
    assert logs[0] == logs[1]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-4, 14), st.floats(-4, 14)), min_size=3, max_size=8),
    st.integers(1, 9),
)
def test_coverage_of_any_shape_is_its_area_within_the_raster(points, band_rows):
    zone = shapely.convex_hull(shapely.MultiPoint(points))
    if zone.geom_type != "Polygon":
        return
    count = summed([zone], np.ones((10, 10)), band_rows)[0, 0]
    assert count == pytest.approx(zone.intersection(shapely.box(0, 0, 10, 10)).area, abs=1e-7)


def test_pieces_of_a_row_go_down_as_much_as_up():
    pieces = pieces_of(edges_of(np.array(odd_zones())), rows=(0, 60), width=80)
    rows = np.bincount(pieces.zone * 60 + pieces.row, weights=pieces.down)
    assert abs(rows).max() < 1e-9


@settings(max_examples=80, deadline=None)
@given(st.lists(st.integers(-2, 12), min_size=4, max_size=4), st.integers(0, 3))
def test_edges_on_the_lines_between_pixels(sides, spare):
    left, right = sorted(sides[:2])
    top, bottom = sorted(sides[2:])
    if left == right or top == bottom:
        return
    array = np.random.default_rng(spare).random((10, 10 + spare))
    inside = array[max(top, 0) : max(bottom, 0), max(left, 0) : max(right, 0)]
    zones = [shapely.box(left, top, right, bottom), shapely.box(1, 1, 2, 2)]
    count, total, _ = summed(zones, array)
    assert count[0] == pytest.approx(inside.size, abs=1e-9)
    assert total[0] == pytest.approx(inside.sum(), abs=1e-9)
