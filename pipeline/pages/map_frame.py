"""Window of the map: shapes as SVG path data, north up, in whole decimeters from its corner."""

import math
from dataclasses import dataclass
from itertools import pairwise

import geopandas as gpd
import shapely
from shapely.geometry.base import BaseGeometry

from pipeline.core.units import M_PER_MI

PER_M = 10


SIMPLIFIED_TO_M = 0.5


MARGIN = 0.06


EDGE_SHARE = 0.045
"""Room that a mark keeps from the edge of the map, as a share of its shorter side."""


QUARTER_MILE_M = M_PER_MI / 4


MOST_CROSSES = 5000
"""More of them on one map, a property of some 17 miles each way, would be a gray sheet."""


@dataclass(frozen=True, slots=True)
class MapFrame:
    """Window of the map [meter]: its west and north edges, its width and height."""

    west: float
    north: float
    width_m: float
    height_m: float

    @property
    def width(self) -> int:
        """Width [decimeter], the unit of the drawing."""
        return round(self.width_m * PER_M)

    @property
    def height(self) -> int:
        """Height [decimeter]."""
        return round(self.height_m * PER_M)

    def point(self, x: float, y: float) -> tuple[int, int]:
        """Place in the drawing of a place in the working CRS."""
        return round((x - self.west) * PER_M), round((self.north - y) * PER_M)

    def inside(self, x: float, y: float) -> tuple[int, int]:
        """The same, moved onto the map where it lies beyond its edge."""
        room = round(EDGE_SHARE * min(self.width, self.height))
        across, down = self.point(x, y)
        return (
            min(max(across, room), self.width - room),
            min(max(down, room), self.height - room),
        )

    def holds(self, x: float, y: float) -> bool:
        """Whether a place in the working CRS lies on the map."""
        return (
            self.west <= x <= self.west + self.width_m
            and self.north - self.height_m <= y <= self.north
        )

    def shaped(self, wide: float) -> "MapFrame":
        """The window grown about its middle until it is ``wide`` times as wide as it is high."""
        width = max(self.width_m, wide * self.height_m)
        height = max(self.height_m, self.width_m / wide)
        west = self.west - (width - self.width_m) / 2
        return MapFrame(west, self.north + (height - self.height_m) / 2, width, height)

    def path(self, shape: BaseGeometry | None) -> str:
        """Path data of any shape, simplified to half a meter; empty for an empty one.

        Rounded to the millimeter first: GEOS never ends simplifying some lines with coordinates
        that are all but zero.
        """
        if shape is None or shape.is_empty:
            return ""
        rounded = shapely.transform(shape, lambda points: points.round(3))
        return "".join(self._parts(rounded.simplify(SIMPLIFIED_TO_M)))

    def _parts(self, shape: BaseGeometry) -> list[str]:
        if hasattr(shape, "geoms"):
            return [text for part in shape.geoms for text in self._parts(part)]
        if shape.geom_type == "Polygon":
            rings = (shape.exterior, *shape.interiors)
            return [self._line(list(ring.coords)[:-1]) + "z" for ring in rings if len(ring.coords)]
        return [self._line(list(shape.coords))]

    def _line(self, places: list[tuple[float, ...]]) -> str:
        """One run of places: the first absolute, the others as steps, which are shorter."""
        drawn = [self.point(*place[:2]) for place in places]
        steps = [(x - was_x, y - was_y) for (was_x, was_y), (x, y) in pairwise(drawn)]
        start = "M{} {}".format(*drawn[0])
        # A point gets a decimeter's length: some printers draw no cap on a line of none.
        if not steps:
            return f"{start}h1"
        return f"{start}l" + " ".join(f"{x} {y}" for x, y in steps).replace(" -", "-")

    def quarter_mile_crosses(self) -> list[tuple[int, int]]:
        """Places of a lattice a quarter mile wide: four neighbors have 40 acres between them.

        None where there would be too many to be seen: they are counted before one is made.
        """
        columns = range(
            math.ceil(self.west / QUARTER_MILE_M),
            math.floor((self.west + self.width_m) / QUARTER_MILE_M) + 1,
        )
        rows = range(
            math.ceil((self.north - self.height_m) / QUARTER_MILE_M),
            math.floor(self.north / QUARTER_MILE_M) + 1,
        )
        if len(columns) * len(rows) > MOST_CROSSES:
            return []
        return [self.point(c * QUARTER_MILE_M, r * QUARTER_MILE_M) for r in rows for c in columns]


def frame_around(units: gpd.GeoDataFrame) -> MapFrame:
    """Window around all units, with a margin; a quarter mile wide where there are none."""
    west, south, east, north = map(float, units.total_bounds)
    if not math.isfinite(west):
        west, south, east, north = 0.0, 0.0, QUARTER_MILE_M, QUARTER_MILE_M
    margin = MARGIN * max(east - west, north - south, 1.0)
    return MapFrame(
        west - margin, north + margin, east - west + 2 * margin, north - south + 2 * margin
    )
