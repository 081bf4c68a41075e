"""Which pixels a quality raster lets through."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class MaskRule:
    """What to drop: pixels with any of these bits set, or of these values; or all but some values.

    Bits are counted from 0, the lowest.
    """

    drop_bits: Sequence[int] = ()
    drop_values: Sequence[int] = ()
    keep_values: Sequence[int] = ()


def kept(quality: np.ndarray, rule: MaskRule) -> np.ndarray:
    """Whether each pixel of a quality raster may be used."""
    values = np.asarray(quality).astype(np.int64)
    bits = sum(1 << bit for bit in rule.drop_bits)
    good = (values & bits) == 0
    if len(rule.drop_values):
        good &= ~np.isin(values, list(rule.drop_values))
    if len(rule.keep_values):
        good &= np.isin(values, list(rule.keep_values))
    return good
