"""A table for people, wherever it is printed: report, packet or workbook."""

from dataclasses import dataclass, field

from pipeline.core.layer import Column, Layer


@dataclass(frozen=True, slots=True)
class Table:
    """Which columns of a layer people read, in their order; the first one names the row.

    Headings, units and rounding are those that the layer declares. ``totals`` are added up in a
    last row. ``below`` are columns of sentences, which stand under their row where a page is too
    narrow for them; ``sentences`` are names and headings of further ones, which the page makes of
    codes and figures. ``about`` is said once beside the table.
    """

    layer: Layer
    title: str
    columns: tuple[str, ...]
    totals: tuple[str, ...] = ()
    below: tuple[str, ...] = ()
    sentences: tuple[tuple[str, str], ...] = ()
    about: str = ""
    declared: tuple[Column, ...] = field(init=False)

    def __post_init__(self) -> None:
        """Look the columns up. Raises KeyError for a name that the layer does not declare."""
        columns = tuple(self.layer.column(name) for name in self.columns)
        object.__setattr__(self, "declared", columns)
        for name in (*self.below, *self.totals):
            self.layer.column(name)
