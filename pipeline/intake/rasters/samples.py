"""A few numbers of a large raster, spread over it, without reading all of it."""

import numpy as np
from rasterio.io import DatasetReader
from rasterio.windows import Window

SAMPLE_PIXELS = 512
"""A raster is looked at thinned to about so many pixels a side."""

THINNED_PIXELS = 1 << 22
"""A raster of more pixels is not read whole to be thinned, unless smaller copies are in it."""

PLACES = 8
"""Blocks looked at in each direction of a larger raster."""

BLOCK_ROWS, BLOCK_COLUMNS = 32, 512


def sampled_numbers(raster: DatasetReader, bands: list[int]) -> np.ndarray:
    """Stored numbers of a sample of pixels that the file counts as data: decimals, all finite."""
    if not _is_quickly_thinned(raster, bands[0]):
        parts = [raster.read(bands, window=w, masked=True).compressed() for w in _windows(raster)]
        if len(numbers := _finite(np.concatenate(parts))):
            return numbers
    step = max(1, max(raster.shape) // SAMPLE_PIXELS)
    shape = (len(bands), max(1, raster.height // step), max(1, raster.width // step))
    return _finite(raster.read(bands, out_shape=shape, masked=True).compressed())


def _finite(numbers: np.ndarray) -> np.ndarray:
    """The finite ones of some numbers, as decimals."""
    decimals = numbers.astype(float)
    return decimals[np.isfinite(decimals)]


def _is_quickly_thinned(raster: DatasetReader, band: int) -> bool:
    """Whether a thinned copy of the raster costs little: it is small, or has such copies."""
    thinned_by = max(raster.overviews(band), default=1)
    return raster.width * raster.height / thinned_by**2 <= THINNED_PIXELS


def _windows(raster: DatasetReader) -> list[Window]:
    """Corners of blocks that are spread over a raster."""
    block_rows, block_columns = raster.block_shapes[0]
    rows, columns = (
        np.unique(np.linspace(0, (size - 1) // block, PLACES).astype(int)) * block
        for size, block in ((raster.height, block_rows), (raster.width, block_columns))
    )
    height, width = min(block_rows, BLOCK_ROWS), min(block_columns, BLOCK_COLUMNS)
    return [
        Window(left, top, min(width, raster.width - left), min(height, raster.height - top))
        for top in rows.tolist()
        for left in columns.tolist()
    ]
