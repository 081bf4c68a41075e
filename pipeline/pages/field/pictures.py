"""Pictures for a map program in the field: the map of each block, a legend, and the marks."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import geopandas as gpd

from pipeline.core.names import natural_key
from pipeline.pages import palette
from pipeline.pages.markup import tag
from pipeline.pages.packet.block_map import draw_block_map
from pipeline.pages.packet.block_page import breaks_around
from pipeline.pages.packet.burned_ground import burned_of_block
from pipeline.pages.packet.numbered_places import places_of_block
from pipeline.pages.packet.paper_drawing import MARK_PATHS
from pipeline.pages.symbols.looks import Look
from pipeline.pages.words import rows

ROW_PT, LEGEND_PT, MARGIN_PT = 15.0, 250.0, 8.0
"""Height of a row of the legend, its width, and the room around it."""


@dataclass(frozen=True, slots=True)
class BlockPicture:
    """Map of a block as SVG, and what each number on it is."""

    svg: str
    places: tuple[str, ...]


def block_pictures(frames: Mapping[str, gpd.GeoDataFrame]) -> dict[str, BlockPicture]:
    """Map of each block, as in the packet, by the name of the block."""
    blocks = sorted(rows(frames["burn_blocks"]), key=lambda row: natural_key(row["block"]))
    return {row["block"]: _block_picture(row, frames) for row in blocks}


def _block_picture(block: dict[str, Any], frames: Mapping[str, gpd.GeoDataFrame]) -> BlockPicture:
    breaks = breaks_around(frames["firebreaks"], block["block"])
    numbered, burned = places_of_block(block, frames), burned_of_block(block, frames)
    drawn, _ = draw_block_map(
        block, frames, breaks, numbered, burned, paper="letter", head_pt=lambda _: 0.0
    )
    told = (" ".join(filter(None, (place.name, place.what))) for place in numbered)
    return BlockPicture(drawn.svg, tuple(told))


def legend(looks: Iterable[Look]) -> str:
    """Legend of looks as SVG: a swatch and its words in each row."""
    listed = list(looks)
    height = 2 * MARGIN_PT + ROW_PT * len(listed)
    entries = []
    for number, look in enumerate(listed):
        middle = MARGIN_PT + ROW_PT * (number + 0.5)
        place = {"x": 46, "y": middle + 3.4, "font-size": 10, "fill": palette.INK}
        entries += [_swatch(look, middle), tag("text", look.words, attributes=place)]
    paper = {"width": LEGEND_PT, "height": height, "fill": palette.PAPER}
    frame = paper | {"fill": "none", "stroke": palette.FAINT_INK}
    return str(
        tag(
            "svg",
            tag("rect", attributes=paper),
            *entries,
            tag("rect", attributes=frame),
            attributes=_sheet(LEGEND_PT, height) | {"font-family": "Libertinus Serif, serif"},
        )
    )


def _swatch(look: Look, middle: float) -> Any:
    """A line, a piece of ground or a mark, as the map program draws it."""
    ink = {"stroke": look.stroke.color, "fill": look.fill or "none"}
    if look.mark:
        place = {"d": MARK_PATHS[look.mark], "transform": f"translate(24 {middle}) scale(1.2)"}
        return tag("path", attributes=place | ink | {"stroke-width": 1.2})
    if look.fill:
        box = {"x": MARGIN_PT, "y": middle - 5, "width": 30, "height": 10}
        return tag("rect", attributes=box | ink | {"fill-opacity": 0.5})
    line = {"x1": MARGIN_PT, "x2": 38, "y1": middle, "y2": middle}
    return tag("line", attributes=line | ink | {"stroke-width": min(look.stroke.width, 6)})


def mark_picture(look: Look) -> str:
    """The mark of a look as SVG, on clear ground."""
    outline = {
        "d": MARK_PATHS[str(look.mark)],
        "transform": "translate(12 12) scale(2.4)",
        "stroke": look.stroke.color,
        "stroke-width": 1.2,
        "fill": look.fill or palette.CASING,
    }
    return str(tag("svg", tag("path", attributes=outline), attributes=_sheet(24, 24)))


def _sheet(width: float, height: float) -> dict[str, object]:
    return {
        "xmlns": "http://www.w3.org/2000/svg",
        "width": f"{width}pt",
        "height": f"{height}pt",
        "viewBox": f"0 0 {width} {height}",
    }
