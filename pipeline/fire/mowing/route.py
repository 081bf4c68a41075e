"""The driver's way through the passes of a block: each once, neighbors the other way.

A search that tries much and promises nothing: the nearest pass next, from every beginning; then
runs of passes are turned around or moved elsewhere as long as the way gets shorter. It always
takes the same steps on the same map, and a fixed number of them at most.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from pipeline.fire.mowing.route_items import (
    TIE_PLACES,
    Far,
    Item,
    Nest,
    OpenPass,
    Place,
    Points,
    boxes_apart_m,
    nearest_on,
)

MOST_STEPS = 1_000_000
"""Passes looked at before the search ends, a second of work for the largest blocks."""


MOST_AT_ONCE = 250
"""Passes whose order is looked for at once; the work grows with their square and more."""


MOST_BEGINNINGS = 24


MOST_IMPROVED = 3
"""The best of so many beginnings are improved."""


LONGEST_RUN = 9
"""Passes in a row that are moved together, at most."""


LEAST_GAIN_M = 0.01


LEAST_DETOUR_M = 3.0
"""A pass is not cut so near its ends."""


DETOUR_GAIN_M = 10.0
"""A pass is cut in two only to save more than this."""


@dataclass(frozen=True, slots=True)
class Driven:
    """Points [m] of a pass in the direction that it is driven, and what it is part of.

    ``lap`` is its place in a nest of closed passes, 0 for an open one.
    """

    item: int
    lap: int
    points: Points


Turn = tuple[int, bool]
"""Number of an item, and whether it is driven turned around."""


class _Search:
    """Orders of the items, and their cost."""

    def __init__(self, items: list[Item], start: Place | None, far: Far) -> None:
        self.items, self.start, self.far, self.steps = items, start, far, 0
        self.source = [(number, 0) for number in range(len(items))]
        self._begins: dict[tuple[int, int, bool], Place] = {}
        self._entered: dict[tuple[Turn, Place | None], tuple[float, Place]] = {}

    def entered(self, turn: Turn, at: Place | None) -> tuple[float, Place]:
        """Way to an item [m] from a place, and the place where it ends, looked up once."""
        asked = turn, at
        if asked not in self._entered:
            self._entered[asked] = self.items[turn[0]].entered(at, turn[1], self.far)
        return self._entered[asked]

    def begin(self, order: list[Turn]) -> Place | None:
        """Where the way begins: the start, or on a nest that is first where the next item is."""
        first = self.items[order[0][0]]
        if self.start is not None or isinstance(first, OpenPass) or len(order) == 1:
            return self.start
        number, turned = order[1]
        pair = order[0][0], number, turned
        if pair not in self._begins:
            following = self.items[number]
            self._begins[pair] = min(
                [first.entrance(place, self.far) for place in _places(following, turned)],
                key=lambda place: following.entered(place, turned, self.far)[0],
            )
        return self._begins[pair]

    def cost(self, order: list[Turn]) -> float:
        """Way without mowing [m] of an order."""
        self.steps += len(order)
        return round(self.trail(order)[-1][1], TIE_PLACES) if order else 0.0

    def nearest_next(self, first: Turn) -> list[Turn]:
        """The nearest item next, from one beginning."""
        left = set(range(len(self.items))) - {first[0]}
        order = [first]
        _, at = self.items[first[0]].entered(self.start, first[1], self.far)
        while left:
            turn = self._nearest(at, [(n, t) for n in sorted(left) for t in self.ways(n)])
            _, at = self.items[turn[0]].entered(at, turn[1], self.far)
            order.append(turn)
            left.discard(turn[0])
        return order

    def _nearest(self, at: Place, choices: list[Turn]) -> Turn:
        """The nearest of some items; no way is looked up that is too long even if straight."""
        far_m, nearest = math.inf, choices[0]
        for number, turned in choices:
            item = self.items[number]
            if item.least_m(at, turned) < far_m:
                way_m, _ = item.entered(at, turned, self.far)
                far_m, nearest = min((far_m, nearest), (way_m, (number, turned)))
        return nearest

    def ways(self, number: int) -> tuple[bool, ...]:
        """Ways round that an item can be driven."""
        return (False, True) if isinstance(self.items[number], OpenPass) else (False,)

    def beginnings(self) -> list[Turn]:
        """First passes to try."""
        all_ways = [(n, t) for n in range(len(self.items)) for t in self.ways(n)]
        most = max(1, min(MOST_BEGINNINGS, MOST_STEPS // 4 // len(self.items) ** 2))
        return all_ways[:: math.ceil(len(all_ways) / most)]

    def cut(self, cut: "_Cut") -> list[Turn]:
        """A pass driven in two halves: turns of its halves, and of what is left of its nest."""
        item, lap = self.source[cut.number]
        halves = np.vstack([cut.line[: cut.side + 1], [cut.foot]])
        others = np.vstack([[cut.foot], cut.line[cut.side + 1 :]])
        count, of = len(self.items), self.items[cut.number]
        self.items += [OpenPass(halves), OpenPass(others)]
        self.source += [(item, lap), (item, lap)]
        turns = [(count, False), (count + 1, False)]
        if isinstance(of, Nest) and len(of.rings) > 1:
            self.items.append(Nest(of.rings[1:]))
            self.source.append((item, lap + 1))
            turns.append((count + 2, not cut.turned))
        return turns

    def trail(self, order: list[Turn]) -> list[tuple[Place | None, float]]:
        """Place and way without mowing [m] so far before each item of an order, and at its end."""
        at, total = self.begin(order), 0.0
        found = [(at, total)]
        for turn in order:
            far, at = self.entered(turn, at)
            total += far
            found.append((at, total))
        return found

    def changed_cost(
        self, order: list[Turn], low: int, high: int, trail: list[tuple[Place | None, float]]
    ) -> float:
        """Way without mowing [m] of an order that differs from that of a trail between two places.

        It is known again from where both come to the same place, and without end where it is no
        shorter before that.
        """
        most = trail[-1][1] - LEAST_GAIN_M
        if low <= 1:
            low, at, total = 0, self.begin(order), 0.0
        else:
            at, total = trail[low]
        for place in range(low, len(order)):
            if place >= high and at == trail[place][0]:
                return total + trail[-1][1] - trail[place][1]
            far, at = self.entered(order[place], at)
            total += far
            self.steps += 1
            if total >= most:
                return math.inf
        return total

    def improved(self, order: list[Turn], most_steps: int) -> list[Turn]:
        """The order with runs turned or moved until nothing is gained, or the search must end."""
        trail, last = self.trail(order), self.steps + most_steps
        gained = True
        while gained:
            gained = False
            for changed in (_with_a_run_turned, _with_a_run_moved):
                for place in range(len(order)):
                    for low, high, other in changed(order, place):
                        if self.steps > last:
                            return order
                        cost = self.changed_cost(other, low, high, trail)
                        if cost < trail[-1][1] - LEAST_GAIN_M:
                            order, trail, gained = other, self.trail(other), True
                            break
        return order


def _turned(run: list[Turn]) -> list[Turn]:
    return [(number, not turned) for number, turned in reversed(run)]


Changed = tuple[int, int, list[Turn]]
"""From where to where an order is changed, and the order."""


def _with_a_run_turned(order: list[Turn], start: int) -> Iterator[Changed]:
    """Orders in which a run from a place on is driven the other way round."""
    for end in range(start + 1, len(order) + 1):
        yield start, end, order[:start] + _turned(order[start:end]) + order[end:]


def _with_a_run_moved(order: list[Turn], start: int) -> Iterator[Changed]:
    """Orders in which a short run from a place on stands elsewhere, either way round."""
    for end in range(start + 1, min(start + 4, len(order)) + 1):
        run, rest = order[start:end], order[:start] + order[end:]
        for place in range(len(rest) + 1):
            low, high = min(start, place), max(end, place + len(run))
            if place != start:
                yield low, high, rest[:place] + run + rest[place:]
            yield low, high, rest[:place] + _turned(run) + rest[place:]


def driving_order(
    items: list[Item], start: Place | None = None, far: Far = math.dist
) -> list[Driven]:
    """Every pass once, in the order and direction in which it is driven.

    ``far`` measures the way between two places; a closed pass may be cut, like any other. A block
    with very many passes is driven part by part, as they are listed.
    """
    driven: list[Driven] = []
    firsts = range(0, len(items), MOST_AT_ONCE)
    for first in firsts:
        steps = MOST_STEPS // len(firsts)
        part = _order_of_part(items[first : first + MOST_AT_ONCE], start, far, steps)
        driven += [replace(pass_, item=pass_.item + first) for pass_ in part]
        last_x, last_y = part[-1].points[-1].tolist()
        start = (last_x, last_y)
    return driven


def _order_of_part(items: list[Item], start: Place | None, far: Far, steps: int) -> list[Driven]:
    """Passes of one part of the way in order, found in a number of steps."""
    search = _Search(list(items), start, far)
    orders = [search.nearest_next(first) for first in search.beginnings()]
    best = sorted(orders, key=search.cost)[:MOST_IMPROVED]
    order = min((search.improved(order, steps // 3) for order in best), key=search.cost)
    last = search.steps + steps
    # Passes are cut only where the whole way is looked for at once.
    while steps == MOST_STEPS and search.steps < last:
        shorter = _with_a_detour(search, order) or _with_a_pass_cut(search, order)
        if shorter is None:
            break
        order = shorter
    found, at = [], search.begin(order)
    for number, turned in order:
        item, lap = search.source[number]
        for points in search.items[number].laps(at, turned, far):
            found.append(Driven(item, lap, points))
            lap, at = lap + 1, (float(points[-1][0]), float(points[-1][1]))
    return found


@dataclass(frozen=True, slots=True)
class _Cut:
    """A place where a pass is cut in two: the line as it is driven, its side and the place."""

    number: int
    turned: bool
    line: Points
    side: int
    foot: Place


def _cut_toward(search: _Search, turn: Turn, line: Points, places: list[Place]) -> _Cut | None:
    """The pass cut where it is nearest to some places, unless that is at one of its ends."""
    found = [nearest_on(line, place) for place in places]
    _, side, foot = min(found, key=lambda nearest: round(nearest[0], TIE_PLACES))
    search.steps += 1
    if min(math.dist(foot, line[0]), math.dist(foot, line[-1])) < LEAST_DETOUR_M:
        return None
    return _Cut(*turn, line, side, foot)


def _with_a_detour(search: _Search, order: list[Turn]) -> list[Turn] | None:
    """The order with a run driven from within another pass, where that gains most and enough."""
    cost, gain_m, best = search.cost(order), DETOUR_GAIN_M, None
    for start in range(len(order)):
        for end in range(start + 1, min(len(order), start + LONGEST_RUN) + 1):
            run, rest = order[start:end], order[:start] + order[end:]
            saved_m = cost - search.cost(rest)
            if not rest or saved_m <= gain_m:
                continue
            for place, cut, way, far_m in _detours(search, rest, run, saved_m - gain_m):
                if saved_m - far_m > gain_m:
                    gain_m, best = saved_m - far_m, (rest, place, cut, way)
    if best is None:
        return None
    rest, place, cut, way = best
    first, *others = search.cut(cut)
    return [*rest[:place], first, *way, *others, *rest[place + 1 :]]


def _detours(
    search: _Search, rest: list[Turn], run: list[Turn], most_m: float
) -> Iterator[tuple[int, _Cut, list[Turn], float]]:
    """Passes of the rest cut where the run is nearest, with the way there and back [m].

    Passes farther than ``most_m`` from the run are left out.
    """
    begins = []
    for way in (run, _turned(run)):
        first, reverse = search.items[way[0][0]], way[0][1]
        begins.append((way, _places(first, reverse), first.begin_box(reverse)))
    at = search.begin(rest)
    for place, (number, turned) in enumerate(rest):
        item = search.items[number]
        for way, places, begin in begins:
            if boxes_apart_m(item.box, begin) > most_m:
                search.steps += 1
                continue
            line = item.laps(at, turned, search.far)[0]
            cut = _cut_toward(search, (number, turned), line, places)
            if cut is not None:
                yield place, cut, way, _there_and_back(search, cut.foot, way)
        _, at = item.entered(at, turned, search.far)


def _with_a_pass_cut(search: _Search, order: list[Turn]) -> list[Turn] | None:
    """The order anew, with a pass at one end of a long move cut where it is nearest the other."""
    cost, gain_m, best = search.cost(order), DETOUR_GAIN_M, None
    at = search.begin(order)
    for place, (number, turned) in enumerate(order[:-1]):
        item, (following, after) = search.items[number], order[place + 1]
        line = item.laps(at, turned, search.far)[0]
        _, at = item.entered(at, turned, search.far)
        ahead = search.items[following]
        far_m, _ = ahead.entered(at, after, search.far)
        if at is None or far_m < DETOUR_GAIN_M:
            continue
        from_here = [at] if isinstance(item, OpenPass) else item.places
        next_line = ahead.laps(at, after, search.far)[0]
        cuts = [
            (place, _cut_toward(search, (number, turned), line, _places(ahead, after))),
            (place + 1, _cut_toward(search, (following, after), next_line, from_here)),
        ]
        for where, cut in cuts:
            if cut is None:
                continue
            other = [*order[:where], *search.cut(cut), *order[where + 1 :]]
            other = search.improved(other, MOST_STEPS // 20)
            if cost - search.cost(other) > gain_m:
                gain_m, best = cost - search.cost(other), other
    return best


def _places(item: Item, turned: bool) -> list[Place]:
    """Where an item may be begun."""
    return [item.ends[1 if turned else 0]] if isinstance(item, OpenPass) else item.places


def _there_and_back(search: _Search, place: Place, run: list[Turn]) -> float:
    """Way without mowing [m] from a place through a run and back to it."""
    at, total = place, 0.0
    for number, turned in run:
        far_m, at = search.items[number].entered(at, turned, search.far)
        total += far_m
    return total + search.far(at, place)
