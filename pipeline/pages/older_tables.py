"""Tables whose columns are not yet declared with heading and places: Tables of a stand-in layer."""

from pipeline.core.layer import Column, Layer
from pipeline.core.table import Table

ShownColumn = tuple[Column, bool, bool]
"""A column, whether it is added up, whether it stands under its row."""


def number(
    column: str, heading: str, unit: str = "", places: int = 0, *, total: bool = False
) -> ShownColumn:
    """A column of numbers; its unit is the end of its name, so ``unit`` is not used."""
    return Column(column, "number", "", heading, places), total, False


def year(column: str, heading: str) -> ShownColumn:
    """A column of years, which have no thousands to set apart."""
    return Column(column, "integer", "", heading), False, False


def signed(column: str, heading: str, unit: str = "", places: int = 3) -> ShownColumn:
    """A column of changes, each with its sign."""
    return Column(column, "number", "", heading, places, signed=True), False, False


def text(column: str, heading: str) -> ShownColumn:
    """A column of words."""
    return Column(column, "text", "", heading), False, False


def long(column: str, heading: str) -> ShownColumn:
    """A column of sentences."""
    return Column(column, "text", "", heading), False, True


def day(column: str, heading: str) -> ShownColumn:
    """A column of dates."""
    return Column(column, "date", "", heading), False, False


def flag(column: str, heading: str) -> ShownColumn:
    """A column of yes and no."""
    return Column(column, "flag", "", heading), False, False


def Sheet(layer: str, title: str, shown: tuple[ShownColumn, ...], about: str = "") -> Table:  # noqa: N802
    """A table of columns that are declared here."""
    columns = tuple(column for column, _, _ in shown)
    return Table(
        Layer(layer, None, "", columns),
        title,
        tuple(column.name for column, _, below in shown if not below),
        totals=tuple(column.name for column, total, _ in shown if total),
        below=tuple(column.name for column, _, below in shown if below),
        about=about,
    )
