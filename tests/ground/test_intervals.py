"""Stretches along a line, against sets of whole meters and lines worked by hand."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.ground.intervals import joined, runs_and_gaps, without

INTERVALS = st.lists(
    st.tuples(st.integers(0, 90), st.integers(1, 30)).map(lambda p: (p[0], p[0] + p[1])), max_size=8
)


def points(intervals):
    return {n for a, b in intervals for n in range(int(a), int(b))}


@settings(max_examples=100, deadline=None)
@given(INTERVALS, INTERVALS)
def test_intervals_are_sets_of_meters(some, others):
    some, others = joined(some), joined(others)
    assert points(joined([*some, *others])) == points(some) | points(others)
    assert points(without(some, others)) == points(some) - points(others)


def test_gap_between_two_runs_is_told_apart_and_joins_them():
    found = runs_and_gaps([(0, 20), (25, 45)], 100, gap_m=10, shortest_m=30, ring=False)
    assert found == ([(0, 20), (25, 45)], [(20, 25)])
    assert runs_and_gaps([(0, 20), (25, 45)], 100, gap_m=4, shortest_m=30, ring=False) == ([], [])


@pytest.mark.parametrize("start", [0, 10, 50, 90])
def test_gap_across_the_start_of_a_ring_is_the_same_gap(start):
    # Ring of 100 m: a break along 70 m, a hole of 5 m, a break along 25 m that meets the first.
    covered = [(0, 70), (75, 100)]
    turned = [((a + start) % 100, (a + start) % 100 + b - a) for a, b in covered]
    pieces = [p for a, b in turned for p in ([(a, 100), (0, b - 100)] if b > 100 else [(a, b)])]
    runs, gaps = runs_and_gaps(pieces, 100, gap_m=10, shortest_m=30, ring=True)
    assert sum(b - a for a, b in runs) == pytest.approx(95)
    assert sum(b - a for a, b in gaps) == pytest.approx(5)
    assert gaps[0][0] == pytest.approx((70 + start) % 100)


def test_hole_longer_than_a_gap_is_none_and_parts_the_runs():
    runs, gaps = runs_and_gaps([(0, 40), (60, 100)], 100, gap_m=10, shortest_m=30, ring=False)
    assert (runs, gaps) == ([(0, 40), (60, 100)], [])


def test_touch_shorter_than_the_shortest_run_counts_for_nothing():
    assert runs_and_gaps([(10, 25)], 100, gap_m=10, shortest_m=30, ring=False) == ([], [])
    # On a short line half of it is enough.
    assert runs_and_gaps([(0, 25)], 40, gap_m=10, shortest_m=30, ring=False) == ([(0, 25)], [])
