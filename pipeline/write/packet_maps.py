"""Where the maps of the packet stand on its pages, for what is written into the file by place."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pipeline.pages.packet.map_frames import DrawnFrame, maps_of

MAP_PLACES = "<map>"
"""Label of what the template tells of each map."""


@dataclass(frozen=True, slots=True)
class PlacedMap:
    """A map on a page, counted from 1: its frame [PDF point from the lower left corner].

    ``frame`` says which rectangle of ground, in the working CRS of the run, the frame shows.
    """

    page: int
    left_pt: float
    bottom_pt: float
    right_pt: float
    top_pt: float
    frame: DrawnFrame


def placed_maps(told: str, pages: Mapping[str, Any]) -> list[PlacedMap]:
    """Each map of the packet where the template came to place it, as it ``told`` in JSON."""
    at = {place["id"]: place for place in json.loads(told)}
    frames = (DrawnFrame(**drawn["frame"]) for drawn in maps_of(pages))
    return [_placed(frame, at[frame.map_id]) for frame in frames]


def _placed(frame: DrawnFrame, at: Mapping[str, Any]) -> PlacedMap:
    left, top = at["x"] + frame.left_pt, at["height"] - at["y"] - frame.top_pt
    return PlacedMap(
        int(at["page"]), left, top - frame.height_pt, left + frame.width_pt, top, frame
    )
