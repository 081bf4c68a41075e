"""Places along the breaks that need a look on the ground: gaps, tie-ins, hand-overs, corners."""

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
from pipeline.fire.break_lines import smoothed_line_points
from pipeline.fire.layers import TIE_INS
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.stretches import block_ground
from pipeline.ground.settings import AcreageSettings

SIDE_STEP_M = 1.0
"""Breaks closer to each other than this meet where one takes over from the other."""


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
    stretches: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    settings: FirebreakSettings,
    acreage: AcreageSettings,
) -> gpd.GeoDataFrame:
    """Layer ``tie_ins``: where breaks have gaps, change over, or must be tied to a mown line."""
    places = [
        *_along_chains(stretches, breaks),
        *_at_junctions(stretches, breaks),
        *_side_changes(stretches, breaks, acreage.slop_ft * M_PER_FT / 2),
        *_sharp_corners(stretches, settings),
    ]
    if not places:
        return empty(TIE_INS, stretches.crs)
    frame = pd.DataFrame(places).drop(columns="point")
    frame["tie_in_id"] = [f"T{number:04d}" for number in range(1, len(frame) + 1)]
    points = gpd.GeoSeries([place.point for place in places], crs=stretches.crs)
    return gpd.GeoDataFrame(frame, geometry=points, crs=stretches.crs)


def _along_chains(stretches: gpd.GeoDataFrame, breaks: gpd.GeoDataFrame) -> Iterator[Place]:
    """Places between stretches that follow each other along one line."""
    shapes = breaks.geometry.to_numpy()
    kinds = breaks["kind"].to_list()
    for _, chain in stretches.groupby("chain", sort=True):
        rows = chain.to_dict("records")
        closed = rows[0]["geometry"].coords[0] == rows[-1]["geometry"].coords[-1]
        for row in rows:
            if row["status"] == "gap":
                yield _gap(row)
        following = rows[1:] + (rows[:1] if closed and len(rows) > 1 else [])
        for here, there in zip(rows, following, strict=False):
            point = shapely.Point(here["geometry"].coords[-1])
            yield from _change(here, there, point, shapes, kinds)


def _at_junctions(stretches: gpd.GeoDataFrame, breaks: gpd.GeoDataFrame) -> Iterator[Place]:
    """Places where two lines of a block meet, at the end of an edge it shares with another."""
    shapes, kinds = breaks.geometry.to_numpy(), breaks["kind"].to_list()
    meeting: dict[tuple[str, float, float], list[dict]] = {}
    for _, chain in stretches.groupby("chain", sort=True):
        rows = chain.to_dict("records")
        ends = (rows[0]["geometry"].coords[0], rows[-1]["geometry"].coords[-1])
        if ends[0] == ends[1]:
            continue
        for row, (x, y) in zip((rows[0], rows[-1]), ends, strict=True):
            for block in (row["block"], row["neighbor_block"]):
                if block is not None:
                    meeting.setdefault((block, round(x, 2), round(y, 2)), []).append(row)
    for (block, x, y), rows in meeting.items():
        for here, there in pairwise(rows):
            yield from _change({**here, "block": block}, there, shapely.Point(x, y), shapes, kinds)


def _gap(row: dict) -> Place:
    """A hole in an existing break."""
    middle = shapely.line_interpolate_point(row["geometry"], 0.5, normalized=True)
    return Place(row["block"], "gap", middle, distance_ft=row["length_ft"])


def _change(
    here: dict, there: dict, point: shapely.Point, shapes: np.ndarray, kinds: list[str]
) -> Iterator[Place]:
    """A tie-in or hand-over between one stretch and the next."""
    first, second = here["break_row"], there["break_row"]
    along = [row for row in (first, second) if not pd.isna(row)]
    statuses = {here["status"], there["status"]}
    if statuses == {"existing", "prepare"}:
        away_ft = float(shapely.distance(point, shapes[along[0]])) / M_PER_FT
        yield Place(here["block"], "tie_in", point, away_ft, kinds[along[0]])
    elif statuses == {"existing"} and first != second:
        apart_m = float(shapely.distance(shapes[first], shapes[second]))
        if apart_m > SIDE_STEP_M:
            apart_ft = apart_m / M_PER_FT
            yield Place(here["block"], "hand_over", point, apart_ft, kinds[first], kinds[second])


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
    common = shapely.get_parts(shapely.intersection(line, other))
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


def _sharp_corners(stretches: gpd.GeoDataFrame, settings: FirebreakSettings) -> Iterator[Place]:
    """Corners of blocks narrower than the setting, on smoothed outlines."""
    for block in sorted(set(stretches["block"]) | set(stretches["neighbor_block"].dropna())):
        around = (stretches["block"] == block) | (stretches["neighbor_block"] == block)
        ground = block_ground(stretches.geometry.to_numpy()[around.to_numpy()])
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
