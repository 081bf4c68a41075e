"""Conflicts of planned work in lines of words: on the terminal, on paper and in files."""

from typing import Any

import pandas as pd

from pipeline.pages.words import plain, rows
from pipeline.pages.work_words import SERIOUSNESS_WORDS, WHO_WORDS, WORK_WORDS, planned_words
from pipeline.work.layers import SERIOUSNESS

STOP = SERIOUSNESS[0]
"""The first kind: nothing goes on before the one who decides has answered."""


def stops(conflicts: pd.DataFrame) -> pd.DataFrame:
    """Conflicts of the first kind."""
    return conflicts[conflicts["seriousness"] == STOP]


def conflict_words(row: dict[str, Any]) -> str:
    """One conflict in a line: its kind, what is planned, what stands against it, who decides."""
    kind, against = SERIOUSNESS_WORDS[row["seriousness"]], plain(row["against"]).rstrip(". ")
    who = WHO_WORDS[row["who_decides"]]
    return f"{kind}: {plain(planned_words(row))}: {against}; who decides: {who}"


def stop_lines(conflicts: pd.DataFrame) -> list[str]:
    """A line for each conflict of the first kind, in the order of their rank."""
    return [conflict_words(row) for row in rows(stops(conflicts))]


def kinds_words(conflicts: pd.DataFrame) -> str:
    """How many conflicts there are of each kind: 1 stop and ask, 2 think again, 0 know."""
    counts = conflicts["seriousness"].value_counts()
    return ", ".join(
        f"{counts.get(kind, 0)} {SERIOUSNESS_WORDS[kind].lower()}" for kind in SERIOUSNESS
    )


def stops_note(conflicts: pd.DataFrame, kind: str) -> str:
    """How many of the first kind stand against planned work of a kind, and where they are told.

    Nothing where there is none.
    """
    count = int((stops(conflicts)["kind"] == kind).sum())
    if not count:
        return ""
    stand = "1 conflict stands" if count == 1 else f"{count} conflicts stand"
    work = f"{WORK_WORDS[kind]}s" if kind in ("burn", "seed") else WORK_WORDS[kind]
    return f"STOP AND ASK: {stand} against the {work} of this plan, see the layer conflicts."
