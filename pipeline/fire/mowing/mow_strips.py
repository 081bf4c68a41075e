"""Mow strips, bare lines and blacklines along the edges to be prepared, their passes and hours."""

import math
from dataclasses import dataclass
from itertools import compress
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.layer import empty
from pipeline.core.units import FT_PER_MI, M_PER_FT, SQFT_PER_AC
from pipeline.fire.block_model import BlockModel
from pipeline.fire.mowing.edge_runs import Band, block_bands
from pipeline.fire.mowing.layers import MADE_LINES, MOW_PASSES, MOW_STRIPS, STRIP_SHAPES
from pipeline.fire.mowing.moves import driving_ground, gate_of, road_ground
from pipeline.fire.mowing.route import driving_order
from pipeline.fire.mowing.route_items import Far, Item, Nest, OpenPass, Place
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.fire.mowing.strips import GRID_M, center_lines, lines_within, middle_lines, uncovered
from pipeline.fire.settings import FirebreakSettings
from pipeline.ground.geometry import area_ac, length_ft

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


KINDS = ("bare_line", "mown", "blackline")
"""Kinds of ground to be made; where two meet in a corner the first has it."""


def draw_strips(
    stretches: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    edges: gpd.GeoDataFrame,
    checked_burns: pd.DataFrame,
    exclusions: gpd.GeoDataFrame,
    edge_refusals: pd.DataFrame,
    settings: MowingSettings,
) -> gpd.GeoDataFrame:
    """Layer ``strip_shapes``: all ground to be made, block by block, no ground twice."""
    rows, shapes = [], []
    model = BlockModel.of(edges, checked_burns)
    for block, bands in block_bands(
        model, stretches, firebreaks, exclusions, edge_refusals, settings.side
    ):
        taken: list[shapely.Geometry] = []
        for kind in KINDS:
            of_kind = [band for band in bands if band.kind == kind]
            for width_ft in sorted({band.width_ft for band in of_kind}, reverse=True):
                drawn = [band.shape() for band in of_kind if band.width_ft == width_ft]
                strip = shapely.union_all(drawn, grid_size=GRID_M)
                strip = shapely.difference(
                    strip, shapely.union_all(taken, grid_size=GRID_M), grid_size=GRID_M
                )
                taken.append(strip)
                for part in _in_order(strip):
                    rows.append((block, kind, width_ft))
                    shapes.append(part)
    if not rows:
        return empty(STRIP_SHAPES, stretches.crs)
    frame = pd.DataFrame(rows, columns=["block", "kind", "width_ft"])
    number = frame.groupby(["block", "kind"]).cumcount() + 1
    frame["strip_id"] = frame["block"] + frame["kind"].map(ID_PARTS) + number.astype(str)
    return gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(shapes, crs=stretches.crs))


ID_PARTS = {"bare_line": "-bare-", "mown": "-", "blackline": "-black-"}


def _in_order(strip: shapely.Geometry) -> list[shapely.Geometry]:
    """Pieces of a strip worth mowing, from the northwest."""
    parts = [part for part in shapely.get_parts(strip) if part.area > SMALLEST_STRIP_M2]
    return sorted(parts, key=lambda p: (-round(p.bounds[3], 1), round(p.bounds[0], 1)))


@dataclass(frozen=True, slots=True)
class Pass:
    """A center line [m] of the mower: its strip, and its number counted from the edge."""

    strip_id: str
    number: int
    line: shapely.LineString


def draw_passes(
    strip_shapes: gpd.GeoDataFrame,
    stretches: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    edges: gpd.GeoDataFrame,
    checked_burns: pd.DataFrame,
    exclusions: gpd.GeoDataFrame,
    edge_refusals: pd.DataFrame,
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    gates: gpd.GeoDataFrame,
    settings: MowingSettings,
    firebreak_settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Layer ``mow_passes``: center lines of the mower, in the order and way they are driven."""
    model = BlockModel.of(edges, checked_burns)
    mown = strip_shapes[strip_shapes["kind"] == "mown"]
    roads = road_ground(breaks, break_credits, firebreak_settings)
    rows, shapes = [], []
    for block, bands in block_bands(
        model, stretches, firebreaks, exclusions, edge_refusals, settings.side
    ):
        strips = mown[mown["block"] == block]
        passes = [p for strip in strips.itertuples() for p in _passes(strip, bands, settings)]
        start = gate_of(model.ground(block), gates)
        ground = driving_ground(model.ground(block), list(strips.geometry), roads, start)
        parts: dict[tuple[str, int], int] = {}
        for order, driven in enumerate(driven_passes(passes, start, ground.far_m), 1):
            key = (driven.strip_id, driven.number)
            parts[key] = parts.get(key, 0) + 1
            rows.append((block, order, *key, parts[key]))
            shapes.append(driven.line)
    if not rows:
        return empty(MOW_PASSES, stretches.crs)
    columns = ["block", "drive_order", "strip_id", "pass_number", "part"]
    frame = pd.DataFrame(rows, columns=columns)
    result = gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(shapes, crs=stretches.crs))
    result["length_ft"] = length_ft(result.geometry)
    return result


def _passes(strip: Any, bands: list[Band], settings: MowingSettings) -> list[Pass]:
    """Passes of one strip, from the edge on, and through its necks."""
    offsets = pass_offsets_ft(strip.width_ft, settings.mower_width_ft, settings.overlap_ft)
    passes = []
    alike = [b for b in bands if b.kind == "mown" and b.width_ft == strip.width_ft]
    reach_m = np.array([band.far_m + GRID_M for band in alike])
    near = shapely.dwithin([band.line for band in alike], strip.geometry, reach_m)
    for band in compress(alike, near):
        for number, offset_ft in enumerate(offsets, 1):
            offset_m = band.near_m + offset_ft * M_PER_FT
            lines = center_lines(band.line, offset_m, rounded=band.rounded)
            inside = lines_within(lines, strip.geometry, SHORTEST_PASS_M)
            passes += [Pass(strip.strip_id, number, line) for line in inside]
    width_m = settings.mower_width_ft * M_PER_FT
    necks = middle_lines(strip.geometry, [p.line for p in passes], width_m)
    return passes + [Pass(strip.strip_id, len(offsets) + 1, line) for line in necks]


def driven_passes(
    passes: list[Pass], start: Place | None = None, far: Far = math.dist
) -> list[Pass]:
    """All passes in the order and way they are driven; one may come in several parts."""
    groups = [[p] for p in passes if not p.line.is_closed]
    groups += _nests([p for p in passes if p.line.is_closed])
    items: list[Item] = []
    for group in groups:
        lines = [shapely.get_coordinates(p.line) for p in group]
        items.append(Nest(lines) if group[0].line.is_closed else OpenPass(lines[0]))
    found = []
    for driven in driving_order(items, start, far):
        each = groups[driven.item][driven.lap]
        found.append(Pass(each.strip_id, each.number, shapely.LineString(driven.points)))
    return found


def _nests(closed: list[Pass]) -> list[list[Pass]]:
    """Closed passes grouped so that each lies beside the one before it."""
    nests: list[list[Pass]] = []
    for lap in closed:
        around = [
            (shapely.distance(nest[-1].line, lap.line), number)
            for number, nest in enumerate(nests)
            if nest[-1].strip_id == lap.strip_id and nest[-1].number == lap.number - 1
        ]
        if around:
            nests[min(around)[1]].append(lap)
        else:
            nests.append([lap])
    return nests


def measure_strips(
    strip_shapes: gpd.GeoDataFrame, mow_passes: gpd.GeoDataFrame, settings: MowingSettings
) -> gpd.GeoDataFrame:
    """Layer ``mow_strips``: ground, passes and hours of each strip.

    Hours come from the length of the passes: the area over the width of the mower leaves out
    their overlap and is too little by some percent.
    """
    strips = strip_shapes[strip_shapes["kind"] == "mown"].drop(columns="kind")
    if strips.empty:
        return empty(MOW_STRIPS, strip_shapes.crs)
    by_strip = mow_passes.groupby("strip_id")
    strips["area_ac"] = area_ac(strips.geometry)
    strips["passes"] = [
        pass_count(width, settings.mower_width_ft, settings.overlap_ft)
        for width in strips["width_ft"]
    ]
    length = by_strip["length_ft"].sum()
    strips["pass_length_ft"] = strips["strip_id"].map(length).fillna(0.0).to_numpy(float)
    strips["hours"] = [
        line_hours(feet, settings.speed_mph, settings.efficiency_pct)
        for feet in strips["pass_length_ft"]
    ]
    across = mow_passes["strip_id"].map(strips.set_index("strip_id")["passes"])
    side_by_side = mow_passes[mow_passes["pass_number"] <= across]
    driven = side_by_side.groupby("strip_id")["pass_number"].nunique()
    strips["narrow"] = strips["strip_id"].map(driven).fillna(0).to_numpy() < strips["passes"]
    width_m = settings.mower_width_ft * M_PER_FT
    lines = {str(name): group.geometry.to_numpy() for name, group in by_strip}
    strips["unmown_sqft"] = [
        shapely.area(uncovered(shape, lines.get(name, []), width_m)).sum() / M_PER_FT**2
        for name, shape in zip(strips["strip_id"], strips.geometry, strict=True)
    ]
    return strips


def measure_lines(strip_shapes: gpd.GeoDataFrame, settings: MowingSettings) -> gpd.GeoDataFrame:
    """Layer ``made_lines``: ground, length and hours of each bare line and blackline."""
    lines = strip_shapes[strip_shapes["kind"] != "mown"].rename(columns={"strip_id": "line_id"})
    if lines.empty:
        return empty(MADE_LINES, strip_shapes.crs)
    lines["area_ac"] = area_ac(lines.geometry)
    lines["length_ft"] = lines["area_ac"] * SQFT_PER_AC / lines["width_ft"]
    capacity = field_capacity_ac_hour(
        settings.bare_speed_mph, settings.bare_tool_width_ft, settings.efficiency_pct
    )
    by_area = lines["area_ac"] / capacity * settings.bare_passes
    by_length = lines["length_ft"] / FT_PER_MI / settings.blackline_mph
    lines["hours"] = by_area.where(lines["kind"] == "bare_line", by_length)
    return lines
