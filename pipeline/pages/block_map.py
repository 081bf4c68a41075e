"""True-scale map of one burn block for paper: one SVG drawing, its lengths in points.

The working CRS is centered on the property, so its north is true north to within 0.3 degrees and
its lengths are true to a few parts in a million: neither shows on paper.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd
import shapely
from shapely.affinity import affine_transform

from pipeline.core.names import listed
from pipeline.core.units import M_PER_FT
from pipeline.pages import palette
from pipeline.pages.block_map_key import KEY_PT, draw_key
from pipeline.pages.break_names import named_places
from pipeline.pages.markup import Markup, tag
from pipeline.pages.paper_symbols import ON_PAPER, dash_pt, place_mark
from pipeline.pages.words import number_words, plain, text_words

if TYPE_CHECKING:
    import geopandas as gpd


SCALES_FT: tuple[int, ...] = (
    50, 100, 200, 300, 400, 500, 600, 800, 1000, 1320, 2000, 2640,
)  # fmt: skip
"""Feet on the ground for an inch on paper: those of engineers' rulers, and parts of a mile."""


PT_PER_IN = 72.0


MARGIN_PT = 26.0


LEAST_HEIGHT_PT = 212.0


LONGEST_NAME = 24


@dataclass(frozen=True, slots=True)
class BlockMap:
    """The drawing, its size on paper [point], its scale [foot per inch] and what it shows.

    ``note`` lists the stretches whose name found no room; it is empty where there are none.
    """

    svg: str
    width_pt: float
    height_pt: float
    scale_ft: int
    told: str
    note: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """From the working CRS [meter] to the paper [point]: the window and its scale."""

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
    frames: "Mapping[str, gpd.GeoDataFrame]",
    breaks: "gpd.GeoDataFrame",
    *,
    width_pt: float,
    most_height_pt: float,
) -> BlockMap:
    """Map of a block with what lies around it; ``breaks`` are its stretches, as its own table."""
    sheet, feet = _sheet_around(block["geometry"], width_pt - KEY_PT, most_height_pt)
    ties = frames["tie_ins"]
    own_ties = ties[ties["block"] == block["block"]]
    layers, left_out = _layers(block["geometry"], frames, breaks, own_ties, sheet)
    key = draw_key(
        left_pt=sheet.width_pt, height_pt=sheet.height_pt, scale_ft=feet,
        wind_from_deg=block["wind_from_deg"], kinds=tuple(own_ties["kind"].unique()),
    )  # fmt: skip
    drawing = tag("svg", *layers, key, attributes={
        "xmlns": "http://www.w3.org/2000/svg", "width": f"{width_pt}pt",
        "height": f"{sheet.height_pt}pt", "viewBox": f"0 0 {width_pt} {sheet.height_pt}",
        "font-family": "Libertinus Serif, serif"})  # fmt: skip
    note = f"Without room for a name on the map: {listed(left_out, 40)}." if left_out else ""
    told = _told(block, breaks, feet)
    return BlockMap(str(drawing), width_pt, sheet.height_pt, feet, told, note)


def _layers(
    shape: Any,
    frames: "Mapping[str, gpd.GeoDataFrame]",
    breaks: "gpd.GeoDataFrame",
    own_ties: "gpd.GeoDataFrame",
    sheet: Sheet,
) -> tuple[list[Markup], list[str]]:
    """What lies in the window, from the ground up, and the stretches that go without a name."""
    unit_names = _unit_names(frames, sheet)
    labels, left_out = named_places(
        [(row["break_id"], sheet.drawn(row["geometry"])) for row in _rows(breaks)],
        taken=[
            *(sheet.drawn(point).buffer(4.5) for point in own_ties.geometry),
            *(room for room, _ in unit_names),
        ],
        sheet_pt=(sheet.width_pt, sheet.height_pt),
    )
    window = tag("rect", attributes={
        "x": 0, "y": 0, "width": sheet.width_pt, "height": sheet.height_pt, "fill": "none",
        "stroke": palette.FAINT_INK, "stroke-width": 0.6})  # fmt: skip
    return [
        *_ground(frames, sheet, shape),
        *_paths(frames["mow_strips"].geometry, sheet, fill=palette.STRIP_FILL,
                stroke=palette.STRIP_STROKE.color, stroke_width=0.4),
        *_break_lines(breaks, sheet),
        *_places(own_ties, sheet),
        *(name for _, name in unit_names),
        *labels,
        window,
    ], left_out  # fmt: skip


def _sheet_around(shape: Any, width_pt: float, most_height_pt: float) -> tuple[Sheet, int]:
    """Window around the block, in its middle, and its scale."""
    west, south, east, north = shape.bounds
    room = (width_pt - 2 * MARGIN_PT, most_height_pt - 2 * MARGIN_PT)
    feet = scale_ft(east - west, north - south, room_pt=room)
    k = PT_PER_IN / (feet * M_PER_FT)
    height = max((north - south) * k + 2 * MARGIN_PT, LEAST_HEIGHT_PT)
    left = (west + east) / 2 - width_pt / k / 2
    top = (south + north) / 2 + height / k / 2
    return Sheet(left, top, width_pt, round(height, 2), k), feet


def _told(block: Mapping[str, Any], breaks: pd.DataFrame, feet: int) -> str:
    """What the map shows, for those who do not see it."""
    lengths = breaks.groupby("status")["length_ft"].sum()
    parts = ", ".join(f"{number_words(ft, 0)} ft {status}" for status, ft in lengths.items())
    return (
        f"Map of block {plain(block['block'])}, north up, 1 inch is {feet:,} feet on the "
        f"ground: its edges by status ({parts or 'none'}), mow strips, tie-ins and gaps. "
        f"Every line is listed in the table of stretches."
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


def _paths(
    shapes: Iterable[Any], sheet: Sheet, *, stroke: str, stroke_width: float,
    fill: str = "none", opacity: float = 1.0, dash: str | None = None,
) -> list[Markup]:  # fmt: skip
    """One path for each shape that reaches into the window."""
    told = {"fill": fill, "stroke": stroke, "stroke-width": stroke_width,
            "fill-opacity": opacity, "stroke-dasharray": dash,
            "stroke-linejoin": "round"}  # fmt: skip
    drawn = [path_data(sheet.drawn(shape)) for shape in shapes]
    return [tag("path", attributes={"d": data, **told}) for data in drawn if data]


def _ground(frames: "Mapping[str, gpd.GeoDataFrame]", sheet: Sheet, shape: Any) -> list[Markup]:
    """Block, the units around it, what is left out of burning, and breaks that are there."""
    unburned = _unburned(frames)
    return [
        *_paths([shape], sheet, fill=palette.BLOCK_BAND.color, opacity=palette.BLOCK_PAPER_OPACITY,
                stroke="none", stroke_width=0),
        *_paths(frames["breaks"].geometry, sheet, stroke="#b9b3a3", stroke_width=2.4),
        *_paths(unburned, sheet, fill=palette.UNKNOWN, stroke=palette.FAINT_INK,
                stroke_width=0.6, dash="2 1.5"),
        *_paths(frames["units"].geometry, sheet, stroke=palette.FAINT_INK, stroke_width=0.5),
    ]  # fmt: skip


def _unburned(frames: "Mapping[str, gpd.GeoDataFrame]") -> "gpd.GeoSeries":
    """Ground that is left out of burning."""
    excluded = frames["excluded_ground"]
    return excluded.loc[excluded["applies_to"].isin(("both", "burn")), "geometry"]


def _break_lines(breaks: pd.DataFrame, sheet: Sheet) -> list[Markup]:
    """Stretches by status, a white casing under each: the rarest and worst on top."""
    drawn: list[Markup] = []
    for status, stroke in palette.BREAK_STROKES.items():
        shapes = list(breaks.loc[breaks["status"] == status, "geometry"])
        width = stroke.width * ON_PAPER
        drawn += _paths(shapes, sheet, stroke=palette.CASING, stroke_width=width + 1.2)
        drawn += _paths(shapes, sheet, stroke=stroke.color, stroke_width=width,
                        dash=dash_pt(stroke))  # fmt: skip
    return drawn


def _places(ties: pd.DataFrame, sheet: Sheet) -> list[Markup]:
    """A mark for each place to be looked at, each kind with a shape of its own."""
    marks = []
    for row in _rows(ties):
        point = sheet.drawn(row["geometry"])
        if not point.is_empty:
            marks.append(place_mark(row["kind"], point.x, point.y))
    return marks


def _unit_names(frames: "Mapping[str, gpd.GeoDataFrame]", sheet: Sheet) -> list[tuple[Any, Markup]]:
    """Name of each unit inside the part of it that is on the map, with the room it takes."""
    names = []
    unburned = shapely.union_all([sheet.drawn(shape) for shape in _unburned(frames)]).buffer(7)
    for row in _rows(frames["units"]):
        seen = sheet.drawn(row["geometry"])
        name = plain(text_words(row["unit_id"]))[:LONGEST_NAME]
        half = 2.6 * len(name)
        # A name stands where the unit has room around it: inside, off its lines, and off what
        # is left out of burning where there is other ground.
        inside = seen.buffer(-9)
        if inside.is_empty:
            continue
        open_ground = inside.difference(unburned)
        place = (inside if open_ground.is_empty else open_ground).representative_point()
        names.append((
            shapely.box(place.x - half, place.y - 5, place.x + half, place.y + 5),
            tag("text", name, attributes={
                "x": f"{place.x:.2f}", "y": f"{place.y + 3:.2f}", "text-anchor": "middle",
                "font-size": 9, "fill": palette.FAINT_INK}),
        ))  # fmt: skip
    return names
