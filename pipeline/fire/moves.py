"""Ways between passes over ground that may be driven: straight, or around corners where need be."""

import heapq
import math

import numpy as np
import shapely

from pipeline.ground.acreage import polygonal

LEEWAY_M = 1.0
"""A way may leave the drawn ground by this much: outlines are not known better."""


SMOOTHING_M = 0.5
"""Corners within this of the straight line are not driven around."""


MOST_CORNERS = 300
"""With more corners than this the outline is smoothed further, so that the search stays short."""


class DrivingGround:
    """Ground that may be driven over, with the corners that its shortest ways bend around."""

    def __init__(self, ground: shapely.Geometry) -> None:
        """Take the ground [m] with its leeway."""
        self._wide = polygonal(shapely.buffer(ground, LEEWAY_M, join_style="mitre"))
        shapely.prepare(self._wide)
        self._corners = _inner_corners(ground)
        self._seen: dict[int, np.ndarray] = {}

    def way(self, here: np.ndarray, there: np.ndarray) -> tuple[shapely.LineString, bool]:
        """Shortest way [m] from one place to another, and whether it stays on the ground.

        Where none does, it is the straight line.
        """
        straight = shapely.LineString([here, there])
        if shapely.covers(self._wide, straight):
            return straight, True
        places = np.vstack([self._corners, here, there])
        path = self._shortest(places)
        return (straight, False) if path is None else (shapely.LineString(places[path]), True)

    def _shortest(self, places: np.ndarray) -> list[int] | None:
        """Numbers of the places on the shortest way from the last but one to the last."""
        start, goal = len(places) - 2, len(places) - 1
        best = np.full(len(places), math.inf)
        best[start] = 0.0
        before = np.full(len(places), -1)
        to_goal = np.hypot(*(places - places[goal]).T)
        queue = [(float(to_goal[start]), start)]
        done = np.zeros(len(places), dtype=bool)
        while queue:
            _, at = heapq.heappop(queue)
            if done[at]:
                continue
            done[at] = True
            if at == goal:
                path = [goal]
                while path[-1] != start:
                    path.append(int(before[path[-1]]))
                return path[::-1]
            seen = self._in_sight(at, places)
            far = best[at] + np.hypot(*(places[seen] - places[at]).T)
            closer = far < best[seen] - 1e-9
            best[seen[closer]], before[seen[closer]] = far[closer], at
            for number, total in zip(seen[closer].tolist(), far[closer].tolist(), strict=True):
                heapq.heappush(queue, (total + float(to_goal[number]), number))
        return None

    def _in_sight(self, at: int, places: np.ndarray) -> np.ndarray:
        """Places that a straight way over the ground leads to from one of them."""
        fixed = len(self._corners)
        if at < fixed and at in self._seen:
            known, others = self._seen[at], np.arange(fixed, len(places))
        else:
            known, others = np.empty(0, dtype=int), np.arange(len(places))
        ends = np.stack([np.broadcast_to(places[at], (len(others), 2)), places[others]], axis=1)
        found = others[shapely.covers(self._wide, shapely.linestrings(ends))]
        if at < fixed and at not in self._seen:
            self._seen[at] = found[found < fixed]
        return np.concatenate([known, found])


def _inner_corners(ground: shapely.Geometry) -> np.ndarray:
    """Corners of the ground that reach into it, where a shortest way may bend."""
    smoothing_m = SMOOTHING_M
    while True:
        smooth = shapely.orient_polygons(polygonal(shapely.simplify(ground, smoothing_m)))
        corners = [_right_turns(ring) for ring in shapely.get_rings(shapely.get_parts(smooth))]
        found = np.vstack([np.empty((0, 2)), *corners])
        if len(found) <= MOST_CORNERS:
            return found
        smoothing_m *= 2


def _right_turns(ring: shapely.LinearRing) -> np.ndarray:
    """Vertices of a ring with the ground on its left hand where it turns to the right."""
    points = shapely.get_coordinates(ring)[:-1]
    (ax, ay), (bx, by) = (points - np.roll(points, 1, axis=0)).T, (
        np.roll(points, -1, axis=0) - points
    ).T
    return points[ax * by - ay * bx < 0]
