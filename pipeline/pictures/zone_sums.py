"""Sums of pixels over zones, each pixel counted by the share of it that a zone covers.

The outlines are cut where they cross the lines between pixels. A piece of outline in the pixel
at row r and column c, which goes down by dy at a mean distance ``right`` from the pixel's right
side, covers dy·right of its own pixel and dy of every pixel to the right of that. Down and up
cancel in every row of a closed outline, so the sum over a zone of a raster v is the sum over its
pieces of dy·(right·v[r, c] − S[r, c + 1]), where S is the running sum of v along the row. Holes,
separate parts, overlapping zones and zones that hang over the raster's edge need no care, and no
pixel inside a zone is ever looked at twice.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

CHUNK_PIXELS = 1 << 18
"""Pixels worked on at a time: running sums of this many stay in the processor's cache."""


GAP_COLUMNS = 64
"""Columns between two zones that are read rather than jumped over."""


LEVEL_PIXELS = 1e-15
"""Edges that rise less than this are level: they bound nothing to their right."""


Spans = Sequence[tuple[int, int]]


Rows = Callable[[int, int], Sequence[np.ndarray]]
"""Gives the rasters to be summed for some rows of a band, ``(first, end)`` counted within it."""


Place = Callable[[np.ndarray], np.ndarray]
"""Takes points, one a row, of the zones to pixel coordinates, straight edges to straight ones."""


ReadBand = Callable[[int, int, Spans], Rows]
"""Reads rows ``first`` to ``end`` of the columns of the spans, which stand side by side."""


@dataclass(frozen=True, slots=True)
class Edges:
    """Straight edges of zones in pixel coordinates (x to the right, y down), none horizontal."""

    zone: np.ndarray
    x0: np.ndarray
    y0: np.ndarray
    x1: np.ndarray
    y1: np.ndarray

    def where(self, chosen: np.ndarray) -> "Edges":
        """The chosen edges only."""
        return Edges(
            self.zone[chosen], self.x0[chosen], self.y0[chosen], self.x1[chosen], self.y1[chosen]
        )

    def in_rows(self, first: int, end: int) -> "Edges":
        """Edges that reach into some rows."""
        low, high = np.minimum(self.y0, self.y1), np.maximum(self.y0, self.y1)
        return self.where((high > first) & (low < end))


@dataclass(frozen=True, slots=True)
class Pieces:
    """Edges cut at the lines between pixels: one piece a pixel. ``down`` is negative going up."""

    zone: np.ndarray
    row: np.ndarray
    column: np.ndarray
    down: np.ndarray
    right: np.ndarray


def as_they_are(points: np.ndarray) -> np.ndarray:
    """Points of zones that are given in pixel coordinates."""
    return points


def edges_of(zones: np.ndarray, place: Place = as_they_are) -> Edges:
    """Edges of polygons, in pixel coordinates; shells and holes turn opposite ways."""
    parts, part_zone = shapely.get_parts(zones, return_index=True)
    rings, ring_part = shapely.get_rings(parts, return_index=True)
    points, point_ring = shapely.get_coordinates(rings, return_index=True)
    x, y = place(points).T
    ring = point_ring[:-1]
    edge = np.flatnonzero(point_ring[1:] == ring)
    ring, following = ring[edge], edge + 1
    first = np.searchsorted(point_ring, ring)
    left, top = x[first], y[first]  # near a ring its area is not lost to rounding
    turn = (x[edge] - left) * (y[following] - top) - (x[following] - left) * (y[edge] - top)
    is_shell = np.diff(ring_part, prepend=-1) != 0
    turns_right = np.bincount(ring, weights=turn, minlength=len(rings)) > 0
    turned = (turns_right == is_shell)[ring]
    start, end = np.where(turned, following, edge), np.where(turned, edge, following)
    slanted = np.abs(y[end] - y[start]) > LEVEL_PIXELS
    start, end = start[slanted], end[slanted]
    zone = part_zone[ring_part[ring[slanted]]]
    return Edges(zone, x[start], y[start], x[end], y[end])


def pieces_of(edges: Edges, *, rows: tuple[int, int], width: int) -> Pieces:
    """Pieces of the edges in rows ``rows`` of a raster ``width`` columns wide.

    What lies left of the raster is put in column −1, what lies right of it in column ``width``.
    """
    low, high = np.minimum(edges.y0, edges.y1), np.maximum(edges.y0, edges.y1)
    low, high = np.clip(low, *rows), np.clip(high, *rows)
    first = np.floor(low).astype(np.int64)
    count = np.maximum(np.ceil(high).astype(np.int64) - first, 0)
    edge, step = _repeated(count)
    row = first[edge] + step
    top, bottom = np.maximum(low[edge], row), np.minimum(high[edge], row + 1)
    slope = ((edges.x1 - edges.x0) / (edges.y1 - edges.y0))[edge]
    x0, y0 = edges.x0[edge], edges.y0[edge]
    # Rounding must not carry a piece beyond its edge's ends, where nothing may have been read.
    ends = np.minimum(x0, edges.x1[edge]), np.maximum(x0, edges.x1[edge])
    x_top, x_bottom = (np.clip(x0 + (y - y0) * slope, *ends) for y in (top, bottom))
    down = np.where((edges.y1 > edges.y0)[edge], bottom - top, top - bottom)
    sides = np.minimum(x_top, x_bottom), np.maximum(x_top, x_bottom)
    return _cut_at_columns(edges.zone[edge], row, sides, down, width)


def _cut_at_columns(
    zone: np.ndarray,
    row: np.ndarray,
    ends: tuple[np.ndarray, np.ndarray],
    down: np.ndarray,
    width: int,
) -> Pieces:
    """Pieces of edges that each lie in one row, between a left and a right end."""
    left, right = ends
    first = np.clip(np.floor(left), -1, width).astype(np.int64)
    last = np.clip(np.ceil(right) - 1, first, width).astype(np.int64)
    many = last > first
    if not many.any():
        return Pieces(zone, row, first, down, first + 1 - (left + right) / 2)
    piece, step = _repeated(last - first + 1)
    column = first[piece] + step
    low = np.where(column == -1, left[piece], np.maximum(left[piece], column))
    high = np.where(column == width, right[piece], np.minimum(right[piece], column + 1))
    reach = (right - left)[piece]
    share = np.divide(high - low, reach, out=np.ones_like(reach), where=many[piece])
    return Pieces(
        zone[piece], row[piece], column, down[piece] * share, column + 1 - (low + high) / 2
    )


def _repeated(count: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Index of each thing, repeated ``count`` times, and the number of each repetition from 0."""
    index = np.repeat(np.arange(len(count)), count)
    start = np.cumsum(count) - count
    return index, np.arange(len(index)) - start[index]


def covered_shares(edges: Edges, *, rows: tuple[int, int], width: int) -> np.ndarray:
    """Share [0 to 1] of each pixel of rows ``rows`` that the zone of the edges covers."""
    pieces = pieces_of(edges.in_rows(*rows), rows=rows, width=width)
    row = pieces.row - rows[0]
    inside = (pieces.column >= 0) & (pieces.column < width)
    in_pixel = np.zeros((rows[1] - rows[0], width + 1))
    np.add.at(in_pixel, (row[inside], pieces.column[inside]), (pieces.down * pieces.right)[inside])
    onward = np.zeros_like(in_pixel)
    np.add.at(onward, (row, np.clip(pieces.column + 1, 0, width)), pieces.down)
    return np.clip((in_pixel + np.cumsum(onward, axis=1))[:, :width], 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class PixelGrid:
    """Raster that is summed over zones: its rows and columns, and where the zones lie on it.

    ``place`` takes points of the zones to pixel coordinates. ``row_sizes`` is what a pixel of each
    row counts for; None where all count alike.
    """

    shape: tuple[int, int]
    place: Place = as_they_are
    row_sizes: np.ndarray | None = None


def sum_by_zone(
    zones: np.ndarray, *, grid: PixelGrid, band_rows: int, rasters: int, read: ReadBand
) -> np.ndarray:
    """Coverage-weighted sum of each raster over each polygon: an array (rasters, zones).

    Read in bands of ``band_rows`` rows, only where zones lie, each pixel once.
    """
    sums = np.zeros((rasters, len(zones)))
    if len(zones) == 0:
        return sums
    left, top, right, bottom = _pixel_bounds(zones, grid)
    on_raster = (right > left) & (bottom > top)
    for first in range(0, grid.shape[0], band_rows):
        there = np.flatnonzero(on_raster & (top < first + band_rows) & (bottom > first))
        if len(there) == 0:
            continue
        rows = (
            int(max(first, top[there].min())),
            int(min(first + band_rows, bottom[there].max())),
        )
        spans, starts, shifts = _side_by_side(left[there], right[there])
        # Edges of all zones at once would be the largest thing in memory.
        in_band = edges_of(zones[there], grid.place).in_rows(*rows)
        band = _Band(grid, rows, spans, starts, shifts)
        sums[:, there] += _band_sums(band, in_band, rasters, read)
    return sums


def _pixel_bounds(zones: np.ndarray, grid: PixelGrid) -> np.ndarray:
    """First column and row, and the ones after the last, that each zone touches on the raster.

    An edge on the line between two pixels belongs to the right one, which is read as well.
    """
    height, width = grid.shape
    bounds = shapely.bounds(zones)
    corners = np.array([grid.place(bounds[:, :2]), grid.place(bounds[:, 2:])])
    corners = np.nan_to_num(corners, nan=-1.0)
    (left, top), (right, bottom) = corners.min(axis=0).T, corners.max(axis=0).T
    columns = [np.floor(edge).clip(0, width) for edge in (left, right + 1)]
    rows = [np.floor(top).clip(0, height), np.ceil(bottom).clip(0, height)]
    return np.array([columns[0], rows[0], columns[1], rows[1]])


@dataclass(frozen=True, slots=True)
class _Band:
    """Rows read together: the spans of columns side by side, and where each zone's span went.

    ``starts`` is the first column of each zone's span, ``shifts`` what takes a column of the
    raster to its place among the spans.
    """

    grid: PixelGrid
    rows: tuple[int, int]
    spans: list[tuple[int, int]]
    starts: np.ndarray
    shifts: np.ndarray


def _side_by_side(
    left: np.ndarray, right: np.ndarray
) -> tuple[list[tuple[int, int]], np.ndarray, np.ndarray]:
    """Spans of columns that hold the zones, and each zone's span start and shift."""
    order = np.argsort(left, kind="stable")
    reach = np.maximum.accumulate(right[order])
    opens = np.concatenate([[True], left[order][1:] > reach[:-1] + GAP_COLUMNS])
    starts = left[order][opens].astype(np.int64)
    ends = reach[np.concatenate([opens[1:], [True]])].astype(np.int64)
    before = np.concatenate([[0], np.cumsum(ends - starts)[:-1]])
    span = np.empty(len(left), dtype=np.int64)
    span[order] = np.cumsum(opens) - 1
    spans = list(zip(starts.tolist(), ends.tolist(), strict=True))
    return spans, starts[span], (before - starts)[span]


def _band_sums(band: _Band, edges: Edges, rasters: int, read: ReadBand) -> np.ndarray:
    """Sums over one band for its zones, some rows at a time."""
    zones = len(band.starts)
    sums = np.zeros((rasters, zones))
    first, end = band.rows
    rows = read(first, end, band.spans)
    columns = sum(stop - start for start, stop in band.spans)
    width, row_sizes = band.grid.shape[1], band.grid.row_sizes
    step = max(1, CHUNK_PIXELS // columns)
    for low in range(first, end, step):
        high = min(low + step, end)
        pieces = pieces_of(edges.in_rows(low, high), rows=(low, high), width=width)
        down = pieces.down if row_sizes is None else pieces.down * row_sizes[pieces.row]
        inside = (pieces.column >= 0) & (pieces.column < width)
        place = np.clip(pieces.column, 0, width - 1) + band.shifts[pieces.zone]
        row = pieces.row - low
        pixel = row * columns + place
        # A piece beyond the right edge lies behind the last column, one beyond the left edge
        # before the first.
        onward = row * (columns + 1) + place + (pieces.column >= 0)
        pixel_weight = np.where(inside, down * pieces.right, 0.0)
        for number, raster in enumerate(rows(low - first, high - first)):
            # Whole numbers are added exactly, and four times as fast as others.
            kind = float if raster.dtype.kind == "f" else np.int64
            running = np.zeros((high - low, columns + 1), kind)
            np.cumsum(raster, axis=1, out=running[:, 1:])
            share = pixel_weight * raster.ravel()[pixel] - down * running.ravel()[onward]
            sums[number] += np.bincount(pieces.zone, weights=share, minlength=zones)
    return sums
