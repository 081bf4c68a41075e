"""Overlays of polygons that end in a result on whatever valid polygons they are given.

The library's overlay works on free coordinates and gives up on some pairs of valid polygons. Then
the shapes are brought onto a grid of a millimeter, where it cannot.
"""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import shapely

from pipeline.ground.half_edges import GRID_M


def united(shapes: Sequence[shapely.Geometry] | np.ndarray) -> shapely.Geometry:
    """All ground that the shapes cover."""
    return _overlaid(shapely.union_all, shapes)


def common(one: shapely.Geometry | np.ndarray, other: shapely.Geometry | np.ndarray) -> Any:
    """What both shapes cover; of two arrays, pair by pair."""
    return _overlaid(shapely.intersection, one, other)


def less(one: shapely.Geometry, other: shapely.Geometry) -> shapely.Geometry:
    """What the first shape covers and the second one does not."""
    return _overlaid(shapely.difference, one, other)


def _overlaid(overlay: Callable[..., Any], *shapes: Any) -> Any:
    """An overlay on free coordinates, else on the grid; what it divides by zero within is its own.

    Coordinates of nearly nothing, such as 1e-308 m, make it warn.
    """
    with np.errstate(all="ignore"):
        try:
            return overlay(*shapes)
        except shapely.GEOSException:
            return overlay(*shapes, grid_size=GRID_M)
