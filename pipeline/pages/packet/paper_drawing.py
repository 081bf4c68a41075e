"""What is drawn on a map on paper by the table of symbols, and which of its looks were used.

All lengths are points. The key of a map is made from what was drawn on it, so that it explains
every symbol that is there, and no other.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import geopandas as gpd

from pipeline.pages import palette
from pipeline.pages.markup import Markup, joined, tag
from pipeline.pages.packet.map_frames import Window, within
from pipeline.pages.palette import Stroke
from pipeline.pages.symbols.looks import Kind, Look
from pipeline.pages.symbols.paper_symbols import BLOCK_GROUND, ON_PAPER, paper_styles
from pipeline.pages.symbols.textures import ground_tiles, patterns
from pipeline.pages.words import rows

STYLES = paper_styles()


MARK_PATHS: dict[str, str] = {
    "x": "M-3.6 -3.6L3.6 3.6M-3.6 3.6L3.6 -3.6",
    "pentagon": "M0 -4L3.8 -1.2L2.4 3.2L-2.4 3.2L-3.8 -1.2Z",
    "circle": "M-3 0A3 3 0 1 0 3 0A3 3 0 1 0 -3 0Z",
    "star": "M0 -4.6L1.2 -1.2L4.6 0L1.2 1.2L0 4.6L-1.2 1.2L-4.6 0L-1.2 -1.2Z",
    "diamond": "M0 -4L4 0L0 4L-4 0Z",
    "triangle": "M0 -4L4 3.4L-4 3.4Z",
    "square": "M-3 -3H3V3H-3Z",
    "drop": "M0 -5L2.9 0.2A3.4 3.4 0 1 1 -2.9 0.2Z",
    "house": "M-3.6 3.4V-0.4L0 -4L3.6 -0.4V3.4Z",
    "beyond": "M0 -4.4L3.4 2.6H-3.4Z",
    "look": "M-6 0L6 -4V4Z",
}
"""Marks at a place, around it."""


@dataclass(slots=True)
class Drawn:
    """Markup of a map from the ground up, and the looks used with the kinds of their shapes."""

    markup: list[Markup] = field(default_factory=list)
    used: list[tuple[Kind, Look]] = field(default_factory=list)

    def add(self, kind: Kind, look: Look, drawn: Iterable[Markup]) -> None:
        """Take in what was drawn with a look; a look that drew nothing is not used."""
        new = list(drawn)
        self.markup += new
        if new and (kind, look) not in self.used:
            self.used.append((kind, look))

    def rows(self, layer: str, rows: Iterable[Mapping[Any, Any]], window: Window) -> None:
        """Draw the rows of a layer by the table of symbols, look by look in its order."""
        style = STYLES[layer]
        shapes: dict[int, list[Any]] = {n: [] for n in range(len(style.looks))}
        for row in rows:
            shapes[style.looks.index(style.look(row))].append(row["geometry"])
        for number, look in enumerate(style.looks):
            self.shapes(style.kind, look, shapes[number], window)

    def layers(
        self, frames: Mapping[str, gpd.GeoDataFrame], names: Iterable[str], window: Window
    ) -> None:
        """Draw what of whole layers reaches into the window, the first one undermost."""
        for name in names:
            self.rows(name, rows(within(frames[name], window)), window)

    def shapes(self, kind: Kind, look: Look, shapes: Sequence[Any], window: Window) -> None:
        """Draw shapes with one look, as far as they reach into the window."""
        datas = [data for data in (path_data(window.drawn(shape)) for shape in shapes) if data]
        casing = [_casing(data, look.stroke) for data in datas if look.stroke.cased]
        filled = kind != "line"
        self.add(
            kind,
            look,
            [*casing, *(m for data in datas for m in drawn_path(data, look, filled=filled))],
        )

    def defs(self) -> Markup:
        """Textures that the looks used name."""
        named = {look.pattern for _, look in self.used}
        tiles = {name: tile for name, tile in ground_tiles().items() if name in named}
        return patterns(tiles, TILE) if tiles else Markup("")


TILE = 0.7
"""Textures on paper [point] for their size on the screen [pixel]."""


def drawn_path(data: str, look: Look, *, filled: bool = True) -> list[Markup]:
    """A shape in a look: its fill, its texture over that, and its line."""
    line = line_attributes(look.stroke)
    if not filled:
        return [tag("path", attributes={"d": data, "fill": "none", **line})]
    opacity = palette.BLOCK_PAPER_OPACITY if look is BLOCK_GROUND else None
    fill = {"fill": look.fill or "none", "fill-opacity": opacity}
    drawn = [tag("path", attributes={"d": data, **fill, **({} if look.pattern else line)})]
    if look.pattern:
        texture = {"fill": f"url(#{look.pattern})", **line}
        drawn.append(tag("path", attributes={"d": data, **texture}))
    return drawn if look.fill or not look.pattern else drawn[1:]


def line_attributes(stroke: Stroke) -> dict[str, object]:
    """Attributes of a line on paper; none for one without a width."""
    if not stroke.width:
        return {}
    return {
        "stroke": stroke.color,
        "stroke-width": f"{stroke.width * ON_PAPER:g}",
        "stroke-dasharray": dash_pt(stroke),
        "stroke-linejoin": "round",
    }


def dash_pt(stroke: Stroke) -> str | None:
    """Dashes of a line on paper [point], None where it is drawn through."""
    return " ".join(f"{float(d) * ON_PAPER:g}" for d in stroke.dash.split()) or None


def _casing(data: str, stroke: Stroke) -> Markup:
    """White under a line, so that it stands off what it crosses."""
    width = f"{stroke.width * ON_PAPER + 1.2:g}"
    attributes = {"d": data, "fill": "none", "stroke": palette.CASING, "stroke-width": width}
    return tag("path", attributes=attributes)


def mark(look: Look, x: float, y: float, *, turn_deg: float = 0.0) -> Markup:
    """Mark of a place in a look, at a point on the paper; turned clockwise."""
    turn = f" rotate({turn_deg:.0f})" if turn_deg else ""
    heavy = look.mark == "x"
    attributes = {
        "d": MARK_PATHS[str(look.mark)],
        "transform": f"translate({x:.2f} {y:.2f}){turn}",
        "fill": "none" if heavy else look.fill or palette.CASING,
        "stroke": palette.INK,
        "stroke-width": 2 if heavy else 1.2,
    }
    return tag("path", attributes=attributes)


def path_data(shape: Any) -> str:
    """Path data of a shape in points, to a hundredth."""
    if shape.is_empty:
        return ""
    if hasattr(shape, "geoms"):
        return "".join(path_data(part) for part in shape.geoms)
    if shape.geom_type == "Polygon":
        return "".join(_line(r.coords[:-1]) + "Z" for r in (shape.exterior, *shape.interiors))
    return _line(shape.coords)


def _line(places: Iterable[tuple[float, ...]]) -> str:
    return "M" + "L".join(f"{place[0]:.2f} {place[1]:.2f}" for place in places)


def words(text: object, x: float, y: float, *, size: float = 8.0, anchor: str = "start") -> Markup:
    """Words with their middle at a height."""
    attributes = {
        "x": f"{x:.2f}",
        "y": f"{y + size * 0.33:.2f}",
        "font-size": size,
        "fill": palette.INK,
        "text-anchor": anchor,
    }
    return tag("text", text, attributes=attributes)


def edge(window: Window) -> Markup:
    """Line around a map."""
    size = {"x": 0, "y": 0, "width": window.width_pt, "height": window.height_pt}
    line = {"fill": "none", "stroke": palette.FAINT_INK, "stroke-width": 0.6}
    return tag("rect", attributes={**size, **line})


def drawing(width_pt: float, height_pt: float, *parts: Markup) -> str:
    """The SVG of a map with its key."""
    attributes = {
        "xmlns": "http://www.w3.org/2000/svg",
        "width": f"{width_pt:g}pt",
        "height": f"{height_pt:g}pt",
        "viewBox": f"0 0 {width_pt:g} {height_pt:g}",
        "font-family": "Libertinus Serif, serif",
    }
    return str(tag("svg", joined(parts), attributes=attributes))
