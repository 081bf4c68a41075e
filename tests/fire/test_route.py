"""The driver's way, against orders that can be seen by eye and against all orders of a few passes.

The shortest way of all orders and directions is found by trying every one: brute force.
"""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.fire.mowing.route import _Search, driving_order
from pipeline.fire.mowing.route_items import (
    Nest,
    OpenPass,
    box_around,
    boxes_apart_m,
    nearest_on,
)


def passes_along(start, end, count, apart_m=2.0):
    """Passes side by side, the first from start to end."""
    start, end = np.array(start, float), np.array(end, float)
    way = (end - start) / np.hypot(*(end - start))
    across = apart_m * np.array([-way[1], way[0]])
    return [OpenPass(np.array([start + n * across, end + n * across])) for n in range(count)]


def moves_m(driven, start=None):
    ends = [d.points[[0, -1]] for d in driven]
    first = 0.0 if start is None else math.dist(start, ends[0][0])
    return first + sum(math.dist(a[1], b[0]) for a, b in itertools.pairwise(ends))


def shortest_m(items, start=None):
    """Least way without mowing of all orders and directions."""
    best = math.inf
    for order in itertools.permutations(range(len(items))):
        for turned in itertools.product((False, True), repeat=len(items)):
            at, total = start, 0.0
            for number, turn in zip(order, turned, strict=True):
                far, at = items[number].entered(at, turn, math.dist)
                total += far
            best = min(best, total)
    return best


@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_passes_of_a_strip_alternate(count):
    driven = driving_order(passes_along((0, 0), (300, 0), count))
    ways = [np.sign(d.points[-1, 0] - d.points[0, 0]) for d in driven]
    assert moves_m(driven) == pytest.approx(2.0 * (count - 1))
    assert all(a == -b for a, b in itertools.pairwise(ways))


def test_every_pass_is_driven_once_and_whole():
    items = [*passes_along((0, 0), (300, 0), 4), *passes_along((0, 200), (300, 260), 3)]
    driven = driving_order(items, start=(0.0, 100.0))
    assert sorted(d.item for d in driven) == list(range(7))
    for d in driven:
        ends = {tuple(p) for p in d.points}
        assert ends == {tuple(p) for p in items[d.item].points}


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 5), st.booleans())
def test_way_through_a_few_passes_is_near_the_shortest(seed, count, with_start):
    random = np.random.default_rng(seed)
    items = [OpenPass(random.uniform(0, 400, (2, 2))) for _ in range(count)]
    start = (0.0, 0.0) if with_start else None
    best = shortest_m(items, start)
    # Cutting a pass can do better than any order of whole ones.
    assert moves_m(driving_order(items, start), start) <= best * 1.1 + 0.1


def test_strip_reached_from_the_middle_of_another_is_a_detour():
    # Along 1,000 m with a strip of two passes that begins 5 m above its middle: there and back
    # costs 12 m; from either end it would be 500 m.
    items = [OpenPass(np.array([(0.0, 0.0), (1000.0, 0.0)]))]
    items += passes_along((500, 5), (500, 300), 2)
    driven = driving_order(items)
    assert [d.item for d in driven].count(0) == 2
    assert moves_m(driven) == pytest.approx(5 + 2 + math.hypot(5, 2), abs=0.1)
    mown_m = sum(np.hypot(*np.diff(d.points, axis=0).T).sum() for d in driven)
    assert mown_m == pytest.approx(1000 + 2 * 295)


def square(side_m):
    half = side_m / 2
    return np.array([(-half, -half), (half, -half), (half, half), (-half, half), (-half, -half)])


def test_closed_passes_are_a_spiral_there_and_back():
    nest = Nest([square(400.0), square(396.0), square(392.0)])
    driven = driving_order([nest, *passes_along((0, -300), (0, -201), 1)])
    laps = [d.points for d in driven if d.item == 0]
    assert moves_m(driven) == pytest.approx(1 + 2 + 2, abs=1e-6)
    assert [bool(shapely.is_ccw(shapely.LinearRing(lap))) for lap in laps] == [True, False, True]
    for lap, side_m in zip(laps, (400, 396, 392), strict=True):
        assert lap[0] == pytest.approx(lap[-1])
        assert np.hypot(*np.diff(lap, axis=0).T).sum() == pytest.approx(4 * side_m)


def test_order_does_not_depend_on_chance():
    random = np.random.default_rng(4)
    items = [OpenPass(random.uniform(0, 900, (2, 2))) for _ in range(40)]
    one, other = driving_order(items), driving_order(items)
    assert [d.item for d in one] == [d.item for d in other]
    assert all((a.points == b.points).all() for a, b in zip(one, other, strict=True))


def test_nearest_place_on_a_line():
    line = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)])
    assert nearest_on(line, (4.0, 3.0)) == (3.0, 0, (4.0, 0.0))
    assert nearest_on(line, (13.0, 8.0)) == (3.0, 1, (10.0, 8.0))


def test_ways_that_are_too_long_even_if_straight_are_not_looked_up():
    # A way is never shorter than the straight line; nearest-next over n passes in two directions
    # from each beginning would else ask for n (n - 1) ways.
    asked = []

    def far(here, there):
        asked.append((here, there))
        return math.dist(here, there)

    items = [p for n in range(12) for p in passes_along((0, 50.0 * n), (300, 50.0 * n), 4)]
    search = _Search(items, (0.0, 0.0), far)
    order = search.nearest_next((0, False))
    every = len(items) * (len(items) - 1)
    assert sorted(number for number, _ in order) == list(range(len(items)))
    assert len(asked) < every / 4


@given(st.lists(st.tuples(*[st.integers(-100, 100)] * 2), min_size=4, max_size=4))
def test_boxes_are_no_farther_apart_than_what_they_hold(points):
    here, there = np.array(points[:2], float), np.array(points[2:], float)
    lines = shapely.LineString(here), shapely.LineString(there)
    apart_m = boxes_apart_m(box_around(here), box_around(there))
    hulls = [shapely.box(*line.bounds) for line in lines]
    assert apart_m <= shapely.distance(*lines) + 1e-9
    assert apart_m == pytest.approx(shapely.distance(*hulls), abs=1e-9)
