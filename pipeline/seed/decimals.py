"""Exact decimals for weighed and priced things: from a frame's numbers, and once back.

A cell's shortest decimal text is what a person wrote, so that is what is taken: 0.1 is a tenth,
not the binary fraction beside it. Columns are numpy arrays of ``Decimal``; missing is NaN, which
every further figure inherits, so that nothing unknown is counted as zero.
"""

from collections.abc import Iterable, Sequence
from decimal import ROUND_CEILING, Decimal

import numpy as np
import pandas as pd

UNKNOWN = Decimal("NaN")


ZERO = Decimal(0)


ONE = Decimal(1)


HUNDRED = Decimal(100)


def decimal_of(value: object) -> Decimal:
    """Number as a person wrote it; NaN for an empty cell, in any of the ways a frame says so."""
    if isinstance(value, Decimal):
        return value
    if not isinstance(value, (int, float)) or value != value:
        return UNKNOWN
    return Decimal(repr(float(value)))


def column(values: Sequence[Decimal]) -> np.ndarray:
    """Column of decimals."""
    result = np.empty(len(values), dtype=object)
    result[:] = values
    return result


def decimals(values: Iterable[object]) -> np.ndarray:
    """Column of decimals from a frame's column of numbers."""
    if isinstance(values, (pd.Series, np.ndarray)) and values.dtype == np.float64:
        return column([Decimal(text) for text in map(repr, values.tolist())])
    return column([decimal_of(value) for value in values])


def floats(values: Iterable[Decimal]) -> np.ndarray:
    """Column of binary numbers for a frame: the one place where exactness ends."""
    return np.array([float(value) for value in values], dtype="float64")


def either(choice: np.ndarray, yes: np.ndarray | Decimal, no: np.ndarray | Decimal) -> np.ndarray:
    """Column of decimals taken from one side where the choice is true, else from the other."""
    return np.where(choice, np.asarray(yes, dtype=object), np.asarray(no, dtype=object))


def known(values: np.ndarray) -> np.ndarray:
    """Which cells of a column of decimals are known."""
    return np.array([not value.is_nan() for value in values], dtype=bool)


def exceeds(value: Decimal, limit: Decimal) -> bool:
    """Whether a value is above a limit, both being known."""
    return not (value.is_nan() or limit.is_nan()) and value > limit


def total(values: Iterable[Decimal]) -> Decimal:
    """Sum; unknown when any part is."""
    return sum(values, ZERO)


def sums_by(groups: np.ndarray, values: np.ndarray, count: int) -> np.ndarray:
    """Sum of the values of each group; group numbers run from 0 to ``count`` − 1."""
    result = np.full(count, ZERO, dtype=object)
    for group, value in zip(groups.tolist(), values, strict=True):
        result[group] += value
    return result


def rounded_up(value: Decimal, step: Decimal) -> Decimal:
    """Smallest whole multiple of a step that is not less than the value; unknown stays so."""
    if value.is_nan():
        return value
    return (value / step).to_integral_value(ROUND_CEILING) * step


def quotient(value: Decimal, divisor: Decimal) -> Decimal:
    """Value over divisor; unknown where the divisor is zero or either is unknown."""
    return UNKNOWN if divisor.is_nan() or divisor == 0 else value / divisor


def quotients(values: np.ndarray, divisors: np.ndarray) -> np.ndarray:
    """The same for two columns."""
    return column([quotient(a, b) for a, b in zip(values, divisors, strict=True)])
