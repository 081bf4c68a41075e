"""On which side of the planned wind an edge of a block lies."""

import numpy as np

TIE_DEG = 0.1
"""Angles are rounded to this, so that an edge right on the limit does not flip by rounding."""


SIDES = ("downwind", "flank", "upwind")


def off_downwind_deg(outward_deg: np.ndarray, wind_from_deg: float) -> np.ndarray:
    """Angle [degree, 0 to 180] between the outward direction of an edge and where the wind goes."""
    off = np.abs(np.mod(outward_deg - (wind_from_deg + 180.0) + 180.0, 360.0) - 180.0)
    return np.round(off / TIE_DEG) * TIE_DEG


def wind_sides(
    outward_deg: np.ndarray, wind_from_deg: float | None, half_angle_deg: float
) -> np.ndarray:
    """Side of the block each edge lies on: downwind, flank, upwind; None without a wind.

    Downwind is where the wind leaves the block: the side that must hold the head fire. An edge
    just on the limit counts as downwind, or as upwind on the other end.
    """
    if wind_from_deg is None or np.isnan(wind_from_deg):
        return np.full(len(outward_deg), None, dtype=object)
    off = off_downwind_deg(outward_deg, wind_from_deg)
    up = off >= 180.0 - half_angle_deg - TIE_DEG / 2
    down = off <= half_angle_deg + TIE_DEG / 2
    return np.where(down, "downwind", np.where(up, "upwind", "flank")).astype(object)


def reachable_sides(
    outward_deg: float, wind_from_deg: float, half_angle_deg: float, arc_deg: float
) -> list[str]:
    """Sides an edge may come to lie on while the wind shifts by up to the arc either way."""
    off = float(off_downwind_deg(np.array([outward_deg]), wind_from_deg)[0])
    nearest, farthest = max(0.0, off - arc_deg), min(180.0, off + arc_deg)
    down = nearest <= half_angle_deg + TIE_DEG / 2
    up = farthest >= 180.0 - half_angle_deg - TIE_DEG / 2
    flank = nearest < 180.0 - half_angle_deg and farthest > half_angle_deg + TIE_DEG / 2
    return [side for side, may in zip(SIDES, (down, flank, up), strict=True) if may]
