"""Looks of planned work on a map: each kind has a tint, and a texture that print keeps apart."""

from collections.abc import Iterable, Mapping
from typing import Any

from pipeline.pages import palette
from pipeline.pages.markup import Markup, tag
from pipeline.work.codes import WORK_KINDS

Texture = tuple[int, list[Markup]]
"""Side of the tile of a texture [screen pixel] and what is drawn on it."""


def work_texture(kind: str) -> str:
    """Name of the texture of a kind of planned work."""
    return f"work_{kind}"


def _line(data: str, kind: str, width: float = 1.3) -> Markup:
    attributes = {
        "d": data,
        "class": "grain",
        "stroke": palette.WORK_INKS[kind],
        "stroke-width": width,
        "fill": "none",
    }
    return tag("path", attributes=attributes)


def _dot(x: float, y: float, radius: float, kind: str) -> Markup:
    attributes = {"cx": x, "cy": y, "r": radius, "fill": palette.WORK_INKS[kind]}
    return tag("circle", attributes=attributes)


def work_textures() -> dict[str, Texture]:
    """Texture of each kind: chevrons for fire, dots for seed, upright and level lines for cuts."""
    drawn: dict[str, Texture] = {
        "burn": (11, [_line("M1 8L5.5 3.5L10 8", "burn", 1.5)]),
        "seed": (10, [_dot(2.5, 2.5, 1.4, "seed"), _dot(7.5, 7.5, 1.4, "seed")]),
        "graze": (11, [_line("M0 3h5M5.5 8.5h5", "graze")]),
        "rest": (14, [_line("M4 7a3 3 0 1 0 6 0a3 3 0 1 0 -6 0", "rest", 1.0)]),
        "mow": (6, [_line("M3 0V6", "mow")]),
        "hay": (6, [_line("M0 3H6", "hay")]),
        "spray": (11, [_line("M5.5 2.5v6M2.5 5.5h6", "spray")]),
        "till": (12, [_line("M0 4q3 -3 6 0t6 0M0 10q3 -3 6 0t6 0", "till")]),
        "cut": (11, [_line("M3 3l5 5M8 3l-5 5", "cut")]),
        "drag": (8, [_line("M0 8L8 0", "drag")]),
        "move": (12, [_line("M2 6h7M6 3l3 3l-3 3", "move")]),
        "harvest": (10, [_dot(5, 3, 1.4, "harvest"), _line("M5 4v4", "harvest")]),
    }
    return {work_texture(kind): drawn[kind] for kind in WORK_KINDS}


def kinds_by_unit(planned_work: Iterable[Mapping[Any, Any]]) -> dict[str, list[str]]:
    """Kinds of work planned for each unit, each once, in the order of their declaration."""
    kinds: dict[str, set[str]] = {}
    for row in planned_work:
        kinds.setdefault(row["unit_id"], set()).add(row["kind"])
    return {unit: [k for k in WORK_KINDS if k in of_unit] for unit, of_unit in kinds.items()}
