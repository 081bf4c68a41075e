"""Colors, dashes and widths of the map: one table for report and packet.

No pair that must be told apart is red against green, and nothing rests on color alone: every
status of a break has its own dash and width, doubt is a texture, signs are printed. The tests
hold the contrast on the map's ground (Web Content Accessibility Guidelines 2.2, 1.4.11) and the
distances under simulated color blindness.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

PAPER = "#fbf8f1"


GROUND = "#f3eddf"


INK = "#1d2a35"


FAINT_INK = "#5c6468"


CASING = "#ffffff"


UNKNOWN = "#d5d3cd"


TEXTURE = "#4d5357"


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line on the map: color, width and dash [screen pixel], white casing around it or none."""

    color: str
    width: float
    dash: str = ""
    cap: str = "butt"
    cased: bool = True


def stroked(stroke: Stroke) -> dict[str, object]:
    """Attributes of a line on a map that is drawn as SVG."""
    return {
        "stroke": stroke.color,
        "stroke-width": stroke.width,
        "stroke-dasharray": stroke.dash or None,
        "stroke-linecap": stroke.cap,
        "fill": "none",
    }


BREAK_STROKES: dict[str, Stroke] = {
    "existing": Stroke("#1b2f5b", 3.0),
    "prepare": Stroke("#ad4a00", 4.5, "11 5"),
    "gap": Stroke("#7a1fa2", 8.0, "3 3"),
}


SOURCE_STROKE = Stroke("#6b6a66", 1.6, "6 2", cased=False)
"""Breaks of the property's own map, most of which no block uses."""


UNIT_STROKE = Stroke(INK, 1.3, cased=False)


BLOCK_STROKE = Stroke("#7d4b12", 2.4, "14 4 2 4", cased=False)


BLOCK_BAND = Stroke("#d98a3d", 15.0, cased=False)


BLOCK_OPACITY = 0.3
"""Of the band around a block on the screen: pale enough for lines where two bands lie together."""


BLOCK_PAPER_OPACITY = 0.28
"""Of the ground of a block on paper."""


STRIP_STROKE = Stroke("#94630a", 1.0, cased=False)


SMOKE_STROKE = Stroke(FAINT_INK, 5.0, cap="round", cased=False)
"""Places that smoke must not drift onto, and the winds that carry it there."""


PATCH_STROKE = Stroke("#6a2c8a", 1.6, "4 2", cased=False)
"""Around the ground of a patch of weeds or brush, and of the mark where one lies: many are smaller
than a line is wide."""


PHOTO_STROKE = Stroke("#0a5c8f", 2.4, cased=False)
"""A photo point and the way it looks."""


WATER_STROKE = Stroke("#0a5c8f", 1.5, cased=False)


SEED_STROKE = Stroke("#1f6274", 2.0, "2 3", cased=False)


SEED_BAND = Stroke("#1f6274", 4.0, "0 9", cap="round", cased=False)
"""Along the edge of a seed area on the screen, whose ground keeps the pattern of what it shows."""


STRIP_FILL = "#f0c468"


STRIP_PAPER_FILL = "#dba43a"
"""The same on paper: darker, so that a print without color keeps it from the block's ground."""


LINE_FILLS = {"bare_line": "#a9744f", "blackline": "#4a4a4a"}
"""Ground of the lines to be made, by their kind."""


SEED_FILL = "#1f6274"


WORK_INKS = {
    "burn": "#8a3d00",
    "seed": SEED_FILL,
    "graze": "#4f5a1c",
    "rest": FAINT_INK,
    "mow": "#7a5200",
    "hay": "#6b3f2a",
    "spray": "#6a2c8a",
    "till": "#5c4326",
    "cut": "#2f5d2a",
    "drag": "#5b5148",
    "move": "#3b4a6b",
    "harvest": "#7a3560",
}
"""Lines of the texture of each kind of planned work; print keeps them apart by the texture."""


WORK_TINTS = {
    "burn": "#f4d7b5",
    "seed": "#d2e3e7",
    "graze": "#e6e6c3",
    "rest": "#efece4",
    "mow": "#f7e5b4",
    "hay": "#eadfc9",
    "spray": "#e6dbec",
    "till": "#e3d5c3",
    "cut": "#d7e6cf",
    "drag": "#e4dfd8",
    "move": "#dbe1ee",
    "harvest": "#f0dbe8",
}
"""Ground below that texture."""


LESS_GREEN = ("#7c3306", "#b96a2b", "#e6b98a")


NO_CLEAR_CHANGE = "#f7f5f0"


MORE_GREEN = ("#9fcbdc", "#3c88ab", "#0b4566")


YEARS_UPPER = (1.0, 2.0, 3.0, 5.0, 10.0)


YEARS_COLORS = ("#3b2a4a", "#634a72", "#8d739a", "#b39dbb", "#d4c6d6", "#ece5ea")


NATIVES_UPPER = (25.0, 50.0, 75.0)
"""Upper ends of the classes of the natives' share [percent]."""


NATIVES_COLORS = ("#f3e9c6", "#d3c27f", "#94a05a", "#4c6b3a")


CARRIES_COLORS = {"yes": "#a8770f", "patchy": "#dcb866", "no": "#f5eccf", "unknown": UNKNOWN}


SMALLEST_LIMIT = 0.10


@dataclass(frozen=True, slots=True)
class ChangeScale:
    """Classes of a change around zero, symmetric; within the noise floor is the middle one.

    ``edges`` are the positive class edges, the noise floor first.
    """

    edges: tuple[float, float, float]

    def classes(self) -> list[tuple[str, str]]:
        """Color and words of each class, from less green to greener."""
        floor, middle, outer = (f"{edge:.2f}" for edge in self.edges)
        return [
            (LESS_GREEN[0], f"below −{outer}"),
            (LESS_GREEN[1], f"−{outer} to −{middle}"),
            (LESS_GREEN[2], f"−{middle} to −{floor}"),
            (NO_CLEAR_CHANGE, f"within ±{floor}, no clear change"),
            (MORE_GREEN[0], f"+{floor} to +{middle}"),
            (MORE_GREEN[1], f"+{middle} to +{outer}"),
            (MORE_GREEN[2], f"above +{outer}"),
        ]


def change_scale(changes: Iterable[float], *, noise_floor: float) -> ChangeScale:
    """Scale for a map of changes: outer edge from their 98th percentile, at least 0.10."""
    sizes = sorted(abs(c) for c in changes if not math.isnan(c))
    most = _quantile(sizes, 0.98) if sizes else 0.0
    limit = max(SMALLEST_LIMIT, math.ceil(most * 20 - 1e-9) / 20, 3 * noise_floor)
    step = (limit - noise_floor) / 3
    return ChangeScale((noise_floor, noise_floor + step, noise_floor + 2 * step))


def _quantile(ordered: Sequence[float], share: float) -> float:
    """Quantile of sorted values, linear between neighbors."""
    place = share * (len(ordered) - 1)
    low = math.floor(place)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (place - low) * (ordered[high] - ordered[low])


def years_classes() -> list[tuple[str, str]]:
    """Color and words of each class of years since the last burn."""
    words = ("1 year or less", "2 years", "3 years", "4 to 5 years", "6 to 10 years")
    return list(zip(YEARS_COLORS, (*words, "longer"), strict=True))


def natives_classes() -> list[tuple[str, str]]:
    """Color and words of each class of the natives' share of the cover."""
    words = ("up to 25 % native", "to 50 % native", "to 75 % native", "above 75 % native")
    return list(zip(NATIVES_COLORS, words, strict=True))


PATTERN_INKS = {
    **WORK_INKS,
    "excluded": TEXTURE,
    "seeded": SEED_FILL,
    "bare": SOURCE_STROKE.color,
    "patched": PATCH_STROKE.color,
    "doubt": TEXTURE,
    "unjudged": TEXTURE,
    "in_part": CASING,
    "stop_and_ask": INK,
    "think_again": INK,
}
"""Color of the lines and dots of each pattern."""
