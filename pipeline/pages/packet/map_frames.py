"""Where a map stands in its drawing, and which ground it shows: what else is laid on it goes by it.

The template adds the page and the place there; ``pipeline.write.packet.packet_maps`` reads both
back.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import geopandas as gpd
import shapely
from shapely.affinity import affine_transform

from pipeline.core.units import M_PER_FT
from pipeline.pages.packet.sheet_layout import PT_PER_IN, Layout


@dataclass(frozen=True, slots=True)
class DrawnFrame:
    """Frame of a map in its drawing [point] and the ground it shows [meter in the working CRS].

    North is up. ``left_pt`` and ``top_pt`` are counted from the upper left corner of the drawing.
    ``map_id`` is the name of the map, one of its kind in a packet.
    """

    map_id: str
    left_pt: float
    top_pt: float
    width_pt: float
    height_pt: float
    west_m: float
    south_m: float
    east_m: float
    north_m: float


@dataclass(frozen=True, slots=True)
class Window:
    """Ground that a map shows: from the working CRS [meter] to the paper [point]."""

    west: float
    north: float
    width_pt: float
    height_pt: float
    pt_per_m: float

    def drawn(self, shape: Any) -> Any:
        """Shape in points from the upper left corner, cut at the edge of the map."""
        k = self.pt_per_m
        placed = affine_transform(shape, (k, 0, 0, -k, -k * self.west, k * self.north))
        return shapely.clip_by_rect(placed, 0, 0, self.width_pt, self.height_pt)

    def place(self, point: Any) -> tuple[float, float]:
        """Place of a point on paper, on the map or beyond it."""
        return (point.x - self.west) * self.pt_per_m, (self.north - point.y) * self.pt_per_m

    def holds(self, x_pt: float, y_pt: float) -> bool:
        """Whether a place on paper is on the map."""
        return 0 <= x_pt <= self.width_pt and 0 <= y_pt <= self.height_pt

    def toward(self, x_pt: float, y_pt: float) -> tuple[float, float, float]:
        """Place at the edge of the map on the way to one beyond it, and the way [degree]."""
        across, down = x_pt - self.width_pt / 2, y_pt - self.height_pt / 2
        share = min(
            (side / 2 - EDGE_PT) / abs(away)
            for side, away in ((self.width_pt, across), (self.height_pt, down))
            if away
        )
        x, y = self.width_pt / 2 + share * across, self.height_pt / 2 + share * down
        return x, y, math.degrees(math.atan2(across, -down))

    def frame(self, map_id: str, *, left_pt: float = 0.0, top_pt: float = 0.0) -> DrawnFrame:
        """Frame of the map where its window stands at a place in a drawing."""
        return DrawnFrame(
            map_id,
            left_pt,
            top_pt,
            self.width_pt,
            self.height_pt,
            west_m=self.west,
            south_m=self.north - self.height_pt / self.pt_per_m,
            east_m=self.west + self.width_pt / self.pt_per_m,
            north_m=self.north,
        )


EDGE_PT = 7.0
"""From the edge of a map to a mark for what lies beyond it."""


def window_of(bounds: Sequence[float], layout: Layout) -> Window:
    """Window of a layout with the ground within bounds [meter] in its middle."""
    west, south, east, north = bounds
    width, height = layout.frame_pt
    k = PT_PER_IN / (layout.scale_ft * M_PER_FT)
    left, top = (west + east) / 2 - width / k / 2, (south + north) / 2 + height / k / 2
    return Window(left, top, width, height, k)


def bounds_m(bounds: Sequence[float]) -> tuple[float, float]:
    """Width and height [meter] of ground within bounds."""
    return bounds[2] - bounds[0], bounds[3] - bounds[1]


def within(frame: gpd.GeoDataFrame, window: Window) -> gpd.GeoDataFrame:
    """Rows of a layer that reach into the window."""
    width, height = window.width_pt / window.pt_per_m, window.height_pt / window.pt_per_m
    ground = shapely.box(window.west, window.north - height, window.west + width, window.north)
    return frame.iloc[sorted(frame.sindex.query(ground))]


@dataclass(frozen=True, slots=True)
class SheetMap:
    """A map with its key: its drawing, layout, frame, and itself in words."""

    svg: str
    layout: Layout
    spoken: str
    frame: DrawnFrame


def map_words(drawn: SheetMap) -> dict[str, Any]:
    """A drawn map as the template takes it: its drawing, size, words and frame."""
    return {
        "svg": drawn.svg,
        "width": drawn.layout.width_pt,
        "height": drawn.layout.height_pt,
        "alt": drawn.spoken,
        "scale": f"1 inch = {drawn.layout.scale_ft:,} feet",
        "lying": drawn.layout.lying,
        "frame": asdict(drawn.frame),
    }


def maps_of(pages: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Every map of a packet that has a frame, as ``map_words`` made it, in the order of sheets."""
    sheets = [pages["overview"] or {}, *pages["blocks"], *pages["areas"], pages["records"] or {}]
    return (sheet["map"] for sheet in sheets if sheet.get("map"))
