"""Edges along existing breaks: a table of cases whose true length is known."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pipeline.core.units import M_PER_FT
from pipeline.fire.breaks.crediting import credit_lines
from pipeline.fire.settings import FirebreakSettings

TOLERANCE_M = 10.0


def classed_m(edge, breaks, *, along_m=TOLERANCE_M, smoothing_m=5.0, shortest_m=30.0, gap_m=30.0):
    """Length [m] along breaks and in gaps, of one edge; both reaches are ``along_m``."""
    meters = {"along_ft": along_m, "follow_ft": along_m, "smoothing_ft": smoothing_m}
    meters |= {"shortest_run_ft": shortest_m, "gap_ft": gap_m}
    told = FirebreakSettings(angle_deg=30.0, **{k: m / M_PER_FT for k, m in meters.items()})
    (pieces,) = credit_lines(np.array([edge], dtype=object), gpd.GeoSeries(breaks), told)
    return tuple(
        sum(p.end_m - p.start_m for p in pieces if p.status == status)
        for status in ("existing", "gap")
    )


EDGE = shapely.LineString([(0, 0), (400, 0)])


def crossing(angle_deg, reach_m=2000.0):
    turn = np.radians(angle_deg)
    step = reach_m * np.array([np.cos(turn), np.sin(turn)])
    middle = np.array([200.0, 0.0])
    return shapely.LineString([middle - step, middle + step])


def sine(amplitude_m=8.0, wave_m=120.0):
    x = np.linspace(-20, 420, 221)
    return shapely.LineString(np.column_stack([x, amplitude_m * np.sin(2 * np.pi * x / wave_m)]))


def line(*points):
    return shapely.LineString(points)


CORNER, BENT = line((0, 0), (400, 0), (400, 400)), line((0, 0), (200, 0), (400, 40))
HOLED = [line((-50, 6), (190, 6)), line((210, 6), (450, 6))]
BENDING = [line((-50, -6), (200, -6)), line((200, -6), (450, 44))]

# Made cases of which a plain buffer of 10 m gets all but the first wrong: the edge, the breaks,
# meters along them and meters of gaps.
CASES = {
    "road beside it, 6 m off": (EDGE, [line((-50, 6), (450, 6))], 400, 0),
    "road along half of it": (EDGE, [line((-50, 6), (200, 6))], 200, 0),
    "road across at 90 degrees": (EDGE, [crossing(90)], 0, 0),
    "road across at 60 degrees": (EDGE, [crossing(60)], 0, 0),
    "road across at 45 degrees": (EDGE, [crossing(45)], 0, 0),
    "edge leaves the road at a right angle": (CORNER, [line((-50, 6), (800, 6))], 400, 0),
    "edge runs into a tilled field": (EDGE, [shapely.box(250, -300, 900, 300)], 150, 0),
    "road with a hole of 20 m": (EDGE, HOLED, 380, 20),
    "winding stream": (EDGE, [sine()], 400, 0),
    "road in two pieces that bend": (BENT, BENDING, BENT.length, 0),
    "fence line of a mown field, outside it": (EDGE, [shapely.box(-50, 3, 450, 300)], 400, 0),
}


@pytest.mark.parametrize("name", CASES)
def test_made_case(name):
    edge, breaks, expected_m, gap_m = CASES[name]
    found_m, found_gap_m = classed_m(edge, breaks)
    assert found_m == pytest.approx(expected_m, abs=0.01)
    assert found_gap_m == pytest.approx(gap_m, abs=0.01)


@pytest.mark.parametrize(("angle_deg", "expected_m"), [(29, 0), (15, 0), (10, 0), (5, 229.5)])
def test_road_across_the_edge_is_no_break_unless_it_keeps_beside_it(angle_deg, expected_m):
    """A road that comes in on one hand and leaves on the other stops no fire along the edge.

    Common practice, no source. At 5 degrees it runs beside the edge for longer than that: 2 tol /
    sin a in a plain buffer, of which the square ends take a little away.
    """
    found_m, _ = classed_m(EDGE, [crossing(angle_deg)])
    assert found_m <= 2 * TOLERANCE_M / np.sin(np.radians(angle_deg)) + 1e-6
    assert found_m == pytest.approx(expected_m, rel=0.05)


def test_gps_track_of_a_road_counts_whole():
    random = np.random.default_rng(3)
    x = np.arange(-20, 421, 1.0)
    track = shapely.LineString(np.column_stack([x, 4 + random.normal(0, 1.0, len(x))]))
    found_m, gap_m = classed_m(EDGE, [track])
    assert found_m + gap_m == pytest.approx(400, abs=0.2)
    assert found_m > 395


def test_stair_steps_along_a_slanting_road_need_smoothing_by_the_cell_size():
    steps = np.arange(11)
    points = np.column_stack([np.repeat(steps, 2)[1:], np.repeat(steps, 2)[:-1]]) * 30.0
    edge = shapely.LineString(points)
    road = shapely.LineString([(-40, -40), (340, 340)])
    assert classed_m(edge, [road], along_m=25.0)[0] == 0
    assert classed_m(edge, [road], along_m=25.0, smoothing_m=30.0)[0] == pytest.approx(
        edge.length, rel=0.01
    )


def test_hole_is_never_credited_even_where_it_is_longer_than_a_gap():
    pieces = [shapely.LineString([(-50, 6), (150, 6)]), shapely.LineString([(250, 6), (450, 6)])]
    assert classed_m(EDGE, pieces) == pytest.approx((300, 0))


def test_ring_may_begin_inside_a_run_or_a_gap():
    road = shapely.LineString([(100, -6), (-6, -6), (-6, 100)])
    for start in range(4):
        corners = np.roll(np.array([(0, 0), (200, 0), (200, 200), (0, 200)]), -start, axis=0)
        ring = shapely.LineString([*corners, corners[0]])
        assert classed_m(ring, [road])[0] == pytest.approx(200, abs=0.01)


LINES = st.lists(
    st.tuples(st.integers(-50, 450), st.integers(-60, 60)), min_size=2, max_size=5, unique=True
).map(shapely.LineString)


@settings(max_examples=150, deadline=None)
@given(LINES, LINES, st.integers(1, 25), st.integers(0, 25))
def test_wider_tolerance_never_credits_less(edge, road, along_m, more_m):
    # A wider reach may show that a road goes across the edge: then it is no break any more.
    assume(not edge.crosses(road))
    less, _ = classed_m(edge, [road], along_m=along_m)
    more, _ = classed_m(edge, [road], along_m=along_m + more_m)
    assert more >= less - 1e-6


EDGES = st.lists(
    st.tuples(st.integers(-50, 450), st.integers(-60, 60)),
    min_size=2,
    max_size=5,
    unique_by=lambda place: place[0],
).map(lambda places: shapely.LineString(sorted(places)))
"""Lines that do not run back over themselves, as the edge of a unit does not."""


@settings(max_examples=80, deadline=None)
@given(EDGES, st.lists(LINES, min_size=1, max_size=3), LINES)
def test_one_more_break_never_credits_less(edge, roads, added):
    # Where it touches another the two are one course, which may go across the edge.
    assume(shapely.distance(added, shapely.union_all(roads)) > 1.0)
    assert classed_m(edge, [*roads, added])[0] >= classed_m(edge, roads)[0] - 0.11 * len(roads)


@settings(max_examples=100, deadline=None)
@given(LINES, LINES)
def test_credit_is_never_more_than_a_buffer_would_give(edge, road):
    inside = shapely.intersection(edge, road.buffer(TOLERANCE_M, quad_segs=64)).length
    assert classed_m(edge, [road], shortest_m=0.0)[0] <= inside * 1.001 + 1.0


@settings(max_examples=100, deadline=None)
@given(LINES, LINES)
def test_direction_in_which_lines_were_drawn_does_not_matter(edge, road):
    here = classed_m(edge, [road])
    assert classed_m(shapely.reverse(edge), [shapely.reverse(road)]) == pytest.approx(here, abs=0.5)
