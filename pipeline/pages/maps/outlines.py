"""Outlines of the units: each stands once on a page and is used wherever its ground is drawn.

A page of three hundred units would otherwise repeat every corner for each quantity and each map.
"""

from collections.abc import Mapping

import geopandas as gpd
from shapely.geometry.base import BaseGeometry

from pipeline.pages.map_frame import PER_M, MapFrame, frame_around
from pipeline.pages.markup import Markup, tag

KEEPS_ITS_WIDTH = "o"
"""Class of a shape whose lines keep their width at every zoom, wherever it is used."""


class Outlines:
    """Outlines as the map of the property defines them, for maps of any window."""

    def __init__(self, units: gpd.GeoDataFrame) -> None:
        self._frame = frame_around(units)
        self._shapes = list(units.geometry)
        self._numbers = {shape.wkb: number for number, shape in enumerate(self._shapes)}

    def defined(self) -> Markup:
        """Every outline with its name; nothing of it is seen until it is used."""
        paths = [
            tag(
                "path",
                attributes={
                    "id": f"u{number}",
                    "class": KEEPS_ITS_WIDTH,
                    "d": self._frame.path(shape),
                },
            )
            for number, shape in enumerate(self._shapes)
        ]
        return tag("defs", *paths)

    def drawn(
        self, shape: BaseGeometry, frame: MapFrame, attributes: Mapping[str, object]
    ) -> Markup:
        """A shape on the map of ``frame``: the outline of a unit is used, any other is drawn."""
        number = self._numbers.get(shape.wkb)
        if number is None:
            return tag("path", attributes={"d": frame.path(shape), **attributes})
        return tag("use", attributes={"href": f"#u{number}", **self._aside(frame), **attributes})

    def again(self, layer: str, frame: MapFrame) -> Markup:
        """All shapes of a layer of the map of the property, on the map of ``frame`` too."""
        return tag("use", attributes={"href": f"#all-{layer}", **self._aside(frame)})

    def _aside(self, frame: MapFrame) -> dict[str, object]:
        """How far shapes of the map of the property are moved on the map of ``frame``."""
        across = round((self._frame.west - frame.west) * PER_M)
        down = round((frame.north - self._frame.north) * PER_M)
        return {"x": across or None, "y": down or None}
