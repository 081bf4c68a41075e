"""The user's own air photo under the maps of the packet's blocks."""

import logging
from typing import Any

from pipeline.core.run import Run
from pipeline.pages.packet.backdrop_map import with_backdrop
from pipeline.pictures.backdrop import backdrop_jpeg

log = logging.getLogger("swardline")

PIXELS_PER_PT = 150 / 72
"""150 pixels an inch: what a printer of 600 dots an inch shows of grays; common practice."""


def lay_backdrop(pages: dict[str, Any], run: Run) -> dict[str, Any]:
    """The packet with the photo under each block's map, where one was given and reaches it.

    A packet made again from a GeoPackage has none, since nothing but the layers is read then.
    """
    given = run.frames["backdrop"].to_dict("records")
    if not given:
        if run.frames["sources"]["source"].eq("backdrop").any() and pages["blocks"]:
            log.warning("packet.pdf: without the air photo, which is no part of a GeoPackage")
        return pages
    blocks = [block | {"map": _laid(block["map"], given[0], run)} for block in pages["blocks"]]
    return pages | {"blocks": blocks}


def _laid(drawn: dict[str, Any], backdrop: dict[Any, Any], run: Run) -> dict[str, Any]:
    """One map with what the photo shows of its ground."""
    frame = drawn["frame"]
    bounds = (frame["west_m"], frame["south_m"], frame["east_m"], frame["north_m"])
    width, height = (round(frame[side] * PIXELS_PER_PT) for side in ("width_pt", "height_pt"))
    jpeg = backdrop_jpeg(backdrop, bounds, run.crs, (width, height))
    return drawn if jpeg is None else with_backdrop(drawn, jpeg, backdrop["name"])
