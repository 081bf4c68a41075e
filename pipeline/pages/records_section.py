"""Records in the report: plans against what was done, burns, spraying, seed, the whole log."""

from collections.abc import Mapping

import pandas as pd

from pipeline.core.table import Table
from pipeline.pages.markup import Markup, joined, tag
from pipeline.pages.report_tables import draw_table
from pipeline.pages.section_parts import folded, tables
from pipeline.records.sheets import (
    ALL_TABLE,
    BURNS_TABLE,
    CONTRACT_TABLE,
    PLAN_TABLE,
    SEED_TABLE,
    SPRAY_TABLE,
)

Frames = Mapping[str, pd.DataFrame]


MOST_RECORDS = 400
"""Rows of a table of records that a page still opens quickly with."""


def draw_records(frames: Frames) -> Markup:
    """Plans and burns first; behind folds what else was logged. Nothing without any record."""
    book = frames["record_book"]
    folds = (
        (SPRAY_TABLE, book[book["kind"] == "spray"]),
        (SEED_TABLE, frames["seed_records"]),
        (CONTRACT_TABLE, frames["contract_records"]),
        (ALL_TABLE, book),
    )
    return joined(
        (
            tables(frames, PLAN_TABLE, BURNS_TABLE),
            *(folded(table.title, _records(table, rows)) for table, rows in folds),
        )
    )


def _records(table: Table, rows: pd.DataFrame) -> Markup:
    """The table; very many rows are told where they stand instead."""
    if len(rows) <= MOST_RECORDS:
        return draw_table(table, rows)
    return tag("p", f"{len(rows):,} records: see {table.layer.name} in the GeoPackage.")
