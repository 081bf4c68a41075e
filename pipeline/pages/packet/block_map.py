"""True-scale map of one burn block for paper: one SVG drawing, its lengths in points.

The working CRS is centered on the property, so its north is true north to within 0.3 degrees and
its lengths are true to a few parts in a million: neither shows on paper.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.names import listed
from pipeline.core.run import Paper
from pipeline.core.units import M_PER_FT
from pipeline.fire.layers import FIREBREAKS
from pipeline.fire.smoke.winds import told_arcs
from pipeline.ground.overlays import less, united
from pipeline.pages.packet.burned_ground import Burned
from pipeline.pages.packet.map_frames import SheetMap, Window, bounds_m, window_of, within
from pipeline.pages.packet.map_key import draw_key
from pipeline.pages.packet.numbered_places import Mark, NumberedPlace, marked
from pipeline.pages.packet.paper_drawing import STYLES, Drawn, drawing, edge
from pipeline.pages.packet.paper_names import MARKED_PT, named_places, numbered_marks, unit_names
from pipeline.pages.packet.sheet_layout import choose_layout
from pipeline.pages.words import code_words, figure_words, plain, rows

NEAR_GATE_FT = 300.0
"""A gate so near to a block is on its map, and the map as large as that."""


def draw_block_map(
    block: Mapping[str, Any],
    frames: Mapping[str, gpd.GeoDataFrame],
    breaks: gpd.GeoDataFrame,
    numbered: Sequence[NumberedPlace],
    burned: Burned,
    *,
    paper: Paper,
    head_pt: Callable[[float], float],
) -> tuple[SheetMap, str]:
    """Map of a block with what lies around it; ``breaks`` are its stretches, as its own table.

    ``head_pt`` is the height of what stands above the map on paper so wide. Beside the map, the
    stretches whose names found no room on it, in words.
    """
    smoke = arcs_of_block(frames, block["block"])
    bounds = shown_bounds(block["geometry"], numbered)
    lines = _most_key_lines(block, frames, breaks, numbered, smoke)
    layout = choose_layout(bounds_m(bounds), paper, head_pt=head_pt, key_lines=lines)
    window = window_of(bounds, layout)
    drawn, left_out = _drawn(block, frames, breaks, numbered, burned, window)
    key = draw_key(
        layout, drawn.used, named=NAMED, smoke=smoke, wind_from_deg=block["wind_from_deg"]
    )
    made = SheetMap(
        svg=drawing(layout.width_pt, layout.height_pt, drawn.defs(), *drawn.markup, key),
        layout=layout,
        spoken=_spoken(block, breaks, burned, layout.scale_ft),
        frame=window.frame(f"Burn block {block['block']}"),
    )
    return made, f"Without room for a name on the map: {listed(left_out, 40)}." if left_out else ""


NAMED = (("7", "place of that number in the table"), ("B0001", "stretch of that name in the table"))
"""Samples of the names on the map, and what they lead to."""


def _most_key_lines(
    block: Mapping[str, Any],
    frames: Mapping[str, gpd.GeoDataFrame],
    breaks: gpd.GeoDataFrame,
    numbered: Sequence[NumberedPlace],
    smoke: np.ndarray | None,
) -> int:
    """Lines that the key of a block's map may need: of looks that may reach into it."""
    marks = {place.look.words for place in numbered if place.look}
    kinds = [name for name in AROUND_BLOCK if len(frames[name])]
    made = frames["made_lines"]
    made = made[made["block"] == block["block"]]
    return (
        len(marks)
        + len(kinds)
        + breaks["status"].nunique()
        + made["kind"].nunique()
        + len(NAMED)
        + int(smoke is not None and len(smoke) > 0)
        + 3  # the block's ground, what of it is burned, what lies beyond the map
    )


AROUND_BLOCK = ("break_areas", "break_lines", "units", "excluded_ground", "mow_strips")


def arcs_of_block(frames: Mapping[str, pd.DataFrame], block: str) -> np.ndarray | None:
    """Arcs of winds that carry smoke of a block onto a place; None where no place is known."""
    if not len(frames["smoke_places"]):
        return None
    arcs = frames["smoke_arcs"]
    return told_arcs(arcs[arcs["block"] == block])


def shown_bounds(shape: Any, numbered: Sequence[NumberedPlace]) -> tuple[float, ...]:
    """West, south, east and north of a block with the places that lie on it or near."""
    near = [
        place.point for place in numbered if place.point.distance(shape) <= NEAR_GATE_FT * M_PER_FT
    ]
    return tuple(float(side) for side in shapely.total_bounds([shape, *near]))


def _drawn(
    block: Mapping[str, Any],
    frames: Mapping[str, gpd.GeoDataFrame],
    breaks: gpd.GeoDataFrame,
    numbered: Sequence[NumberedPlace],
    burned: Burned,
    window: Window,
) -> tuple[Drawn, list[str]]:
    """What lies in the window, from the ground up, and the stretches that go without a name."""
    drawn = Drawn()
    near = within(frames["excluded_ground"], window)
    kept = near[near["applies_to"] != "seed"]
    to_burn = less(block["geometry"], united([burned.ground, *kept.geometry]))
    drawn.shapes("polygon", STYLES["burn_blocks"].looks[0], [to_burn], window)
    drawn.shapes("polygon", STYLES["burned"].looks[0], [burned.ground], window)
    drawn.rows("excluded_ground", rows(kept), window)
    drawn.layers(frames, ("break_areas", "break_lines", "units"), window)
    if not burned.whole:
        drawn.layers(frames, ("mow_strips", "made_lines"), window)
    lines = breaks[breaks["status"] == "existing"] if burned.whole else breaks
    drawn.rows("firebreaks", rows(lines), window)
    marks = marked(numbered, window, drawn)
    left_out = _names(lines, within(frames["units"], window), kept, marks, window, drawn)
    drawn.markup.append(edge(window))
    return drawn, left_out


def _names(
    lines: gpd.GeoDataFrame,
    units: gpd.GeoDataFrame,
    kept: gpd.GeoDataFrame,
    marks: Sequence[Mark],
    window: Window,
    drawn: Drawn,
) -> list[str]:
    """Draw numbers, names of units and of stretches; stretches without room are left over."""
    sheet = (window.width_pt, window.height_pt)
    paths = [(row["break_id"], window.drawn(row["geometry"])) for row in rows(lines)]
    rooms = [shapely.Point(x, y).buffer(MARKED_PT) for _, x, y in marks]
    numbers, taken = numbered_marks(
        marks, lines=[path for _, path in paths], taken=rooms, sheet_pt=sheet
    )
    named = unit_names(
        units, united([window.drawn(s) for s in kept.geometry]), [*rooms, *taken], window
    )
    labels, left_out = named_places(
        paths, taken=[*rooms, *taken, *(room for room, _ in named)], sheet_pt=sheet
    )
    drawn.markup += [*(name for _, name in named), *labels, *numbers]
    return left_out


def _spoken(block: Mapping[str, Any], breaks: pd.DataFrame, burned: Burned, feet: int) -> str:
    """What the map shows, for those who do not see it."""
    column = FIREBREAKS.column("length_ft")
    lengths = breaks.groupby("status")["length_ft"].sum()
    parts = [f"{figure_words(ft, column)} {code_words(str(s))}" for s, ft in lengths.items()]
    return (
        f"Map of block {plain(block['block'])}, north up, 1 inch is {feet:,} feet on the "
        f"ground: its edges by status ({', '.join(parts) or 'none'}), mow strips, numbered places. "
        f"Every line and place is listed in the tables. {burned.words}"
    ).strip()
