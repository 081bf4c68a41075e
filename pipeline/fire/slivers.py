"""Slivers: nobody's ground inside the edges of a block that is narrower than outlines can be off.

Outlines that miss each other by up to ``slop_ft`` are one edge; no line is held there, and the fire
of the block burns across. So the ground between them is the block's.
"""

from collections.abc import Sequence

import numpy as np
import shapely

from pipeline.ground.acreage import polygonal
from pipeline.ground.overlays import common, less, united

SMALLEST_M2 = 0.01
"""Less ground is what overlays of outlines leave by rounding."""


def slivers_between(
    units: np.ndarray, others: np.ndarray, within: shapely.Geometry, slop_m: float
) -> list[shapely.Polygon]:
    """Ground inside the edges of a block that none of its units has, narrower than the slop [m].

    ``others`` are the units around that do not burn with them, ``within`` is the ground inside the
    edges of the block: a wedge that the edges keep open stays open.
    """
    drawn = united(units)
    missing = less(_closed(drawn, slop_m), drawn)
    if missing.area < SMALLEST_M2:
        return []
    nobodys = less(common(missing, within), united(others))
    return [piece for piece in shapely.get_parts(nobodys) if piece.area >= SMALLEST_M2]


def with_slivers(
    drawn: shapely.Geometry, slivers: Sequence[shapely.Polygon]
) -> shapely.MultiPolygon:
    """Ground of a block with its slivers, and without holes that only rounding has left."""
    parts = shapely.get_parts(polygonal(united([drawn, *slivers]) if slivers else drawn))
    return shapely.MultiPolygon([_without_specks(part) for part in parts])


def _without_specks(part: shapely.Polygon) -> shapely.Polygon:
    holes = [ring for ring in part.interiors if shapely.Polygon(ring).area >= SMALLEST_M2]
    return part if len(holes) == len(part.interiors) else shapely.Polygon(part.exterior, holes)


def _closed(shape: shapely.Geometry, width_m: float) -> shapely.Geometry:
    """The shape without gaps narrower than a width [m]: grown by half of it and shrunk again."""
    grown = shapely.buffer(shape, width_m / 2, join_style="mitre")
    return shapely.buffer(grown, -width_m / 2, join_style="mitre")
