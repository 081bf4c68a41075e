"""Map of the whole property for the sheet of what was seen: photo points and newest patches."""

import math
from collections.abc import Mapping
from typing import Any

import geopandas as gpd
import shapely

from pipeline.core.names import natural_key
from pipeline.pages import palette
from pipeline.pages.markup import Markup, tag
from pipeline.pages.packet.map_frames import SheetMap, Window, bounds_m, window_of
from pipeline.pages.packet.map_key import draw_key
from pipeline.pages.packet.paper_drawing import STYLES, Drawn, drawing, edge, words
from pipeline.pages.packet.paper_names import unit_names
from pipeline.pages.packet.sheet_layout import drawing_layout
from pipeline.pages.words import rows
from pipeline.season.plants.patches import newest_ground

WEDGE_PT, NUMBER_PT = 17.0, 9.0


WEDGE_HALF = math.radians(20.0)


KEY_LINES = 4


NAMED = (("7", "photo point of that number"),)


def numbered_points(points: gpd.GeoDataFrame) -> list[dict[str, Any]]:
    """Photo points in the order in which people count their names, each with its number."""
    ordered = sorted(points.to_dict("records"), key=lambda row: natural_key(row["point"]))
    return [row | {"number": number} for number, row in enumerate(ordered, 1)]


def draw_records_map(
    frames: Mapping[str, gpd.GeoDataFrame], *, width_pt: float, height_pt: float
) -> SheetMap:
    """Units, the newest ground of each patch, and photo points by number with the way they look."""
    units = frames["units"]
    bounds = tuple(map(float, units.total_bounds)) if len(units) else (0.0, 0.0, 1.0, 1.0)
    layout = drawing_layout(
        bounds_m(bounds), (width_pt, height_pt), KEY_LINES, lying=False, beside=True
    )
    window = window_of(bounds, layout)
    patches, points = newest_ground(frames["patch_ground"]), numbered_points(frames["photo_points"])
    drawn = Drawn()
    drawn.rows("units", rows(units), window)
    drawn.rows("patch_ground", rows(patches), window)
    (look,) = STYLES["photo_points"].looks
    drawn.add("point", look, [_point(row, window) for row in points])
    names = [name for _, name in unit_names(units, shapely.Polygon(), (), window)]
    drawn.markup += [*names, edge(window)]
    key = draw_key(layout, drawn.used, named=NAMED if points else ())
    return SheetMap(
        svg=drawing(width_pt, height_pt, drawn.defs(), *drawn.markup, key),
        layout=layout,
        spoken=f"Map of the property, north up, 1 inch is {layout.scale_ft:,} feet on the ground: "
        f"{len(points)} photo points and {len(patches)} pieces of patches.",
        frame=window.frame("What was seen"),
    )


def _point(row: Mapping[str, Any], window: Window) -> Markup:
    """A dot with its number behind it, and a wedge the way it looks."""
    x, y = window.place(row["geometry"])
    color = palette.PHOTO_STROKE.color
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
    behind = (x - NUMBER_PT * math.sin(ahead), y + NUMBER_PT * math.cos(ahead))
    return Markup(wedge + dot + words(row["number"], *behind, size=9, anchor="middle"))
