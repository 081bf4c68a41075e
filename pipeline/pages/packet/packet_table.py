"""Tables of the packet: a layer's rows as words, with empty boxes and lines to be filled in."""

import re
import textwrap
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Any, TypedDict

import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.table import Table
from pipeline.pages.words import bare_heading, cell_words, rows

NARROW = 7
"""Letters in a line of the heading of a narrow column."""


LONG_WORD = re.compile(r"\S{16}(?=\S)")


ColumnWords = tuple[str, str, str, Callable[[Any], str]]
"""Heading, column, side it is aligned to (l or r), and its words."""


class Filled(TypedDict):
    """A table whose cells are words, as the template of the packet takes it.

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
    """Text from a layer; words too long for a column may be broken at zero-width spaces."""
    return LONG_WORD.sub(lambda run: run.group() + "\u200b", cell_words(value, NAME))


NAME = Column("name", "text", "Text as it stands in a layer.")


def stacked_heading(column: Column, *, with_unit: bool = True) -> str:
    """Heading of a declared column and its unit, in lines short enough for a narrow column."""
    heading = bare_heading(column)
    words = f"{heading} {column.symbol}" if with_unit else heading
    return "\n".join(textwrap.wrap(words, NARROW, break_long_words=False))


def aligned_to(column: Column) -> str:
    """Side that the cells of a declared column stand at: r for figures, else l."""
    return "r" if column.kind in ("number", "integer") else "l"


def declared_table(
    table: Table, frame: pd.DataFrame, *, wide: str, boxes: Sequence[str] = ()
) -> Filled:
    """A declared table as words, its totals in a last row; the column ``wide`` takes what is left.

    Columns without any value are left out, the first and the ``wide`` one excepted.
    """
    columns = declared_words(table.declared, wide=wide)
    return words_table(frame, columns, wide=wide, boxes=boxes, totals=table.totals)


def declared_words(columns: Iterable[Column], *, wide: str) -> list[ColumnWords]:
    """Heading, name, side and words of declared columns; only the ``wide`` one has room."""
    return [
        (
            f"{bare_heading(column)} {column.symbol}".strip(),
            column.name,
            aligned_to(column),
            partial(_broken_words, column=column),
        )
        for column in columns
    ]


def _broken_words(value: Any, column: Column) -> str:
    """A cell as it is printed: a long name may be broken where it has no room."""
    return name_words(cell_words(value, column))


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
    kept = {columns[0][1], wide} | {name for _, name, *_ in columns if frame[name].notna().any()}
    drawn = [column for column in columns if column[1] in kept]
    lines = [[words(row[name]) for _, name, _, words in drawn] for row in rows(frame)]
    sums = bool(totals) and len(lines) > 1
    if sums:
        lines.append(_sums(frame, drawn, totals))
    return {
        "groups": [],
        "headings": [column[0] for column in drawn] + list(boxes),
        "align": [column[2] for column in drawn],
        "boxes": len(boxes),
        "sums": sums,
        "wide": [column[1] for column in drawn].index(wide),
        "rows": lines,
        "keys": [],
        "short": [],
    }


def _sums(frame: pd.DataFrame, columns: Sequence[ColumnWords], totals: Sequence[str]) -> list[str]:
    """Last row: sums of unrounded figures; one with an unknown in it is unknown."""
    sums = {
        name: words(frame[name].sum(skipna=False))
        for _, name, _, words in columns
        if name in totals
    }
    return ["Sum", *(sums.get(column[1], "") for column in columns[1:])]
