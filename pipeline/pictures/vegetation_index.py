"""Indices from reflectance (0 to 1), pixel by pixel; where they are undefined they are NaN."""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np


def _normalized_difference(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """(a − b) / (a + b), NaN where the sum is zero; in floats, since whole numbers wrap around."""
    a, b = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
    total = a + b
    return np.divide(a - b, total, out=np.full(total.shape, np.nan), where=total != 0)


def ndvi(red: np.ndarray, nir: np.ndarray) -> np.ndarray:
    """Normalized difference vegetation index: (nir − red) / (nir + red).

    *Source*: J. W. Rouse et al., Monitoring vegetation systems in the Great Plains with ERTS,
    NASA SP-351 (1974; from memory, to be checked).
    """
    return _normalized_difference(nir, red)


def nbr(nir: np.ndarray, swir2: np.ndarray) -> np.ndarray:
    """Normalized burn ratio: (nir − swir2) / (nir + swir2).

    *Source*: C. H. Key and N. C. Benson, Landscape Assessment, in FIREMON, USDA Forest Service
    RMRS-GTR-164-CD (2006).
    """
    return _normalized_difference(nir, swir2)


def dnbr(before: np.ndarray, after: np.ndarray) -> np.ndarray:
    """Loss of the normalized burn ratio from before to after a burn, times 1000 (no unit).

    *Source*: C. H. Key and N. C. Benson, Landscape Assessment, in FIREMON, USDA Forest Service
    RMRS-GTR-164-CD (2006; the factor from memory, to be checked).
    """
    return (np.asarray(before, dtype=float) - np.asarray(after, dtype=float)) * 1000.0


def rbr(loss: np.ndarray, before: np.ndarray) -> np.ndarray:
    """Relativized burn ratio (no unit): ``loss`` as by ``dnbr``, by the ratio before + 1.001.

    The older relative measure divides by the square root of the ratio before, which is near 0 in
    dormant grass: one loss would be told as anything from moderate to beyond every scale.

    *Source*: S. A. Parks, G. K. Dillon and C. Miller, Remote Sensing 6 (2014) 1827-1844 (formula
    from memory, to be checked).
    """
    return np.asarray(loss, dtype=float) / (np.asarray(before, dtype=float) + 1.001)


def mirbi(swir1: np.ndarray, swir2: np.ndarray) -> np.ndarray:
    """Mid-infrared burn index: 10·swir2 − 9.8·swir1 + 2. Linear in the burned share of a pixel.

    *Source*: S. Trigg and S. Flasse, International Journal of Remote Sensing 22 (2001),
    doi 10.1080/01431160110053185.
    """
    return 10.0 * np.asarray(swir2, dtype=float) - 9.8 * np.asarray(swir1, dtype=float) + 2.0


class Index(NamedTuple):
    """What an index is made of: its function, the bands it takes in order, and its largest size."""

    function: Callable[..., np.ndarray]
    bands: tuple[str, str]
    highest: float


INDICES = {
    "ndvi": Index(ndvi, ("red", "nir"), 1.0),
    "nbr": Index(nbr, ("nir", "swir2"), 1.0),
    "mirbi": Index(mirbi, ("swir1", "swir2"), math.inf),
}
"""Indices that are read from reflectance, by the name of the quantity."""
