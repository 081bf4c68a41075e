"""What is to be made along a stretch so that its line meets its rules, the cheapest way first."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

from pipeline.fire.settings import MowingSettings, Way
from pipeline.fire.width_rules import COUNTS, Ground

ENOUGH_FT = 1e-9
"""Widths that differ by less than this are the same: what is left by rounding is not made."""


@dataclass(frozen=True, slots=True)
class Widths:
    """Widths [ft] of bare or wet, mown, and burned-out ground of a line."""

    bare: float = 0.0
    mown: float = 0.0
    burned: float = 0.0

    def counted_ft(self, ground: Ground) -> float:
        """Width [ft] that counts for a rule of that ground; NaN where a part is not known."""
        return sum(getattr(self, way) for way in COUNTS[ground])

    def __add__(self, other: "Widths") -> "Widths":
        return Widths(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(self)))


def planned_line(
    there: Widths,
    least: Widths,
    asked: Sequence[tuple[Ground, float]],
    mowing: MowingSettings,
) -> Widths:
    """Widths [ft] to be made beside what is there, so that every rule asked for is met.

    ``asked`` are the grounds that rules count, each with the width [ft] it asks for. Rules that
    count less ground come first: what is made for them counts for the others too, so that no foot
    is made twice. Where the ways allowed do not reach, all of their width is made.
    """
    made = least
    for ground, width_ft in sorted(asked, key=lambda rule: len(COUNTS[rule[0]])):
        for way in mowing.order:
            missing = width_ft - (there + made).counted_ft(ground)
            if way in COUNTS[ground] and missing > ENOUGH_FT:
                made = replace(made, **{way: _widened(getattr(made, way), missing, way, mowing)})
    return made


def _widened(width_ft: float, missing_ft: float, way: Way, mowing: MowingSettings) -> float:
    """Width [ft] of one way with what is missing put to it, as far as its limit allows."""
    most = {
        "mown": mowing.most_mown_ft,
        "bare": mowing.most_bare_ft,
        "burned": mowing.most_burned_ft,
    }[way]
    wide = width_ft + missing_ft
    return wide if most is None else max(width_ft, min(wide, most))
