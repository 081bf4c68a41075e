"""Student's t: probabilities, and the multiplier of an interval from few values."""

import math
from functools import cache

import numpy as np


def t_probability(t: float, freedom: int) -> float:
    """Probability that |T| is below ``t`` (t ≥ 0) with a whole number of degrees of freedom.

    *Source*: M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, NBS Applied
    Mathematics Series 55 (1964), formulas 26.7.3 and 26.7.4.
    """
    theta = math.atan2(t, math.sqrt(freedom))
    sine, cosine = math.sin(theta), math.cos(theta)
    odd = freedom % 2
    term = cosine if odd else 1.0
    total = term if freedom > 1 else 0.0
    for k in range(2 + odd, freedom - 1, 2):
        term *= cosine**2 * (k - 1) / k
        total += term
    return 2.0 / math.pi * (theta + sine * total) if odd else sine * total


def t_below(t: np.ndarray, freedom: np.ndarray) -> np.ndarray:
    """Probability that T is below each ``t`` with whole numbers of degrees of freedom.

    *Source*: the same formulas, on arrays; ``t`` may be infinite.
    """
    t, freedom = np.broadcast_arrays(np.asarray(t, dtype=float), freedom)
    theta = np.arctan2(t, np.sqrt(freedom))
    square, odd = np.cos(theta) ** 2, freedom % 2
    term = np.where(odd, np.sqrt(square), 1.0)
    total = np.where(freedom > 1, term, 0.0)
    for step in range(2, int(freedom.max(initial=1)) - 1, 2):
        k = step + odd
        term *= square
        term *= np.where(k < freedom - 1, (k - 1) / k, 0.0)
        total += term
    sine = np.sin(theta)
    inside = np.where(odd, 2.0 / np.pi * (theta + sine * total), sine * total)
    return 0.5 + 0.5 * inside


def t_height(freedom: int) -> float:
    """Density of T at 0: Γ((ν + 1)/2) / (√(νπ)·Γ(ν/2))."""
    ratio = math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)
    return math.exp(ratio) / math.sqrt(freedom * math.pi)


@cache
def t_multiplier(freedom: int, confidence_pct: float) -> float:
    """Value that |T| stays below with the given confidence [percent], by bisection."""
    if freedom < 1 or not 0 < confidence_pct < 100:
        raise ValueError(f"no t for {freedom} degrees of freedom at {confidence_pct} percent")
    wanted, low, high = confidence_pct / 100.0, 0.0, 1.0
    while t_probability(high, freedom) < wanted:
        high *= 2.0
    while high - low > 1e-13 * high:
        middle = (low + high) / 2.0
        if middle in (low, high):
            break
        low, high = (middle, high) if t_probability(middle, freedom) < wanted else (low, middle)
    return (low + high) / 2.0
