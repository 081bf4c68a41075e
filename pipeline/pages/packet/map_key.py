"""Key of a map on paper: north, winds, scale, and a sample of every look that was drawn."""

import math
from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from pipeline.pages import palette
from pipeline.pages.markup import Markup, joined, tag
from pipeline.pages.packet.paper_drawing import drawn_path, mark, words
from pipeline.pages.packet.sheet_layout import (
    BAR_PT,
    COMPASS_PT,
    KEY_LINE_PT,
    KEY_WIDTH_PT,
    PT_PER_IN,
    Layout,
    key_columns,
)
from pipeline.pages.packet.wind_ring import draw_wind_ring
from pipeline.pages.symbols.looks import Kind, Look
from pipeline.pages.symbols.paper_symbols import SMOKE_ARC
from pipeline.pages.words import wind_words

ROUND_FT = (1, 2, 5, 10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000, 2500, 5000, 10000, 20000)


IN_PER_FT = 12


NO_WIND = wind_words(math.nan)


SAMPLE_PT = (20.0, 7.0)


def draw_key(
    layout: Layout,
    used: Sequence[tuple[Kind, Look]],
    *,
    named: Sequence[tuple[str, str]] = (),
    smoke: np.ndarray | None = None,
    wind_from_deg: float | None = None,
) -> Markup:
    """Key of a map beside or below its frame, by its layout.

    ``named`` are samples of names on the map, and what they mean.
    ``smoke`` are the arcs of winds that carry smoke onto a place, None where no place is known; a
    map of no burn has no ``wind_from_deg``.
    """
    winds = [] if smoke is None or not len(smoke) else [("line", SMOKE_ARC)]
    samples = [
        *((partial(sample, kind, look), look.words) for kind, look in (*winds, *used)),
        *((partial(_text, name), said) for name, said in named),
    ]
    width, height = layout.frame_pt
    compass = _compass(smoke, wind_from_deg)
    if layout.beside:
        x = width + 10
        return joined(
            (
                _moved(compass, x, 4),
                *_samples(samples, x, COMPASS_PT[1] + 12, columns=1),
                _moved(_bar(layout.scale_ft), x + 6, layout.height_pt - BAR_PT[1]),
            )
        )
    columns = key_columns(layout.width_pt)
    return joined(
        (
            _moved(compass, 0, height + 8),
            _moved(_bar(layout.scale_ft), COMPASS_PT[0] + 2, height + 14),
            *_samples(samples, COMPASS_PT[0] + BAR_PT[0] + 8, height + 14, columns=columns),
        )
    )


def _moved(drawn: Markup, x: float, y: float) -> Markup:
    return tag("g", drawn, attributes={"transform": f"translate({x:.2f} {y:.2f})"})


Sample = tuple[Callable[[float, float], list[Markup]], str]
"""What draws a sample at a place, and what it means."""


def _text(name: str, x: float, y: float) -> list[Markup]:
    return [words(name, x + SAMPLE_PT[0] / 2, y, anchor="middle")]


def _samples(samples: Sequence[Sample], x: float, y: float, *, columns: int) -> list[Markup]:
    """Samples with their words, column by column."""
    lines = math.ceil(len(samples) / columns)
    drawn = []
    for number, (draw, said) in enumerate(samples):
        column, line = divmod(number, lines)
        left, middle = x + column * KEY_WIDTH_PT, y + line * KEY_LINE_PT
        drawn += [*draw(left, middle), words(said, left + 26, middle)]
    return drawn


def sample(kind: str, look: Look, x: float, y: float) -> list[Markup]:
    """A look as it is on the map, its middle at a height: ground, line or mark."""
    wide, high = SAMPLE_PT
    if look.mark:
        return [mark(look, x + wide / 2, y)]
    if kind == "polygon":
        top = y - high / 2
        box = f"M{x:g} {top:g}H{x + wide:g}V{top + high:g}H{x:g}Z"
        return drawn_path(box, look)
    return drawn_path(f"M{x:g} {y:g}h{wide:g}", look, filled=False)


def _compass(smoke: np.ndarray | None, wind_from_deg: float | None) -> Markup:
    """Arrow to the north, and the compass of winds on the map of a burn."""
    needle = {"d": "M14 12l6 30l-6 -6l-6 6Z", "fill": palette.INK}
    north = (tag("path", attributes=needle), words("N", 14, 51, size=11, anchor="middle"))
    if wind_from_deg is None:
        return joined(north)
    wind = NO_WIND if math.isnan(wind_from_deg) else f"wind planned: {wind_words(wind_from_deg)}"
    ring = draw_wind_ring(66, 30, smoke, wind_from_deg)
    return joined((*north, ring, words(wind, 4, 68)))


def _bar(scale_ft: int) -> Markup:
    """Bar of a round number of feet, in two halves, and the scale in words."""
    room_ft = (BAR_PT[0] - 16) / PT_PER_IN * scale_ft
    feet = max((ft for ft in ROUND_FT if ft <= room_ft), default=scale_ft)
    half = feet / scale_ft * PT_PER_IN / 2
    fills = (palette.INK, palette.CASING)
    return joined(
        (
            words(scale_words(scale_ft), 0, 0, size=8.5),
            words("0", 0, 12, anchor="middle"),
            words(f"{feet:,} ft", 2 * half, 12, anchor="middle"),
            *(_half(n * half, half, fill) for n, fill in enumerate(fills)),
            words(f"1:{scale_ft * IN_PER_FT:,}, printed at 100 %", 0, 31),
        )
    )


def _half(x: float, width: float, fill: str) -> Markup:
    look = {"fill": fill, "stroke": palette.INK, "stroke-width": 0.6}
    size = {"x": f"{x:.3f}", "y": 18, "width": f"{width:.3f}", "height": 4.5}
    return tag("rect", attributes={**size, **look})


def scale_words(scale_ft: int) -> str:
    """The scale in words."""
    return f"1 inch = {scale_ft:,} feet"
