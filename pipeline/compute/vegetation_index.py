"""Indices from reflectance (0 to 1), pixel by pixel; where they are undefined they are NaN."""

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


def mirbi(swir1: np.ndarray, swir2: np.ndarray) -> np.ndarray:
    """Mid-infrared burn index: 10·swir2 − 9.8·swir1 + 2. Linear in the burned share of a pixel.

    *Source*: S. Trigg and S. Flasse, International Journal of Remote Sensing 22 (2001),
    doi 10.1080/01431160110053185.
    """
    return 10.0 * np.asarray(swir2, dtype=float) - 9.8 * np.asarray(swir1, dtype=float) + 2.0
