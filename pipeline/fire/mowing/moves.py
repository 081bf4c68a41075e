"""Ways between passes over ground that may be driven: straight, or around corners where need be."""

import math
from functools import cached_property

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.layer import empty
from pipeline.core.units import FT_PER_MI, M2_PER_AC, M_PER_FT
from pipeline.fire.block_model import BlockModel
from pipeline.fire.mowing.edge_runs import block_bands
from pipeline.fire.mowing.layers import MOW_MOVES, MOW_ROUTES
from pipeline.fire.mowing.route_items import Place
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.fire.settings import FirebreakSettings
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac, length_ft
from pipeline.ground.overlays import united

GATE_M = 30.0
"""A gate farther from a block than this is not its gate."""


SHORTEST_MOVE_M = 0.01


LANE_M = 2.0
"""Half of the width of the lane from a gate to its block."""


LEEWAY_M = 1.0
"""A way may leave the drawn ground by this much: outlines are not known better."""


SMOOTHING_M = 0.5
"""Corners within this of the straight line are not driven around."""


MOST_CORNERS = 100
"""With more corners than this the outline is smoothed further, so that the search stays short."""


class DrivingGround:
    """Ground that may be driven over, with the corners that its shortest ways bend around."""

    def __init__(self, ground: shapely.Geometry) -> None:
        """Take the ground [m] with its leeway."""
        self._ground = ground
        self._wide = polygonal(shapely.buffer(ground, LEEWAY_M, join_style="mitre"))
        shapely.prepare(self._wide)
        self._of_place: dict[Place, tuple[np.ndarray, np.ndarray]] = {}
        self._far: dict[tuple[Place, Place], float] = {}

    @cached_property
    def _corners(self) -> np.ndarray:
        return _inner_corners(self._ground)

    @cached_property
    def _between(self) -> tuple[np.ndarray, np.ndarray]:
        """Way [m] from corner to corner, and the next corner on it.

        *Source*: R. W. Floyd, Algorithm 97: Shortest path, Communications of the ACM 5(6), 1962.
        """
        count = len(self._corners)
        far = np.array([self._in_sight(corner) for corner in self._corners]).reshape(count, count)
        onward = np.broadcast_to(np.arange(count), (count, count)).copy()
        for middle in range(count):
            over = far[:, middle, None] + far[None, middle, :]
            shorter = over < far - 1e-9
            far = np.where(shorter, over, far)
            onward = np.where(shorter, onward[:, middle, None], onward)
        return far, onward

    def far_m(self, here: Place, there: Place) -> float:
        """Length [m] of the way from one place to another; straight where none is on the ground."""
        if (here, there) not in self._far:
            straight = math.dist(here, there)
            if not self._sees(here, there):
                over = self._to_corners(here)[1] + self._to_corners(there)[0]
                around = float(over.min(initial=math.inf))
                straight = around if math.isfinite(around) else straight
            self._far[here, there] = self._far[there, here] = straight
        return self._far[here, there]

    def way(self, here: Place, there: Place) -> tuple[shapely.LineString, bool]:
        """Way [m] from one place to another, and whether it stays on the ground.

        Where none does, it is the straight line.
        """
        straight = shapely.LineString([here, there])
        if self._sees(here, there):
            return straight, True
        last = self._to_corners(there)[0]
        over = self._to_corners(here)[1] + last
        if not np.isfinite(over).any():
            return straight, False
        goal, (far, onward) = int(over.argmin()), self._between
        at = int((self._to_corners(here)[0] + far[:, goal]).argmin())
        corners = [at]
        while at != goal:
            at = int(onward[at, goal])
            corners.append(at)
        return shapely.LineString([here, *self._corners[corners], there]), True

    def _sees(self, here: Place, there: Place) -> bool:
        """Whether the straight way stays on the ground."""
        return bool(shapely.covers(self._wide, shapely.LineString([here, there])))

    def _in_sight(self, place: Place | np.ndarray) -> np.ndarray:
        """Straight way [m] from a place to each corner; infinite where it leaves the ground."""
        ends = np.stack([np.broadcast_to(place, self._corners.shape), self._corners], axis=1)
        seen = shapely.covers(self._wide, shapely.linestrings(ends))
        return np.where(seen, np.hypot(*(self._corners - place).T), math.inf)

    def _to_corners(self, place: Place) -> tuple[np.ndarray, np.ndarray]:
        """Straight way [m] from a place to each corner, and the shortest way by other corners."""
        if place not in self._of_place:
            straight = self._in_sight(place)
            shortest = (straight[:, None] + self._between[0]).min(axis=0, initial=math.inf)
            self._of_place[place] = straight, shortest
        return self._of_place[place]


def _inner_corners(ground: shapely.Geometry) -> np.ndarray:
    """Corners of the ground that reach into it, where a shortest way may bend.

    An outline with too many is smoothed further, and drawn back by as much, so that ways along it
    stay on the ground.
    """
    smooth, smoothing_m = ground, SMOOTHING_M
    while True:
        plain = shapely.orient_polygons(polygonal(shapely.simplify(smooth, smoothing_m)))
        rings = [_right_turns(ring) for ring in shapely.get_rings(shapely.get_parts(plain))]
        found = np.vstack([np.empty((0, 2)), *rings])
        if len(found) <= MOST_CORNERS:
            return found
        smoothing_m *= 2
        smooth = shapely.buffer(ground, -smoothing_m)


def _right_turns(ring: shapely.LinearRing) -> np.ndarray:
    """Vertices of a ring with the ground on its left hand where it turns to the right."""
    points = shapely.get_coordinates(ring)[:-1]
    (ax, ay), (bx, by) = (
        (points - np.roll(points, 1, axis=0)).T,
        (np.roll(points, -1, axis=0) - points).T,
    )
    return points[ax * by - ay * bx < 0]


def gate_of(ground: shapely.Geometry, gates: gpd.GeoDataFrame) -> Place | None:
    """Where the mower comes onto a block [m]: the gate nearest to it, if one is near."""
    away = shapely.distance(gates.geometry.to_numpy(), ground)
    if not (away <= GATE_M).any():
        return None
    gate = gates.geometry.iloc[int(away.argmin())]
    return (float(gate.x), float(gate.y))


def draw_moves(
    mow_passes: gpd.GeoDataFrame,
    strip_shapes: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    edges: gpd.GeoDataFrame,
    checked_burns: pd.DataFrame,
    gates: gpd.GeoDataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Layer ``mow_moves``: ways without mowing, from the end of each pass to the next one.

    They run over the block's own ground, its strips, and roads along it.
    """
    model = BlockModel.of(edges, checked_burns)
    roads = road_ground(breaks, break_credits, settings)
    rows, shapes = [], []
    for block, passes in mow_passes.groupby("block", sort=True):
        ends = [_ends(line) for line in passes.geometry]
        strips = strip_shapes.geometry[strip_shapes["block"] == block]
        gate = gate_of(model.ground(str(block)), gates)
        ground = driving_ground(model.ground(str(block)), list(strips), roads, gate)
        here = [gate, *(end for _, end in ends)]
        for order, (at, (there, _)) in enumerate(zip(here[:-1], ends, strict=True), 1):
            if at is None or math.dist(at, there) < SHORTEST_MOVE_M:
                continue
            way, on_ground = ground.way(at, there)
            rows.append((block, order, on_ground))
            shapes.append(way)
    if not rows:
        return empty(MOW_MOVES, mow_passes.crs)
    frame = pd.DataFrame(rows, columns=["block", "to_order", "on_ground"])
    result = gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(shapes, crs=mow_passes.crs))
    result["length_ft"] = length_ft(result.geometry)
    return result


def _ends(line: shapely.LineString) -> tuple[Place, Place]:
    (first_x, first_y), (last_x, last_y) = shapely.get_coordinates(line)[[0, -1]].tolist()
    return (first_x, first_y), (last_x, last_y)


def driving_ground(
    ground: shapely.Geometry,
    strips: list[shapely.Geometry],
    roads: np.ndarray,
    start: Place | None,
) -> DrivingGround:
    """Where a mower drives: the block's own ground, its strips, and the roads that touch them.

    From a gate beside the block a lane leads straight to it.
    """
    lanes = [] if start is None else [shapely.shortest_line(shapely.Point(start), ground)]
    own = united([ground, *strips, *shapely.buffer(lanes, LANE_M)])
    return DrivingGround(united([own, *roads[shapely.intersects(roads, own)]]))


def road_ground(
    breaks: gpd.GeoDataFrame, break_credits: pd.DataFrame, settings: FirebreakSettings
) -> np.ndarray:
    """Ground [m] along each road, with the verge up to the edges beside it."""
    drivable = break_credits["break_class"].isin(["private_road", "public_road"]).to_numpy()
    reach_m = settings.along_ft * M_PER_FT
    return shapely.buffer(breaks.geometry[drivable].to_numpy(), reach_m)


def measure_routes(
    strip_shapes: gpd.GeoDataFrame,
    mow_passes: gpd.GeoDataFrame,
    mow_moves: gpd.GeoDataFrame,
    made_lines: gpd.GeoDataFrame,
    stretches: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    edges: gpd.GeoDataFrame,
    checked_burns: pd.DataFrame,
    exclusions: gpd.GeoDataFrame,
    edge_refusals: pd.DataFrame,
    settings: MowingSettings,
) -> pd.DataFrame:
    """Layer ``mow_routes``: feet and hours of mowing and moving of each block, and its ground."""
    model = BlockModel.of(edges, checked_burns)
    rows = []
    for block, bands in block_bands(
        model, stretches, firebreaks, exclusions, edge_refusals, settings.side
    ):
        passes = mow_passes[mow_passes["block"] == block]
        moves = mow_moves[mow_moves["block"] == block]
        mown_ft, moves_ft = passes["length_ft"].sum(), moves["length_ft"].sum()
        turns = max(0, len(passes) - 1)
        moving = moves_ft / FT_PER_MI / settings.move_speed_mph
        moving += turns * settings.turn_minutes / 60.0
        at_full_speed = mown_ft / FT_PER_MI / settings.speed_mph
        drawn = strip_shapes[strip_shapes["block"] == block].geometry
        rows.append(
            {
                "block": block,
                "passes": len(passes),
                "mown_ft": mown_ft,
                "moves_ft": moves_ft,
                "moves_pct": 100.0 * moves_ft / mown_ft if mown_ft else np.nan,
                "least_moves_ft": least_moves_m(passes.geometry.to_numpy()) / M_PER_FT,
                "off_ground_ft": moves["length_ft"][~moves["on_ground"].astype(bool)].sum(),
                "least_hours": at_full_speed + moving,
                "most_hours": at_full_speed / settings.efficiency_pct * 100.0 + moving,
                "line_hours": made_lines.loc[made_lines["block"] == block, "hours"].sum(),
                "made_ac": area_ac(drawn).sum(),
                "planned_ac": sum(band.planned_m2() for band in bands) / M2_PER_AC,
            }
        )
    return pd.DataFrame(rows, columns=MOW_ROUTES.column_names)


def least_moves_m(passes: np.ndarray) -> float:
    """Way without mowing [m] that no order of the passes can be below.

    Passes and moves together hang together, so the moves are at least as long as the smallest
    tree between the passes. *Source*: R. C. Prim, Shortest connection networks and some
    generalizations, Bell System Technical Journal 36, 1957.
    """
    if len(passes) < 2:
        return 0.0
    low, high = np.hsplit(shapely.bounds(passes), 2)
    left, reached = np.arange(1, len(passes)), np.full(len(passes), math.inf)
    total, last = 0.0, 0
    while len(left):
        # Only those are measured whose boxes are near enough to be nearer than they were.
        apart = np.maximum(np.maximum(low[left] - high[last], low[last] - high[left]), 0.0)
        near = left[np.hypot(*apart.T) < reached[left]]
        reached[near] = np.minimum(reached[near], shapely.distance(passes[near], passes[last]))
        last = int(left[reached[left].argmin()])
        total += float(reached[last])
        left = left[left != last]
    return total
