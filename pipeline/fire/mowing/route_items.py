"""What is mown in one go: a pass with two ends, or a nest of closed ones; how each is entered."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

Place = tuple[float, float]


Box = tuple[Place, Place]
"""Lowest and highest corner of a box."""


Far = Callable[[Place, Place], float]
"""Length [m] of the way from one place to another."""


Points = np.ndarray


TIE_PLACES = 3
"""Ways are compared to the millimeter, so that a tie is one whatever the rounding of a map."""


NEST_PLACES = 24
"""Places around a closed pass that are tried to begin it at."""


BESIDE_M = 5.0
"""A closed pass that is no farther away is begun where it is nearest."""


@dataclass(frozen=True)
class OpenPass:
    """A pass with two ends; driven from its last point to its first when it is turned."""

    points: Points

    def entered(self, at: Place | None, turned: bool, far: Far) -> tuple[float, Place]:
        """Way to its beginning [m] from a place, and the place where it ends."""
        first, last = (self.ends[1], self.ends[0]) if turned else self.ends
        return 0.0 if at is None else round(far(at, first), TIE_PLACES), last

    @cached_property
    def ends(self) -> tuple[Place, Place]:
        """Its first and its last place."""
        (first_x, first_y), (last_x, last_y) = self.points[[0, -1]].tolist()
        return (first_x, first_y), (last_x, last_y)

    def least_m(self, at: Place, turned: bool) -> float:
        """Way to its beginning [m] from a place is no shorter than this: it is straight."""
        return math.dist(at, self.ends[1 if turned else 0])

    def begin_box(self, turned: bool) -> Box:
        """Box around the places where it may be begun."""
        begin = self.ends[1 if turned else 0]
        return begin, begin

    @cached_property
    def box(self) -> Box:
        """Box around the pass."""
        return box_around(self.points)

    def laps(self, at: Place | None, turned: bool, far: Far) -> list[Points]:
        """What is driven: the pass."""
        return [self.points[::-1] if turned else self.points]


class Nest:
    """Closed passes one inside the other: begun anywhere, each next one there and backward."""

    def __init__(self, rings: list[Points]) -> None:
        """Keep the rings, the outermost first."""
        self.rings = rings
        self._entrances: dict[Place, Place] = {}
        self._ends: dict[Place, tuple[float, Place]] = {}

    def entered(self, at: Place | None, turned: bool, far: Far) -> tuple[float, Place]:
        """Way without mowing [m] from a place to and within the nest, and where it ends."""
        place = self.entrance(at, far)
        within_m, end = self._inward(place)
        total_m = within_m + (0.0 if at is None else far(at, place))
        return round(total_m, TIE_PLACES), end

    def least_m(self, at: Place, turned: bool) -> float:
        """Way to it [m] from a place is no shorter than this."""
        return boxes_apart_m(self.box, (at, at))

    def begin_box(self, turned: bool) -> Box:
        """Box around the places where it may be begun."""
        return self.box

    @cached_property
    def box(self) -> Box:
        """Box around the outermost ring."""
        return box_around(self.rings[0])

    def _inward(self, place: Place) -> tuple[float, Place]:
        """Way from ring to ring [m] of laps that begin at a place, and where they end."""
        if place not in self._ends:
            total, end = 0.0, place
            for ring in self.rings[1:]:
                step_m, _, end = nearest_on(ring, end)
                total += step_m
            self._ends[place] = total, end
        return self._ends[place]

    def entrance(self, at: Place | None, far: Far) -> Place:
        """Where the outermost ring is begun by one who comes from a place."""
        if at is None:
            return min(self.places, key=lambda place: round(self._inward(place)[0], TIE_PLACES))
        if at not in self._entrances:
            nearest = nearest_on(self.rings[0], at)[2]
            known = nearest, *(() if math.dist(at, nearest) < BESIDE_M else self.places)
            self._entrances[at] = min(known, key=lambda place: round(far(at, place), TIE_PLACES))
        return self._entrances[at]

    @cached_property
    def places(self) -> list[Place]:
        """Places around the outermost ring, to begin at."""
        line = shapely.LineString(self.rings[0])
        share = np.arange(NEST_PLACES) / NEST_PLACES
        points = shapely.line_interpolate_point(line, share, normalized=True)
        return [(point.x, point.y) for point in points]

    def laps(self, at: Place | None, turned: bool, far: Far) -> list[Points]:
        """What is driven: each ring from where the one before it ended."""
        found = []
        place = self.entrance(at, far)
        for number, ring in enumerate(self.rings):
            _, side, place = nearest_on(ring, place)
            lap = np.vstack([[place], ring[side + 1 : -1], ring[: side + 1], [place]])
            found.append(lap[::-1] if (number % 2 == 1) != turned else lap)
        return found


Item = OpenPass | Nest
"""What is mown in one go."""


def nearest_on(line: Points, at: Place) -> tuple[float, int, Place]:
    """Distance [m] of a line from a place, the side of it that is nearest, and where on it."""
    start, way = line[:-1], np.diff(line, axis=0)
    along = ((np.asarray(at) - start) * way).sum(axis=1)
    share = np.clip(along / np.maximum((way**2).sum(axis=1), 1e-12), 0, 1)
    foot = start + share[:, None] * way
    far = np.hypot(*(foot - at).T)
    side = int(np.round(far, TIE_PLACES).argmin())
    return float(far[side]), side, (float(foot[side][0]), float(foot[side][1]))


def box_around(line: Points) -> Box:
    """Lowest and highest corner of the box around a line."""
    (low_x, low_y), (high_x, high_y) = line.min(axis=0).tolist(), line.max(axis=0).tolist()
    return (low_x, low_y), (high_x, high_y)


def boxes_apart_m(one: Box, other: Box) -> float:
    """Distance [m] between two boxes; 0 where they meet."""
    (low_x, low_y), (high_x, high_y) = one
    (from_x, from_y), (to_x, to_y) = other
    return math.hypot(max(low_x - to_x, from_x - high_x, 0), max(low_y - to_y, from_y - high_y, 0))
