"""Names and numbers on a map on paper: beside what they name, clear of lines and of each other."""

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry import LineString, box

from pipeline.ground.overlays import less, united
from pipeline.pages import palette
from pipeline.pages.markup import Markup, joined, tag
from pipeline.pages.packet.map_frames import Window
from pipeline.pages.words import plain

SIZE_PT = 8.0
"""Height of the letters of every name on a map; numbers of places are a little larger."""


NUMBER_PT = 9.0


WIDTH_PER_LETTER = 0.56


SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)


OFFSETS_PT = (7.0, -7.0, 12.0, -12.0, 18.0, -18.0, 26.0, -26.0, 36.0, -36.0)
"""Outward first: the block is on the left hand of its stretches, so right is outside."""


TURNS = (0.0, 35.0, -35.0)
"""Degrees by which a leader may leave its line other than square."""


NEAR_PT = 8.0


CLEAR_PT = 1.6
"""Least room between a name and any line."""


CHOICES = np.array(
    [
        (offset, math.radians(turn), share)
        for offset in OFFSETS_PT
        for turn in (TURNS[:1] if abs(offset) <= NEAR_PT else TURNS)
        for share in SHARES
    ]
)
"""Places that a name may take, the best first: offset, turn of its leader, share of its line."""


class Place(NamedTuple):
    """Place of a name, or many places as arrays, the best first.

    ``room`` is what the name takes; ``leader`` runs from its middle to its line, and is drawn
    unless the name stands ``near``.
    """

    room: Any
    leader: Any
    near: Any


class Drawing(NamedTuple):
    """What names must keep clear of: the edge of the map, and the lines."""

    window: Any
    lines: shapely.STRtree


def named_places(
    lines: Sequence[tuple[str, Any]], *, taken: Sequence[Any], sheet_pt: tuple[float, float]
) -> tuple[list[Markup], list[str]]:
    """Names of the stretches, and those that found no room. ``lines`` are in points on paper.

    The longest come first. A name farther from its line gets a leader to it.
    """
    drawing = Drawing(box(0, 0, *sheet_pt), shapely.STRtree([shape for _, shape in lines]))
    full = [room for room in taken if not room.is_empty]
    drawn: list[Markup] = []
    missing: list[str] = []
    for number in sorted(range(len(lines)), key=lambda n: -lines[n][1].length):
        name, shape = lines[number]
        place = _free_place(name, longest_part(shape), number, full, drawing)
        if place is None:
            missing.append(name)
            continue
        full.append(place.room)
        if not place.near:
            full.append(place.leader)
            drawn.append(_leader(place.leader))
        drawn += _name(name, *place.leader.coords[0])
    return drawn, sorted(missing)


def longest_part(shape: Any) -> LineString:
    """Longest line of a shape, an empty one where it has none."""
    parts = [p for p in getattr(shape, "geoms", [shape]) if p.geom_type == "LineString"]
    return max(parts, key=lambda part: part.length, default=LineString())


def _free_place(
    name: str, line: LineString, number: int, full: list[Any], drawing: Drawing
) -> Place | None:
    """First place beside a line that is inside the map, free, and clear of every line.

    A leader crosses no other name and no other line; it may end in the mark of a place that
    stands on its own line.
    """
    if line.is_empty:
        return None
    places = _places_beside(line, len(name) * SIZE_PT * WIDTH_PER_LETTER / 2)
    free = shapely.contains(drawing.window, places.room)
    free[drawing.lines.query(places.room, predicate="dwithin", distance=CLEAR_PT)[0]] = False
    leader, crossed = drawing.lines.query(places.leader, predicate="intersects")
    free[leader[(crossed != number) & ~places.near[leader]]] = False
    full_places = shapely.STRtree(full)
    free[full_places.query(places.room, predicate="intersects")[0]] = False
    leader, met = full_places.query(places.leader, predicate="intersects")
    root = shapely.get_point(places.leader[leader], -1)
    marked = shapely.intersects(root, full_places.geometries[met])
    free[leader[~marked & ~places.near[leader]]] = False
    first = np.flatnonzero(free)[:1]
    return Place(*(each[first[0]] for each in places)) if len(first) else None


def _places_beside(line: LineString, half_width: float) -> Place:
    """Places for a name along a line; one with a leader may stand aslant."""
    offset, turn, share = CHOICES.T
    root = _points_at(line, share)
    along = _points_at(line, np.minimum(share + 0.02, 1)) - _points_at(
        line, np.maximum(share - 0.02, 0)
    )
    # On paper y grows downward, so the right hand of a line is (-dy, dx).
    toward = np.arctan2(along[:, 0], -along[:, 1]) + turn
    # Beside an upright line the name is moved out by half its width.
    outward = offset + np.copysign((half_width - 4) * np.abs(np.cos(toward)), offset)
    x = root[:, 0] + np.cos(toward) * outward
    y = root[:, 1] + np.sin(toward) * offset
    half = SIZE_PT / 2
    return Place(
        room=shapely.box(x - half_width, y - half, x + half_width, y + half),
        leader=shapely.linestrings(np.stack([np.column_stack([x, y]), root], axis=1)),
        near=np.abs(offset) <= NEAR_PT,
    )


def _points_at(line: LineString, share: np.ndarray) -> np.ndarray:
    """Points of a line at shares of its length."""
    return shapely.get_coordinates(shapely.line_interpolate_point(line, share, normalized=True))


def _leader(line: LineString) -> Markup:
    """Leader from a name to its line."""
    (x, y), (root_x, root_y) = line.coords
    data = f"M{x:.2f} {y:.2f}L{root_x:.2f} {root_y:.2f}"
    return tag("path", attributes={"d": data, "stroke": palette.FAINT_INK, "stroke-width": 0.4})


def _name(
    name: str, x: float, y: float, size: float = SIZE_PT, weight: str | None = None
) -> list[Markup]:
    """The name twice: a halo of paper, then the letters."""
    letters = {
        "x": f"{x:.2f}",
        "y": f"{y + size * 0.33:.2f}",
        "text-anchor": "middle",
        "font-size": f"{size:g}",
        "font-weight": weight,
    }
    halo = {"stroke": palette.CASING, "stroke-width": 2.6, "stroke-linejoin": "round"}
    return [
        tag("text", name, attributes={**letters, **halo, "fill": palette.CASING}),
        tag("text", name, attributes={**letters, "fill": palette.INK}),
    ]


MARKED_PT = 4.5
"""Room that a mark takes around its place."""


AROUND = [
    (away * math.sin(turn), -away * math.cos(turn))
    for away in (10.0, 14.0, 19.0, 25.0)
    for turn in np.linspace(math.radians(45), math.radians(405), 12, endpoint=False)
]
"""Places around a mark that its number may take, the best first: upper right, then clockwise."""


def numbered_marks(
    marks: Sequence[tuple[int, float, float]],
    *,
    lines: Sequence[Any],
    taken: Sequence[Any],
    sheet_pt: tuple[float, float],
) -> tuple[list[Markup], list[Any]]:
    """Number beside each mark, and the rooms that the numbers take.

    Every number is drawn: where no place is clear of lines and marks, one clear of the other
    numbers is taken, and where there is none either, the first that is on the map.
    """
    window = box(0, 0, *sheet_pt)
    tree, marked = shapely.STRtree(lines), shapely.STRtree([r for r in taken if not r.is_empty])
    drawn: list[Markup] = []
    rooms: list[Any] = []
    for number, x, y in marks:
        around = np.array(AROUND) + np.array((x, y))
        half = len(str(number)) * NUMBER_PT * 0.27 + 0.5, NUMBER_PT * 0.42
        spots = shapely.box(*(around - half).T, *(around + half).T)
        inside = shapely.contains(window, spots)
        apart = inside & ~_met(shapely.STRtree(rooms), spots) & ~_met(marked, spots)
        clear = apart & ~_met(tree, spots)
        best = next((np.flatnonzero(kind)[0] for kind in (clear, apart, inside) if kind.any()), 0)
        rooms.append(spots[best])
        at_x, at_y = around[best].tolist()
        drawn += _name(str(number), at_x, at_y, NUMBER_PT, "bold")
    return drawn, rooms


def _met(tree: shapely.STRtree, rooms: np.ndarray) -> np.ndarray:
    """Whether each room meets anything in a tree."""
    met = np.zeros(len(rooms), dtype=bool)
    met[tree.query(rooms, predicate="intersects")[0]] = True
    return met


UNIT_PT, GROUND_PT, LONGEST_NAME = 9.0, 11.0, 24


LEAST_ROOM_PT = 9.0
"""Room between the name of a unit and its lines."""


def unit_names(
    units: gpd.GeoDataFrame, off: Any, taken: Sequence[Any], window: Window
) -> list[tuple[Any, Markup]]:
    """Name of each unit where there is room for it on the map, with the room that it takes.

    It stands inside the unit and clear of what is ``taken``, and not on the ground ``off`` where
    there is other ground.
    """
    named = list(zip(units["unit_id"], units.geometry, strict=True))
    return _names_inside(named, off, taken, window, UNIT_PT, "normal")


def ground_names(
    named: Sequence[tuple[str, Any]], taken: Sequence[Any], window: Window
) -> list[tuple[Any, Markup]]:
    """Names of blocks and areas, as those of units, larger."""
    return _names_inside(named, shapely.Polygon(), taken, window, GROUND_PT, "bold")


def _names_inside(
    named: Sequence[tuple[str, Any]],
    off: Any,
    taken: Sequence[Any],
    window: Window,
    size: float,
    weight: str,
) -> list[tuple[Any, Markup]]:
    names: list[tuple[Any, Markup]] = []
    full = list(taken)
    kept = off.buffer(7)
    for name, shape in named:
        inside = window.drawn(shape).buffer(-LEAST_ROOM_PT)
        if inside.is_empty:
            continue
        text = plain(name)[:LONGEST_NAME]
        half = size * 0.27 * len(text)
        near = [room.buffer(half) for room in full if room.distance(inside) < half]
        clear = less(inside, united(near)) if near else inside
        spots = (less(clear, kept), clear, inside)
        place = next(spot for spot in spots if not spot.is_empty).representative_point()
        room = box(place.x - half, place.y - size / 2, place.x + half, place.y + size / 2)
        if any(room.intersects(other) for other in full) and clear.is_empty:
            continue
        full.append(room)
        names.append((room, joined(_name(text, place.x, place.y, size, weight))))
    return names
