"""Stretches [m] along a line, as sorted lists of (from, to) that do not overlap."""

from collections.abc import Iterable, Sequence
from itertools import chain, pairwise

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


def runs_and_gaps(
    covered: Sequence[Interval], length_m: float, *, gap_m: float, shortest_m: float, ring: bool
) -> tuple[list[Interval], list[Interval]]:
    """Stretches along an existing break, and the short holes between them.

    A hole of up to ``gap_m`` is told apart as a gap and never counted as covered. A group of
    stretches that is shorter than ``shortest_m``, gaps included, or than half the line if that is
    less, is a crossing or a touch and counts for nothing. On a ring the end meets the start.
    """
    runs = joined(covered)
    if not runs:
        return [], []
    shift = runs[0][0] if ring and not _meets_itself(runs, length_m) else 0.0
    if ring and shift == 0.0 and len(runs) > 1 and _meets_itself(runs, length_m):
        shift = runs[-1][0]
    turned = joined(_shifted(runs, -shift, length_m)) if shift else runs
    holes = [(a[1], b[0]) for a, b in pairwise(turned)]
    if ring and turned[-1][1] < length_m - JOIN_M:
        holes.append((turned[-1][1], length_m))
    kept_runs, kept_gaps = _long_groups(
        turned, holes, gap_m, min(shortest_m, length_m / 2), length_m if ring else None
    )
    return (
        sorted(_shifted(kept_runs, shift, length_m)),
        sorted(_shifted(kept_gaps, shift, length_m)),
    )


def _meets_itself(runs: Sequence[Interval], length_m: float) -> bool:
    """Whether the last stretch of a ring goes on in the first."""
    return runs[0][0] <= JOIN_M and runs[-1][1] >= length_m - JOIN_M


def _shifted(intervals: Sequence[Interval], by_m: float, length_m: float) -> list[Interval]:
    """Intervals moved along a ring; one that passes the start is cut there."""
    result = []
    for start, end in intervals:
        low = (start + by_m) % length_m
        high = low + (end - start)
        result.append((low, min(high, length_m)))
        if high > length_m + JOIN_M:
            result.append((0.0, high - length_m))
    return sorted(result)


def _length(interval: Interval) -> float:
    return interval[1] - interval[0]


def _long_groups(
    runs: list[Interval],
    holes: list[Interval],
    gap_m: float,
    shortest_m: float,
    ring_m: float | None,
) -> tuple[list[Interval], list[Interval]]:
    """Runs and gaps of the groups that are long enough; a last hole closes a ring."""
    groups: list[tuple[list[Interval], list[Interval]]] = [([runs[0]], [])]
    for hole, run in zip(holes, runs[1:], strict=False):
        if hole[1] - hole[0] <= gap_m:
            groups[-1][0].append(run)
            groups[-1][1].append(hole)
        else:
            groups.append(([run], []))
    closing = holes[-1] if ring_m is not None and len(holes) == len(runs) else None
    if closing and closing[1] - closing[0] <= gap_m:
        last = groups.pop() if len(groups) > 1 else ([], [])
        groups[0] = (groups[0][0] + last[0], [*groups[0][1], *last[1], closing])
    long = [group for group in groups if sum(map(_length, chain(*group))) >= shortest_m]
    return [r for group in long for r in group[0]], [g for group in long for g in group[1]]
