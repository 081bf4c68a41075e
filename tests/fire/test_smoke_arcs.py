"""Arcs of winds that carry smoke, against closed forms and a sweep over dense points."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from pipeline.fire.smoke.arcs import between_arcs, merged_arcs, smoke_arcs, wind_in

MILE_M = 1609.344
BIN_DEG = 0.01


def arcs(ground, place, reach_m=MILE_M, half_angle_deg=45.0):
    return smoke_arcs(ground, place, reach_m=reach_m, half_angle_deg=half_angle_deg)


def swept(ground, place, winds, *, reach_m, half_angle_deg, tight_m, slack_deg):
    """Whether sampled ways of smoke lie in each wind: surely, and perhaps.

    Every way between sampled points of both shapes is tried. What none of them finds with a
    little more reach and angle is surely not there.
    """
    points = [
        shapely.get_coordinates(shapely.segmentize(shape, tight_m)) for shape in (ground, place)
    ]
    way = (points[1][None] - points[0][:, None]).reshape(-1, 2)
    length, from_deg = np.hypot(*way.T), np.degrees(np.arctan2(way[:, 0], way[:, 1])) + 180
    touching = shapely.intersects(ground, place)
    surely, perhaps = (
        nearest_deg(from_deg[length <= reach], winds) <= half_angle_deg + slack
        for reach, slack in ((reach_m, -BIN_DEG), (reach_m + tight_m, slack_deg + BIN_DEG))
    )
    return surely | touching, perhaps | touching


def nearest_deg(directions, winds):
    """Angle from each wind to the nearest direction, right around the compass."""
    if not len(directions):
        return np.full(len(winds), np.inf)
    around = np.flatnonzero(np.bincount((np.mod(directions, 360) / BIN_DEG).astype(int))) * BIN_DEG
    around = np.concatenate([[around[-1] - 360], around, [around[0] + 360]])
    after = np.searchsorted(around, winds).clip(1, len(around) - 1)
    return np.minimum(winds - around[after - 1], around[after] - winds)


def made_ground(random, size_m=400.0):
    """A unit that is not convex, some with a hole or in two parts."""
    angle = np.sort(random.uniform(0, 2 * np.pi, random.integers(5, 12)))
    radius = random.uniform(0.25, 1.0, len(angle)) * size_m
    star = shapely.Polygon(np.column_stack([radius * np.sin(angle), radius * np.cos(angle)]))
    shape = star.buffer(0)
    if random.random() < 0.5:
        shape = shape.difference(shapely.Point(random.uniform(-90, 90, 2)).buffer(40, quad_segs=2))
    if random.random() < 0.3:
        shape = shape.union(affinity.translate(star.buffer(0), *random.uniform(-900, 900, 2)))
    return shape


def made_place(random, spread_m=1100.0):
    """A house, a road or a school ground, at times touching the unit or in its hole."""
    middle = random.uniform(-1, 1, 2) * spread_m * random.choice([0.3, 1.0])
    kind = random.integers(3)
    if kind == 0:
        return shapely.Point(middle)
    if kind == 1:
        return shapely.LineString(middle + random.uniform(-500, 500, (random.integers(2, 5), 2)))
    corners = shapely.MultiPoint(middle + random.uniform(-120, 120, (6, 2)))
    return corners.convex_hull


# A way between samples is off by less than their spacing, in length and, as an angle, in direction
def test_no_wind_is_judged_wrongly_of_a_thousand_made_places():
    random = np.random.default_rng(20270415)
    missed = false = judged = carried = 0
    for _ in range(1000):
        ground, place = made_ground(random), made_place(random)
        half, reach = random.uniform(5, 85), random.uniform(250, 1500)
        winds = random.uniform(0, 360, 30)
        apart = max(ground.distance(place), 1.0)
        tight = min(max(apart / 40, 3.0), 15.0)
        slack = np.degrees(np.arcsin(min(1.0, tight / max(apart, tight))))
        surely, perhaps = swept(
            ground,
            place,
            winds,
            reach_m=reach,
            half_angle_deg=half,
            tight_m=tight,
            slack_deg=slack,
        )
        told = wind_in(arcs(ground, place, reach, half), winds)
        missed += (surely & ~told).sum()
        false += (told & ~perhaps).sum()
        judged += len(winds)
        carried += told.sum()
    assert (missed, false) == (0, 0)
    assert judged == 30_000
    assert 0.1 < carried / judged < 0.9, "winds of both kinds were tried"


def test_school_north_of_the_middle_of_a_long_unit_lies_in_a_south_wind():
    # The unit is a mile and a half long, 100 m high; the school stands 300 m off its north side.
    unit = shapely.box(-0.75 * MILE_M, 0, 0.75 * MILE_M, 100)
    school = shapely.Point(0, 400)
    (row,) = arcs(unit, school, half_angle_deg=10.0)
    # The south side is out of sight; as far as a mile reaches, the north side is seen under these.
    widest = np.degrees(np.arccos(300 / MILE_M))
    assert widest > np.degrees(np.arctan(0.75 * MILE_M / 400))
    to_corner = np.degrees(np.arctan2(0.75 * MILE_M, 300))
    assert row.tolist() == pytest.approx([180 - to_corner - 10, 180 + to_corner + 10])
    assert wind_in(row[None], np.array([180.0]))[0]


def test_reach_cuts_a_long_side_where_the_circle_does():
    # A side 300 m off, without end: seen within 500 m between acos(3/5) to either side.
    wall = shapely.box(-9000, 0, 9000, 50)
    (row,) = arcs(wall, shapely.Point(0, 350), 500.0, 0.0)
    half = np.degrees(np.arccos(3 / 5))
    assert row.tolist() == pytest.approx([180 - half, 180 + half])


@pytest.mark.parametrize(
    ("house", "expected"),
    [((0, 1000), [135, 225]), ((1000, 0), [225, 315]), ((0, -1000), [315, 405])],
)
def test_point_to_point_is_the_half_angle_to_either_side(house, expected):
    # Wind is named by where it comes FROM: a house to the north is reached by a south wind.
    (row,) = arcs(shapely.Point(0, 0), shapely.Point(house))
    assert row.tolist() == pytest.approx(expected)


def test_two_squares_are_seen_between_their_inner_corners():
    # Squares of 100 m, 100 m apart: the steepest way joins a corner to a far one, 45 degrees.
    (row,) = arcs(shapely.box(0, 0, 100, 100), shapely.box(200, 0, 300, 100), half_angle_deg=0.0)
    assert row.tolist() == pytest.approx([225, 315])


def test_two_houses_give_two_arcs_and_one_far_off_none():
    houses = shapely.MultiPoint([(0, 1000), (0, -1000), (0, 5000)])
    found = arcs(shapely.Point(0, 0), houses)
    assert found.tolist() == [pytest.approx([135, 225]), pytest.approx([315, 405])]
    assert len(arcs(shapely.Point(0, 0), shapely.Point(0, 5000))) == 0


@pytest.mark.parametrize(
    "place", [shapely.Point(50, 50), shapely.Point(100, 50), shapely.box(-9, -9, 900, 900)]
)
def test_place_that_touches_lies_in_every_wind(place):
    assert arcs(shapely.box(0, 0, 100, 100), place).tolist() == [[0, 360]]


def test_house_in_a_hole_of_the_ground_lies_in_every_wind():
    ring = shapely.Point(0, 0).buffer(300).difference(shapely.Point(0, 0).buffer(200))
    assert arcs(ring, shapely.Point(20, 10)).tolist() == [pytest.approx([0, 360])]


@given(st.integers(0, 10**6), st.floats(0, 360))
@settings(max_examples=60)
def test_turning_everything_turns_the_arcs(seed, turn_deg):
    random = np.random.default_rng(seed)
    ground, place = made_ground(random), made_place(random)
    turned = [affinity.rotate(shape, -turn_deg, origin=(0, 0)) for shape in (ground, place)]
    found, after = arcs(ground, place), arcs(*turned)
    winds = np.linspace(0, 360, 720, endpoint=False) + 0.1234
    ends = np.concatenate([found.ravel(), [1e9]])
    clear = np.abs((winds[:, None] - ends + 180) % 360 - 180).min(1) > 1e-6
    assert (wind_in(found, winds) == wind_in(after, winds + turn_deg))[clear].all()


def test_large_shapes_are_looked_at_piece_by_piece_with_the_same_arcs(monkeypatch):
    random = np.random.default_rng(5)
    pairs = [(made_ground(random), made_place(random)) for _ in range(40)]
    whole = [arcs(*pair, reach_m=900.0) for pair in pairs]
    monkeypatch.setattr("pipeline.fire.smoke.arcs.PAIRS_AT_ONCE", 20)
    for pair, expected in zip(pairs, whole, strict=True):
        assert arcs(*pair, reach_m=900.0) == pytest.approx(expected, abs=1e-9)


@given(st.integers(0, 10**6))
@settings(max_examples=60)
def test_more_place_more_ground_more_reach_and_a_wider_fan_never_free_a_wind(seed):
    random = np.random.default_rng(seed)
    ground, place, more = made_ground(random), made_place(random), made_place(random)
    winds = random.uniform(0, 360, 90)
    before = wind_in(arcs(ground, place), winds)
    for after in (
        arcs(ground, shapely.union_all([place, more])),
        arcs(ground.buffer(30), place),
        arcs(ground, place, reach_m=1.3 * MILE_M),
        arcs(ground, place, half_angle_deg=50.0),
    ):
        assert (wind_in(after, winds) >= before).all()


ARCS = st.lists(st.tuples(st.floats(-400, 400), st.floats(0, 200)), min_size=1, max_size=6)


@given(ARCS, st.lists(st.floats(0, 360), min_size=1, max_size=20))
def test_merged_arcs_hold_what_the_single_ones_hold_and_lie_apart(told, winds):
    first, width = np.array(told).T
    found = merged_arcs(first, width)
    winds = np.array(winds)
    turn = (winds[:, None] - first) % 360
    edge = np.minimum(np.minimum(turn, 360 - turn), np.abs(turn - width)).min(1) < 1e-6
    expected = (turn <= width).any(1)
    assert (wind_in(found, winds) == expected)[~edge].all()
    assert ((found[:, 0] >= 0) & (found[:, 0] < 360)).all()
    assert (found[1:, 0] > found[:-1, 1]).all()
    assert found[-1, 1] <= 360 + found[0, 0] or len(found) == 1
    assert (found[:, 1] - found[:, 0] <= 360).all()


@pytest.mark.parametrize(
    ("covered", "asked", "left"),
    [
        ([], (180, 270), [[180, 270]]),
        ([(190, 20)], (180, 270), [[180, 190], [210, 270]]),
        ([(170, 50)], (180, 270), [[220, 270]]),
        ([(170, 200)], (180, 270), []),
        ([(350, 20)], (315, 45), [[10, 45], [315, 350]]),
        ([(90, 90)], (0, 360), [[180, 450]]),
        ([(0, 360)], (0, 360), []),
        ([(200, 100)], (225, 225), []),
        ([(200, 10)], (225, 225), [[225, 225]]),
    ],
)
def test_winds_of_a_range_that_are_left(covered, asked, left):
    arcs_told = merged_arcs(*np.array(covered, dtype=float).T) if covered else np.empty((0, 2))
    found = between_arcs(arcs_told, *asked)
    assert found.tolist() == [pytest.approx(row) for row in left]


@given(ARCS, st.floats(0, 360), st.floats(0, 360), st.floats(0, 360))
def test_a_wind_of_the_range_is_either_left_or_carried(told, first, last, wind):
    covered = merged_arcs(*np.array(told).T)
    left = between_arcs(covered, first, last)
    inside = (wind - first) % 360 < (last - first) % 360 or last - first == 360
    ends = np.concatenate([covered.ravel(), left.ravel(), [first, last]])
    if np.abs((wind - ends + 180) % 360 - 180).min() > 1e-6:
        expected = inside and not wind_in(covered, np.array([wind]))[0]
        assert bool(len(left) and wind_in(left, np.array([wind]))[0]) == expected
