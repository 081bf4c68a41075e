"""Lines and marks of the map as they are drawn on paper, lengths in points."""

from pipeline.pages import palette
from pipeline.pages.markup import Markup, tag

ON_PAPER = 0.55
"""Lines on paper [point] for their width on the screen [pixel]: paper is read closer by."""


PLACE_PATHS: dict[str, str] = {
    "gap": "M-3.6 -3.6L3.6 3.6M-3.6 3.6L3.6 -3.6",
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
    color = palette.BREAK_STROKES["gap" if kind == "gap" else "prepare"].color
    told: dict[str, object] = {"d": PLACE_PATHS[kind], "transform": f"translate({x:.2f} {y:.2f})",
            "fill": "none" if kind == "gap" else palette.CASING, "stroke": color,
            "stroke-width": 2 if kind == "gap" else 1.4}  # fmt: skip
    return tag("path", attributes=told)
