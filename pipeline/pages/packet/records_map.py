"""Map of the whole property for the sheet of what was seen: photo points and newest patches."""

import math
from collections.abc import Mapping
from typing import Any

import geopandas as gpd

from pipeline.core.names import natural_key
from pipeline.ground.overlays import united
from pipeline.pages import palette
from pipeline.pages.markup import Markup, tag
from pipeline.pages.packet.map_frames import Window
from pipeline.pages.seed_map import (
    SeedMap,
    ground_paths,
    map_edge,
    map_label,
    north_arrow,
    unit_names,
    window_around,
)
from pipeline.season.plants.patches import newest_ground

WEDGE_PT, NUMBER_PT = 17.0, 8.0


WEDGE_HALF = math.radians(20.0)


def numbered_points(points: gpd.GeoDataFrame) -> list[dict[str, Any]]:
    """Photo points in the order in which people count their names, each with its number."""
    ordered = sorted(points.to_dict("records"), key=lambda row: natural_key(row["point"]))
    return [row | {"number": number} for number, row in enumerate(ordered, 1)]


def draw_records_map(
    frames: Mapping[str, gpd.GeoDataFrame], *, width_pt: float, height_pt: float
) -> SeedMap:
    """Units, the newest ground of each patch, and photo points by number with the way they look."""
    units = frames["units"]
    window, feet = window_around(united(units.geometry.to_numpy()), width_pt, height_pt)
    patches, points = newest_ground(frames["patch_ground"]), numbered_points(frames["photo_points"])
    mark = palette.PATCH_STROKE.color
    layers = [
        *ground_paths(units.geometry, window, stroke=palette.FAINT_INK, width=0.5),
        *ground_paths(patches.geometry, window, fill=mark, stroke=mark, width=1.4),
        *unit_names(units, window),
        *(_point(row, window) for row in points),
        north_arrow(width_pt - 14),
        tag("rect", attributes=map_edge(width_pt, height_pt)),
    ]
    attributes = {
        "xmlns": "http://www.w3.org/2000/svg",
        "width": f"{width_pt}pt",
        "height": f"{height_pt}pt",
        "viewBox": f"0 0 {width_pt} {height_pt}",
        "font-family": "Libertinus Serif, serif",
    }
    spoken = (
        f"Map of the property, north up, 1 inch is {feet:,} feet on the ground: {len(points)} "
        f"photo points and {len(patches)} pieces of patches."
    )
    svg = str(tag("svg", *layers, attributes=attributes))
    return SeedMap(svg, width_pt, height_pt, feet, spoken, window.frame("What was seen"))


def _point(row: Mapping[str, Any], window: Window) -> Markup:
    """A dot with its number behind it, and a wedge the way it looks."""
    place = window.drawn(row["geometry"])
    if place.is_empty:
        return Markup("")
    x, y, color = place.x, place.y, palette.PHOTO_STROKE.color
    looks = not math.isnan(row["bearing_deg"])
    ahead = math.radians(row["bearing_deg"]) if looks else math.pi
    sides = [
        f"{x + WEDGE_PT * math.sin(angle):.2f} {y - WEDGE_PT * math.cos(angle):.2f}"
        for angle in (ahead - WEDGE_HALF, ahead + WEDGE_HALF)
        if looks
    ]
    look = {"fill": palette.CASING, "stroke": color, "stroke-width": 0.9}
    data = "L".join([f"M{x:.2f} {y:.2f}", *sides])
    wedge = tag("path", attributes={"d": f"{data}z", **look}) if sides else ""
    dot = tag("circle", attributes={"cx": f"{x:.2f}", "cy": f"{y:.2f}", "r": 2.6, "fill": color})
    behind = (x - NUMBER_PT * math.sin(ahead), y + NUMBER_PT * math.cos(ahead) + 2.8)
    return Markup(wedge + dot + map_label(row["number"], *behind, size=8))
