"""How many independent pixels a unit's pixels are worth.

Neighboring pixels are alike, so that a mean over many of them is no better known than one over a
few far apart. This is the precision of one unit's mean on one day. It says nothing about burned
against unburned ground: see ``greenness``.
"""

import numpy as np

EDGE_PIXELS = 400
"""Blocks are reckoned on at most so many pixels a side; what counts is area by range squared."""


def correlation(distance_m: np.ndarray, range_m: float, nugget: float = 0.0) -> np.ndarray:
    """Correlation of two pixels so far apart: (1 − nugget)·exp(−3·distance/range), 1 at zero."""
    decay = (1.0 - nugget) * np.exp(-3.0 * np.asarray(distance_m) / range_m)
    return np.where(np.asarray(distance_m) == 0, 1.0, decay)


def effective_pixels_of_block(
    rows: int, columns: int, pixel_m: float, range_m: float, nugget: float = 0.0
) -> float:
    """Independent pixels that a block of pixels is worth for its mean: n² by the sum of ρ.

    *Source*: N. Cressie, Statistics for Spatial Data (1993), section 1.3 (section from
    memory, to be checked), summed by lags.
    """
    i, j = np.arange(1 - rows, rows), np.arange(1 - columns, columns)
    pairs = np.outer(rows - np.abs(i), columns - np.abs(j))
    distance = pixel_m * np.hypot(i[:, None], j[None, :])
    return float((rows * columns) ** 2 / (pairs * correlation(distance, range_m, nugget)).sum())


def effective_pixels(pixels: float, pixel_m: float, range_m: float, nugget: float = 0.0) -> float:
    """Independent pixels that a unit of so many pixels is worth, taken as a square."""
    side = float(np.sqrt(max(pixels, 0.0)))
    if side < 1.0:
        return float(pixels)
    count = min(round(side), EDGE_PIXELS)
    return effective_pixels_of_block(count, count, pixel_m * side / count, range_m, nugget)
