"""How a map stands on its sheet: which way the paper lies, where the key goes, and the scale.

The largest scale wins. Scales are round: whole hundreds of feet to the inch (1:1,200, 1:2,400,
1:3,600 and so on), and finer steps only where a hundred would leave the ground small in its frame.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

from pipeline.core.run import Paper
from pipeline.core.units import M_PER_FT

PT_PER_IN = 72.0


PAPER_PT: dict[Paper, tuple[float, float]] = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}
"""Width and height of the paper, upright [point]. *Source*: ANSI Y14.1 (letter), ISO 216 (A4)."""


SIDE_PT, TOP_PT = 36.0, 26.0


BOTTOM_PT = {False: 84.0, True: 72.0}
"""Room for the cautions at the foot of a sheet, upright and lying [point]."""


MARGIN_PT = 22.0
"""Room between the ground shown and the edge of its map [point]: names stand there."""


LEAST_FILL = 0.7
"""Share of the frame that the ground takes in the direction in which it is longest."""


STEPS_FT = (100, 50, 25, 10, 5, 2, 1)
"""Steps of the scale [foot per inch], the roundest first."""


LEAST_FRAME_PT = 180.0
"""Least height of a frame: with less, the map goes to the next page."""


KEY_WIDTH_PT, KEY_LINE_PT = 160.0, 12.0


COMPASS_PT = (104.0, 78.0)
"""Room of north arrow and compass of winds; the bar of the scale stands beside or below them."""


BAR_PT = (106.0, 46.0)


@dataclass(frozen=True, slots=True)
class Layout:
    """A map on its sheet [point]: ``lying`` paper or upright, its drawing, its frame in that.

    The frame stands in the upper left corner of the drawing, the key ``beside`` or below it.
    """

    lying: bool
    beside: bool
    width_pt: float
    height_pt: float
    frame_pt: tuple[float, float]
    scale_ft: int


def sheet_pt(paper: Paper, lying: bool) -> tuple[float, float]:
    """Width and height of a sheet as it lies [point]."""
    width, height = PAPER_PT[paper]
    return (height, width) if lying else (width, height)


def body_pt(paper: Paper, lying: bool) -> tuple[float, float]:
    """Room for what is printed, between the margins of a sheet [point]."""
    width, height = sheet_pt(paper, lying)
    return width - 2 * SIDE_PT, height - TOP_PT - BOTTOM_PT[lying]


def choose_layout(
    ground_m: tuple[float, float],
    paper: Paper,
    *,
    head_pt: Callable[[float], float],
    key_lines: int,
) -> Layout:
    """Layout with the largest map of ground so wide and high [meter].

    ``head_pt`` is the height of what stands above the map where the sheet is so wide.
    """
    choices = []
    for lying, beside in product((False, True), (False, True)):
        width, height = body_pt(paper, lying)
        height = max(height - head_pt(width), LEAST_FRAME_PT + key_height_pt(width, key_lines))
        if beside and key_height_pt(0.0, key_lines) > height:
            continue
        choices.append(drawing_layout(ground_m, (width, height), key_lines, lying, beside))
    return min(choices, key=lambda layout: layout.scale_ft)


def drawing_layout(
    ground_m: tuple[float, float],
    drawing_pt: tuple[float, float],
    key_lines: int,
    lying: bool,
    beside: bool,
) -> Layout:
    """Layout of a drawing of a size that is given."""
    width, height = drawing_pt
    if beside:
        frame = (width - KEY_WIDTH_PT - 8, height)
    else:
        frame = (width, height - key_height_pt(width, key_lines))
    feet = scale_ft(*ground_m, frame_pt=frame)
    return Layout(lying, beside, width, round(height, 2), frame, feet)


def key_columns(width_pt: float) -> int:
    """Columns of samples in a key below a map of a width; one in a key beside it."""
    return max(1, int((width_pt - COMPASS_PT[0] - BAR_PT[0]) // KEY_WIDTH_PT))


def key_height_pt(width_pt: float, lines: int) -> float:
    """Height of a key [point] below a map of a width; of one beside it for a width of 0."""
    if width_pt == 0.0:
        return COMPASS_PT[1] + lines * KEY_LINE_PT + BAR_PT[1]
    return 8 + max(COMPASS_PT[1], math.ceil(lines / key_columns(width_pt)) * KEY_LINE_PT)


def scale_ft(width_m: float, height_m: float, *, frame_pt: tuple[float, float]) -> int:
    """Feet to the inch [foot] of the roundest scale at which ground fills its frame well.

    The ground has room within the margins, and takes ``LEAST_FILL`` of the frame in its limiting
    direction, as far as the finest step allows.
    """
    sizes_ft = (width_m / M_PER_FT, height_m / M_PER_FT)
    inches = [side / PT_PER_IN for side in frame_pt]
    rooms = [(side - 2 * MARGIN_PT) / PT_PER_IN for side in frame_pt]
    least = max(size / room for size, room in zip(sizes_ft, rooms, strict=True))
    filled_ft = max(size / inch for size, inch in zip(sizes_ft, inches, strict=True)) / LEAST_FILL
    scales = [max(math.ceil(least / step - 1e-9), 1) * step for step in STEPS_FT]
    return next((feet for feet in scales if feet <= filled_ft), scales[-1])
