"""Lines, marks and names on a block map on paper, and the key that says what they mean."""

import math
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any, NamedTuple

import numpy as np
import shapely
from shapely.geometry import LineString, box

from pipeline.pages import palette
from pipeline.pages.markup import Markup, joined, tag
from pipeline.pages.packet.wind_ring import draw_wind_ring
from pipeline.pages.words import code_words, wind_words

ON_PAPER = 0.55
"""Lines on paper [point] for their width on the screen [pixel]: paper is read closer by."""


PLACE_PATHS: dict[str, str] = {
    "gap": "M-3.6 -3.6L3.6 3.6M-3.6 3.6L3.6 -3.6",
    "away": "M0 -4L3.8 -1.2L2.4 3.2L-2.4 3.2L-3.8 -1.2Z",
    "tie_in": "M-3 0A3 3 0 1 0 3 0A3 3 0 1 0 -3 0Z",
    "side_change": "M0 -4L1.2 -1.2L4 0L1.2 1.2L0 4L-1.2 1.2L-4 0L-1.2 -1.2Z",
    "hand_over": "M0 -4L4 0L0 4L-4 0Z",
    "sharp_corner": "M0 -4L4 3.4L-4 3.4Z",
}


def dash_pt(stroke: palette.Stroke) -> str | None:
    """Dashes of a line on paper [point], None where it is drawn through."""
    return " ".join(f"{float(d) * ON_PAPER:g}" for d in stroke.dash.split()) or None


def place_mark(kind: str, x: float, y: float) -> Markup:
    """Mark of a place along the breaks, by its kind, at a point on the paper [point]."""
    gap = kind == "gap"
    attributes = {
        "d": PLACE_PATHS[kind],
        "transform": f"translate({x:.2f} {y:.2f})",
        "fill": "none" if gap else palette.CASING,
        "stroke": palette.BREAK_STROKES["gap" if gap else "prepare"].color,
        "stroke-width": 2 if gap else 1.4,
    }
    return tag("path", attributes=attributes)


KEY_PT = 118.0
"""Width of the key [point]."""


BAR_PT = 92.0


ROUND_FT = (10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000, 2500, 5000, 10000)


STATUS_WORDS = {
    "existing": "existing break",
    "prepare": "line to be prepared",
    "gap": "gap to be closed",
}


PLACE_WORDS = {
    "gap": "gap in a break",
    "away": "edge away from its break",
    "tie_in": "tie-in: lead line to break",
    "side_change": "line changes side of break",
    "hand_over": "hand-over, break to break",
    "sharp_corner": "sharp corner: bend line",
}


LINE_PT = 12.0
"""From one line of the key to the next [point]."""


def draw_key(
    *,
    left_pt: float,
    height_pt: float,
    scale_ft: int,
    wind_from_deg: float,
    smoke: np.ndarray | None,
    kinds: tuple[str, ...],
    lines: tuple[str, ...],
) -> Markup:
    """Key in the strip to the right of the map, as high as the map [point].

    ``smoke`` are the arcs of winds that carry smoke onto a place, None where no place is known.
    """
    x = left_pt + 10
    samples = [*_smoke(x, smoke), *_statuses(x), *_grounds(x, lines), *_place_kinds(x, kinds)]
    drawn = []
    for line, (sample, said) in enumerate(samples):
        y = 86.0 + line * LINE_PT
        drawn += [sample(y), words(said, x + 26, y)]
    bar = _bar(x, height_pt - 24, scale_ft)
    ring = draw_wind_ring(x + 66, 30, smoke, wind_from_deg)
    said = f"planned wind from {wind_words(wind_from_deg)}"
    wind = NO_WIND if math.isnan(wind_from_deg) else said
    return joined((_north(x + 14, 12), ring, words(wind, x + 10, 69), *drawn, bar))


Sample = tuple[Callable[[float], Markup], str]
"""What draws a sample at a height, and what it means."""


NO_WIND = wind_words(math.nan)


def _smoke(x: float, smoke: np.ndarray | None) -> list[Sample]:
    """The arcs of the compass above, where it has any."""
    if smoke is None or not len(smoke):
        return []
    return [(partial(_line_sample, x, palette.SMOKE_STROKE), "winds onto a place")]


def _statuses(x: float) -> list[Sample]:
    return [
        (partial(_line_sample, x, stroke), STATUS_WORDS[status])
        for status, stroke in palette.BREAK_STROKES.items()
    ]


def _grounds(x: float, made: tuple[str, ...]) -> list[Sample]:
    mown = partial(_swatch, x, palette.STRIP_FILL, palette.STRIP_STROKE.color)
    unburned = partial(_swatch, x, palette.UNKNOWN, palette.FAINT_INK)
    to_make = [
        (partial(_swatch, x, fill, palette.FAINT_INK), f"{code_words(kind)} to be made")
        for kind, fill in palette.LINE_FILLS.items()
        if kind in made
    ]
    return [(mown, "strip to be mown"), *to_make, (unburned, "not to be burned")]


def _place_kinds(x: float, kinds: tuple[str, ...]) -> list[Sample]:
    return [
        (partial(place_mark, kind, x + 10), said)
        for kind, said in PLACE_WORDS.items()
        if kind in kinds
    ]


def words(text: str, x: float, y: float, *, size: float = 7.4, anchor: str = "start") -> Markup:
    """Words with their middle at a height."""
    attributes = {
        "x": f"{x:.2f}",
        "y": f"{y + size * 0.33:.2f}",
        "font-size": size,
        "fill": palette.INK,
        "text-anchor": anchor,
    }
    return tag("text", text, attributes=attributes)


def _line_sample(x: float, stroke: palette.Stroke, y: float) -> Markup:
    attributes = {
        "d": f"M{x} {y}h21",
        "stroke": stroke.color,
        "stroke-width": stroke.width * ON_PAPER,
        "stroke-dasharray": dash_pt(stroke),
    }
    return tag("path", attributes=attributes)


def _swatch(x: float, fill: str, stroke: str, y: float) -> Markup:
    return _rect(x, y - 3.5, 21, 7, fill, stroke)


def _rect(x: float, y: float, width: float, height: float, fill: str, stroke: str) -> Markup:
    attributes = {
        "x": f"{x:.3f}",
        "y": f"{y:.3f}",
        "width": f"{width:.3f}",
        "height": height,
        "fill": fill,
        "stroke": stroke,
        "stroke-width": 0.6,
    }
    return tag("rect", attributes=attributes)


def _north(x: float, y: float) -> Markup:
    needle = {"d": f"M{x} {y}l6 30l-6 -6l-6 6Z", "fill": palette.INK}
    return joined((tag("path", attributes=needle), words("N", x, y + 39, size=11, anchor="middle")))


def _bar(x: float, y: float, scale_ft: int) -> Markup:
    """Bar of a round number of feet, in two halves, and the scale in words."""
    feet = max((ft for ft in ROUND_FT if ft / scale_ft * 72 <= BAR_PT), default=scale_ft)
    half = feet / scale_ft * 36
    fills = (palette.INK, palette.CASING)
    return joined(
        (
            words(f"1 inch = {scale_ft:,} feet", x, y - 17, size=9),
            words("0", x, y - 6, anchor="middle"),
            words(f"{feet:,} ft", x + 2 * half, y - 6, anchor="middle"),
            *(_rect(x + n * half, y, half, 4.5, f, palette.INK) for n, f in enumerate(fills)),
            words("as printed at full size (100 %)", x, y + 12, size=6.2),
        )
    )


SIZE_PT = 6.6


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


def _name(name: str, x: float, y: float) -> list[Markup]:
    """The name twice: a halo of paper, then the letters."""
    letters = {
        "x": f"{x:.2f}",
        "y": f"{y + SIZE_PT * 0.33:.2f}",
        "text-anchor": "middle",
        "font-size": SIZE_PT,
    }
    halo = {"stroke": palette.CASING, "stroke-width": 1.6, "stroke-linejoin": "round"}
    return [
        tag("text", name, attributes={**letters, **halo, "fill": palette.CASING}),
        tag("text", name, attributes={**letters, "fill": palette.INK}),
    ]
