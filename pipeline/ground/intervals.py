"""Stretches [m] along a line, as sorted lists of (from, to) that do not overlap."""

from collections.abc import Iterable, Sequence

Interval = tuple[float, float]


JOIN_M = 0.1
"""Stretches closer to each other than this are one, pieces shorter than this are none."""


def joined(intervals: Iterable[Interval], hole_m: float = JOIN_M) -> list[Interval]:
    """The union of intervals, with holes of up to ``hole_m`` closed."""
    result: list[Interval] = []
    for start, end in sorted(intervals):
        if result and start - result[-1][1] <= hole_m:
            result[-1] = (result[-1][0], max(end, result[-1][1]))
        else:
            result.append((start, end))
    return [piece for piece in result if piece[1] - piece[0] > JOIN_M]


def without(intervals: Sequence[Interval], taken: Sequence[Interval]) -> list[Interval]:
    """What is left of the intervals outside those taken."""
    result: list[Interval] = []
    for start, end in intervals:
        at = start
        for low, high in taken:
            if high <= at or low >= end:
                continue
            if low > at:
                result.append((at, low))
            at = high
        if at < end:
            result.append((at, end))
    return [piece for piece in result if piece[1] - piece[0] > JOIN_M]


def common(intervals: Sequence[Interval], others: Sequence[Interval]) -> list[Interval]:
    """What lies in one of the intervals and in one of the others too."""
    both = [(max(a, c), min(b, d)) for a, b in intervals for c, d in others]
    return joined((low, high) for low, high in both if high > low)


def total_m(intervals: Iterable[Interval]) -> float:
    """Length [m] of intervals that do not overlap, together."""
    return sum(end - start for start, end in intervals)


def turned(intervals: Sequence[Interval], by_m: float, length_m: float) -> list[Interval]:
    """Intervals moved along a ring of that length; one that passes its end goes on at 0."""
    result = []
    for start, end in intervals:
        low = (start + by_m) % length_m
        high = low + (end - start)
        result.append((low, min(high, length_m)))
        if high > length_m:
            result.append((0.0, high - length_m))
    return sorted(result)
