"""Tables of the packet: a layer's rows as words, with empty boxes and lines to be filled in."""

import re
import textwrap
from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypedDict

import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.table import Table
from pipeline.pages.words import cell_words, number_words, plain, text_words

LONG_WORD = re.compile(r"\S{16}(?=\S)")


NARROW = 7
"""Letters in a line of the heading of a narrow column."""


ColumnWords = tuple[str, str, str, Callable[[Any], str]]
"""Heading, column, side it is aligned to (l or r), and its words."""


class Filled(TypedDict):
    """A table of words.

    ``groups`` are headings over several columns; ``boxes`` empty boxes or lines end each row;
    ``sums`` tells that the last row adds up; ``keys`` and ``short`` mark rows; the column
    ``wide`` takes what is left.
    """

    groups: list[list[Any]]
    headings: list[str]
    align: list[str]
    boxes: int
    sums: bool
    wide: int
    rows: list[list[str]]
    keys: list[str]
    short: list[bool]


def name_words(value: Any) -> str:
    """Text from a layer, without marks that could reorder what stands beside it.

    Words too long for a column may be broken at the zero-width spaces put into them.
    """
    return LONG_WORD.sub(lambda run: run.group() + "\u200b", plain(text_words(value)))


def rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a layer as dictionaries."""
    return frame.to_dict("records")


def stacked_heading(column: Column, *, with_unit: bool = True) -> str:
    """Heading of a declared column and its unit, in lines short enough for a narrow column."""
    heading = f"{column.heading} {column.symbol}" if with_unit else column.heading
    return "\n".join(textwrap.wrap(heading, NARROW, break_long_words=False))


def aligned_to(column: Column) -> str:
    """Side that the cells of a declared column stand at: r for figures, else l."""
    return "r" if column.kind in ("number", "integer") else "l"


def declared_table(
    table: Table, frame: pd.DataFrame, *, wide: str, boxes: Sequence[str] = ()
) -> Filled:
    """A declared table as words, its totals in a last row; the column ``wide`` takes what is left.

    Columns without any value are left out, the first and the ``wide`` one excepted.
    """

    def words(column: Column) -> Callable[[Any], str]:
        return lambda value: name_words(cell_words(value, column))

    columns = [
        (
            column.heading if column.name == wide else stacked_heading(column),
            column.name,
            aligned_to(column),
            words(column),
        )
        for column in table.declared
    ]
    return words_table(frame, columns, wide=wide, boxes=boxes, totals=table.totals)


def filled(heading: str, column: str, places: int) -> ColumnWords:
    """A column of numbers."""
    return heading, column, "r", lambda value: number_words(value, places)


def words_table(
    frame: pd.DataFrame,
    columns: Sequence[ColumnWords],
    *,
    wide: str,
    boxes: Sequence[str] = (),
    totals: Sequence[str] = (),
) -> Filled:
    """A layer's rows as words; the columns of ``totals`` are added up in a last row.

    Columns without any value are left out, the first and the ``wide`` one excepted.
    """
    shown = [c for n, c in enumerate(columns)
             if n == 0 or c[1] == wide or frame[c[1]].notna().any()]  # fmt: skip
    lines = [[words(row[name]) for _, name, _, words in shown] for row in rows(frame)]
    sums = bool(totals) and len(lines) > 1
    if sums:
        lines.append(_sums(frame, shown, totals))
    return {
        "groups": [],
        "headings": [column[0] for column in shown] + list(boxes),
        "align": [column[2] for column in shown],
        "boxes": len(boxes),
        "sums": sums,
        "wide": [column[1] for column in shown].index(wide),
        "rows": lines,
        "keys": [],
        "short": [],
    }


def _sums(frame: pd.DataFrame, columns: Sequence[ColumnWords], totals: Sequence[str]) -> list[str]:
    """Last row: sums of unrounded figures; one with an unknown in it is unknown."""
    sums: Mapping[str, str] = {
        name: words(frame[name].sum(skipna=False)) for _, name, _, words in columns
        if name in totals
    }  # fmt: skip
    return ["Sum", *(sums.get(column[1], "") for column in columns[1:])]
