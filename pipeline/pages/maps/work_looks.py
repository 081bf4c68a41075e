"""Looks of planned work on a map: each kind has a tint, and a texture that print keeps apart."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pipeline.pages import palette
from pipeline.pages.markup import Markup, tag
from pipeline.work.codes import WORK_KINDS

Texture = tuple[int, list[Markup]]
"""Side of the tile of a texture [screen pixel] and what is drawn on it."""


STRIP_PX = 22
"""Width of the strip of one kind of work where several stand side by side [screen pixel]."""


def work_texture(*kinds: str) -> str:
    """Name of the texture of a kind of planned work, or of several side by side."""
    return "_".join(("work", *kinds))


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


def shared_textures(planned_work: Iterable[Mapping[Any, Any]]) -> dict[str, Texture]:
    """Texture of each choice of kinds that meet on a unit: strips side by side, none on another."""
    together = {tuple(kinds) for kinds in kinds_by_unit(planned_work).values() if len(kinds) > 1}
    return {work_texture(*kinds): _side_by_side(kinds) for kinds in sorted(together)}


def _side_by_side(kinds: Sequence[str]) -> Texture:
    side = STRIP_PX * len(kinds)
    return side, [part for n, kind in enumerate(kinds) for part in _strip(kind, n * STRIP_PX, side)]


def _strip(kind: str, left: int, height: int) -> list[Markup]:
    """Strip of a kind: its tint, whole tiles of its texture, and a line to the next strip."""
    tile, marks = work_textures()[work_texture(kind)]
    across = round(STRIP_PX / tile)
    step = STRIP_PX / across
    ground = {"x": left, "y": 0, "width": STRIP_PX, "height": height}
    tiles = [
        tag(
            "g",
            *marks,
            attributes={
                "transform": f"translate({left + column * step:g} {line * step:g}) "
                f"scale({step / tile:.3f})"
            },
        )
        for line in range(across * height // STRIP_PX)
        for column in range(across)
    ]
    edge = {"d": f"M{left} 0V{height}", "class": "grain", "stroke": palette.INK}
    tint = tag("rect", attributes={**ground, "fill": palette.WORK_TINTS[kind]})
    return [tint, *tiles, tag("path", attributes={**edge, "stroke-width": 0.8})]


def kinds_by_unit(planned_work: Iterable[Mapping[Any, Any]]) -> dict[str, list[str]]:
    """Kinds of work planned for each unit, each once, in the order of their declaration."""
    kinds: dict[str, set[str]] = {}
    for row in planned_work:
        kinds.setdefault(row["unit_id"], set()).add(row["kind"])
    return {unit: [k for k in WORK_KINDS if k in of_unit] for unit, of_unit in kinds.items()}
