"""True-scale map of one burn block for paper: one SVG drawing, its lengths in points.

The working CRS is centered on the property, so its north is true north to within 0.3 degrees and
its lengths are true to a few parts in a million: neither shows on paper.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.names import listed
from pipeline.core.units import M_PER_FT
from pipeline.fire.layers import FIREBREAKS
from pipeline.fire.smoke.winds import told_arcs
from pipeline.ground.overlays import less, united
from pipeline.pages import palette
from pipeline.pages.markup import Markup, tag
from pipeline.pages.packet.block_map_key import (
    KEY_PT,
    ON_PAPER,
    dash_pt,
    draw_key,
    named_places,
    place_mark,
)
from pipeline.pages.packet.map_frames import DrawnFrame, Window
from pipeline.pages.words import code_words, figure_words, plain

SCALES_FT = (50, 100, 200, 300, 400, 500, 600, 800, 1000, 1320, 2000, 2640)
"""Feet on the ground for an inch on paper: those of engineers' rulers, and parts of a mile."""


PT_PER_IN = 72.0


MARGIN_PT = 26.0


LEAST_HEIGHT_PT = 238.0


LONGEST_NAME = 24


@dataclass(frozen=True, slots=True)
class BlockMap:
    """The drawing, its size on paper [point], its scale [foot per inch] and what it shows.

    ``spoken`` is the map in words; ``note`` lists the stretches whose name found no room, and is
    empty where there are none.
    """

    svg: str
    width_pt: float
    height_pt: float
    scale_ft: int
    spoken: str
    note: str
    frame: DrawnFrame


def scale_ft(width_m: float, height_m: float, *, room_pt: tuple[float, float]) -> int:
    """Feet to the inch [foot] of the largest map scale of the list at which a block has room.

    A block too large for the whole list gets the last one doubled as often as it takes.
    """
    inches = (room_pt[0] / PT_PER_IN, room_pt[1] / PT_PER_IN)
    least = max(width_m / M_PER_FT / inches[0], height_m / M_PER_FT / inches[1])
    for feet in SCALES_FT:
        if feet >= least:
            return feet
    return SCALES_FT[-1] * 2 ** math.ceil(math.log2(least / SCALES_FT[-1]))


def draw_block_map(
    block: Mapping[str, Any],
    frames: Mapping[str, gpd.GeoDataFrame],
    breaks: gpd.GeoDataFrame,
    *,
    width_pt: float,
    most_height_pt: float,
) -> BlockMap:
    """Map of a block with what lies around it; ``breaks`` are its stretches, as its own table."""
    window, feet = _window_around(block["geometry"], width_pt - KEY_PT, most_height_pt)
    ties, lines = frames["tie_ins"], frames["made_lines"]
    block_ties = ties[ties["block"] == block["block"]]
    layers, left_out = _layers(block["geometry"], frames, breaks, block_ties, window)
    key = draw_key(
        left_pt=window.width_pt,
        height_pt=window.height_pt,
        scale_ft=feet,
        wind_from_deg=block["wind_from_deg"],
        smoke=arcs_of_block(frames, block["block"]),
        kinds=tuple(block_ties["kind"].unique()),
        lines=tuple(lines.loc[lines["block"] == block["block"], "kind"].unique()),
    )
    attributes = {
        "xmlns": "http://www.w3.org/2000/svg",
        "width": f"{width_pt}pt",
        "height": f"{window.height_pt}pt",
        "viewBox": f"0 0 {width_pt} {window.height_pt}",
        "font-family": "Libertinus Serif, serif",
    }
    return BlockMap(
        svg=str(tag("svg", *layers, key, attributes=attributes)),
        width_pt=width_pt,
        height_pt=window.height_pt,
        scale_ft=feet,
        spoken=_spoken(block, breaks, feet),
        note=f"Without room for a name on the map: {listed(left_out, 40)}." if left_out else "",
        frame=window.frame(f"Burn block {block['block']}"),
    )


def arcs_of_block(frames: Mapping[str, pd.DataFrame], block: str) -> np.ndarray | None:
    """Arcs of winds that carry smoke of a block onto a place; None where no place is known."""
    if not len(frames["smoke_places"]):
        return None
    arcs = frames["smoke_arcs"]
    return told_arcs(arcs[arcs["block"] == block])


def _layers(
    shape: Any,
    frames: Mapping[str, gpd.GeoDataFrame],
    breaks: gpd.GeoDataFrame,
    ties: gpd.GeoDataFrame,
    window: Window,
) -> tuple[list[Markup], list[str]]:
    """What lies in the window, from the ground up, and the stretches that go without a name."""
    unit_names = _unit_names(frames, window)
    labels, left_out = named_places(
        [(row["break_id"], window.drawn(row["geometry"])) for row in _rows(breaks)],
        taken=[
            *(window.drawn(point).buffer(4.5) for point in ties.geometry),
            *(room for room, _ in unit_names),
        ],
        sheet_pt=(window.width_pt, window.height_pt),
    )
    return [
        *_ground(frames, window, shape),
        *_paths(frames["mow_strips"].geometry, window, MOWN),
        *_made_lines(frames["made_lines"], window),
        *_break_lines(breaks, window),
        *_places(ties, window),
        *(name for _, name in unit_names),
        *labels,
        _edge(window),
    ], left_out


def _edge(window: Window) -> Markup:
    attributes = {
        "x": 0,
        "y": 0,
        "width": window.width_pt,
        "height": window.height_pt,
        "fill": "none",
        "stroke": palette.FAINT_INK,
        "stroke-width": 0.6,
    }
    return tag("rect", attributes=attributes)


def _window_around(shape: Any, width_pt: float, most_height_pt: float) -> tuple[Window, int]:
    """Window around the block, in its middle, and its scale."""
    west, south, east, north = shape.bounds
    room = (width_pt - 2 * MARGIN_PT, most_height_pt - 2 * MARGIN_PT)
    feet = scale_ft(east - west, north - south, room_pt=room)
    k = PT_PER_IN / (feet * M_PER_FT)
    height = max((north - south) * k + 2 * MARGIN_PT, LEAST_HEIGHT_PT)
    left = (west + east) / 2 - width_pt / k / 2
    top = (south + north) / 2 + height / k / 2
    return Window(left, top, width_pt, round(height, 2), k), feet


def _spoken(block: Mapping[str, Any], breaks: pd.DataFrame, feet: int) -> str:
    """What the map shows, for those who do not see it."""
    column = FIREBREAKS.column("length_ft")
    lengths = breaks.groupby("status")["length_ft"].sum()
    parts = [f"{figure_words(ft, column)} {code_words(str(s))}" for s, ft in lengths.items()]
    return (
        f"Map of block {plain(block['block'])}, north up, 1 inch is {feet:,} feet on the "
        f"ground: its edges by status ({', '.join(parts) or 'none'}), mow strips, tie-ins and "
        "gaps. Every line is listed in the table of stretches."
    )


def path_data(shape: Any) -> str:
    """Path data of a shape in points, to a hundredth."""
    if shape.is_empty:
        return ""
    if hasattr(shape, "geoms"):
        return "".join(path_data(part) for part in shape.geoms)
    if shape.geom_type == "Polygon":
        return "".join(_line(r.coords[:-1]) + "Z" for r in (shape.exterior, *shape.interiors))
    return _line(shape.coords)


def _line(places: Iterable[tuple[float, ...]]) -> str:
    return "M" + "L".join(f"{place[0]:.2f} {place[1]:.2f}" for place in places)


def _rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return frame.to_dict("records")


@dataclass(frozen=True, slots=True)
class Pen:
    """How shapes are drawn: line, its width [point] and dashes, and what they are filled with."""

    color: str = "none"
    width: float = 0.0
    dash: str | None = None
    fill: str = "none"
    opacity: float = 1.0


BURNED = Pen(fill=palette.BLOCK_BAND.color, opacity=palette.BLOCK_PAPER_OPACITY)


MOWN = Pen(palette.STRIP_STROKE.color, 0.4, fill=palette.STRIP_FILL)


BREAK = Pen("#b9b3a3", 2.4)


UNBURNED = Pen(palette.FAINT_INK, 0.6, "2 1.5", fill=palette.UNKNOWN)


UNIT = Pen(palette.FAINT_INK, 0.5)


def _paths(shapes: Iterable[Any], window: Window, pen: Pen) -> list[Markup]:
    """One path for each shape that reaches into the window."""
    attributes = {
        "fill": pen.fill,
        "stroke": pen.color,
        "stroke-width": pen.width,
        "fill-opacity": pen.opacity,
        "stroke-dasharray": pen.dash,
        "stroke-linejoin": "round",
    }
    drawn = [path_data(window.drawn(shape)) for shape in shapes]
    return [tag("path", attributes={"d": data, **attributes}) for data in drawn if data]


def _ground(frames: Mapping[str, gpd.GeoDataFrame], window: Window, shape: Any) -> list[Markup]:
    """Block, the units around it, what is left out of burning, and breaks that are there."""
    return [
        *_paths([shape], window, BURNED),
        *_paths(frames["breaks"].geometry, window, BREAK),
        *_paths(_unburned(frames), window, UNBURNED),
        *_paths(frames["units"].geometry, window, UNIT),
    ]


def _unburned(frames: Mapping[str, gpd.GeoDataFrame]) -> gpd.GeoSeries:
    """Ground that is left out of burning."""
    excluded = frames["excluded_ground"]
    return excluded.loc[excluded["applies_to"].isin(("both", "burn")), "geometry"]


def _made_lines(lines: gpd.GeoDataFrame, window: Window) -> list[Markup]:
    """Bare lines and blacklines, each kind in its own tone."""
    return [
        path
        for kind, fill in palette.LINE_FILLS.items()
        for path in _paths(lines.loc[lines["kind"] == kind].geometry, window, Pen(fill=fill))
    ]


def _break_lines(breaks: pd.DataFrame, window: Window) -> list[Markup]:
    """Stretches by status, a white casing under each: the rarest and worst on top."""
    drawn: list[Markup] = []
    for status, stroke in palette.BREAK_STROKES.items():
        shapes = list(breaks.loc[breaks["status"] == status, "geometry"])
        width = stroke.width * ON_PAPER
        drawn += _paths(shapes, window, Pen(palette.CASING, width + 1.2))
        drawn += _paths(shapes, window, Pen(stroke.color, width, dash_pt(stroke)))
    return drawn


def _places(ties: pd.DataFrame, window: Window) -> list[Markup]:
    """A mark for each place to be looked at, each kind with a shape of its own."""
    marks = []
    for row in _rows(ties):
        point = window.drawn(row["geometry"])
        if not point.is_empty:
            marks.append(place_mark(row["kind"], point.x, point.y))
    return marks


def _unit_names(frames: Mapping[str, gpd.GeoDataFrame], window: Window) -> list[tuple[Any, Markup]]:
    """Name of each unit inside the part of it that is on the map, with the room it takes."""
    names = []
    unburned = united([window.drawn(shape) for shape in _unburned(frames)]).buffer(7)
    for row in _rows(frames["units"]):
        # A name stands where the unit has room around it: inside, off its lines, and off what
        # is left out of burning where there is other ground.
        inside = window.drawn(row["geometry"]).buffer(-9)
        if inside.is_empty:
            continue
        open_ground = less(inside, unburned)
        place = (inside if open_ground.is_empty else open_ground).representative_point()
        name = plain(row["unit_id"])[:LONGEST_NAME]
        half = 2.6 * len(name)
        attributes = {
            "x": f"{place.x:.2f}",
            "y": f"{place.y + 3:.2f}",
            "text-anchor": "middle",
            "font-size": 9,
            "fill": palette.FAINT_INK,
        }
        room = shapely.box(place.x - half, place.y - 5, place.x + half, place.y + 5)
        names.append((room, tag("text", name, attributes=attributes)))
    return names
