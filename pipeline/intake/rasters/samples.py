"""A few numbers of a large raster, spread over it, without reading all of it."""

from collections.abc import Iterable

import numpy as np
from rasterio.io import DatasetReader
from rasterio.windows import Window

SAMPLE_PIXELS = 512
"""A raster is looked at thinned to about so many pixels a side."""

THINNED_PIXELS = 1 << 22
"""A raster of more pixels is not read whole to be thinned, unless smaller copies are in it."""

PLACES = 8
"""Blocks looked at in each direction of a larger raster."""

FINER_PLACES = 32
"""The same where these have no numbers and the file does not tell which blocks have."""

BLOCK_ROWS, BLOCK_COLUMNS = 32, 512

BLOCK_SAMPLE = 128
"""Pixels a side that a whole block is thinned to."""


def sampled_numbers(raster: DatasetReader, bands: list[int]) -> np.ndarray:
    """Stored numbers of a sample of pixels that the file counts as data: decimals, all finite.

    None where none are found: however large a raster is, and however little of it is filled, no
    more is read of it than some blocks.
    """
    if not _is_quickly_thinned(raster, bands[0]):
        numbers = _numbers_in(raster, bands, _spread(raster, PLACES))
        return numbers if len(numbers) else _numbers_in(raster, bands, _filled(raster, bands[0]))
    step = max(1, max(raster.shape) // SAMPLE_PIXELS)
    shape = (len(bands), max(1, raster.height // step), max(1, raster.width // step))
    return _finite(raster.read(bands, out_shape=shape, masked=True).compressed())


def _numbers_in(raster: DatasetReader, bands: list[int], windows: Iterable[Window]) -> np.ndarray:
    """Numbers in some windows, the larger ones thinned."""
    parts = [np.empty(0)]
    for window in windows:
        shape = (len(bands), window.height, window.width)
        if window.height * window.width > BLOCK_ROWS * BLOCK_COLUMNS:
            shape = (len(bands), *(min(side, BLOCK_SAMPLE) for side in shape[1:]))
        stored = raster.read(bands, window=window, out_shape=shape, masked=True)
        parts.append(_finite(stored.compressed()))
    return np.concatenate(parts)


def _finite(numbers: np.ndarray) -> np.ndarray:
    """The finite ones of some numbers, as decimals."""
    decimals = numbers.astype(float)
    return decimals[np.isfinite(decimals)]


def _is_quickly_thinned(raster: DatasetReader, band: int) -> bool:
    """Whether a thinned copy of the raster costs little: it is small, or has such copies."""
    thinned_by = max(raster.overviews(band), default=1)
    return raster.width * raster.height / thinned_by**2 <= THINNED_PIXELS


def _spread(raster: DatasetReader, places: int) -> list[Window]:
    """Corners of blocks that are spread over a raster."""
    rows, columns = (
        np.unique(np.linspace(0, count - 1, places).astype(int)) for count in _block_counts(raster)
    )
    return [_block(raster, r, c, whole=False) for r in rows.tolist() for c in columns.tolist()]


def _filled(raster: DatasetReader, band: int) -> list[Window]:
    """Blocks spread over those of a GeoTIFF that hold something; many of another format.

    A block that was never written has no bytes, and one without data takes the fewest.
    """
    if raster.driver != "GTiff":
        return _spread(raster, FINER_PLACES)
    rows, columns = _block_counts(raster)
    places = [(row, column) for row in range(rows) for column in range(columns)]
    told = (raster.get_tag_item(f"BLOCK_SIZE_{c}_{r}", "TIFF", bidx=band) for r, c in places)
    sizes = np.array([int(size or 0) for size in told])
    there = np.flatnonzero(sizes > sizes.min())
    if not len(there):
        there = np.arange(len(places))
    chosen = np.unique(np.linspace(0, len(there) - 1, PLACES**2).astype(int))
    return [_block(raster, *places[number], whole=True) for number in there[chosen].tolist()]


def _block_counts(raster: DatasetReader) -> tuple[int, int]:
    """Blocks of a raster from north to south and from west to east."""
    block_rows, block_columns = raster.block_shapes[0]
    return -(-raster.height // block_rows), -(-raster.width // block_columns)


def _block(raster: DatasetReader, row: int, column: int, *, whole: bool) -> Window:
    """A block by its number in each direction, or the corner of it."""
    height, width = raster.block_shapes[0]
    top, left = row * height, column * width
    if not whole:
        height, width = min(height, BLOCK_ROWS), min(width, BLOCK_COLUMNS)
    return Window(left, top, min(width, raster.width - left), min(height, raster.height - top))
