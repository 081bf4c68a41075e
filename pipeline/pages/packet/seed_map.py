"""True-scale map of one seeding area for the cab: ground, what is left out, gates by number."""

from collections.abc import Mapping, Sequence
from typing import Any

import geopandas as gpd
import shapely

from pipeline.ground.overlays import united
from pipeline.pages.packet.map_frames import SheetMap, bounds_m, window_of, within
from pipeline.pages.packet.map_key import draw_key
from pipeline.pages.packet.numbered_places import NumberedPlace, marked
from pipeline.pages.packet.paper_drawing import STYLES, Drawn, drawing, edge
from pipeline.pages.packet.paper_names import MARKED_PT, numbered_marks, unit_names
from pipeline.pages.packet.sheet_layout import drawing_layout
from pipeline.pages.words import plain, rows

KEY_LINES = 8
"""Lines that the key of such a map may need."""


NAMED = (("7", "gate of that number in the table"),)


def draw_seed_map(
    area: Mapping[str, Any],
    frames: Mapping[str, gpd.GeoDataFrame],
    numbered: Sequence[NumberedPlace],
    *,
    width_pt: float,
    height_pt: float,
) -> SheetMap:
    """Map of a seeding area: what is sown has a texture, what is left out of it has another."""
    shape = area["geometry"]
    bounds = (0.0, 0.0, 1.0, 1.0) if shape.is_empty else shape.bounds
    layout = drawing_layout(
        bounds_m(bounds), (width_pt, height_pt), KEY_LINES, lying=False, beside=True
    )
    window = window_of(bounds, layout)
    near = within(frames["excluded_ground"], window)
    kept = near[near["applies_to"] != "burn"]
    drawn = Drawn()
    drawn.shapes("polygon", STYLES["seed_areas"].looks[0], [shape], window)
    drawn.rows("excluded_seed", rows(kept), window)
    drawn.layers(frames, ("break_areas", "break_lines", "units"), window)
    marks = marked(numbered, window, drawn)
    rooms = [shapely.Point(x, y).buffer(MARKED_PT) for _, x, y in marks]
    sheet = (window.width_pt, window.height_pt)
    numbers, taken = numbered_marks(marks, lines=[], taken=rooms, sheet_pt=sheet)
    off = united([window.drawn(shape) for shape in kept.geometry])
    names = [
        name
        for _, name in unit_names(within(frames["units"], window), off, [*rooms, *taken], window)
    ]
    drawn.markup += [*names, *numbers, edge(window)]
    key = draw_key(layout, drawn.used, named=NAMED if marks else ())
    return SheetMap(
        svg=drawing(width_pt, height_pt, drawn.defs(), *drawn.markup, key),
        layout=layout,
        spoken=f"Map of area {plain(area['area'])}, north up, 1 inch is {layout.scale_ft:,} feet "
        f"on the ground. Numbered places on it or near: {len(marks)}.",
        frame=window.frame(f"Seeding area {area['area']}"),
    )
