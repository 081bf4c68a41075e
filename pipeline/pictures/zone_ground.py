"""The ground of each unit that pixels are read from, and how much of it a grid shows."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS

from pipeline.ground.acreage import left_out, polygonal
from pipeline.pictures.raster_grid import Grid, on_grid, pixel_m2, pixel_sides_m
from pipeline.pictures.zone_sums import Place, as_they_are, covered_shares, edges_of

ROWS_PIXELS = 1 << 20
"""Pixels looked at together, so that a vast zone takes no more memory than a large one."""


WHOLE = 1.0 - 1e-9
"""Covered share from which a pixel counts as wholly inside."""


@dataclass(frozen=True, slots=True)
class ZoneGround:
    """Ground used of each zone in the CRS of a grid, and how much of it there is.

    ``whole_pixels`` is the size of the ground in pixels, on the raster or not.
    """

    grid: Grid
    zones: np.ndarray
    whole_pixels: np.ndarray
    full_pixels: np.ndarray
    lost_pct: np.ndarray

    def window(self, number: int) -> "ZoneWindow | None":
        """Pixels of the grid around one of the zones, None where it has none."""
        zone = self.zones[number]
        bounds = np.nan_to_num(shapely.transform(zone, self.grid.place).bounds)
        left, top = np.floor(bounds[:2]).clip(0).astype(int).tolist()
        right, bottom = np.minimum(np.ceil(bounds[2:]), self.grid.shape[::-1]).astype(int).tolist()
        if zone.is_empty or right <= left or bottom <= top:
            return None
        return ZoneWindow(self.grid, zone, (top, bottom), (left, right))


@dataclass(frozen=True, slots=True)
class ZoneWindow:
    """Rows and columns of a grid around a zone in its CRS."""

    grid: Grid
    zone: shapely.Geometry
    rows: tuple[int, int]
    columns: tuple[int, int]

    def bands(self) -> "Iterator[ZoneWindow]":
        """The window in pieces, some rows at a time, so that a wide one takes no more memory."""
        step = max(1, ROWS_PIXELS // (self.columns[1] - self.columns[0]))
        for low in range(*self.rows, step):
            rows = (low, min(low + step, self.rows[1]))
            yield ZoneWindow(self.grid, self.zone, rows, self.columns)

    def shares(self, every: int = 1) -> np.ndarray:
        """Share [0 to 1] of each pixel that the zone covers, or of each square of pixels."""
        corner = np.array([self.columns[0], self.rows[0]])
        edges = edges_of(
            np.array([self.zone]), lambda points: (self.grid.place(points) - corner) / every
        )
        height, width = (-(-(end - start) // every) for start, end in (self.rows, self.columns))
        return covered_shares(edges, rows=(0, height), width=width)


@dataclass(frozen=True, slots=True)
class Grounds:
    """Ground of some zones in a plane CRS in meters; what of it a grid shows is reckoned once."""

    shapes: np.ndarray
    crs: CRS
    _known: dict[tuple[Grid, float], ZoneGround] = field(default_factory=dict)

    def pixel_sides_m(self, grid: Grid) -> tuple[float, float]:
        """Width and height [m] of a pixel of a grid here, of the grid if there is no ground."""
        if shapely.is_empty(self.shapes).all():
            return grid.pixel_x, grid.pixel_y
        return pixel_sides_m(grid, self.shapes, self.crs)

    def pixel_m2(self, grid: Grid) -> float:
        """Ground [m²] that a pixel of a grid covers here, of the grid if there is no ground."""
        if shapely.is_empty(self.shapes).all():
            return grid.pixel_x * grid.pixel_y
        return pixel_m2(grid, self.shapes, self.crs)

    def pixel_m(self, grid: Grid) -> float:
        """Longer side [m] of a pixel of a grid on this ground."""
        return max(self.pixel_sides_m(grid))

    def inner(self, buffer_m: float) -> np.ndarray:
        """The ground without an edge of some width [m]."""
        return inner_ground(self.shapes, buffer_m)

    def on(self, grid: Grid, buffer_m: float) -> ZoneGround:
        """The ground on a grid, without an edge of some width [m]."""
        if (grid, buffer_m) not in self._known:
            self._known[grid, buffer_m] = zone_ground(self.shapes, self.crs, grid, buffer_m)
        return self._known[grid, buffer_m]


def burnable_ground(units: gpd.GeoDataFrame, exclusions: gpd.GeoDataFrame) -> np.ndarray:
    """Shape of each unit without what is left out for burning: ponds, buildings, refuges."""
    gone = left_out(units.geometry, exclusions, "burn")
    return shapely.difference(units.geometry.to_numpy(), gone.to_numpy())


def inner_ground(grounds: np.ndarray, buffer_m: float) -> np.ndarray:
    """Grounds without an edge of some width [m], where pixels also show what lies outside."""
    return np.array(
        [polygonal(shape) for shape in shapely.buffer(grounds, -buffer_m)], dtype=object
    )


def zone_ground(grounds: np.ndarray, crs: CRS, grid: Grid, buffer_m: float) -> ZoneGround:
    """Ground used of each zone on a grid, after taking off an edge [m]."""
    inner = inner_ground(grounds, buffer_m)
    zones = on_grid(inner, crs, grid)
    before, after = shapely.area(grounds), shapely.area(inner)
    lost = np.divide(before - after, before, out=np.ones_like(before), where=before > 0)
    full = [full_pixels(zone, grid.place) for zone in zones]
    return ZoneGround(
        grid,
        zones,
        whole_pixels=whole_pixels(zones, grid),
        full_pixels=np.array(full, dtype=int),
        lost_pct=100.0 * lost.clip(0.0, 1.0),
    )


def whole_pixels(zones: np.ndarray, grid: Grid) -> np.ndarray:
    """Size of zones, given in the CRS of a grid, in its pixels.

    On a grid in degrees each zone's pixels count as those of its middle row do.
    """
    pixels = shapely.area(zones) / (grid.pixel_x * grid.pixel_y)
    row_sizes = grid.pixel_grid(zones).row_sizes
    if row_sizes is None:
        return pixels
    middle = grid.place(np.nan_to_num(shapely.get_coordinates(shapely.centroid(zones))))[:, 1]
    sizes = np.ones(len(zones))
    sizes[~shapely.is_empty(zones)] = np.interp(middle - 0.5, np.arange(grid.rows), row_sizes)
    return pixels * sizes


def full_pixels(zone: shapely.Geometry, place: Place = as_they_are) -> int:
    """Number of pixels that lie wholly inside a zone that ``place`` takes to pixel coordinates.

    Counted part by part, so that the ground between parts far from each other is not looked at.
    """
    return sum(_full_pixels_of_part(part, place) for part in shapely.get_parts(zone))


def _full_pixels_of_part(zone: shapely.Polygon, place: Place) -> int:
    """Number of pixels that lie wholly inside one polygon."""
    if zone.is_empty:
        return 0
    left, top, right, bottom = shapely.transform(zone, place).bounds
    corner = np.floor([left, top])
    rows, columns = int(np.ceil(bottom - corner[1])), int(np.ceil(right - corner[0]))
    step = max(1, ROWS_PIXELS // columns)
    edges = edges_of(np.array([zone]), lambda points: place(points) - corner)
    bands = [(low, min(low + step, rows)) for low in range(0, rows, step)]
    shares = (covered_shares(edges, rows=band, width=columns) for band in bands)
    return sum(int((share >= WHOLE).sum()) for share in shares)
