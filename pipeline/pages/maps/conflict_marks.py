"""Marks of conflicts, on a map and beside their words: told apart by shape and tone, with a number.

A star with eight points, dark, asks to stop; a diamond, to think again; a ring is good to know.
They are drawn as ends of strokes, so that they keep their size at every zoom.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from pipeline.pages import palette
from pipeline.pages.map_frame import PER_M, MapFrame
from pipeline.pages.maps.map_names import Place, shared_places
from pipeline.pages.maps.map_shapes import drawn_path, map_text, sign
from pipeline.pages.markup import Markup, isolated, tag
from pipeline.pages.words import plain, rows, sentence
from pipeline.pages.work_words import SERIOUSNESS_WORDS, planned_words
from pipeline.work.layers import SERIOUSNESS

Row = dict[str, Any]


UPRIGHT, SLANTED = "h1", "l1 1"
"""Strokes so short that only their ends are seen: a square, and one that stands on its corner."""


_STAR = ((UPRIGHT, "square", 1.0), (SLANTED, "square", 1.0))
_DIAMOND = ((SLANTED, "square", 1.05),)
_RING = ((UPRIGHT, "round", 1.15),)


SHAPES = dict(zip(SERIOUSNESS, (_STAR, _DIAMOND, _RING), strict=True))


SIZE_PX = 17.0


EDGE_PX = 2.0


def mark_paths(seriousness: str, start: str, scale: float = 1.0) -> list[Markup]:
    """The shape of a conflict at ``start``, a place of path data: casing, edge and face."""
    dark = seriousness == "stop_and_ask"
    face = palette.INK if dark else palette.CASING
    layers = [(palette.CASING, 4 * EDGE_PX), (palette.INK, 2 * EDGE_PX), (face, 0.0)]
    return [
        drawn_path(
            f"{start}{stroke}",
            {
                "stroke": color,
                "stroke-width": f"{scale * (SIZE_PX * size + more):.1f}",
                "stroke-linecap": cap,
                "fill": "none",
            },
        )
        for color, more in layers
        for stroke, cap, size in SHAPES[seriousness]
    ]


def conflict_icon(seriousness: str, number: object = "") -> Markup:
    """The mark as it stands beside words, with a number on it."""
    style = "onstar" if seriousness == "stop_and_ask" else "onmark"
    words = tag("text", number, attributes={"x": 16, "y": 20.5, "class": style})
    box = {"viewBox": "0 0 32 32", "width": 30, "height": 30, "class": "mark"}
    shape = tag("use", attributes={"href": f"#icon-{seriousness}"})
    return tag("svg", shape, words, attributes={**box, "aria-hidden": "true"})


def conflict_icons() -> Markup:
    """The marks as they stand beside words, without a casing: each once, for all that use it."""
    groups = (
        tag(
            "g",
            *mark_paths(seriousness, "M16 16", 0.92)[len(ends) :],
            attributes={"id": f"icon-{seriousness}"},
        )
        for seriousness, ends in SHAPES.items()
    )
    return tag("defs", *groups)


def conflict_signs() -> Iterator[tuple[str, list[Markup]]]:
    """The mark of each kind of conflict as maps use it."""
    return ((seriousness, mark_paths(seriousness, "M0 0")) for seriousness in SHAPES)


MARK_PX = 26.0
"""Side of a mark with its casing."""


COUNT_PX = 10.0
"""Room beside a mark for the count of several conflicts that share it."""


def conflict_places(
    conflicts: pd.DataFrame, frame: MapFrame, *, pixel: float
) -> tuple[list[Row], list[Place]]:
    """Conflicts that have a place, the most serious first, and where their marks stand.

    ``pixel`` is a pixel of the screen on the map [decimeter].
    """
    told = [
        row
        for row in rows(conflicts.sort_values("number"))
        if row["geometry"] is not None and not row["geometry"].is_empty
    ]
    return told, [_place(row["geometry"], frame, pixel) for row in told]


def conflict_marks(
    conflicts: pd.DataFrame, frame: MapFrame, *, pixel: float, told_beside: bool = False
) -> list[Markup]:
    """A mark at each place that a conflict is about, the most serious one on top.

    Conflicts of one place share a mark, which counts those that it does not number. What is
    ``told_beside`` the map is not told again when pointed at.
    """
    told, places = conflict_places(conflicts, frame, pixel=pixel)
    apart = ((MARK_PX + COUNT_PX) * pixel, MARK_PX * pixel)
    by_mark: dict[int, list[Row]] = {}
    for row, first in zip(told, shared_places(places, apart), strict=True):
        by_mark.setdefault(first, []).append(row)
    lines = number_line if told_beside else conflict_title
    return [_mark(places[first], by_mark[first], lines) for first in reversed(by_mark)]


def number_line(row: Mapping[Any, Any]) -> str:
    """Number of a conflict, and how serious it is."""
    return f"{row['number']}, {SERIOUSNESS_WORDS[row['seriousness']].lower()}"


def _mark(place: Place, conflicts: list[Row], line: Callable[[Row], str]) -> Markup:
    first, *others = conflicts
    star = first["seriousness"] == "stop_and_ask"
    number = map_text(
        first["number"], place, {"dy": ".35em", "class": "onstar" if star else "onmark"}
    )
    beside = {"dx": "1.6em", "dy": "-.6em", "font-size": "86%", "font-weight": 600}
    more = map_text(f"+{len(others)}", place, beside) if others else ""
    title = "\n".join(map(line, conflicts))
    return tag("g", sign(first["seriousness"], place, title), number, more)


def conflict_title(row: Mapping[Any, Any]) -> str:
    """A conflict in one line, as it is read when pointed at."""
    planned = isolated(sentence(plain(planned_words(dict(row)))))
    return f"{number_line(row)}. {planned}: {isolated(plain(row['against']))}"


def _place(shape: BaseGeometry, frame: MapFrame, pixel: float) -> Place:
    """Where a mark stands: above the name in the middle of a unit, beside a line or small place.

    It always stands on the map, and beside a place on the side of the middle of the map.
    """
    inside = shape.representative_point()
    x, y = inside.x, inside.y
    if math.sqrt(shape.area) * PER_M > MARK_PX * pixel:
        top = shape.bounds[3]
        return frame.inside(*(middle_at(shape, (y + 2 * top) / 3) or (x, y)))
    across, down = frame.inside(x, y)
    aside = MARK_PX * pixel * (1 if across < frame.width / 2 else -1)
    return round(across + aside), down


def middle_at(shape: BaseGeometry, y: float) -> tuple[float, float] | None:
    """Middle of the longest run of a shape at one height, None where there is none."""
    west, _, east, _ = shape.bounds
    across = shapely.intersection(shape, shapely.LineString([(west - 1, y), (east + 1, y)]))
    lines = [part for part in getattr(across, "geoms", [across]) if part.length > 0]
    if not lines:
        return None
    middle = max(lines, key=lambda line: line.length).interpolate(0.5, normalized=True)
    return middle.x, middle.y
