"""A sample of the numbers of a picture around the units: what one look at its pixels shows."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from pipeline.pictures.raster_grid import Grid
from pipeline.pictures.scene_rasters import SceneRaster

MOST_UNITS = 8
"""Units that are looked at, spread over their list."""

STRIPS, STRIP_ROWS, COLUMNS = 4, 8, 512
"""Strips of rows looked at in each, spread from its top to its foot, and columns in its middle."""

NEAR_VALUES = 5
"""Values on each side of the commonest one that tell how common a value is."""


@dataclass(frozen=True, slots=True)
class Commonest:
    """The number that most pixels hold, their share, and how much commoner than those near it.

    ``times`` is infinite where no other number is there.
    """

    number: float
    share_pct: float
    times: float


@dataclass(frozen=True, slots=True)
class PictureSample:
    """What a sample shows: the commonest stored number, and what a quality raster has no data for.

    ``unmarked_pct`` is the share of the picture's data that is lost by the quality raster's own
    sign for no data, which its rule would keep. None or NaN where there are no pixels.
    """

    pixels: int
    commonest: Commonest | None
    unmarked_pct: float


def shown(grid: Grid, zones: np.ndarray) -> np.ndarray:
    """Whether a grid holds all of each zone, given in its CRS."""
    left, top, right, bottom = shapely.bounds(grid.to_pixels(zones)).T
    return (left >= 0) & (top >= 0) & (right <= grid.columns) & (bottom <= grid.rows)


def picture_sample(raster: SceneRaster, zones: np.ndarray) -> PictureSample:
    """Sample of a raster around zones, given in its CRS."""
    samples = [raster.sample(rows, [columns]) for rows, columns in _windows(raster.grid, zones)]
    if not samples:
        return PictureSample(0, None, np.nan)
    numbers = np.concatenate([sample.numbers for sample in samples])
    data = sum(sample.data for sample in samples)
    unmarked = sum(sample.unmarked for sample in samples)
    share = 100.0 * unmarked / data if data else np.nan
    return PictureSample(len(numbers), commonest(numbers), share)


def commonest(numbers: np.ndarray) -> Commonest | None:
    """The commonest of some numbers, None of none."""
    if not len(numbers):
        return None
    values, counts = np.unique(numbers, return_counts=True)
    top = int(np.argmax(counts))
    near = np.delete(counts, top)[max(top - NEAR_VALUES, 0) : top + NEAR_VALUES]
    times = float(counts[top] / near.max()) if len(near) else np.inf
    return Commonest(float(values[top]), 100.0 * counts[top] / len(numbers), times)


def _windows(grid: Grid, zones: np.ndarray) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
    """Rows and columns in the middle of some zones, as far as they lie on a grid."""
    bounds = np.nan_to_num(shapely.bounds(grid.to_pixels(zones)), nan=-1.0)
    left, top = np.floor(bounds[:, :2].T).clip(0).astype(int)
    right, bottom = np.ceil(bounds[:, 2:].T).astype(int)
    right, bottom = np.minimum(right, grid.columns), np.minimum(bottom, grid.rows)
    there = np.flatnonzero((right > left) & (bottom > top))
    for n in there[:: -(-len(there) // MOST_UNITS) or 1]:
        columns = _middle(left[n], right[n], COLUMNS)
        yield from ((rows, columns) for rows in _strips(int(top[n]), int(bottom[n])))


def _strips(top: int, bottom: int) -> list[tuple[int, int]]:
    """Strips of rows spread over a zone, or all of its rows where these are hardly more."""
    rows = bottom - top
    if rows <= STRIPS * STRIP_ROWS:
        return [(top, bottom)]
    edges = np.linspace(top, bottom, STRIPS + 1).astype(int).tolist()
    return [_middle(first, end, STRIP_ROWS) for first, end in pairwise(edges)]


def _middle(first: int, end: int, most: int) -> tuple[int, int]:
    """The middle of a run of rows or columns, of at most so many."""
    start = int(first) + max(int(end - first) - most, 0) // 2
    return start, min(start + most, int(end))
