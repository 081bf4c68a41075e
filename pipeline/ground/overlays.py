"""Overlays of polygons that end in a result on whatever valid polygons they are given.

The library's overlay works on free coordinates and gives up on some pairs of valid polygons. Then
the shapes are brought onto a grid of a millimeter, where it cannot.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely

from pipeline.ground.half_edges import GRID_M


def united(shapes: Sequence[shapely.Geometry] | np.ndarray) -> shapely.Geometry:
    """All ground that the shapes cover."""
    try:
        return shapely.union_all(shapes)
    except shapely.GEOSException:
        with np.errstate(all="ignore"):
            return shapely.union_all(shapes, grid_size=GRID_M)


def common(one: shapely.Geometry | np.ndarray, other: shapely.Geometry | np.ndarray) -> Any:
    """What both shapes cover; of two arrays, pair by pair."""
    try:
        return shapely.intersection(one, other)
    except shapely.GEOSException:
        with np.errstate(all="ignore"):
            return shapely.intersection(one, other, grid_size=GRID_M)


def less(one: shapely.Geometry, other: shapely.Geometry) -> shapely.Geometry:
    """What the first shape covers and the second one does not."""
    try:
        return shapely.difference(one, other)
    except shapely.GEOSException:
        with np.errstate(all="ignore"):
            return shapely.difference(one, other, grid_size=GRID_M)
