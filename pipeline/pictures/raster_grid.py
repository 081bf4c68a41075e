"""Where the pixels of a raster lie."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from pyproj import CRS, Transformer

from pipeline.pictures.zone_sums import PixelGrid

LONGEST_STEP_M = 200.0
"""Edges are given vertices this far apart before they are taken to another projection."""


ALIGNED_PIXELS = 1e-3
"""Grids that slip by less than this, over the whole of them, have the same pixels."""


MARGIN_PIXELS = 2
"""Pixels around what a window is cut to."""


WEB_MERCATOR, WEB_MERCATOR_TURN_M = 3857, 2.0 * np.pi * 6_378_137.0
"""The projection of maps on the web and its x once around the earth (EPSG 3857)."""


Box = tuple[int, int, int, int]
"""Left and top, and the ones after right and bottom, of a window of pixels."""


@lru_cache(maxsize=32)
def crs_of(wkt: str) -> CRS:
    """CRS of a text; making one takes as long as reading a small picture."""
    return CRS.from_wkt(wkt)


@dataclass(frozen=True, slots=True)
class Grid:
    """A north-up raster grid: upper left corner, size of a pixel (both positive), rows, columns."""

    crs_wkt: str
    left: float
    top: float
    pixel_x: float
    pixel_y: float
    rows: int
    columns: int

    def pixel_grid(self, zones: np.ndarray) -> PixelGrid:
        """The grid as that of rasters to be summed over zones in its CRS."""
        middle = float(np.nan_to_num(shapely.total_bounds(zones)[1::2], nan=self.top).mean())
        return PixelGrid(self.shape, self.place, self.row_sizes((self.top - middle) / self.pixel_y))

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.rows, self.columns

    def offset_of(self, other: "Grid") -> tuple[int, int] | None:
        """Row and column here of the other grid's upper left pixel, None if pixels don't match."""
        if self.crs_wkt != other.crs_wkt and crs_of(self.crs_wkt) != crs_of(other.crs_wkt):
            return None
        size = max(other.rows, other.columns)
        stretch = max(abs(other.pixel_x / self.pixel_x - 1), abs(other.pixel_y / self.pixel_y - 1))
        row = (self.top - other.top) / self.pixel_y
        column = (other.left - self.left) / self.pixel_x
        slip = max(abs(row - round(row)), abs(column - round(column)))
        return None if stretch * size + slip > ALIGNED_PIXELS else (round(row), round(column))

    def place(self, points: np.ndarray) -> np.ndarray:
        """Points in the grid's CRS, one a row, in pixel coordinates (x to the right, y down)."""
        return (points - [self.left, self.top]) / [self.pixel_x, -self.pixel_y]

    def row_sizes(self, middle: float) -> np.ndarray | None:
        """Ground that a pixel of each row covers, by that of one at row ``middle``.

        None where all rows are alike, as they are on any grid in meters. On a grid in degrees a
        pixel is cos φ / (1 − e² sin² φ)² as large as one on the equator, by the radii of curvature
        of the ellipsoid (J. P. Snyder, Map Projections: a Working Manual, USGS Professional Paper
        1395 (1987), equations 4-18 to 4-20; numbers from memory, to be checked).
        """
        crs = crs_of(self.crs_wkt)
        if not crs.is_geographic or crs.ellipsoid is None:
            return None
        squared = 1.0 - (crs.ellipsoid.semi_minor_metre / crs.ellipsoid.semi_major_metre) ** 2
        rows = np.append(np.arange(self.rows) + 0.5, middle)
        latitude = np.radians(self.top - rows * self.pixel_y)
        size = np.cos(latitude) / (1.0 - squared * np.sin(latitude) ** 2) ** 2
        return size[:-1] / size[-1]

    def to_pixels(self, shapes: np.ndarray) -> np.ndarray:
        """Shapes in the grid's CRS as shapes in pixel coordinates."""
        return shapely.transform(shapes, self.place)

    def footprint(self) -> shapely.Polygon:
        """Ground that the raster covers, in its CRS."""
        right = self.left + self.columns * self.pixel_x
        return shapely.box(self.left, self.top - self.rows * self.pixel_y, right, self.top)


def aligned(grids: Sequence[Grid]) -> tuple[Grid, list[tuple[int, int]]] | None:
    """Smallest grid that holds all, and each one's row and column on it; None if pixels differ.

    All are held against the first, so that small slips do not add up.
    """
    offsets = [offset for grid in grids if (offset := grids[0].offset_of(grid)) is not None]
    if len(offsets) < len(grids):
        return None
    top, left = (min(places) for places in zip(*offsets, strict=True))
    places = [(row - top, column - left) for row, column in offsets]
    first = grids[0]
    whole = replace(
        first,
        left=first.left + left * first.pixel_x,
        top=first.top - top * first.pixel_y,
        rows=max(row + grid.rows for (row, _), grid in zip(places, grids, strict=True)),
        columns=max(column + grid.columns for (_, column), grid in zip(places, grids, strict=True)),
    )
    return whole, places


@lru_cache(maxsize=32)
def _transformer(source_wkt: str, target_wkt: str) -> Transformer:
    """Transformer between two CRS, east before north; making one takes a tenth of a second."""
    return Transformer.from_crs(crs_of(source_wkt), crs_of(target_wkt), always_xy=True)


def moved(shapes: np.ndarray, source: CRS, target: CRS) -> np.ndarray:
    """Shapes of a projection in meters taken to another CRS, long edges bent as they must be.

    What the other CRS cannot show, as a UTM zone the far side of the earth, is empty there.
    """
    if source == target:
        return shapes
    transformer = _transformer(source.to_wkt(), target.to_wkt())
    fine = shapely.segmentize(shapes, LONGEST_STEP_M)
    there = shapely.transform(
        fine, lambda points: np.column_stack(transformer.transform(points[:, 0], points[:, 1]))
    )
    lost = np.isinf(shapely.bounds(there)).any(axis=1)
    return np.where(lost, shapely.MultiPolygon(), there)


def on_grid(shapes: np.ndarray, source: CRS, grid: Grid) -> np.ndarray:
    """Shapes of a plane in meters as a grid has them, also where it ends at longitude 180.

    A shape that crosses the line at which the grid's round of the earth ends is cut there.
    """
    target = crs_of(grid.crs_wkt)
    there = moved(shapes, source, target)
    turn = _turn(target)
    if turn is None:
        return there
    west = grid.left + (grid.columns * grid.pixel_x - turn) / 2
    left, _, right, _ = np.nan_to_num(shapely.bounds(there), nan=west).T
    astray = (left < west) | (right > west + turn) | (right - left > turn / 2)
    cut = [_cut_at(shape, west, turn) for shape in there[astray]]
    placed = there.copy()
    placed[astray] = np.array(cut, dtype=object)
    return placed


def _turn(crs: CRS) -> float | None:
    """Once around the earth in the x of a CRS, None where x does not go around."""
    if crs.is_geographic:
        return 360.0
    return WEB_MERCATOR_TURN_M if crs.to_epsg() == WEB_MERCATOR else None


def _cut_at(shape: shapely.Geometry, west: float, turn: float) -> shapely.Geometry:
    """A shape with its x between ``west`` and a turn further, cut where it crosses that line."""
    first = shapely.get_coordinates(shape)[0, 0]
    whole = shapely.transform(
        shape, lambda points: points + [[turn, 0.0]] * _turns(first - points[:, :1], turn)
    )
    left, bottom, right, top = whole.bounds
    parts = []
    for back in range(int((left - west) // turn), int((right - west) // turn) + 1):
        window = shapely.box(west + back * turn, bottom - 1, west + (back + 1) * turn, top + 1)
        inside = shapely.get_parts(shapely.intersection(whole, window))
        moved_back = shapely.transform(inside, lambda p, x=back * turn: p - [x, 0.0])
        parts += [part for part in moved_back if part.geom_type == "Polygon"]
    return shapely.MultiPolygon(parts)


def _turns(way: np.ndarray, turn: float) -> np.ndarray:
    """Whole turns that bring points that lie so far west within half a turn."""
    return np.rint(way / turn)


def window_around(shapes: np.ndarray, crs: CRS, grid: Grid) -> Box | None:
    """Left, top, right and bottom of some shapes on a grid, None where they lie off it.

    The shapes lie in the plane ``crs``; a margin of some pixels is put around them.
    """
    there = grid.to_pixels(on_grid(shapes, crs, grid))
    west, north, east, south = np.nan_to_num(shapely.total_bounds(there), nan=-1.0)
    left, top = (max(int(np.floor(v)) - MARGIN_PIXELS, 0) for v in (west, north))
    right = min(int(np.ceil(east)) + MARGIN_PIXELS, grid.columns)
    bottom = min(int(np.ceil(south)) + MARGIN_PIXELS, grid.rows)
    is_there = east > 0 and south > 0 and west < grid.columns and north < grid.rows
    return (left, top, right, bottom) if is_there else None


def pixel_m(grid: Grid, shapes: np.ndarray, crs: CRS) -> float:
    """Longer side [m] of a pixel of the grid at the shapes, which lie in the plane ``crs``."""
    return max(pixel_sides_m(grid, shapes, crs))


def pixel_corners_m(grid: Grid, shapes: np.ndarray, crs: CRS) -> np.ndarray:
    """A pixel's way [m] to the east and to the north at the shapes, which lie in the plane ``crs``.

    Measured where the shapes are, so that grids in degrees need no rule of their own: in the middle
    of the one in their middle, so that a stray one far away does not move the place.
    """
    bounds = shapely.bounds(shapes[~shapely.is_empty(shapes)])
    middles = (bounds[:, :2] + bounds[:, 2:]) / 2
    to_grid = _transformer(crs.to_wkt(), grid.crs_wkt)
    places = np.column_stack(to_grid.transform(middles[:, 0], middles[:, 1]))
    shown = np.isfinite(places).all(axis=1)
    if not shown.any():
        return np.diag([grid.pixel_x, grid.pixel_y])
    off = np.where(shown, np.hypot(*(middles - np.median(middles[shown], axis=0)).T), np.inf)
    x, y = places[np.argmin(off)]
    px, py = to_grid.transform(
        [x, x + grid.pixel_x, x], [y, y, y + grid.pixel_y], direction="INVERSE"
    )
    return np.array([[px[i] - px[0], py[i] - py[0]] for i in (1, 2)])


def pixel_sides_m(grid: Grid, shapes: np.ndarray, crs: CRS) -> tuple[float, float]:
    """Width and height [m] of a pixel of the grid at the shapes, which lie in the plane ``crs``."""
    width, height = np.hypot(*pixel_corners_m(grid, shapes, crs).T)
    return float(width), float(height)


def pixel_m2(grid: Grid, shapes: np.ndarray, crs: CRS) -> float:
    """Ground [m²] that a pixel of the grid covers at the shapes, which lie in the plane ``crs``."""
    return abs(float(np.linalg.det(pixel_corners_m(grid, shapes, crs))))
