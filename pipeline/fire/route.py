"""The driver's way through the passes of a block: each once, neighbors the other way.

A search that tries much and promises nothing: the nearest pass next, from every beginning; then
runs of passes are turned around or moved elsewhere as long as the way gets shorter. It always
takes the same steps on the same map, and a fixed number of them at most.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np

Place = tuple[float, float]


Points = np.ndarray


MOST_STEPS = 600_000
"""Passes looked at before the search ends, some seconds of work for the largest blocks."""


MOST_BEGINNINGS = 24


LONGEST_RUN = 9
"""Passes in a row that are moved together, at most."""


LEAST_GAIN_M = 0.01


LEAST_DETOUR_M = 3.0
"""A pass is not cut so near its ends."""


DETOUR_GAIN_M = 10.0
"""A pass is cut in two only to save more than this."""


@dataclass(frozen=True, slots=True)
class Driven:
    """Points [m] of a pass in the direction that it is driven, and the number of what it is of."""

    item: int
    points: Points


class Item(Protocol):
    """What is mown in one go."""

    def entered(self, at: Place | None, turned: bool) -> tuple[float, Place]:
        """Way to its beginning [m] from a place, and the place where it ends."""

    def laps(self, at: Place | None, turned: bool) -> list[Points]:
        """What is driven, pass by pass."""


@dataclass(frozen=True, slots=True)
class OpenPass:
    """A pass with two ends; driven from its last point to its first when it is turned."""

    points: Points

    def entered(self, at: Place | None, turned: bool) -> tuple[float, Place]:
        """Way to its beginning [m] from a place, and the place where it ends."""
        first, last = self.points[-1 if turned else 0], self.points[0 if turned else -1]
        far = 0.0 if at is None else math.dist(first, at)
        return far, (float(last[0]), float(last[1]))

    def laps(self, at: Place | None, turned: bool) -> list[Points]:
        """What is driven: the pass."""
        return [self.points[::-1] if turned else self.points]


class Nest:
    """Closed passes one inside the other: begun anywhere, each next one there and backward."""

    def __init__(self, rings: list[Points]) -> None:
        """Keep the rings, the outermost first."""
        self.rings = rings
        self._ends: dict[Place, tuple[float, Place]] = {}

    def entered(self, at: Place | None, turned: bool) -> tuple[float, Place]:
        """Way without mowing [m] from a place to and within the nest, and where it ends."""
        if at is None:
            first = self.rings[0][0]
            at = (float(first[0]), float(first[1]))
        if at not in self._ends:
            total, place = 0.0, at
            for ring in self.rings:
                far, _, place = nearest_on(ring, place)
                total += far
            self._ends[at] = total, place
        return self._ends[at]

    def laps(self, at: Place | None, turned: bool) -> list[Points]:
        """What is driven: each ring from where the one before it ended."""
        found = []
        for number, ring in enumerate(self.rings):
            if at is None:
                at = (float(ring[0][0]), float(ring[0][1]))
            _, side, at = nearest_on(ring, at)
            lap = np.vstack([[at], ring[side + 1 : -1], ring[: side + 1], [at]])
            found.append(lap[::-1] if (number % 2 == 1) != turned else lap)
        return found


def nearest_on(line: Points, at: Place) -> tuple[float, int, Place]:
    """Distance [m] of a line from a place, the side of it that is nearest, and where on it."""
    start, way = line[:-1], np.diff(line, axis=0)
    along = ((np.asarray(at) - start) * way).sum(axis=1)
    share = np.clip(along / np.maximum((way**2).sum(axis=1), 1e-12), 0, 1)
    foot = start + share[:, None] * way
    far = np.hypot(*(foot - at).T)
    side = int(far.argmin())
    return float(far[side]), side, (float(foot[side][0]), float(foot[side][1]))


Turn = tuple[int, bool]
"""Number of an item, and whether it is driven turned around."""


class _Search:
    """Orders of the items, and their cost."""

    def __init__(self, items: list[Item], start: Place | None) -> None:
        self.items, self.start, self.steps = items, start, 0

    def cost(self, order: list[Turn], most: float = math.inf) -> float:
        """Way without mowing [m] of an order; no further than a limit."""
        at, total = self.start, 0.0
        for number, turned in order:
            far, at = self.items[number].entered(at, turned)
            total += far
            self.steps += 1
            if total >= most:
                return math.inf
        return total

    def nearest_next(self, first: Turn | None) -> list[Turn]:
        """The nearest item next, from one beginning."""
        left = set(range(len(self.items)))
        order, at = [], self.start
        while left:
            if first and not order:
                turn = first
            else:
                choices = [(n, t) for n in sorted(left) for t in self.ways(n)]
                turn = min(choices, key=lambda c: (self.items[c[0]].entered(at, c[1])[0], c))
            _, at = self.items[turn[0]].entered(at, turn[1])
            order.append(turn)
            left.discard(turn[0])
        return order

    def ways(self, number: int) -> tuple[bool, ...]:
        """Ways round that an item can be driven."""
        return (False, True) if isinstance(self.items[number], OpenPass) else (False,)

    def beginnings(self) -> list[Turn | None]:
        """First passes to try."""
        if self.start is not None:
            return [None]
        all_ways = [(n, t) for n in range(len(self.items)) for t in self.ways(n)]
        return list(all_ways[:: math.ceil(len(all_ways) / MOST_BEGINNINGS)])

    def improved(self, order: list[Turn]) -> list[Turn]:
        """The order with runs turned or moved until nothing is gained, or the search must end."""
        best = self.cost(order)
        gained = True
        while gained:
            gained = False
            for changed in (_with_a_run_turned, _with_a_run_moved):
                for place in range(len(order)):
                    for other in changed(order, place):
                        if self.steps > MOST_STEPS:
                            return order
                        cost = self.cost(other, best - LEAST_GAIN_M)
                        if cost < best - LEAST_GAIN_M:
                            order, best, gained = other, cost, True
                            break
        return order


def _turned(run: list[Turn]) -> list[Turn]:
    return [(number, not turned) for number, turned in reversed(run)]


def _with_a_run_turned(order: list[Turn], start: int) -> Iterator[list[Turn]]:
    """Orders in which a run from a place on is driven the other way round."""
    for end in range(start + 1, len(order) + 1):
        yield order[:start] + _turned(order[start:end]) + order[end:]


def _with_a_run_moved(order: list[Turn], start: int) -> Iterator[list[Turn]]:
    """Orders in which a short run from a place on stands elsewhere, either way round."""
    for end in range(start + 1, min(start + 4, len(order)) + 1):
        run, rest = order[start:end], order[:start] + order[end:]
        for place in range(len(rest) + 1):
            if place != start:
                yield rest[:place] + run + rest[place:]
            yield rest[:place] + _turned(run) + rest[place:]


def driving_order(items: list[Item], start: Place | None = None) -> list[Driven]:
    """Every pass once, in the order and direction in which it is driven."""
    if not items:
        return []
    search = _Search(list(items), start)
    orders = [search.nearest_next(first) for first in search.beginnings()]
    order = search.improved(min(orders, key=search.cost))
    source = list(range(len(items)))
    while (detour := _best_detour(search, order)) is not None:
        search.items += [OpenPass(part) for part in detour.halves]
        source += [source[detour.cut]] * 2
        order = detour.order
    found, at = [], start
    for number, turned in order:
        laps = search.items[number].laps(at, turned)
        found += [Driven(source[number], lap) for lap in laps]
        at = (float(laps[-1][-1][0]), float(laps[-1][-1][1]))
    return found


@dataclass(frozen=True, slots=True)
class _Detour:
    """A run of items driven from within a pass, which is cut in two there."""

    gain_m: float
    cut: int
    halves: tuple[Points, Points]
    order: list[Turn]


def _best_detour(search: _Search, order: list[Turn]) -> _Detour | None:
    """The detour that shortens the way most, if any does by enough to be worth it."""
    cost = search.cost(order)
    best: _Detour | None = None
    for start in range(len(order)):
        for end in range(start + 1, min(len(order), start + LONGEST_RUN) + 1):
            if search.steps > 2 * MOST_STEPS:
                return None
            run, rest = order[start:end], order[:start] + order[end:]
            least = DETOUR_GAIN_M if best is None else best.gain_m
            saved = cost - search.cost(rest)
            if not rest or saved <= least:
                continue
            for detour in _detours(search, rest, run, saved):
                if detour.gain_m > least:
                    best, least = detour, detour.gain_m
    return best


def _detours(
    search: _Search, rest: list[Turn], run: list[Turn], saved_m: float
) -> Iterator[_Detour]:
    """Every pass of the rest cut where the run is nearest."""
    count = len(search.items)
    for place, (number, turned) in enumerate(rest):
        item = search.items[number]
        if not isinstance(item, OpenPass):
            continue
        line = item.laps(None, turned)[0]
        for way in (run, _turned(run)):
            _, side, foot = nearest_on(line, _entrance(search.items[way[0][0]], way[0][1], line))
            search.steps += len(way) + 1
            if min(math.dist(foot, line[0]), math.dist(foot, line[-1])) < LEAST_DETOUR_M:
                continue
            far_m = _there_and_back(search, foot, way)
            halves = np.vstack([line[: side + 1], [foot]]), np.vstack([[foot], line[side + 1 :]])
            parts = [(count, False), *way, (count + 1, False)]
            yield _Detour(
                saved_m - far_m, number, halves, rest[:place] + parts + rest[place + 1 :]
            )


def _entrance(item: Item, turned: bool, line: Points) -> Place:
    """Where an item is begun from a line: one of its ends, or the place nearest to the line."""
    if isinstance(item, OpenPass):
        first = item.laps(None, turned)[0][0]
        return (float(first[0]), float(first[1]))
    ring = item.laps(None, turned)[0]
    corners = [(float(x), float(y)) for x, y in ring[:: max(1, len(ring) // MOST_BEGINNINGS)]]
    return min(corners, key=lambda corner: nearest_on(line, corner)[0])


def _there_and_back(search: _Search, place: Place, run: list[Turn]) -> float:
    """Way without mowing [m] from a place through a run and back to it."""
    at, total = place, 0.0
    for number, turned in run:
        far, at = search.items[number].entered(at, turned)
        total += far
    return total + math.dist(at, place)
