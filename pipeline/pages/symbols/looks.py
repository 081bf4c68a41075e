"""How a class of rows is drawn, whatever language says it: SVG, QML, SLD or the key of a map."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import pandas as pd

from pipeline.pages.palette import Stroke

Kind = Literal["polygon", "line", "point", "any"]
"""Kind of the shapes of a layer."""


OPEN_END = 1e9
"""End of a class of numbers that has none."""


@dataclass(frozen=True, slots=True)
class Test:
    """What a row must show in one column.

    One of the texts ``among``, or a number above ``above`` and up to ``up_to``, or with neither an
    empty cell.
    """

    column: str
    among: tuple[str, ...] = ()
    above: float = math.nan
    up_to: float = math.nan

    @property
    def is_empty(self) -> bool:
        """Whether the cell must be empty."""
        return not self.among and math.isnan(self.above)

    def holds(self, row: Mapping[Any, Any]) -> bool:
        """Whether a row shows it."""
        value = row[self.column]
        if pd.isna(value):
            return self.is_empty
        if self.among:
            return value in self.among
        return not self.is_empty and self.above < float(value) <= self.up_to


@dataclass(frozen=True, slots=True)
class Look:
    """How the rows are drawn that pass all ``tests``, and the ``words`` of the key.

    ``pattern`` lies on the fill, so that a print without color tells it, and ``mark`` stands at a
    place: codes that each language has its own lines for. A look that lies ``over`` adds its
    pattern to the look that a row has already.
    """

    words: str
    stroke: Stroke
    fill: str | None = None
    pattern: str | None = None
    mark: str | None = None
    tests: tuple[Test, ...] = ()
    over: bool = False

    def fits(self, row: Mapping[Any, Any]) -> bool:
        """Whether a row passes all tests."""
        return all(test.holds(row) for test in self.tests)


@dataclass(frozen=True, slots=True)
class Style:
    """Looks of a layer, each row having one and those that lie over it.

    ``label`` names the column whose words are written on each row, or none. Rows that fail a test
    of ``only`` are not drawn.
    """

    kind: Kind
    looks: tuple[Look, ...]
    label: str = ""
    only: tuple[Test, ...] = ()

    def draws(self, row: Mapping[Any, Any]) -> bool:
        """Whether a row is drawn at all."""
        return all(test.holds(row) for test in self.only)

    def look(self, row: Mapping[Any, Any]) -> Look:
        """The look of a row.

        Raises ``LookupError`` where no look fits, which a test holds to never happen.
        """
        for look in self.looks:
            if not look.over and look.fits(row):
                return look
        raise LookupError(f"no look for {dict(row)}")

    def over(self, row: Mapping[Any, Any]) -> list[Look]:
        """What lies over the look of a row."""
        return [look for look in self.looks if look.over and look.fits(row)]
