"""The sheet of the whole property: blocks, seeding areas, units, roads, gates, scale and north."""

from collections.abc import Mapping, Sequence
from typing import Any

import geopandas as gpd
import shapely

from pipeline.core.names import natural_key
from pipeline.core.run import Paper
from pipeline.ground.overlays import less, united
from pipeline.pages.packet.burned_ground import burned_of_block
from pipeline.pages.packet.coordinates import zone_of
from pipeline.pages.packet.map_frames import (
    SheetMap,
    Window,
    bounds_m,
    map_words,
    window_of,
)
from pipeline.pages.packet.map_key import draw_key
from pipeline.pages.packet.numbered_places import (
    NumberedPlace,
    gates_of_property,
    marked,
    places_table,
)
from pipeline.pages.packet.paper_drawing import STYLES, Drawn, drawing, edge
from pipeline.pages.packet.paper_names import (
    MARKED_PT,
    ground_names,
    numbered_marks,
    unit_names,
)
from pipeline.pages.packet.sheet_layout import choose_layout
from pipeline.pages.words import rows

Frames = Mapping[str, gpd.GeoDataFrame]

TITLE = "Overview"


MOST_GATES = 10
"""Gates that the overview has room to list; the GPS files have all of them."""


HEAD_PT, ROW_PT = 58.0, 14.6


KEY_LINES = 9


NAMED = (("7", "gate of that number in the table"), ("P1", "unit of that name"))


def overview_page(frames: Frames, paper: Paper) -> dict[str, Any] | None:
    """Map of the whole property with its gates by number; None for a property without ground."""
    units = frames["units"]
    if units.empty or united(list(units.geometry)).is_empty:
        return None
    gates = gates_of_property(frames["gates"])[:MOST_GATES]
    more = len(frames["gates"]) - len(gates)
    return {
        "name": TITLE,
        "map": map_words(_draw_overview(frames, gates, paper)),
        "gates": places_table(gates, zone_of(units), frames["gates"].crs, box="Open"),
        "more": f"{more} more gates stand in the GPS files." if more > 0 else "",
    }


def _draw_overview(frames: Frames, gates: Sequence[NumberedPlace], paper: Paper) -> SheetMap:
    units = frames["units"]
    bounds = [float(side) for side in units.total_bounds]
    listed_pt = ROW_PT * (len(gates) + 2) if gates else 0.0
    layout = choose_layout(
        bounds_m(bounds), paper, head_pt=lambda _: HEAD_PT + listed_pt, key_lines=KEY_LINES
    )
    window = window_of(bounds, layout)
    drawn = Drawn()
    _draw_ground(frames, window, drawn)
    _draw_names(frames, gates, window, drawn)
    key = draw_key(layout, drawn.used, named=NAMED if gates else NAMED[1:])
    blocks, areas = len(frames["burn_blocks"]), len(frames["seed_areas"])
    return SheetMap(
        svg=drawing(layout.width_pt, layout.height_pt, drawn.defs(), *drawn.markup, key),
        layout=layout,
        spoken=f"Map of the property, north up, 1 inch is {layout.scale_ft:,} feet on the ground: "
        f"{len(units)} units, {blocks} burn blocks, {areas} seeding areas, {len(gates)} gates.",
        frame=window.frame(TITLE),
    )


def _draw_ground(frames: Frames, window: Window, drawn: Drawn) -> None:
    """Blocks, what of them is burned, seeding areas, roads, and units, from the ground up."""
    blocks = rows(frames["burn_blocks"])
    burned = united([burned_of_block(block, frames).ground for block in blocks])
    to_burn = [less(block["geometry"], burned) for block in blocks]
    drawn.shapes("polygon", STYLES["burn_blocks"].looks[0], to_burn, window)
    drawn.shapes("polygon", STYLES["burned"].looks[0], [burned], window)
    drawn.rows("seed_areas", rows(frames["seed_areas"]), window)
    drawn.layers(frames, ("break_areas", "break_lines", "units"), window)
    drawn.shapes(
        "line", STYLES["block_edge"].looks[0], [b["geometry"].boundary for b in blocks], window
    )


def _draw_names(
    frames: Frames, gates: Sequence[NumberedPlace], window: Window, drawn: Drawn
) -> None:
    """Numbers of the gates, then names of blocks and areas, then those of units with room."""
    marks = marked(gates, window, drawn)
    rooms = [shapely.Point(x, y).buffer(MARKED_PT) for _, x, y in marks]
    sheet = (window.width_pt, window.height_pt)
    numbers, taken = numbered_marks(marks, lines=[], taken=rooms, sheet_pt=sheet)
    whole = [
        (row[name], row["geometry"])
        for layer, name in (("burn_blocks", "block"), ("seed_areas", "area"))
        for row in sorted(rows(frames[layer]), key=lambda row: natural_key(row[name]))
    ]
    full = [*rooms, *taken]
    large = ground_names(whole, full, window)
    small = unit_names(frames["units"], shapely.Polygon(), [*full, *(r for r, _ in large)], window)
    drawn.markup += [*(m for _, m in small), *(m for _, m in large), *numbers, edge(window)]
