"""Ways between passes, against ways around corners that plane geometry gives."""

import math

import numpy as np
import pytest
import shapely

from pipeline.fire.mowing.moves import DrivingGround


def test_straight_where_the_ground_allows_it():
    way, on_ground = DrivingGround(shapely.box(0, 0, 100, 100)).way((1, 1), (99, 99))
    assert on_ground
    assert way.length == pytest.approx(98 * math.sqrt(2))


def test_around_the_corner_of_an_angle():
    # An L: from the end of one arm to the end of the other by way of the inner corner.
    ground = shapely.union(shapely.box(0, 0, 300, 100), shapely.box(0, 0, 100, 300))
    way, on_ground = DrivingGround(ground).way((300, 100), (100, 300))
    assert on_ground
    assert way.length == pytest.approx(400)
    far, _ = DrivingGround(ground).way((300, 50), (50, 300))
    assert far.length == pytest.approx(2 * math.hypot(200, 50))


def test_around_a_pond_on_its_shorter_side():
    pond = shapely.box(100, 90, 200, 150)
    ground = DrivingGround(shapely.box(0, 0, 300, 300) - pond)
    way, on_ground = ground.way((50, 100), (250, 100))
    assert on_ground
    assert way.length == pytest.approx(100 + 2 * math.hypot(50, 10))
    again, _ = ground.way((50, 100), (250, 100))
    assert again.equals(way)


def test_shortest_way_through_many_ponds_is_that_of_a_fine_grid():
    # A grid of steps in all directions is the reference: never shorter, and a little longer.
    random = np.random.default_rng(5)
    ponds = shapely.buffer(shapely.points(random.uniform(30, 270, (14, 2))), 22, quad_segs=4)
    field = shapely.box(0, 0, 300, 300) - shapely.union_all(ponds)
    way, on_ground = DrivingGround(field).way((5, 5), (295, 295))
    assert on_ground
    assert shapely.covers(field.buffer(1.01), way)
    assert 290 * math.sqrt(2) - 1e-9 <= way.length <= grid_way_m(field, 5.0) + 1e-9


def grid_way_m(field, step_m):
    """Shortest way from corner to corner by steps on a grid, along and across."""
    at = np.arange(5.0, 296.0, step_m)
    open_places = shapely.contains_xy(field, *np.meshgrid(at, at))
    best = np.full(open_places.shape, math.inf)
    best[0, 0] = 0.0
    shifts = [(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if (i, j) != (0, 0)]
    for _ in range(open_places.size):
        padded = np.pad(best, 1, constant_values=math.inf)
        size = len(at)
        ways = [
            padded[1 + i : 1 + i + size, 1 + j : 1 + j + size] + step_m * math.hypot(i, j)
            for i, j in shifts
        ]
        nearer = np.where(open_places, np.minimum(best, np.min(ways, axis=0)), math.inf)
        if (nearer == best).all():
            break
        best = nearer
    return best[-1, -1]


def test_no_way_between_fields_apart_is_a_straight_line_off_the_ground():
    ground = DrivingGround(shapely.union(shapely.box(0, 0, 10, 10), shapely.box(50, 0, 60, 10)))
    way, on_ground = ground.way((5, 5), (55, 5))
    assert not on_ground
    assert way.length == 50


def test_ground_with_very_many_corners_is_smoothed_first():
    angle = np.linspace(0, 2 * np.pi, 4001)[:-1]
    radius = 200 + 3 * np.sin(900 * angle)
    outline = radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    hole = shapely.Polygon(outline)
    way, on_ground = DrivingGround(shapely.box(-400, -400, 400, 400) - hole).way(
        (-300, 0), (300, 0)
    )
    # Two tangents and an arc around a circle of 200 m.
    tangent, arc = math.sqrt(300**2 - 200**2), math.pi - 2 * math.acos(200 / 300)
    assert on_ground
    assert way.length == pytest.approx(2 * tangent + 200 * arc, rel=0.02)
