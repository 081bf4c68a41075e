"""How many independent pixels a unit's pixels are worth.

Neighboring pixels are alike, so that a mean over many of them is no better known than one over a
few far apart. This is the precision of one unit's mean on one day. It says nothing about burned
against unburned ground: see ``greenness``.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

EDGE_PIXELS = 400
"""Blocks are reckoned on at most so many pixels a side; what counts is area by range squared."""


LEAST_LAGS = 10
"""Distances needed to fit a range; common practice, no source."""


LEAST_PAIRS = 30.0
"""Pairs of pixels that make a distance count; common practice in fitting variograms, no source."""


RANGES_TRIED = 400


REACH = 10.0
"""Ranges are looked for from a pixel's side to so many times the largest distance."""


HARDLY_ALIKE = 0.9
"""With a nugget above this pixels have so little in common that its range does not matter."""


ROUNDS = 8
"""Times that the fit is mended for what taking off each unit's mean hides: it settles by then."""


@dataclass(frozen=True, slots=True)
class Range:
    """Distance [m] beyond which pixels are hardly alike, and the part in which neighbors differ."""

    range_m: float
    nugget: float = 0.0


@dataclass(frozen=True, slots=True)
class PixelPairs:
    """All pairs of a unit's pixels, in classes of like distance; the first is each with itself.

    ``distance_m`` is the mean distance of each class, ``weight`` the sum of the products of the
    pixels' weights, ``product`` that of their weighted departures from the unit's mean. ``side_m``
    is the side of a square as large as the unit, ``step_m`` the width of a class.
    """

    distance_m: np.ndarray
    weight: np.ndarray
    product: np.ndarray
    side_m: float
    step_m: float


def correlation(distance_m: np.ndarray, fitted: Range) -> np.ndarray:
    """Correlation of two pixels so far apart: (1 − nugget)·exp(−3·distance/range), 1 at zero."""
    decay = (1.0 - fitted.nugget) * np.exp(-3.0 * np.asarray(distance_m) / fitted.range_m)
    return np.where(np.asarray(distance_m) == 0, 1.0, decay)


def effective_pixels_of_block(rows: int, columns: int, pixel_m: float, fitted: Range) -> float:
    """Independent pixels that a block of pixels is worth for its mean: n² by the sum of ρ.

    *Source*: N. Cressie, Statistics for Spatial Data (1993), section 1.3 (section from
    memory, to be checked), summed by lags.
    """
    i, j = np.arange(1 - rows, rows), np.arange(1 - columns, columns)
    pairs = np.outer(rows - np.abs(i), columns - np.abs(j))
    distance = pixel_m * np.hypot(i[:, None], j[None, :])
    return float((rows * columns) ** 2 / (pairs * correlation(distance, fitted)).sum())


def effective_pixels(pixels: float, pixel_m: float, fitted: Range) -> float:
    """Independent pixels that a unit of so many pixels is worth, taken as a square."""
    side = float(np.sqrt(max(pixels, 0.0)))
    if side < 1.0:
        return float(pixels)
    count = min(round(side), EDGE_PIXELS)
    return effective_pixels_of_block(count, count, pixel_m * side / count, fitted)


def effective_pixels_of(pairs: PixelPairs, fitted: Range) -> float:
    """Independent pixels that a unit's pixels are worth, in the shape that it has.

    (Σw)² by Σ w·w·ρ over all pairs.
    """
    total = float(pairs.weight.sum())
    if total == 0.0:
        return 0.0
    return total / float((pairs.weight * correlation(pairs.distance_m, fitted)).sum())


def pixel_pairs(
    values: np.ndarray, weights: np.ndarray, pixel_m: tuple[float, float]
) -> PixelPairs:
    """Pairs of the pixels of one unit, from rasters of values and weights over its bounds.

    ``pixel_m`` is the width and height of a pixel. Pixels that are not used have a weight of 0.
    All pairs are summed at once as the correlation of the raster with itself.
    """
    weights = np.where(np.isfinite(values), weights, 0.0)
    total = float(weights.sum())
    mean = float((weights * np.nan_to_num(values)).sum()) / total if total else 0.0
    departures = weights * (np.nan_to_num(values) - mean)
    rows, columns = weights.shape
    shape = [1 << (2 * n - 1).bit_length() for n in (rows, columns)]
    row, column = (np.minimum(np.arange(n), n - np.arange(n)) for n in shape)
    apart = np.hypot(row[:, None] * pixel_m[1], column[None, : shape[1] // 2 + 1] * pixel_m[0])
    near = (row[:, None] < rows) & (column[None, : shape[1] // 2 + 1] < columns)
    twice = np.where((column[: shape[1] // 2 + 1] % (shape[1] // 2)) == 0, 1.0, 2.0)
    number = np.rint(apart[near] / min(pixel_m)).astype(np.int64)
    share = np.broadcast_to(twice, near.shape)[near]

    def summed(raster: np.ndarray, by: np.ndarray | float = 1.0) -> np.ndarray:
        power = np.abs(np.fft.rfft2(raster, shape)) ** 2
        lagged = np.fft.irfft2(power, shape)[:, : shape[1] // 2 + 1][near]
        return np.bincount(number, weights=lagged * share * by)

    weight = summed(weights).clip(0.0)
    distance = np.divide(
        summed(weights, apart[near]), weight, out=np.zeros_like(weight), where=weight > 1e-9
    )
    side_m = float(np.sqrt(total * pixel_m[0] * pixel_m[1]))
    return PixelPairs(distance, weight, summed(departures), side_m, min(pixel_m))


def fitted_range(units: Sequence[PixelPairs]) -> Range | None:
    """Range and nugget of the correlation of pixels, from the pairs within each of some units.

    Weighted least squares of an exponential on distances up to half a unit's side; None with too
    few of them. Taking off each unit's own mean hides the part in which all its pixels are alike;
    it is put back by what the fit itself says the variance of those means is.
    """
    if not units:
        return None
    # Units that were thinned have wider classes: pairs are pooled by their distance.
    step_m = min(unit.step_m for unit in units)
    used = [unit.distance_m <= unit.side_m / 2 for unit in units]
    apart, weights, products = (
        np.concatenate([getattr(unit, name)[near] for unit, near in zip(units, used, strict=True)])
        for name in ("distance_m", "weight", "product")
    )
    number = np.rint(apart / step_m).astype(np.int64)
    weight, product, distance = (
        np.bincount(number, weights=summed).astype(float)
        for summed in (weights, products, weights * apart)
    )
    usable = weight >= LEAST_PAIRS
    if usable[1:].sum() < LEAST_LAGS or product[0] <= 0:
        return None
    distance, covariance = distance[usable] / weight[usable], product[usable] / weight[usable]
    lags, observed, trust = distance[1:], covariance[1:] / covariance[0], weight[usable][1:]
    pixels = np.array([unit.weight[0] for unit in units])
    longest_m = REACH * lags[-1]
    fitted = _exponential(lags, observed, trust)
    for _ in range(ROUNDS):
        worth = np.array([max(effective_pixels_of(unit, fitted), 1.0) for unit in units])
        hidden = float((pixels / worth).sum() / pixels.sum())
        fitted = _exponential(lags, observed * (1.0 - hidden) + hidden, trust)
    # Alike to the end of the search: a slope across the units, of which nobody knows the range.
    endless = fitted.range_m > 0.99 * longest_m and fitted.nugget < HARDLY_ALIKE
    return None if endless else fitted


def _exponential(lags: np.ndarray, observed: np.ndarray, trust: np.ndarray) -> Range:
    """Range and nugget that come closest, of ranges tried in equal steps of their logarithm."""
    ranges = np.geomspace(lags[0], REACH * lags[-1], RANGES_TRIED)
    shapes = np.exp(-3.0 * lags / ranges[:, None])
    heights = (shapes * (trust * observed)).sum(axis=1) / (shapes**2 * trust).sum(axis=1)
    heights = heights.clip(0.0, 1.0)
    misses = (trust * (heights[:, None] * shapes - observed) ** 2).sum(axis=1)
    best = int(np.argmin(misses))
    return Range(float(ranges[best]), 1.0 - float(heights[best]))
