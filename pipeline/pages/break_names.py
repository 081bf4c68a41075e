"""Names of the stretches on a block map: beside their line, none upon another."""

import math
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import shapely
from shapely.geometry import LineString, box

from pipeline.pages import palette
from pipeline.pages.markup import Markup, tag

SIZE_PT = 6.6
WIDTH_PER_LETTER = 0.56
SHARES = (0.5, 0.35, 0.65, 0.2, 0.8)
OFFSETS_PT = (7.0, -7.0, 12.0, -12.0, 18.0, -18.0)
"""Outward first: the block is on the left hand of its stretches, so right is outside."""

NEAR_PT = 8.0


class Place(NamedTuple):
    """Place of a name: the room it takes, its middle, and the point of the line it belongs to."""

    room: Any
    x: float
    y: float
    root: Any
    offset: float


def named_places(
    lines: Sequence[tuple[str, Any]], *, taken: Sequence[Any], sheet_pt: tuple[float, float]
) -> tuple[list[Markup], int]:
    """Names of the stretches, and how many found no room. ``lines`` are in points on paper.

    The longest come first. A name farther from its line gets a leader to it.
    """
    window = box(0, 0, *sheet_pt)
    full = [room for room in taken if not room.is_empty]
    drawn: list[Markup] = []
    missing = 0
    for name, shape in sorted(lines, key=lambda named: -named[1].length):
        place = _free_place(name, longest_part(shape), full, window)
        if place is None:
            missing += 1
            continue
        full = [*full, place.room]
        if abs(place.offset) > NEAR_PT:
            drawn.append(_leader(place))
        drawn += _name(name, place.x, place.y)
    return drawn, missing


def longest_part(shape: Any) -> LineString:
    """Longest line of a shape, an empty one where it has none."""
    parts = [p for p in getattr(shape, "geoms", [shape]) if p.geom_type == "LineString"]
    return max(parts, key=lambda part: part.length, default=LineString())


def _free_place(name: str, line: LineString, full: list[Any], window: Any) -> Place | None:
    """First place beside the line that is inside the map and still free."""
    if line.is_empty:
        return None
    for place in _places_beside(line, len(name) * SIZE_PT * WIDTH_PER_LETTER / 2):
        if window.contains(place.room) and not shapely.intersects(place.room, full).any():
            return place
    return None


def _places_beside(line: LineString, half_width: float) -> Iterator[Place]:
    """Places for a name along a line, the best first."""
    for offset in OFFSETS_PT:
        for share in SHARES:
            root = line.interpolate(share, normalized=True)
            before = line.interpolate(max(share - 0.02, 0), normalized=True)
            after = line.interpolate(min(share + 0.02, 1), normalized=True)
            length = before.distance(after) or 1.0
            # On paper y grows downward, so the right hand of a line is (-dy, dx).
            out_x, out_y = (before.y - after.y) / length, (after.x - before.x) / length
            # Beside an upright line the name is moved out by half its width.
            outward = offset + math.copysign((half_width - 4) * abs(out_x), offset)
            x, y = root.x + out_x * outward, root.y + out_y * offset
            room = box(x - half_width, y - SIZE_PT / 2, x + half_width, y + SIZE_PT / 2)
            yield Place(room, x, y, root, offset)


def _leader(place: Place) -> Markup:
    data = f"M{place.x:.2f} {place.y:.2f}L{place.root.x:.2f} {place.root.y:.2f}"
    return tag("path", attributes={"d": data, "stroke": palette.FAINT_INK, "stroke-width": 0.4})


def _name(name: str, x: float, y: float) -> list[Markup]:
    """The name twice: a halo of paper, then the letters."""
    told = {"x": f"{x:.2f}", "y": f"{y + SIZE_PT * 0.33:.2f}", "text-anchor": "middle",
            "font-size": SIZE_PT}  # fmt: skip
    halo = {"stroke": palette.CASING, "stroke-width": 1.6, "stroke-linejoin": "round",
            "fill": palette.CASING}  # fmt: skip
    return [
        tag("text", name, attributes={**told, **halo}),
        tag("text", name, attributes={**told, "fill": palette.INK}),
    ]
