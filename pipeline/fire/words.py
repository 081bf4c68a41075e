"""The codes of the fire layers in words, for findings and for pages. Nothing reads them back."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from pipeline.core.units import half_up

COMPASS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


CODE_WORDS = {
    "gap": "gap",
    "away": "edge away from its break",
    "tie_in": "tie-in",
    "side_change": "change of side",
    "hand_over": "hand-over",
    "sharp_corner": "sharp corner",
    "bare_line": "bare line",
    "blackline": "blackline",
    "bare": "bare ground",
    "wet": "wet ground",
    "green": "green ground",
    "mown": "mown ground",
    "black": "burned ground",
    "bare_or_burned": "bare, wet or burned-out line",
    "bare_mown_or_burned": "bare, mown and burned-out ground together",
}


def feet_words(feet: float) -> str:
    """Length [ft] to the foot, thousands set apart."""
    return f"{half_up(feet, 0):,} ft"


def compass_point(degrees: float) -> str:
    """The nearest of eight points of the compass."""
    return COMPASS[int(half_up(float(degrees) / 45, 0)) % 8]


def degrees_words(degrees: float) -> str:
    """Direction in whole degrees, north as 0, and its compass point: 225 (SW)."""
    return f"{int(half_up(float(degrees), 0)) % 360} ({compass_point(degrees)})"


def arcs_words(arcs: np.ndarray, *, inward: bool = False) -> str:
    """Arcs [degree] of first and last as words: 132 to 201 degrees and 350 to 10 degrees.

    Rounded outward, so that no wind is left out; ``inward``, so that none is taken in.
    """
    grain = 1e-6
    spans = []
    for first, last in arcs:
        if inward:
            low, high = math.ceil(first - grain), math.floor(last + grain)
        else:
            low, high = math.floor(first + grain), math.ceil(last - grain)
        if high - low >= 360:
            spans.append("every direction")
        elif high > low:
            spans.append(f"{low % 360} to {high % 360} degrees")
        else:
            spans.append(f"about {math.floor(first + grain) % 360} degrees")
    return " and ".join(spans)


def place_words(place: Mapping[str, Any]) -> str:
    """What is to be done at a row of the layer ``tie_ins``."""
    kind, there = place["kind"], place["break_kind"]
    if kind == "sharp_corner":
        return f"corner of {half_up(place['corner_angle_deg'], 0)} degrees: bend the line around it"
    if kind == "side_change":
        return f"the line changes to the other side of the {there}: close the way across it"
    feet = feet_words(place["distance_ft"])
    if kind == "gap":
        return f"the {there} has a hole of {feet} here: close it"
    if kind == "away":
        return (
            f"the {there} is whole, the edge lies up to {feet} from it: make the line along the "
            "edge and tie both ends"
        )
    if kind == "tie_in":
        return f"lead the line {feet} to the {there}"
    following = place["next_break_kind"]
    return f"from {there} to {following}, which are {feet} apart: close the way between them"
