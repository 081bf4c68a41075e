"""Formats of a workbook's cells."""

from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook

from pipeline.core.layer import Column


class Formats:
    """Cell formats of a workbook, each made once."""

    def __init__(self, book: Workbook) -> None:
        self._book = book
        self._made: dict[tuple[tuple[str, object], ...], Format] = {}

    def of(self, **properties: object) -> Format:
        """The format with these properties."""
        key = tuple(sorted(properties.items()))
        if key not in self._made:
            self._made[key] = self._book.add_format(dict(properties))
        return self._made[key]

    def cell(self, column: Column, *, sentences: bool = False, total: bool = False) -> Format:
        """Format of a declared column's cells; totals bold."""
        properties: dict[str, object] = {"num_format": number_format(column), "valign": "top"}
        properties |= indent(column)
        if sentences:
            properties["text_wrap"] = True
        if total:
            properties |= {"bold": True, "top": 1}
        return self.of(**properties)


def indent(column: Column) -> dict[str, object]:
    """Words stand off the edge of their cell, so that they do not run into the number before."""
    return {"indent": 1} if column.kind in ("text", "flag") else {}


def number_format(column: Column) -> str:
    """How a program shows a column's cells: rounded as it is declared."""
    if column.kind == "date":
        return "yyyy-mm-dd  "
    if column.kind in ("text", "flag"):
        return "@"
    if column.kind == "integer" and column.places is None:
        return "0"
    return f"#,##0.{'0' * column.places}" if column.places else "#,##0"
