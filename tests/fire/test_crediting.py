"""Crediting with two reaches: what counts, and what is said of the rest, on made lines.

Lengths are known by construction. One chain is 66 ft (NIST Handbook 44, appendix C): the right of
way of a section-line road, half of it on each side of the line.
"""

from itertools import pairwise

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.units import M_PER_FT
from pipeline.fire.breaks.crediting import credit_lines
from pipeline.fire.breaks.drawn_breaks import drawn_width_ft
from pipeline.fire.settings import FirebreakSettings

EDGE = shapely.LineString([(0, 0), (400, 0)])
FT = M_PER_FT


def line(*points):
    return shapely.LineString(points)


def credited(breaks, edge=EDGE, **told):
    (pieces,) = credit_lines(
        np.array([edge], dtype=object), gpd.GeoSeries(list(breaks)), FirebreakSettings(**told)
    )
    return pieces


def along_m(pieces, status="existing"):
    return sum(p.end_m - p.start_m for p in pieces if p.status == status)


def hand_overs_ft(pieces):
    return [p.hand_over_ft for p in pieces if not np.isnan(p.hand_over_ft)]


# Two roads that follow each other along the edge, 30 ft apart at the middle; they meet far off.
FIRST, SECOND = line((-50, 0), (200, 0)), line((200, 30 * FT), (450, 30 * FT))
AWAY_LOOP = line((200, 0), (200, -600), (700, -600), (700, 30 * FT), (450, 30 * FT))


@pytest.mark.parametrize(
    "breaks",
    [
        [FIRST, SECOND],
        [FIRST, SECOND, AWAY_LOOP],
        [shapely.MultiLineString([FIRST, SECOND])],
    ],
    ids=["two roads", "roads that join 600 m away", "parts of one row"],
)
def test_hand_over_is_told_wherever_else_the_breaks_meet(breaks):
    pieces = credited(breaks)
    assert along_m(pieces) == pytest.approx(400, abs=1)
    assert hand_overs_ft(pieces) == pytest.approx([30.0], abs=0.5)


def test_breaks_that_meet_on_the_spot_are_no_hand_over():
    assert not hand_overs_ft(credited([FIRST, line((200, 0), (450, 8))]))


@pytest.mark.parametrize("noise_m", [0.02, 0.2, 1.0])
@pytest.mark.parametrize("seed", range(3))
def test_road_on_a_one_chain_right_of_way_is_one_piece(noise_m, seed):
    random = np.random.default_rng(seed)
    x = np.arange(-50, 451, 10.0)
    road = np.column_stack([x, 33 * FT + random.uniform(-noise_m, noise_m, len(x))])
    pieces = credited([shapely.LineString(road)])
    assert [p.status for p in pieces] == ["existing"]
    assert along_m(pieces) == pytest.approx(400, abs=0.01)


@pytest.mark.parametrize(
    ("off_ft", "status", "near"), [(35.9, "existing", None), (36.1, "prepare", "beside")]
)
def test_road_at_the_inner_reach_is_all_or_nothing_and_told(off_ft, status, near):
    pieces = credited([line((-50, off_ft * FT), (450, off_ft * FT))])
    assert {p.status for p in pieces} == {status}
    assert pieces[0].near == near


def test_two_bits_around_a_hole_are_not_credited():
    """The hole is no part of a run: 16 ft, a hole of 72 ft and 16 ft are no 100 ft of road."""
    ends_ft = ((400, 416), (488, 504))
    bits = [line((a * FT, 3), (b * FT, 3)) for a, b in ends_ft]
    assert along_m(credited(bits)) == 0


def test_hole_in_the_break_is_a_gap_of_its_own_length():
    pieces = credited([line((-50, 6), (190, 6)), line((205, 6), (450, 6))])
    (gap,) = [p for p in pieces if p.status == "gap"]
    assert (gap.near, gap.near_ft) == ("gap", pytest.approx(15 / FT, abs=0.1))
    assert along_m(pieces, "gap") == pytest.approx(15, abs=0.1)


def test_edge_that_wanders_off_a_whole_road_is_away_and_no_gap():
    edge = line((0, 0), (180, 0), (190, -22), (210, -22), (220, 0), (400, 0))
    pieces = credited([line((-50, 0), (450, 0))], edge)
    assert along_m(pieces, "gap") == 0
    (away,) = [p for p in pieces if p.near == "away"]
    assert away.status == "prepare"
    assert away.near_ft == pytest.approx(22 / FT, abs=2)


def test_polygon_is_as_wide_as_it_is_drawn():
    """A strip drawn 2 ft wide has 2 ft, whatever is stated of it."""
    strip = shapely.box(-50, 1, 450, 1 + 2 * FT)
    assert drawn_width_ft(EDGE, strip, 30.0) == pytest.approx(2.0, abs=1e-6)


ROADS = st.lists(
    st.lists(
        st.tuples(st.integers(-50, 450), st.integers(-40, 40)), min_size=2, max_size=4, unique=True
    ).map(shapely.LineString),
    min_size=1,
    max_size=3,
)


def told(pieces):
    return [(round(p.start_m, 2), round(p.end_m, 2), p.status, p.near) for p in pieces]


@settings(max_examples=60, deadline=None)
@given(ROADS)
def test_pieces_follow_each_other_from_end_to_end(roads):
    pieces = credited(roads)
    assert pieces[0].start_m == 0
    assert pieces[-1].end_m == pytest.approx(400)
    for here, there in pairwise(pieces):
        assert here.end_m == there.start_m


@settings(max_examples=60, deadline=None)
@given(ROADS, st.integers(-3, 3), st.booleans())
def test_place_and_direction_of_the_breaks_do_not_matter(roads, far, backward):
    moved = [shapely.transform(r, lambda p: p + 1000.0 * far) for r in roads]
    moved = [r.reverse() for r in moved] if backward else moved
    edge = shapely.transform(EDGE, lambda p: p + 1000.0 * far)
    assert told(credited(moved, edge)) == told(credited(roads))
