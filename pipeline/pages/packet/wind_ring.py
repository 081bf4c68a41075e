"""Compass of winds: the arcs from which smoke reaches a place, and the planned wind as an arrow.

An arc stands where its winds come from, and the tail of the arrow where the planned wind does: a
tail on an arc is a plan whose smoke reaches a place.
"""

import math

import numpy as np

from pipeline.pages import palette
from pipeline.pages.markup import Markup, joined, tag

RADIUS = 26.0


SIZE = 2 * RADIUS + 6


NORTH = 10.0
"""Height of the letter above the ring of a drawing of its own."""


def draw_wind_ring(x: float, y: float, arcs: np.ndarray | None, wind_from_deg: float) -> Markup:
    """Ring of arcs (rows of first and last direction) around a middle, and the planned wind.

    No ring where no places are known, no arrow where no wind is planned.
    """
    drawn = [] if arcs is None else [_circle(x, y, palette.FAINT_INK, 0.6)]
    drawn += [_arc(x, y, *arc) for arc in ([] if arcs is None else arcs.tolist())]
    return joined((*drawn, *([] if math.isnan(wind_from_deg) else [_arrow(x, y, wind_from_deg)])))


def _circle(x: float, y: float, color: str, width: float) -> Markup:
    around = {"cx": f"{x:g}", "cy": f"{y:g}", "r": f"{RADIUS:g}", "fill": "none"}
    return tag("circle", attributes={**around, "stroke": color, "stroke-width": width})


def _arc(x: float, y: float, first_deg: float, last_deg: float) -> Markup:
    """Thick line along the ring, clockwise from the first to the last direction."""
    stroke = palette.SMOKE_STROKE
    width_deg = last_deg - first_deg
    if width_deg >= 360.0:
        return _circle(x, y, stroke.color, stroke.width)
    start, end = (_on_ring(x, y, degrees) for degrees in (first_deg, last_deg))
    attributes = {
        "d": f"M{start}A{RADIUS:g} {RADIUS:g} 0 {int(width_deg > 180.0)} 1 {end}",
        "fill": "none",
        "stroke": stroke.color,
        "stroke-width": stroke.width,
    }
    return tag("path", attributes=attributes)


def _on_ring(x: float, y: float, degrees: float) -> str:
    """Place on the ring in a direction from the middle."""
    turn = math.radians(degrees)
    return f"{x + RADIUS * math.sin(turn):.2f} {y - RADIUS * math.cos(turn):.2f}"


def _arrow(x: float, y: float, wind_from_deg: float) -> Markup:
    """Arrow that flies with the planned wind: from where it comes, to where it blows."""
    attributes = {
        "d": "M0 -22V14M-5 6L0 20L5 6Z",
        "stroke": palette.INK,
        "stroke-width": 2,
        "fill": palette.INK,
        "transform": f"translate({x:g} {y:g}) rotate({wind_from_deg:.1f})",
    }
    return tag("path", attributes=attributes)


def wind_figure(arcs: np.ndarray | None, wind_from_deg: float, words: str) -> Markup:
    """The compass as a drawing of its own, north up, with what it says in words below."""
    middle = SIZE / 2
    north = {"x": middle, "y": 10, "text-anchor": "middle", "font-size": 9, "fill": palette.INK}
    ring = draw_wind_ring(middle, middle + NORTH, arcs, wind_from_deg)
    attributes = {
        "width": 2 * SIZE,
        "height": 2 * (SIZE + NORTH),
        "viewBox": f"0 0 {SIZE:g} {SIZE + NORTH:g}",
        "role": "img",
        "aria-label": "Compass of the winds that carry smoke to a place",
    }
    drawing = tag("svg", tag("text", "N", attributes=north), ring, attributes=attributes)
    return tag("figure", drawing, tag("figcaption", words))
