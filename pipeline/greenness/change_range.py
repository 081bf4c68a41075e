"""How far apart pixels change alike, read from two pictures, and what each unit's pixels are worth.

A change is judged against other units; this only tells how well one unit's own mean is known.
"""

import numpy as np
import pandas as pd

from pipeline.greenness.zone_ground import ZoneGround, ZoneWindow
from pipeline.pictures.autocorrelation import (
    PixelPairs,
    Range,
    effective_pixels,
    effective_pixels_of,
    fitted_range,
    pixel_pairs,
)
from pipeline.pictures.pictures import Picture

MOST_UNITS = 200
"""Of more units so many, spread over the list, tell the range: more would not change it."""


LARGEST_SIDE = 512
"""Units of more pixels a side are read thinned: pixels closer than that tell nothing new."""


def count_effective_pixels(
    before: Picture, after: Picture, ground: ZoneGround, pixels: np.ndarray,
    sides_m: tuple[float, float], fallback_m: float,
) -> pd.DataFrame:  # fmt: skip
    """Range of the change between two pictures on one grid, and each unit's effective pixels.

    ``pixels`` are the usable ones of each unit, ``sides_m`` the width and height of a pixel. Of
    very many units a part is read; the others are taken as squares.
    """
    windows = {
        number: window
        for number in range(len(pixels)) if (window := ground.window(number)) is not None
    }  # fmt: skip
    every = -(-len(windows) // MOST_UNITS) or 1
    read = {number: _pairs(windows[number], before, after, sides_m)
            for number in list(windows)[::every]}  # fmt: skip
    fitted = fitted_range(list(read.values()))
    used = fitted or Range(fallback_m)
    side_m = float(np.prod(sides_m)) ** 0.5
    return pd.DataFrame({
        "effective_pixels": [
            effective_pixels_of(read[number], used) if number in read
            else effective_pixels(count, side_m, used) for number, count in enumerate(pixels)
        ],
        "range_m": used.range_m, "alike_pct": 100.0 * (1.0 - fitted.nugget) if fitted else np.nan,
        "range_from": "setting" if fitted is None else "pictures",
    })  # fmt: skip


def assumed_effective_pixels(pixels: np.ndarray, pixel_m: float, fallback_m: float) -> pd.DataFrame:
    """The same where two pictures have no pixels in common, so that no range can be fitted."""
    assumed = Range(fallback_m)
    return pd.DataFrame({
        "effective_pixels": [effective_pixels(count, pixel_m, assumed) for count in pixels],
        "range_m": fallback_m, "alike_pct": np.nan, "range_from": "setting",
    })  # fmt: skip


def _pairs(
    window: ZoneWindow, before: Picture, after: Picture, sides: tuple[float, float]
) -> PixelPairs:
    """Pairs of the pixels of a unit by how far apart they are, and how alike they changed."""
    (top, bottom), columns = window.rows, window.columns
    every = -(-max(bottom - top, columns[1] - columns[0]) // LARGEST_SIDE)
    shares = window.shares(every)
    if every == 1:
        change = _change(before, after, (top, bottom), columns)
    else:
        rows = np.minimum(top + np.arange(len(shares)) * every + every // 2, bottom - 1)
        thin = [_change(before, after, (row, row + 1), columns) for row in rows.tolist()]
        across = np.arange(shares.shape[1]) * every + every // 2
        change = np.concatenate(thin)[:, np.minimum(across, columns[1] - columns[0] - 1)]
    return pixel_pairs(change, shares, (sides[0] * every, sides[1] * every))


def _change(
    before: Picture, after: Picture, rows: tuple[int, int], columns: tuple[int, int]
) -> np.ndarray:
    """Change of the pixels usable both times, NaN elsewhere."""
    old, new = (picture.read("ndvi", *rows, [columns]) for picture in (before, after))
    return np.where(old.usable & new.usable, new.value - old.value, np.nan)
