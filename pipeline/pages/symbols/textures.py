"""Patterns of the table of symbols as SVG: tiles that keep their size on the screen."""

from collections.abc import Mapping

from pipeline.pages import palette
from pipeline.pages.maps.work_looks import work_textures
from pipeline.pages.markup import Markup, tag

Tiles = Mapping[str, tuple[int, list[Markup]]]
"""Side of the tile of each texture on the screen, and what is drawn on it."""


def ground_tiles() -> Tiles:
    """Tiles of the textures of ground, those of planned work apart."""
    seed, ink = palette.SEED_FILL, palette.TEXTURE
    return {
        "excluded": (9, [_ground(9), _grain("M0 0L9 9", 1), _grain("M0 9L9 0", 1)]),
        "seeded": (11, [_dot(3, 1.5, seed), _dot(8.5, 1.5, seed)]),
        "bare": (9, [_grain("M0 4.5h9", 1)]),
        "patched": (6, [_dot(1.5, 1.2, palette.PATCH_STROKE.color)]),
        "doubt": (7, [_grain("M0 7L7 0", 0.9)]),
        "unjudged": (8, [_dot(2, 0.9, ink), _dot(6, 0.9, ink)]),
        "burned": (9, [_grain("M4.5 0V9", 1.8)]),
    }


def textures(pixel: float, *, suffix: str = "", more: Tiles | None = None) -> Markup:
    """Textures; those of the map are kept at one size on the screen by the page's script."""
    return patterns({**ground_tiles(), **work_textures(), **(more or {})}, pixel, suffix=suffix)


def patterns(marks_by_texture: Tiles, pixel: float, *, suffix: str = "") -> Markup:
    """Textures from their tiles."""
    tiles = []
    for name, (size, marks) in marks_by_texture.items():
        attributes = {
            "id": f"{name}{suffix}",
            "width": size,
            "height": size,
            "patternUnits": "userSpaceOnUse",
            "patternTransform": f"scale({pixel:.2f})",
        }
        tiles.append(tag("pattern", *marks, attributes=attributes))
    return tag("defs", *tiles)


def _grain(data: str, width: float) -> Markup:
    attributes = {"d": data, "class": "grain", "stroke": palette.TEXTURE, "stroke-width": width}
    return tag("path", attributes=attributes)


def _ground(side: int) -> Markup:
    """Paper below a texture, so that no other texture shows through."""
    return tag("rect", attributes={"width": side, "height": side, "fill": palette.PAPER})


def _dot(place: float, radius: float, color: str) -> Markup:
    """A dot of a texture, as far down as it is to the right."""
    return tag("circle", attributes={"cx": place, "cy": place, "r": radius, "fill": color})
