"""Key beside a block map: north, planned wind, scale bar and what each line and mark means."""

import math

from pipeline.pages import palette
from pipeline.pages.markup import Markup, joined, tag
from pipeline.pages.paper_symbols import ON_PAPER, dash_pt, place_mark
from pipeline.pages.words import wind_words

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
    "tie_in": "tie-in: lead line to break",
    "side_change": "line changes side of break",
    "hand_over": "hand-over, break to break",
    "sharp_corner": "sharp corner: bend line",
}


def draw_key(
    *, left_pt: float, height_pt: float, scale_ft: int, wind_from_deg: float,
    kinds: tuple[str, ...],
) -> Markup:  # fmt: skip
    """Key in the strip to the right of the map, as high as the map [point]."""
    x = left_pt + 10
    rows: list[Markup] = []
    y = 86.0
    for status, stroke in palette.BREAK_STROKES.items():
        rows.append(_sample(x, y, stroke.color, stroke.width * ON_PAPER, dash_pt(stroke)))
        rows.append(words(STATUS_WORDS[status], x + 26, y))
        y += 12
    rows += [_swatch(x, y, palette.STRIP_FILL, palette.STRIP_STROKE.color),
             words("strip to be mown", x + 26, y),
             _swatch(x, y + 12, palette.UNKNOWN, palette.FAINT_INK),
             words("not to be burned", x + 26, y + 12)]  # fmt: skip
    y += 24
    for kind in PLACE_WORDS:
        if kind in kinds:
            rows += [place_mark(kind, x + 10, y), words(PLACE_WORDS[kind], x + 26, y)]
            y += 12
    return joined((_north(x + 14, 12), _wind(x + 66, 36, wind_from_deg), *rows,
                   _bar(x, height_pt - 24, scale_ft)))  # fmt: skip


def words(text: str, x: float, y: float, *, size: float = 7.4, anchor: str = "start") -> Markup:
    """Words with their middle at a height."""
    return tag("text", text, attributes={
        "x": f"{x:.2f}", "y": f"{y + size * 0.33:.2f}", "font-size": size, "fill": palette.INK,
        "text-anchor": anchor})  # fmt: skip


def _sample(x: float, y: float, color: str, width: float, dash: str | None) -> Markup:
    return tag("path", attributes={
        "d": f"M{x} {y}h21", "stroke": color, "stroke-width": width,
        "stroke-dasharray": dash})  # fmt: skip


def _swatch(x: float, y: float, fill: str, stroke: str) -> Markup:
    return tag("rect", attributes={
        "x": x, "y": y - 3.5, "width": 21, "height": 7, "fill": fill, "stroke": stroke,
        "stroke-width": 0.6})  # fmt: skip


def _north(x: float, y: float) -> Markup:
    needle = tag("path", attributes={
        "d": f"M{x} {y}l6 30l-6 -6l-6 6Z", "fill": palette.INK})  # fmt: skip
    return joined((needle, words("N", x, y + 39, size=11, anchor="middle")))


def _wind(x: float, y: float, wind_from_deg: float) -> Markup:
    """Arrow that flies with the planned wind: from where it comes, to where it blows."""
    if math.isnan(wind_from_deg):
        return words("no wind planned", x + 6, y, anchor="middle")
    arrow = tag("path", attributes={
        "d": "M0 -22V14M-5 6L0 20L5 6Z", "stroke": palette.INK, "stroke-width": 2,
        "fill": palette.INK, "transform": f"translate({x} {y - 8}) rotate({wind_from_deg:.1f})",
    })  # fmt: skip
    told = f"planned wind from {wind_words(wind_from_deg)}"
    return joined((arrow, words(told, x - 56, y + 32)))


def _bar(x: float, y: float, scale_ft: int) -> Markup:
    """Bar of a round number of feet, in two halves, and the scale in words."""
    feet = max((ft for ft in ROUND_FT if ft / scale_ft * 72 <= BAR_PT), default=scale_ft)
    half = feet / scale_ft * 36
    halves = [tag("rect", attributes={
        "x": f"{x + n * half:.3f}", "y": y, "width": f"{half:.3f}", "height": 4.5,
        "fill": fill, "stroke": palette.INK, "stroke-width": 0.6})
        for n, fill in enumerate((palette.INK, palette.CASING))]  # fmt: skip
    return joined((
        words(f"1 inch = {scale_ft:,} feet", x, y - 17, size=9),
        words("0", x, y - 6, anchor="middle"),
        words(f"{feet:,} ft", x + 2 * half, y - 6, anchor="middle"),
        *halves,
        words("as printed at full size (100 %)", x, y + 12, size=6.2),
    ))  # fmt: skip
