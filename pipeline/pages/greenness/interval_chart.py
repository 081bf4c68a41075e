"""Chart of what is left for the fire: a dot and its interval for each burned unit, around nothing.

A clear answer has a full dot and a full line, one in doubt a hollow dot and a dashed line.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.pages import palette
from pipeline.pages.greenness.slope_chart import (
    LETTER_PX,
    WIDTH,
    levels,
    name_width,
    shown_name,
    text,
)
from pipeline.pages.markup import Markup, isolated, tag
from pipeline.pages.words import number_words

ROW_PX, TOP, BOTTOM = 22.0, 30.0, 20.0


@dataclass(frozen=True, slots=True)
class Left:
    """What is left of one change: its name, the figure, its interval (NaN for none), clear or not.

    ``pooled`` marks that of all units together.
    """

    name: str
    left: float
    low: float
    high: float
    clear: bool
    pooled: bool = False


@dataclass(frozen=True, slots=True)
class LeftAxes:
    """From NDVI to places across the chart."""

    low: float
    high: float
    margin: float

    def x(self, value: float) -> float:
        """Place of a difference."""
        width = WIDTH - self.margin - 16.0
        return self.margin + width * (value - self.low) / (self.high - self.low)


SMALLEST_REACH = 0.05
"""NDVI that the axis shows on either side at least, so that noise does not look like an answer."""


def left_axes(rows: Sequence[Left]) -> LeftAxes:
    """Axis around all intervals, as far to the one side of nothing as to the other."""
    values = [v for row in rows for v in (row.left, row.low, row.high) if not np.isnan(v)]
    reach = 1.05 * max([SMALLEST_REACH, *map(abs, values)])
    return LeftAxes(-reach, reach, 16.0 + max(name_width(shown_name(row.name)) for row in rows))


def draw_left(rows: Sequence[Left], *, key: str, title: str, words: str) -> Markup:
    """The chart; ``title`` and ``words`` tell all of it to those who do not see it."""
    axes, foot = left_axes(rows), TOP + ROW_PX * len(rows)
    ids = {"aria-labelledby": f"{key}-title", "aria-describedby": f"{key}-words"}
    box = f"0 0 {WIDTH:.0f} {foot + BOTTOM:.0f}"
    return tag(
        "svg",
        tag("title", title, attributes={"id": f"{key}-title"}),
        tag("desc", words, attributes={"id": f"{key}-words"}),
        *_axis(axes, foot),
        *(mark for n, row in enumerate(rows) for mark in _row(row, TOP + ROW_PX * (n + 0.5), axes)),
        attributes={"class": "chart left", "viewBox": box, "role": "img", **ids},
    )


def _axis(axes: LeftAxes, foot: float) -> list[Markup]:
    """The line of nothing left, round differences, and which side is which."""
    zero, marks, room = axes.x(0.0), [], 0.0
    for level in levels(axes.low, axes.high, most=5):
        x, words = axes.x(level), number_words(level, 2, signed=True)
        look = (palette.INK, 1.4) if level == 0 else ("#ddd4c0", 1)
        marks.append(_path(f"M{x:.1f} {TOP - 4}V{foot:.1f}", *look))
        half = LETTER_PX * len(words) / 2
        if x - half >= room and x + half <= WIDTH:
            marks.append(text(words, x, foot + 14))
            room = x + half + 4
    return [
        *marks,
        text("← less green", zero - 12, TOP - 14, "end"),
        text("greener →", zero + 12, TOP - 14, "start"),
    ]


def _row(row: Left, y: float, axes: LeftAxes) -> list[Markup]:
    """Name, interval and dot of one change; a square stands for all units together."""
    weight = {"font-weight": 700, "class": "own"}
    name = text(isolated(shown_name(row.name)), axes.margin - 10, y + 4, "end", **weight)
    if np.isnan(row.left):
        return [name, text("no figure", axes.x(0.0) + 6, y + 4, "start")]
    color, x, r = palette.BREAK_STROKES["prepare"].color, axes.x(row.left), 4.0
    drawn = []
    if not np.isnan(row.low):
        data = f"M{axes.x(row.low):.1f} {y:.1f}H{axes.x(row.high):.1f}"
        drawn.append(_path(data, color, 3 if row.pooled else 2, None if row.clear else "4 3"))
    look = {
        "fill": color if row.clear else palette.PAPER,
        "stroke": color,
        "stroke-width": 1.6,
    }
    square = {"x": f"{x - r:.1f}", "y": f"{y - r:.1f}", "width": 2 * r, "height": 2 * r}
    round_ = {"cx": f"{x:.1f}", "cy": f"{y:.1f}", "r": r}
    shape, place = ("rect", square) if row.pooled else ("circle", round_)
    drawn.append(tag(shape, attributes={**place, **look}))
    return [name, tag("g", *drawn, attributes={"data-left": isolated(row.name)})]


def _path(data: str, color: str, width: float, dash: str | None = None) -> Markup:
    look = {"stroke": color, "stroke-width": width, "stroke-dasharray": dash, "fill": "none"}
    return tag("path", attributes={"d": data, **look})
