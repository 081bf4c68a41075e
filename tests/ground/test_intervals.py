"""Stretches along a line, against sets of whole meters."""

from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.ground.intervals import common, joined, total_m, turned, without

LENGTH_M = 120
INTERVALS = st.lists(
    st.tuples(st.integers(0, 90), st.integers(1, 30)).map(lambda p: (p[0], p[0] + p[1])), max_size=8
)


def points(intervals):
    return {n for a, b in intervals for n in range(round(a), round(b))}


@settings(max_examples=100, deadline=None)
@given(INTERVALS, INTERVALS)
def test_intervals_are_sets_of_meters(some, others):
    some, others = joined(some), joined(others)
    assert points(joined([*some, *others])) == points(some) | points(others)
    assert points(without(some, others)) == points(some) - points(others)
    assert points(common(some, others)) == points(some) & points(others)
    assert total_m(some) == len(points(some))


@settings(max_examples=100, deadline=None)
@given(INTERVALS, st.integers(-200, 200))
def test_turned_around_a_ring_every_meter_moves_on_by_as_much(some, by_m):
    some = joined(some)
    found = turned(some, by_m, LENGTH_M)
    assert points(found) == {(n + by_m) % LENGTH_M for n in points(some)}
    assert all(0 <= a < b <= LENGTH_M for a, b in found)
    assert points(turned(found, -by_m, LENGTH_M)) == points(some)
