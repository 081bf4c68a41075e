"""The codes of the fire layers in words, for findings and for pages. Nothing reads them back."""

from collections.abc import Mapping
from typing import Any

from pipeline.core.units import half_up

CODE_WORDS = {
    "gap": "gap",
    "away": "edge away from its break",
    "tie_in": "tie-in",
    "side_change": "change of side",
    "hand_over": "hand-over",
    "sharp_corner": "sharp corner",
    "bare_or_burned": "bare, wet or burned-out line",
    "bare_mown_or_burned": "bare, mown and burned-out ground together",
}


def feet_words(feet: float) -> str:
    """Length [ft] to the foot, thousands set apart."""
    return f"{half_up(feet, 0):,} ft"


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
