"""Names of burn blocks and seed areas on the map, and the wind that each burn is planned for."""

import math
from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.pages import palette
from pipeline.pages.map_frame import PER_M, MapFrame
from pipeline.pages.maps.conflict_marks import middle_at
from pipeline.pages.maps.map_names import Place
from pipeline.pages.maps.map_shapes import drawn_path, map_text
from pipeline.pages.markup import Markup, isolated
from pipeline.pages.palette import Stroke
from pipeline.pages.words import plain, rows, wind_words

ARROW_SHARE = 0.055
"""Length of the arrow of a wind, as a share of the longer side of the map."""


GROUND_SHARE = 0.4
"""The most of that length, as a share of the side of a square as large as the block."""


WIND = Stroke(palette.BLOCK_STROKE.color, 2.6, cased=False)


def block_names(blocks: pd.DataFrame, frame: MapFrame) -> list[Markup]:
    """Name of each block, in the lower part of its ground: units are named in their middle."""
    look = {"class": "of", "fill": palette.BLOCK_STROKE.color}
    return [_name(f"Block {row['block']}", row, frame, look) for row in _with_ground(blocks)]


def area_names(areas: pd.DataFrame, frame: MapFrame) -> list[Markup]:
    """Name of each seed area, likewise."""
    look = {"class": "of", "fill": palette.SEED_STROKE.color}
    return [_name(f"Seed {row['area']}", row, frame, look) for row in _with_ground(areas)]


def wind_arrows(blocks: pd.DataFrame, frame: MapFrame) -> list[Markup]:
    """An arrow the way that the planned wind of each block blows, above its name."""
    drawn = []
    for row in _with_ground(blocks[blocks["wind_from_deg"].notna()]):
        place = _place(row["geometry"], frame)
        title = f"Planned wind of block {isolated(plain(row['block']))}: from "
        most = GROUND_SHARE * math.sqrt(row["geometry"].area) * PER_M
        length = min(ARROW_SHARE * max(frame.width, frame.height), most)
        data = _arrow(place, row["wind_from_deg"], length)
        drawn.append(drawn_path(data, {}, title + wind_words(row["wind_from_deg"])))
    return drawn


def _with_ground(layer: pd.DataFrame) -> list[dict[str, Any]]:
    return [row for row in rows(layer) if not row["geometry"].is_empty]


def _name(words: str, row: dict[str, Any], frame: MapFrame, look: Mapping[str, object]) -> Markup:
    return map_text(isolated(plain(words)), _place(row["geometry"], frame), look)


def _place(shape: Any, frame: MapFrame) -> Place:
    """Place in the lower third of a shape, in the middle of its longest run there."""
    inside = shape.representative_point()
    low = (inside.y + 2 * shape.bounds[1]) / 3
    return frame.point(*(middle_at(shape, low) or (inside.x, inside.y)))


def _arrow(place: Place, wind_from_deg: float, length: float) -> str:
    """Path of an arrow whose middle lies above a place, by a third of its length."""
    toward = math.radians(wind_from_deg + 180)
    east, north = math.sin(toward), math.cos(toward)
    x, y = place[0], place[1] - length / 3 - PER_M
    tip = (x + east * length / 2, y - north * length / 2)
    tail = (x - east * length / 2, y + north * length / 2)
    barbs = [
        (
            tip[0] - math.sin(toward + turn) * length / 4,
            tip[1] + math.cos(toward + turn) * length / 4,
        )
        for turn in (-0.45, 0.45)
    ]
    lines = ((tail, tip), (barbs[0], tip, barbs[1]))
    return "".join("M" + "L".join(f"{a:.0f} {b:.0f}" for a, b in line) for line in lines)
