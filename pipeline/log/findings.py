"""Findings of the log of treatments: rows left out, and grazing that is told only in part."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.names import suggestion
from pipeline.log.treatment_log import why_left_out

HIGHEST_EQUIVALENT = 2.0


def find_treatments(treatments: pd.DataFrame, units: pd.DataFrame) -> list[Finding]:
    """Findings of the log, each with the number of its row, counted from 1."""
    known = list(units["unit_id"])
    rows = zip(treatments.itertuples(), why_left_out(treatments, units), strict=True)
    return [
        Finding(
            severity="warning", source="treatments", row=number, subject=row.unit_id, message=words
        )
        for number, (row, reason) in enumerate(rows, 1)
        for words in ([_left_out(row, reason, known)] if reason else _grazing(row))
    ]


def _left_out(row, reason: str, known: list[str]) -> str:  # type: ignore[no-untyped-def]
    """That a row is left out and why, with the unit that was probably meant."""
    named = pd.notna(row.unit_id) and row.unit_id not in known
    return f"{reason}: left out" + (f"; {suggestion(row.unit_id, known)}" if named else "")


def _grazing(row) -> Iterator[str]:  # type: ignore[no-untyped-def]
    """What is odd about the animals of a row that is used."""
    each = row.animal_unit_equivalent
    if row.kind == "graze" and (pd.isna(row.head) or (pd.isna(each) and pd.isna(row.weight_lb))):
        yield (
            f"grazing from {row.start:%Y-%m-%d} without head or animal_unit_equivalent (or "
            "weight_lb): animal-unit days are unknown"
        )
    if each > HIGHEST_EQUIVALENT:
        yield f"animal_unit_equivalent {each:g} is more than a bull counts for: is it the head?"
