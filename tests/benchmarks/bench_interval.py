"""How often the interval around a unit's change holds, for units and pixels that are alike.

    python tests/benchmarks/bench_interval.py --draws 40000

Made units of 40 acres with pixels of 20 m, whose changes are correlated over 195 m (exponential),
and which differ from each other by a spread of their own. No burn does anything, so the interval
must hold zero in 95 of 100 draws. Beside it: an interval from the pixels alone, taken as
independent, and one from their effective number, as if units did not differ.
"""

import argparse
import json

import numpy as np

from pipeline.greenness.differences import change_against, half_width
from pipeline.pictures.autocorrelation import Range, correlation, effective_pixels_of_block

SIDE, PIXEL_M, PIXEL_SD = 20, 20.0, 0.05
ALIKE = Range(195.0)
REFERENCES = (3, 5, 8)
ZONE_SPREADS = (0.0, 0.02, 0.04)
CONFIDENCE_PCT = 95.0
NORMAL_95 = 1.959964
AT_ONCE = 2000


def pixel_factor() -> np.ndarray:
    """Factor of the pixels' correlation matrix (Cholesky), times their spread."""
    at = PIXEL_M * np.stack(np.meshgrid(np.arange(SIDE), np.arange(SIDE)), axis=-1).reshape(-1, 2)
    distance = np.hypot(*(at[:, None] - at[None, :]).transpose(2, 0, 1))
    return PIXEL_SD * np.linalg.cholesky(correlation(distance, ALIKE))


def drawn(chance: np.random.Generator, factor: np.ndarray, units: int, spread: float) -> np.ndarray:
    """Change of each pixel (columns) of each unit (rows)."""
    pixels = (factor @ chance.standard_normal((SIDE * SIDE, units))).T
    return pixels + spread * chance.standard_normal((units, 1))


def coverage(references: int, spread: float, draws: int, seed: int) -> dict[str, float]:
    """Share of draws in which each kind of interval holds zero."""
    chance, factor = np.random.default_rng(seed), pixel_factor()
    effective = effective_pixels_of_block(SIDE, SIDE, PIXEL_M, ALIKE)
    held = dict.fromkeys(("spread_of_references", "effective_pixels", "all_pixels"), 0)
    for first in range(0, draws, AT_ONCE):
        count = min(AT_ONCE, draws - first)
        pixels = drawn(chance, factor, count * (references + 1), spread)
        changes = pixels.mean(axis=1).reshape(count, references + 1)
        for own in changes:
            against = abs(change_against(own[0], own[1:]))
            alone = NORMAL_95 * PIXEL_SD * np.sqrt(1.0 + 1.0 / references)
            held["spread_of_references"] += against <= half_width(own[1:], CONFIDENCE_PCT, 3)
            held["effective_pixels"] += against <= alone / np.sqrt(effective)
            held["all_pixels"] += against <= alone / SIDE
    return {name: round(float(number) / draws, 4) for name, number in held.items()}


def main() -> None:
    """Simulate, and print one line of JSON for each number of references and spread."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--draws", type=int, default=40_000)
    parser.add_argument("--seed", type=int, default=17)
    told = parser.parse_args()
    for references in REFERENCES:
        for spread in ZONE_SPREADS:
            row = coverage(references, spread, told.draws, told.seed)
            print(json.dumps({"references": references, "zone_spread": spread, **row}))


if __name__ == "__main__":
    main()
