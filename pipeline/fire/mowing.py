"""Mow strips along the edges to be prepared, their ground, passes and hours."""

import math

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.layer import empty
from pipeline.core.units import FT_PER_MI, M_PER_FT, SQFT_PER_AC
from pipeline.fire.layers import MOW_PASSES, MOW_STRIPS, STRIP_SHAPES
from pipeline.fire.settings import MowingSettings
from pipeline.fire.stretches import block_ground
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac, length_ft
from pipeline.ground.snapping import Sides

ARC_SEGMENTS = 16
"""Sides that a quarter of a round corner is drawn with."""


MITRE_LIMIT = 5.0
"""A corner is drawn out to at most this many widths of the strip."""


SHORTEST_PASS_M = 0.5


SMALLEST_STRIP_M2 = 1.0


def field_capacity_ac_hour(speed_mph: float, width_ft: float, efficiency_pct: float) -> float:
    """Ground covered by a machine [acre per hour].

    *Source*: ASABE EP496; Iowa State University Extension PM 696, Estimating the Field Capacity
    of Farm Machines, revised April 2001. The factor 8.25 is 43,560 / 5,280.
    """
    return speed_mph * width_ft * efficiency_pct / 100.0 / (SQFT_PER_AC / FT_PER_MI)


def line_hours(length_ft: float, speed_mph: float, efficiency_pct: float) -> float:
    """Time to drive a length of passes [hour]: the field capacity, told by the line."""
    return length_ft / FT_PER_MI / (speed_mph * efficiency_pct / 100.0)


def pass_count(width_ft: float, mower_width_ft: float, overlap_ft: float) -> int:
    """Passes side by side that cover a strip."""
    if width_ft <= mower_width_ft:
        return 1
    return math.ceil((width_ft - overlap_ft) / (mower_width_ft - overlap_ft) - 1e-9)


def pass_offsets_ft(width_ft: float, mower_width_ft: float, overlap_ft: float) -> list[float]:
    """Distance of each pass's center line from the edge [ft]; the last pass ends with the strip."""
    count = pass_count(width_ft, mower_width_ft, overlap_ft)
    step = mower_width_ft - overlap_ft
    last = max(width_ft - mower_width_ft / 2, width_ft / 2)
    return [min(mower_width_ft / 2 + number * step, last) for number in range(count)]


def ring_strip(ground: shapely.Geometry, width_m: float, *, inside: bool) -> shapely.Geometry:
    """Strip of a width [m] all along the outlines of the ground, inside or outside it."""
    if inside:
        return shapely.difference(ground, inset(ground, width_m))
    return shapely.difference(outset(ground, width_m), ground)


def inset(ground: shapely.Geometry, offset_m: float) -> shapely.Geometry:
    """Ground farther inside its outlines than the offset [m]."""
    return shapely.buffer(
        ground, -offset_m, join_style="mitre", mitre_limit=MITRE_LIMIT, quad_segs=ARC_SEGMENTS
    )


def outset(ground: shapely.Geometry, offset_m: float) -> shapely.Geometry:
    """Ground and all that is within the offset [m] of it, corners rounded."""
    return shapely.buffer(ground, offset_m, quad_segs=ARC_SEGMENTS)


def strip_along(
    ground: shapely.Geometry, stretches: np.ndarray, width_m: float, *, inside: bool
) -> shapely.Geometry:
    """Strip of a width [m] along some stretches of the ground's outline, square at their ends.

    The sides are widened once more by themselves: where a line ends just around a corner, the
    buffer of the whole line leaves out part of the corner.
    """
    ring = ring_strip(ground, width_m, inside=inside)
    lines = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(stretches)))
    closed = shapely.is_ring(lines)
    sides = Sides.of(lines[~closed])
    ended = np.concatenate([lines[~closed], sides.lines()])
    near = shapely.buffer(
        ended, width_m * 1.0001, cap_style="flat", join_style="mitre", mitre_limit=MITRE_LIMIT
    )
    around = shapely.buffer(lines[closed], width_m * MITRE_LIMIT, cap_style="square")
    return polygonal(shapely.intersection(ring, shapely.union_all([*near, *around])))


def draw_strips(
    stretches: gpd.GeoDataFrame, firebreaks: gpd.GeoDataFrame, settings: MowingSettings
) -> gpd.GeoDataFrame:
    """Layer ``strip_shapes``: strips along all stretches that need mowing, block by block."""
    rows, shapes = [], []
    both = stretches.assign(mown_ft=firebreaks["make_mown_ft"].to_numpy())
    for block in sorted(set(both["block"]) | set(both["neighbor_block"].dropna())):
        around = both[(both["block"] == block) | (both["neighbor_block"] == block)]
        ground = block_ground(around.geometry.to_numpy())
        for width_ft, mown in around[around["mown_ft"] > 0].groupby("mown_ft"):
            lines, width_m = mown.geometry.to_numpy(), width_ft * M_PER_FT
            strip = strip_along(ground, lines, width_m, inside=settings.side == "inside")
            for part in _in_order(strip):
                rows.append((block, width_ft))
                shapes.append(part)
    if not rows:
        return empty(STRIP_SHAPES, stretches.crs)
    frame = pd.DataFrame(rows, columns=["block", "width_ft"])
    frame["strip_id"] = frame["block"] + "-" + (frame.groupby("block").cumcount() + 1).astype(str)
    return gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(shapes, crs=stretches.crs))


def _in_order(strip: shapely.Geometry) -> list[shapely.Geometry]:
    """Pieces of a strip worth mowing, from the northwest."""
    parts = [part for part in shapely.get_parts(strip) if part.area > SMALLEST_STRIP_M2]
    return sorted(parts, key=lambda p: (-round(p.bounds[3], 1), round(p.bounds[0], 1)))


def draw_passes(
    strip_shapes: gpd.GeoDataFrame, stretches: gpd.GeoDataFrame, settings: MowingSettings
) -> gpd.GeoDataFrame:
    """Layer ``mow_passes``: center lines of the mower in each strip, from the edge on."""
    rows, shapes = [], []
    for block, strips in strip_shapes.groupby("block"):
        around = (stretches["block"] == block) | (stretches["neighbor_block"] == block)
        ground = block_ground(stretches.geometry.to_numpy()[around.to_numpy()])
        for strip in strips.itertuples():
            offsets = pass_offsets_ft(strip.width_ft, settings.mower_width_ft, settings.overlap_ft)
            for number, offset_ft in enumerate(offsets, 1):
                outline = pass_outline(
                    ground, offset_ft * M_PER_FT, inside=settings.side == "inside"
                )
                lines = _pass_lines(outline, strip.geometry)
                rows += [(strip.strip_id, number, part) for part in range(1, len(lines) + 1)]
                shapes += lines
    if not rows:
        return empty(MOW_PASSES, stretches.crs)
    frame = pd.DataFrame(rows, columns=["strip_id", "pass_number", "part"])
    result = gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(shapes, crs=stretches.crs))
    result["length_ft"] = length_ft(result.geometry)
    return result


def pass_outline(ground: shapely.Geometry, offset_m: float, *, inside: bool) -> shapely.Geometry:
    """Line [m] all along the ground's outlines at an offset, where there is room for it."""
    return shapely.boundary((inset if inside else outset)(ground, offset_m))


def _pass_lines(outline: shapely.Geometry, strip: shapely.Geometry) -> list[shapely.LineString]:
    """Parts of a pass's line that lie in the strip, too short ones left out."""
    inside = shapely.get_parts(shapely.intersection(outline, strip))
    lines = inside[shapely.get_dimensions(inside) == 1]
    merged = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(lines)))
    return [line for line in merged if line.length > SHORTEST_PASS_M]


def measure_strips(
    strip_shapes: gpd.GeoDataFrame,
    mow_passes: gpd.GeoDataFrame,
    settings: MowingSettings,
) -> gpd.GeoDataFrame:
    """Layer ``mow_strips``: ground, passes and hours of each strip.

    Hours come from the length of the passes: the area over the width of the mower leaves out
    their overlap and is too little by some percent.
    """
    if strip_shapes.empty:
        return empty(MOW_STRIPS, strip_shapes.crs)
    strips = strip_shapes.copy()
    length = mow_passes.groupby("strip_id")["length_ft"].sum()
    strips["area_ac"] = area_ac(strips.geometry)
    strips["passes"] = [
        pass_count(width, settings.mower_width_ft, settings.overlap_ft)
        for width in strips["width_ft"]
    ]
    strips["pass_length_ft"] = strips["strip_id"].map(length).fillna(0.0).to_numpy(float)
    strips["hours"] = [
        line_hours(feet, settings.speed_mph, settings.efficiency_pct)
        for feet in strips["pass_length_ft"]
    ]
    driven = mow_passes.groupby("strip_id")["pass_number"].nunique()
    strips["narrow"] = strips["strip_id"].map(driven).fillna(0).to_numpy() < strips["passes"]
    return strips
