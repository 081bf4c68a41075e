"""How far apart pixels change alike, read from two pictures, and what each unit's pixels are worth.

A change is judged against other units; this only tells how well one unit's own mean is known.
"""

import numpy as np
import pandas as pd

from pipeline.pictures.autocorrelation import (
    PixelPairs,
    Range,
    effective_pixels,
    effective_pixels_of,
    fitted_range,
    pixel_pairs,
)
from pipeline.pictures.mosaics import MosaicPair
from pipeline.pictures.zone_ground import ZoneGround, ZoneWindow

MOST_UNITS = 200
"""Of more units so many, spread over the list, tell the range: more would not change it."""


LARGEST_SIDE = 512
"""Units of more pixels a side are read thinned: pixels closer than that tell nothing new."""


def count_effective_pixels(
    pair: MosaicPair,
    ground: ZoneGround,
    pixels: np.ndarray,
    sides_m: tuple[float, float],
    fallback_m: float,
) -> pd.DataFrame:
    """Range of the change between two pictures on one grid, and each unit's effective pixels.

    ``pixels`` are the usable ones of each unit, ``sides_m`` the width and height of a pixel. Of
    very many units a part is read; the others are taken as squares.
    """
    numbers = range(len(pixels))
    windows = {n: window for n in numbers if (window := ground.window(n)) is not None}
    every = -(-len(windows) // MOST_UNITS) or 1
    read = {n: _pairs(windows[n], pair, sides_m) for n in list(windows)[::every]}
    fitted = fitted_range(list(read.values()))
    used = fitted or Range(fallback_m)
    side_m = float(np.prod(sides_m)) ** 0.5
    worth = [
        effective_pixels_of(read[n], used) if n in read else effective_pixels(count, side_m, used)
        for n, count in enumerate(pixels)
    ]
    return _range_columns(worth, used, fitted)


def assumed_effective_pixels(pixels: np.ndarray, pixel_m: float, fallback_m: float) -> pd.DataFrame:
    """Effective pixels where two pictures share no pixels, so that no range can be fitted."""
    assumed = Range(fallback_m)
    return _range_columns([effective_pixels(n, pixel_m, assumed) for n in pixels], assumed, None)


def _range_columns(worth: list[float], used: Range, fitted: Range | None) -> pd.DataFrame:
    """Effective pixels of each unit, the range they rest on, and whether it could be fitted."""
    return pd.DataFrame(
        {
            "effective_pixels": worth,
            "range_m": used.range_m,
            "alike_pct": 100.0 * (1.0 - fitted.nugget) if fitted else np.nan,
            "range_from": "setting" if fitted is None else "pictures",
        }
    )


def _pairs(window: ZoneWindow, pair: MosaicPair, sides: tuple[float, float]) -> PixelPairs:
    """Pairs of the pixels of a unit by how far apart they are, and how alike they changed."""
    (top, bottom), columns = window.rows, window.columns
    every = -(-max(bottom - top, columns[1] - columns[0]) // LARGEST_SIDE)
    shares = window.shares(every)
    if every == 1:
        change = _change(pair, (top, bottom), columns)
    else:
        rows = np.minimum(top + np.arange(len(shares)) * every + every // 2, bottom - 1)
        thin = [_change(pair, (row, row + 1), columns) for row in rows.tolist()]
        across = np.arange(shares.shape[1]) * every + every // 2
        change = np.concatenate(thin)[:, np.minimum(across, columns[1] - columns[0] - 1)]
    return pixel_pairs(change, shares, (sides[0] * every, sides[1] * every))


def _change(pair: MosaicPair, rows: tuple[int, int], columns: tuple[int, int]) -> np.ndarray:
    """Change of the pixels usable both times, NaN elsewhere."""
    old, new = (mosaic.read("ndvi", *rows, [columns]) for mosaic in pair)
    return np.where(old.usable & new.usable, new.value - old.value, np.nan)
