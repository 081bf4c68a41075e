"""Places along the breaks that need a look on the ground: gaps, tie-ins, hand-overs, corners.

Whether a break is whole where the edge leaves it, and whether one meets the next along a line, was
found when the stretches were credited; here it is told place by place.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.ops import substring

from pipeline.core.layer import empty
from pipeline.core.units import M_PER_FT
from pipeline.fire.block_model import BlockModel
from pipeline.fire.breaks.break_lines import smoothed_line_points
from pipeline.fire.breaks.drawn_breaks import DrawnBreaks
from pipeline.fire.layers import TIE_INS
from pipeline.fire.settings import FirebreakSettings
from pipeline.ground import overlays
from pipeline.ground.settings import AcreageSettings

AROUND_M = 2 * 54.0 * M_PER_FT
"""Two breaks that meet within this of a place meet there: twice the usual outer reach."""


SAMPLE_M = 10.0
"""Points on a line whose distance from a break tells on which side of it the line runs."""


@dataclass(frozen=True, slots=True)
class Place:
    """A place to look at: its kind, and the figures and breaks that its kind tells of."""

    block: str
    kind: str
    point: shapely.Point
    distance_ft: float = math.nan
    break_kind: str | None = None
    next_break_kind: str | None = None
    corner_angle_deg: float = math.nan


def mark_tie_ins(
    edges: gpd.GeoDataFrame,
    checked_burns: pd.DataFrame,
    stretches: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    settings: FirebreakSettings,
    acreage: AcreageSettings,
) -> gpd.GeoDataFrame:
    """Layer ``tie_ins``: where breaks have gaps, change over, or must be tied to a mown line."""
    places = [
        *_holes(stretches, breaks),
        *_along_chains(stretches, breaks),
        *_at_junctions(stretches, breaks),
        *_side_changes(stretches, breaks, acreage.slop_ft * M_PER_FT / 2),
        *_sharp_corners(BlockModel.of(edges, checked_burns), settings),
    ]
    if not places:
        return empty(TIE_INS, stretches.crs)
    frame = pd.DataFrame(places).drop(columns="point")
    frame["tie_in_id"] = [f"T{number:04d}" for number in range(1, len(frame) + 1)]
    points = gpd.GeoSeries([place.point for place in places], crs=stretches.crs)
    return gpd.GeoDataFrame(frame, geometry=points, crs=stretches.crs)


def _holes(stretches: gpd.GeoDataFrame, breaks: gpd.GeoDataFrame) -> Iterator[Place]:
    """Holes in breaks, and places where the edge is away from a whole one, each once."""
    kinds = breaks["kind"].to_list()
    told = stretches["near"].isin(["gap", "away"])
    keys = ["chain", "near", "near_row", "near_ft"]
    same = (stretches[keys].shift() == stretches[keys]).all(axis=1) & told.shift(fill_value=False)
    number = (~same).cumsum()[told]
    for _, rows in stretches[told].groupby(number, sort=True):
        here = rows.iloc[0]
        line = shapely.line_merge(shapely.multilinestrings(rows.geometry.to_numpy()))
        middle = shapely.line_interpolate_point(line, 0.5, normalized=True)
        yield Place(here["block"], here["near"], middle, here["near_ft"], kinds[here["near_row"]])


def _along_chains(stretches: gpd.GeoDataFrame, breaks: gpd.GeoDataFrame) -> Iterator[Place]:
    """Places between stretches that follow each other along one line."""
    kinds = breaks["kind"].to_list()
    shapes = breaks.geometry.to_numpy()
    for rows in _chains(stretches):
        closed = rows[0]["geometry"].coords[0] == rows[-1]["geometry"].coords[-1]
        following = rows[1:] + (rows[:1] if closed else [])
        for here, there in zip(rows, following, strict=False):
            point = shapely.Point(here["geometry"].coords[-1])
            yield from _tie_in(here, there, point, shapes, kinds)
            if not pd.isna(here["hand_over_ft"]):
                yield _hand_over(here, there, point, here["hand_over_ft"], kinds)


def _chains(stretches: gpd.GeoDataFrame) -> list[list[dict]]:
    """Stretches of each line in their order; one by one, a table of each would take far longer."""
    chains: dict[int, list[dict]] = {}
    for row in stretches.to_dict("records"):
        chains.setdefault(row["chain"], []).append(row)
    return [chains[number] for number in sorted(chains)]


def _at_junctions(stretches: gpd.GeoDataFrame, breaks: gpd.GeoDataFrame) -> Iterator[Place]:
    """Places where two lines of a block meet, at the end of an edge it shares with another."""
    shapes, kinds = breaks.geometry.to_numpy(), breaks["kind"].to_list()
    drawn = DrawnBreaks.of(shapes)
    meeting: dict[tuple[str, float, float], list[dict]] = {}
    for rows in _chains(stretches):
        ends = (rows[0]["geometry"].coords[0], rows[-1]["geometry"].coords[-1])
        if ends[0] == ends[1]:
            continue
        for row, (x, y) in zip((rows[0], rows[-1]), ends, strict=True):
            for block in (row["block"], row["neighbor_block"]):
                if block is not None:
                    meeting.setdefault((block, round(x, 2), round(y, 2)), []).append(row)
    for (block, x, y), rows in meeting.items():
        point = shapely.Point(x, y)
        for here, there in pairwise(rows):
            mine = {**here, "block": block}
            yield from _tie_in(mine, there, point, shapes, kinds)
            apart_ft = _apart_ft(here, there, point, drawn)
            if apart_ft > 0:
                yield _hand_over(mine, there, point, apart_ft, kinds)


def _tie_in(
    here: dict, there: dict, point: shapely.Point, shapes: np.ndarray, kinds: list[str]
) -> Iterator[Place]:
    """Where a line to be made meets a stretch along a break; none at the ends of a place away."""
    if {here["status"], there["status"]} != {"existing", "prepare"}:
        return
    along, made = (here, there) if here["status"] == "existing" else (there, here)
    if made["near"] != "away":
        row = along["break_row"]
        away_ft = float(shapely.distance(point, shapes[row])) / M_PER_FT
        yield Place(here["block"], "tie_in", point, away_ft, kinds[row])


def _apart_ft(here: dict, there: dict, point: shapely.Point, drawn: DrawnBreaks) -> float:
    """Way [ft] between the breaks along two stretches that meet at a point; 0 where they meet."""
    first, second = here["break_row"], there["break_row"]
    if pd.isna(first) or pd.isna(second) or first == second:
        return 0.0
    ends = [(drawn.nearest_part(row, point), point) for row in (first, second)]
    return drawn.meeting(shapely.buffer(point, AROUND_M), *ends).apart_m / M_PER_FT


def _hand_over(
    here: dict, there: dict, point: shapely.Point, apart_ft: float, kinds: list[str]
) -> Place:
    """Where one break takes over from another that it does not meet there."""
    first, second = kinds[here["break_row"]], kinds[there["break_row"]]
    return Place(here["block"], "hand_over", point, apart_ft, first, second)


def _side_changes(
    stretches: gpd.GeoDataFrame, breaks: gpd.GeoDataFrame, least_m: float
) -> Iterator[Place]:
    """Places where an edge goes over from one side of the break it runs along to the other."""
    shapes, kinds = breaks.geometry.to_numpy(), breaks["kind"].to_list()
    along = stretches[stretches["break_row"].notna()]
    for (_, row), run in along.groupby(["chain", "break_row"], sort=True):
        if shapely.get_dimensions(shapes[row]) != 1:
            continue
        merged = shapely.line_merge(
            shapely.multilinestrings(run.geometry.to_numpy()), directed=True
        )
        for line in shapely.get_parts(merged):
            for point in crossings(line, shapes[row], least_m):
                yield Place(run["block"].iloc[0], "side_change", point, break_kind=kinds[row])


def crossings(
    line: shapely.LineString, other: shapely.Geometry, least_m: float
) -> list[shapely.Point]:
    """Points where the line goes over to the other side of a line it runs along.

    Wiggles across it that stay within ``least_m`` of it do not count.
    """
    common = shapely.get_parts(overlays.common(line, other))
    ends = shapely.get_coordinates(common)
    at = np.unique(np.round(shapely.line_locate_point(line, shapely.points(ends)), 3))
    stops = np.unique([0.0, *at, line.length])
    places, before, crossed = [], 0.0, 0.0
    for start, end in pairwise(stops):
        side = _side_of(substring(line, start, end), other, least_m)
        if side and before and side != before:
            places.append(shapely.line_interpolate_point(line, crossed))
        if side:
            before, crossed = side, end
    return places


def _side_of(part: shapely.LineString, other: shapely.Geometry, least_m: float) -> float:
    """Side of the part that the other line lies on, +1 left and -1 right; 0 where it is near."""
    fine = shapely.segmentize(part, SAMPLE_M)
    points = shapely.points(shapely.get_coordinates(fine))
    far = shapely.distance(points, other)
    number = int(np.argmax(far))
    if far[number] < least_m:
        return 0.0
    foot = shapely.get_coordinates(shapely.shortest_line(points[number], other))[1]
    corners = shapely.get_coordinates(fine)
    ahead = corners[min(number + 1, len(corners) - 1)] - corners[max(number - 1, 0)]
    across = foot - corners[number]
    return float(np.sign(ahead[0] * across[1] - ahead[1] * across[0]))


def _sharp_corners(model: BlockModel, settings: FirebreakSettings) -> Iterator[Place]:
    """Corners of blocks narrower than the setting, on smoothed outlines."""
    for block in model.names:
        ground = model.ground(block)
        for ring in shapely.get_rings(shapely.get_parts(shapely.orient_polygons(ground))):
            points = smoothed_line_points(ring, settings.smoothing_ft * M_PER_FT)
            for corner, angle in zip(points, interior_angles_deg(points), strict=True):
                if angle < settings.sharp_corner_deg:
                    point = shapely.Point(corner)
                    yield Place(block, "sharp_corner", point, corner_angle_deg=float(angle))


def interior_angles_deg(points: np.ndarray) -> np.ndarray:
    """Angle [degree] on the left hand at each vertex of a ring (given without its closing one)."""
    back, ahead = np.roll(points, 1, axis=0) - points, np.roll(points, -1, axis=0) - points
    turn = np.arctan2(back[:, 1], back[:, 0]) - np.arctan2(ahead[:, 1], ahead[:, 0])
    return np.degrees(np.mod(turn, 2 * np.pi))
