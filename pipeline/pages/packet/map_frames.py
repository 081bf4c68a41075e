"""Where a map stands in its drawing, and which ground it shows: what else is laid on it goes by it.

The template adds the page and the place there; ``pipeline.write.packet_maps`` reads both back.
"""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

import shapely
from shapely.affinity import affine_transform


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


def map_words(drawn: Any) -> dict[str, Any]:
    """A drawn map as the template takes it: its drawing, size, words and frame."""
    return {
        "svg": drawn.svg,
        "width": drawn.width_pt,
        "height": drawn.height_pt,
        "alt": drawn.spoken,
        "scale": f"1 inch = {drawn.scale_ft:,} feet",
        "frame": asdict(drawn.frame),
    }


def maps_of(pages: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Every map of a packet that has a frame, as ``map_words`` made it, in the order of sheets."""
    sheets = [*pages["blocks"], *pages["areas"], pages["records"] or {}]
    return (sheet["map"] for sheet in sheets if sheet.get("map"))
