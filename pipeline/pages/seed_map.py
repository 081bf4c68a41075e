"""Small true-scale map of one seeding area for the cab: ground, what is left out, gates, north."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import shapely

from pipeline.core.units import M_PER_FT
from pipeline.pages import palette
from pipeline.pages.markup import Markup, tag
from pipeline.pages.packet.block_map import PT_PER_IN, path_data, scale_ft
from pipeline.pages.packet.map_frames import DrawnFrame, Window
from pipeline.pages.words import plain

MARGIN_PT = 16.0


LONGEST_NAME = 16


@dataclass(frozen=True, slots=True)
class SeedMap:
    """The drawing, its size on paper [point], its scale [foot per inch], and the map in words."""

    svg: str
    width_pt: float
    height_pt: float
    scale_ft: int
    spoken: str
    frame: DrawnFrame


def draw_seed_map(
    area: Mapping[str, Any],
    frames: Mapping[str, gpd.GeoDataFrame],
    *,
    width_pt: float,
    height_pt: float,
) -> SeedMap:
    """Map of a seeding area: what is sown is shaded, what is left out is white, gates have a G."""
    window, feet = window_around(area["geometry"], width_pt, height_pt)
    units, breaks, gates = (_within(frames[name], window) for name in ("units", "breaks", "gates"))
    near = [(row["gate_id"], window.drawn(row["geometry"])) for row in gates.to_dict("records")]
    shown = [(name, point) for name, point in near if not point.is_empty]
    layers = [
        *ground_paths(units.geometry, window, stroke=palette.FAINT_INK, width=0.5),
        *ground_paths([area["geometry"]], window, fill=palette.SEED_FILL, stroke=palette.FAINT_INK),
        *ground_paths(breaks.geometry, window, stroke="#b9b3a3", width=1.6),
        *unit_names(units, window),
        *(_gate(name, point.x, point.y) for name, point in shown),
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
    names = ", ".join(f"G{name}" for name, _ in shown)
    return SeedMap(
        svg=str(tag("svg", *layers, attributes=attributes)),
        width_pt=width_pt,
        height_pt=height_pt,
        scale_ft=feet,
        spoken=f"Map of area {plain(area['area'])}, north up, 1 inch is {feet:,} feet on the "
        f"ground. Gates on it: {names or 'none'}.",
        frame=window.frame(f"Seeding area {area['area']}"),
    )


def window_around(shape: Any, width_pt: float, height_pt: float) -> tuple[Window, int]:
    """Window around the area, in its middle, and its scale; around nothing a dot of ground."""
    west, south, east, north = (0.0, 0.0, 1.0, 1.0) if shape.is_empty else shape.bounds
    room = (width_pt - 2 * MARGIN_PT, height_pt - 2 * MARGIN_PT)
    feet = scale_ft(east - west, north - south, room_pt=room)
    k = PT_PER_IN / (feet * M_PER_FT)
    left, top = (west + east) / 2 - width_pt / k / 2, (south + north) / 2 + height_pt / k / 2
    return Window(left, top, width_pt, height_pt, k), feet


def _within(frame: gpd.GeoDataFrame, window: Window) -> gpd.GeoDataFrame:
    """Rows of a layer that reach into the window."""
    width, height = window.width_pt / window.pt_per_m, window.height_pt / window.pt_per_m
    ground = shapely.box(window.west, window.north - height, window.west + width, window.north)
    return frame.iloc[sorted(frame.sindex.query(ground))]


def ground_paths(
    shapes: Any, window: Window, *, fill: str = "none", stroke: str = "none", width: float = 0.8
) -> list[Markup]:
    """One path for each shape that reaches into the window."""
    look = {"fill": fill, "stroke": stroke, "stroke-width": width, "fill-opacity": 0.35}
    drawn = [path_data(window.drawn(shape)) for shape in shapes]
    return [tag("path", attributes={"d": data, **look}) for data in drawn if data]


def unit_names(units: gpd.GeoDataFrame, window: Window) -> list[Markup]:
    """Name of each unit inside the part of it that is on the map, where there is room."""
    names = []
    for row in units.to_dict("records"):
        inside = window.drawn(row["geometry"]).buffer(-7)
        if not inside.is_empty:
            place = inside.representative_point()
            name = plain(row["unit_id"])[:LONGEST_NAME]
            names.append(map_label(name, place.x, place.y + 2.5, size=7.5))
    return names


def _gate(name: Any, x: float, y: float) -> Markup:
    """Mark of a gate with its number."""
    look = {"cx": f"{x:.2f}", "cy": f"{y:.2f}", "r": 3, "fill": "#ffffff", "stroke": "#1d2a35"}
    mark = tag("circle", attributes=look)
    return Markup(mark + map_label(f"G{name}", x, y - 4.5, size=7))


def north_arrow(x: float) -> Markup:
    """Arrow to the north in the upper right corner."""
    arrow = {"d": f"M{x} 8l-4 11l4 -3l4 3Z", "fill": "#1d2a35"}
    return Markup(tag("path", attributes=arrow) + map_label("N", x, 28, size=8))


def map_label(words: object, x: float, y: float, *, size: float) -> Markup:
    """Words in the middle of a place."""
    look = {
        "x": f"{x:.2f}",
        "y": f"{y:.2f}",
        "text-anchor": "middle",
        "font-size": size,
        "fill": "#1d2a35",
    }
    return tag("text", words, attributes=look)


def map_edge(width_pt: float, height_pt: float) -> dict[str, object]:
    """Attributes of the line around a map."""
    size = {"x": 0, "y": 0, "width": width_pt, "height": height_pt}
    return {**size, "fill": "none", "stroke": palette.FAINT_INK, "stroke-width": 0.6}
