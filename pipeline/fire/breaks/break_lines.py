"""Which stretches of an edge run along a break that is already there.

Exact, without sampling: a stretch counts where it lies within the tolerance beside a side of the
break, between square ends, and runs in its direction; at a bend of the break the wedge between
its two sides counts too. Ground inside a break drawn as a polygon counts, whatever the direction.
A buffer would credit a line beyond the free ends of a road, and that is where a fire gets out.
"""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.ground.overlays import common
from pipeline.ground.snapping import Sides

VERTEX_M = 0.01
"""Ends of break lines closer than this are one point."""


@dataclass(frozen=True, slots=True)
class Cover:
    """Stretches of lines along breaks: line, from and to [m] along it, and row of the break."""

    line: np.ndarray
    start_m: np.ndarray
    end_m: np.ndarray
    row: np.ndarray


def break_cover(
    lines: np.ndarray,
    breaks: gpd.GeoSeries,
    *,
    along_m: float,
    angle_deg: float,
    smoothing_m: float,
) -> Cover:
    """Stretches of the lines that run along each break, within ``along_m`` and ``angle_deg``."""
    sides = Sides.of(lines)
    heading = smoothed_headings(lines, smoothing_m)
    shapes, row = shapely.get_parts(breaks.to_numpy(), return_index=True)
    flat = shapely.get_dimensions(shapes) == 2
    outlines, number = shapely.get_parts(
        np.where(flat, shapely.boundary(shapes), shapes), return_index=True
    )
    found = [
        *_beside(sides, heading, outlines, row[number], along_m, angle_deg, smoothing_m),
        _inside(sides, shapes[flat], row[flat]),
    ]
    side, low, high, break_row = (np.concatenate(part) for part in zip(*found, strict=True))
    length = np.hypot(*(sides.end - sides.start).T)[side]
    start = sides.arc[side]
    keep = high > low
    return Cover(
        sides.ring[side][keep],
        (start + low * length)[keep],
        (start + high * length)[keep],
        break_row[keep],
    )


def smoothed_headings(lines: np.ndarray, smoothing_m: float) -> np.ndarray:
    """Direction [unit vector] of each side of the lines, taken from the smoothed lines.

    Smoothed by leaving out vertices (Douglas and Peucker), so that a wiggly creek edge has one
    direction where its course has one.
    """
    _, _, chord = smoothed_spans(lines, smoothing_m)
    length = np.hypot(*chord.T)
    return chord / np.where(length > 0, length, 1.0)[:, None]


def smoothed_spans(
    lines: np.ndarray, smoothing_m: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """For each side: start [m] and end [m] points of the smoothed span it belongs to, and chord."""
    points, index = shapely.get_coordinates(lines, return_index=True)
    kept = _kept(lines, points, index, smoothing_m)
    sides = np.flatnonzero(index[:-1] == index[1:])
    span = np.cumsum(kept)[sides] - 1
    vertices = np.flatnonzero(kept)
    start, end = points[vertices[span]], points[vertices[span + 1]]
    return start, end, end - start


def _kept(
    lines: np.ndarray, points: np.ndarray, index: np.ndarray, smoothing_m: float
) -> np.ndarray:
    """Whether each vertex is one of the smoothed line's; first and last ones always are."""
    smooth = shapely.simplify(lines, smoothing_m)
    few, few_index = shapely.get_coordinates(smooth, return_index=True)
    every = np.column_stack([index, points])
    chosen = np.column_stack([few_index, few])
    _, number = np.unique(np.vstack([chosen, every]), axis=0, return_inverse=True)
    number = number.ravel()
    kept = np.isin(number[len(few) :], number[: len(few)])
    kept |= np.diff(index, prepend=-1) != 0
    kept |= np.diff(index, append=-1) != 0
    return kept


def _beside(
    sides: Sides,
    heading: np.ndarray,
    outlines: np.ndarray,
    row: np.ndarray,
    along_m: float,
    angle_deg: float,
    smoothing_m: float,
) -> list[tuple[np.ndarray, ...]]:
    """Parts of sides beside break lines: in the strips of their sides, in the wedges of bends."""
    break_sides = Sides.of(outlines)
    course = smoothed_headings(outlines, smoothing_m)
    least = np.cos(np.radians(angle_deg)) - 1e-12
    lines = sides.lines()
    tree = shapely.STRtree(break_sides.lines())
    strips = tree.query(lines, predicate="dwithin", distance=along_m)
    parallel = _cosine(heading[strips[0]], course[strips[1]]) >= least
    side, other = strips[:, parallel]
    low, high = _strip_share(sides, side, break_sides, other, along_m)
    bends = _bends(break_sides)
    corner, first, second = bends
    near = shapely.STRtree(shapely.points(_bend_points(break_sides, first, corner))).query(
        lines, predicate="dwithin", distance=along_m
    )
    along_both = np.minimum(
        _cosine(heading[near[0]], course[first[near[1]]]),
        _cosine(heading[near[0]], course[second[near[1]]]),
    )
    bend_side, bend = near[:, along_both >= least]
    wedge_low, wedge_high = _wedge_share(sides, bend_side, break_sides, bends, bend, along_m)
    return [
        (side, low, high, row[break_sides.ring[other]]),
        (bend_side, wedge_low, wedge_high, row[break_sides.ring[first[bend]]]),
    ]


def _cosine(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Cosine of the smaller angle between lines of two unit directions, whichever way each runs."""
    return np.abs((one * other).sum(axis=1))


def _clipped(
    low: np.ndarray,
    high: np.ndarray,
    value: np.ndarray,
    change: np.ndarray,
    most: np.ndarray | float,
) -> tuple[np.ndarray, np.ndarray]:
    """Range of the share t in which ``value + t · change`` is at most ``most``."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        at = (most - value) / change
    high = np.where(change > 0, np.minimum(high, at), high)
    low = np.where(change < 0, np.maximum(low, at), low)
    never = (change == 0) & (value > most)
    return np.where(never, 1.0, low), np.where(never, 0.0, high)


def _strip_share(
    sides: Sides, side: np.ndarray, break_sides: Sides, other: np.ndarray, along_m: float
) -> tuple[np.ndarray, np.ndarray]:
    """Share of each side, from and to, within the square-ended strip of a break's side."""
    axis = break_sides.end[other] - break_sides.start[other]
    length = np.hypot(*axis.T)
    axis = axis / np.where(length > 0, length, 1.0)[:, None]
    across = np.column_stack([-axis[:, 1], axis[:, 0]])
    offset = sides.start[side] - break_sides.start[other]
    step = sides.end[side] - sides.start[side]
    u, du = (offset * axis).sum(axis=1), (step * axis).sum(axis=1)
    v, dv = (offset * across).sum(axis=1), (step * across).sum(axis=1)
    low, high = np.zeros(len(side)), np.ones(len(side))
    low, high = _clipped(low, high, u, du, length)
    low, high = _clipped(low, high, -u, -du, 0.0)
    low, high = _clipped(low, high, v, dv, along_m)
    return _clipped(low, high, -v, -dv, along_m)


def _bends(break_sides: Sides) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points where two break sides meet: whether at the first one's end, and the two sides."""
    count = len(break_sides.start)
    ends = np.vstack([break_sides.start, break_sides.end])
    frame = pd.DataFrame(np.round(ends / VERTEX_M).astype(np.int64), columns=["x", "y"])
    frame["side"] = np.tile(np.arange(count), 2)
    frame["at_end"] = np.repeat([False, True], count)
    pairs = frame.merge(frame, on=["x", "y"])
    pairs = pairs[pairs["side_x"] < pairs["side_y"]]
    return (
        np.column_stack([pairs["at_end_x"], pairs["at_end_y"]]).astype(bool).reshape(-1, 2),
        pairs["side_x"].to_numpy(int),
        pairs["side_y"].to_numpy(int),
    )


def _bend_points(break_sides: Sides, side: np.ndarray, at_end: np.ndarray) -> np.ndarray:
    """End point [m] of each side that a bend stands at."""
    return np.where(at_end[:, :1], break_sides.end[side], break_sides.start[side])


def _wedge_share(
    sides: Sides,
    side: np.ndarray,
    break_sides: Sides,
    bends: tuple[np.ndarray, np.ndarray, np.ndarray],
    bend: np.ndarray,
    along_m: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Share of each side, from and to, within the wedge outside a bend of a break."""
    at_end, first, second = (part[bend] for part in bends)
    corner = _bend_points(break_sides, first, at_end)
    offset = sides.start[side] - corner
    step = sides.end[side] - sides.start[side]
    low, high = np.zeros(len(side)), np.ones(len(side))
    for number, which in ((0, first), (1, second)):
        away = (break_sides.end[which] - break_sides.start[which]) * np.where(
            at_end[:, number], -1, 1
        )[:, None]
        value, change = (offset * away).sum(axis=1), (step * away).sum(axis=1)
        low, high = _clipped(low, high, value, change, 0.0)
    square = np.maximum((step**2).sum(axis=1), 1e-12)
    middle = -(offset * step).sum(axis=1) / square
    within = middle**2 - ((offset**2).sum(axis=1) - along_m**2) / square
    reach = np.sqrt(np.maximum(within, 0.0))
    reach = np.where(within > 0, reach, -1.0)
    return np.maximum(low, middle - reach), np.minimum(high, middle + reach)


def _inside(sides: Sides, polygons: np.ndarray, row: np.ndarray) -> tuple[np.ndarray, ...]:
    """Parts of sides inside break polygons."""
    lines = sides.lines()
    side, polygon = shapely.STRtree(polygons).query(lines, predicate="intersects")
    parts, pair = shapely.get_parts(common(lines[side], polygons[polygon]), return_index=True)
    line = shapely.get_dimensions(parts) == 1
    parts, pair = parts[line], pair[line]
    ends = shapely.get_coordinates(parts).reshape(-1, 2, 2)
    side, polygon = side[pair], polygon[pair]
    step = sides.end[side] - sides.start[side]
    span = np.maximum((step**2).sum(axis=1), 1e-12)
    share = ((ends - sides.start[side][:, None]) * step[:, None]).sum(axis=2) / span[:, None]
    return side, share.min(axis=1), share.max(axis=1), row[polygon]


def smoothed_line_points(ring: shapely.LinearRing, smoothing_m: float) -> np.ndarray:
    """Vertices [m] of a smoothed ring, without the closing one."""
    return shapely.get_coordinates(shapely.simplify(ring, smoothing_m))[:-1]
