"""The code on a block's page that opens a map program at its gate: a drawing and its words.

*Source*: RFC 5870 (``geo`` URI: latitude and longitude in degrees of WGS 84); ISO/IEC 18004 (QR
code).
"""

from collections.abc import Mapping
from typing import Any, TypeAlias

import geopandas as gpd
from shapely import Point

from pipeline.pages.packet.burned_ground import burned_of_block
from pipeline.pages.packet.packet_table import name_words

DEGREE_DECIMALS = 5
"""Decimals of the place: about a meter, as in the table of gates."""

Place: TypeAlias = tuple[str, Point, Any, str]
"""A place in words, its point and reference system, and what a way there ends at."""

QUIET_MODULES = 4
"""White squares around a code. *Source*: ISO/IEC 18004, quiet zone."""


def gate_code(
    block: Mapping[str, Any], frames: Mapping[str, gpd.GeoDataFrame]
) -> dict[str, str] | None:
    """Code of the gate nearest to a block, or else of where its mowing begins.

    ``svg`` is the drawing, ``uri`` what it says, ``words`` what stands beneath. None where neither
    a gate nor a pass is known.
    """
    place = _nearest_gate(block, frames["gates"]) or _first_pass(block, frames)
    if place is None:
        return None
    name, point, crs, end = place
    degrees = gpd.GeoSeries([point], crs=crs).to_crs(4326).iloc[0]
    uri = geo_uri(degrees.y, degrees.x)
    at = uri.removeprefix("geo:").replace(",", ", ")
    leads = f"The code opens a map program at this place and leads to {end} only."
    return {"svg": _drawn(uri), "uri": uri, "words": f"{name}: {at}. {leads}"}


def geo_uri(latitude: float, longitude: float) -> str:
    """Address of a place [degree of WGS 84]; a zero has no sign."""
    rounded = (round(degree, DEGREE_DECIMALS) + 0.0 for degree in (latitude, longitude))
    return "geo:" + ",".join(f"{degree:.{DEGREE_DECIMALS}f}" for degree in rounded)


def _nearest_gate(block: Mapping[str, Any], gates: gpd.GeoDataFrame) -> Place | None:
    """The gate nearest to a block."""
    if gates.empty:
        return None
    gate = gates.loc[gates.geometry.distance(block["geometry"]).idxmin()]
    name = f"Gate G{gate['gate_id']}"
    if isinstance(gate["name"], str):
        name += f", {name_words(gate['name'])}"
    return name, gate["geometry"], gates.crs, "the gate"


def _first_pass(block: Mapping[str, Any], frames: Mapping[str, gpd.GeoDataFrame]) -> Place | None:
    """The place where the mower begins; none where all of the block has burned."""
    passes = frames["mow_passes"]
    mine = passes[passes["block"] == block["block"]]
    if mine.empty or burned_of_block(block, frames).whole:
        return None
    first = mine.loc[mine["drive_order"].idxmin(), "geometry"]
    return "Where mowing begins", Point(first.coords[0]), passes.crs, "the strip"


def _drawn(content: str) -> str:
    """Drawing of a QR code: its squares as lines of one path, with the quiet zone around."""
    import segno

    code = segno.make(content, error="m", micro=False, boost_error=False)
    svg = code.svg_inline(border=QUIET_MODULES, omitsize=True, svgclass=None, lineclass=None)
    return svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
