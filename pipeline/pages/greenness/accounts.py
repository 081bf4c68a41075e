"""What a change in greenness is made of: what unburned ground did, what the unit did, what is left.

What is left is the change against the references times the share that burned, so that it is a part
of the change that the pictures show. The rest of that change is what unburned ground leads one to
expect.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import numpy as np
import pandas as pd

from pipeline.core.units import half_up

Row = Mapping[Any, Any]


@dataclass(frozen=True, slots=True)
class Account:
    """Changes of NDVI from the picture before to the one after; NaN where one is not known.

    ``unburned`` is that of the references used, ``change`` that of the burned unit or units,
    ``left`` the part that unburned ground does not lead to, ``low`` and ``high`` the ends of the
    interval around it. ``dose`` is the burned share, 0 to 1.
    """

    unburned: float
    change: float
    left: float
    low: float
    high: float
    dose: float

    @property
    def expected(self) -> float:
        """Change that unburned ground leads one to expect."""
        return self.change - self.left


UNKNOWN = Account(np.nan, np.nan, np.nan, np.nan, np.nan, 1.0)
"""An account of which nothing is known."""


def unit_account(row: Row, references: pd.DataFrame) -> Account:
    """Account of a row of ``greenness``; ``references`` are rows of its comparison's references."""
    burned_pct = row["burned_pct"]
    dose = 1.0 if pd.isna(burned_pct) else float(burned_pct) / 100.0
    return _account(row, float(row["change"]), dose, references)


def pooled_account(row: Row, rows: pd.DataFrame) -> Account:
    """Account of a row of ``burn_effects``; ``rows`` are those of ``greenness`` of the comparison.

    The burned units count by their burned shares, as they do in the effect: it is per fully burned
    ground, the sum of c·(after − expected) with c = f/Σf², and f/Σf makes a mean of that.
    """
    units = rows[(rows["role"] == "burned") & named_in(row["unit_ids"], rows["unit_id"])]
    if units.empty:
        return UNKNOWN
    shares = units["burned_pct"].to_numpy(dtype=float) / 100.0
    change = float(np.average(units["change"], weights=shares))
    dose = float((shares**2).sum() / shares.sum())
    return _account(row, change, dose, rows[rows["role"] == "reference"])


def named_in(cell: object, unit_ids: pd.Series) -> pd.Series:
    """Which units a cell names, in which names stand one after the other with commas between.

    A name may have a comma of its own.
    """
    return unit_ids.map(lambda unit: f", {unit}, " in f", {cell}, ").astype(bool)


def _account(row: Row, change: float, dose: float, references: pd.DataFrame) -> Account:
    used = named_in(row["references_used"], references["unit_id"])
    effect, low, high = (
        float(row[name]) * dose for name in ("change_vs_reference", "interval_low", "interval_high")
    )
    unburned = float(references.loc[used, "change"].mean())
    return Account(unburned, change, effect, low, high, dose)


@dataclass(frozen=True, slots=True)
class Printed:
    """The figures of an account as they are printed: they add up, and each is rounded once.

    What was to be expected is the difference of the two others as printed, which may be off by one
    in its last place. None stands for what is not known.
    """

    unburned: Decimal | None
    change: Decimal | None
    left: Decimal | None
    low: Decimal | None
    high: Decimal | None

    @property
    def expected(self) -> Decimal | None:
        """Change that was to be expected: the change less what is left of it."""
        if self.change is None or self.left is None:
            return None
        return self.change - self.left


TEXT_PLACES, TABLE_PLACES = 2, 3


def printed(account: Account, places: int | None = None) -> Printed:
    """Figures of an account, rounded half up.

    A sentence has two decimals, or three where an end of the interval or what is left would round
    to nothing and so hide on which side of nothing it lies.
    """
    known = [v for v in (account.left, account.low, account.high) if not np.isnan(v)]
    if places is None:
        hidden = any(v != 0.0 and half_up(v, TEXT_PLACES) == 0 for v in known)
        places = TABLE_PLACES if hidden else TEXT_PLACES
    figures = (account.unburned, account.change, account.left, account.low, account.high)
    return Printed(*(None if np.isnan(v) else half_up(v, places) for v in figures))
