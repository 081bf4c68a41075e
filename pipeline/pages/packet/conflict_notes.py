"""Conflicts on the sheets of the packet: each stands on one sheet, so that none is lost."""

from collections.abc import Iterable
from typing import Any, TypedDict

import pandas as pd

from pipeline.pages.conflict_lines import STOP, stops
from pipeline.pages.packet.packet_table import name_words
from pipeline.pages.words import rows
from pipeline.pages.work_words import SERIOUSNESS_WORDS, WHO_WORDS, planned_words
from pipeline.work.layers import SERIOUSNESS


class Entry(TypedDict):
    """One conflict as words: its rank, what is planned and against it, who decides, the way out."""

    number: str
    planned: str
    against: str
    who: str
    resolve: str


class Told(TypedDict):
    """Conflicts of a sheet: the first kind in a frame on top, the others in notes below it."""

    stops: list[Entry]
    notes: list[tuple[str, list[Entry]]]


def told_conflicts(conflicts: pd.DataFrame) -> Told:
    """Conflicts of one sheet as words, in the order of their rank."""
    notes = [
        (SERIOUSNESS_WORDS[kind], _entries(conflicts[conflicts["seriousness"] == kind]))
        for kind in SERIOUSNESS
        if kind != STOP
    ]
    return {
        "stops": _entries(stops(conflicts)),
        "notes": [(heading, entries) for heading, entries in notes if entries],
    }


def _entries(conflicts: pd.DataFrame) -> list[Entry]:
    return [
        {
            "number": str(row["number"]),
            "planned": name_words(planned_words(row)),
            "against": name_words(row["against"]).rstrip(". "),
            "who": WHO_WORDS[row["who_decides"]],
            "resolve": name_words(row["resolve"]).rstrip(". "),
        }
        for row in rows(conflicts)
    ]


def of_block(conflicts: pd.DataFrame, block: str) -> pd.DataFrame:
    """Conflicts that stand on the sheet of a burn block."""
    return conflicts[conflicts["block"] == block]


def of_area(conflicts: pd.DataFrame, area: str) -> pd.DataFrame:
    """Conflicts that stand on the sheet of a seeding area."""
    return conflicts[conflicts["block"].isna() & (conflicts["area"] == area)]


def of_no_sheet(
    conflicts: pd.DataFrame, blocks: Iterable[str], areas: Iterable[str]
) -> pd.DataFrame:
    """Conflicts of all other work, and of blocks and areas that have no sheet."""
    on_block = conflicts["block"].isin(list(blocks))
    on_area = conflicts["block"].isna() & conflicts["area"].isin(list(areas))
    return conflicts[~on_block & ~on_area]


def other_conflicts(frames: Any) -> pd.DataFrame:
    """Conflicts of no burn block and no seeding area that has a sheet of its own."""
    return of_no_sheet(
        frames["conflicts"], frames["burn_blocks"]["block"], frames["seed_areas"]["area"]
    )
