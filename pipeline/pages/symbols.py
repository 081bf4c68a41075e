"""Colors, dashes and textures: one table for map, sheets and GeoPackage styles.

Nothing is told by color alone: each status has its own dash and width, each kind of place its own
shape, less and more green carry their sign, and what is uncertain is hatched. The colors were
chosen so that they stay apart for people who see red and green alike (held by a test).
"""

from dataclasses import dataclass

GROUND = "#f6f3ea"
INK = "#26302e"
UNIT_LINE = "#4c5552"
MIDDLE = "#f3f0e4"
NO_DATA = "#c9c8c2"


@dataclass(frozen=True, slots=True)
class LineSymbol:
    """A line: color, width on paper [pt], dashes on paper [pt], and the words of the legend."""

    color: str
    width: float
    dash: tuple[float, ...]
    words: str


BREAK_SYMBOLS: dict[str, LineSymbol] = {
    "existing": LineSymbol("#22406e", 2.2, (), "existing break"),
    "prepare": LineSymbol("#b3530c", 3.4, (9, 4), "to be prepared"),
    "gap": LineSymbol("#9c1a78", 5.0, (1.5, 3.5), "gap to be closed"),
}
PASS_SYMBOL = LineSymbol("#7a6a1f", 0.7, (), "mower pass")

STRIP_COLOR = "#b3530c"
SEED_COLOR = "#5a4394"
EXCLUSION_COLOR = "#5d6668"
BREAK_GROUND_COLOR = "#7a7f80"
BLOCK_COLOR = "#e9d8b4"

# Less green to the left, greener to the right, the noise floor in the middle.
LESS_COLORS = ("#93400f", "#dca067")
MORE_COLORS = ("#8fb2d9", "#1c4e8a")

# One hue, darker is sooner after fire.
HISTORY_COLORS = {
    "0 to 1": "#3d3553",
    "2 to 3": "#77709a",
    "4 to 5": "#aca8c8",
    "6 and more": "#dedceb",
}
FUEL_COLORS = {"yes": "#7a5a14", "patchy": "#c9a95a", "no": "#efe6c9", "unknown": NO_DATA}

PLACE_SHAPES: dict[str, str] = {
    "gap": "M-5,-5L5,5M-5,5L5,-5",
    "tie-in": "M-5,0A5,5 0 1 0 5,0A5,5 0 1 0 -5,0Z",
    "hand-over": "M0,-6L6,0L0,6L-6,0Z",
    "sharp corner": "M0,-6L6,5L-6,5Z",
}
PLACE_WORDS = {
    "gap": "gap in a break",
    "tie-in": "tie-in: lead the line to the break",
    "hand-over": "hand-over from break to break",
    "sharp corner": "sharp corner: bend the line around it",
}


def change_limits(largest: float, noise_floor: float) -> tuple[float, float, float, float]:
    """Class limits of a change, symmetric about zero; the middle class is the noise floor.

    ``largest`` is the largest change shown, whichever its sign.
    """
    outer = max(0.10, largest)
    half = noise_floor + (outer - noise_floor) / 2 if outer > noise_floor else noise_floor * 2
    return (-half, -noise_floor, noise_floor, half)


def change_color(change: float, limits: tuple[float, float, float, float]) -> str:
    """Fill of a change, by class."""
    colors = (*LESS_COLORS, MIDDLE, *MORE_COLORS)
    below = sum(change > limit if limit > 0 else change >= limit for limit in limits)
    return colors[below]


def history_class(years: int) -> str:
    """Class of years since the last fire."""
    if years <= 1:
        return "0 to 1"
    if years <= 3:
        return "2 to 3"
    return "4 to 5" if years <= 5 else "6 and more"
