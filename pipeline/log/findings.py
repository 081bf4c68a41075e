"""Findings of the log of treatments: rows left out, and grazing that is told only in part."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.names import suggestion
from pipeline.log.treatment_log import why_left_out

HIGHEST_EQUIVALENT = 2.0


WORDS_BY_OBSTACLE = {
    "no_unit": "the {row.kind} names no unit",
    "unknown_unit": 'unit "{row.unit_id}" is not on the map',
    "no_first_day": "the {row.kind} has no first day",
    "ends_before_it_begins": "the {row.kind} ends on {last:%Y-%m-%d}, before it begins on "
    "{first:%Y-%m-%d}",
    "doubled": "the {row.kind} from {first:%Y-%m-%d} stands in the log twice, alike in every cell",
    "filled_in": "the {row.kind} planned from {first:%Y-%m-%d} stands in the log again, in the row "
    "of the blank log that names it as its plan, which counts",
}


def find_treatments(treatments: pd.DataFrame, units: pd.DataFrame) -> list[Finding]:
    """Findings of the log, each with the number of its row, counted from 1."""
    known = list(units["unit_id"])
    rows = zip(treatments.itertuples(), why_left_out(treatments, units), strict=True)
    return [
        Finding(
            severity="warning",
            source="treatments",
            row=number,
            subject=row.unit_id,
            message=words,
            code=code,
        )
        for number, (row, obstacles) in enumerate(rows, 1)
        for code, words in (_left_out(row, obstacles, known) if obstacles else _grazing(row))
    ]


def _left_out(row, obstacles: tuple[str, ...], known: list[str]) -> Iterator[tuple[str, str]]:  # type: ignore[no-untyped-def]
    """That a row is left out and why, with the unit that was probably meant."""
    first, last = _first(row), row.planned_end if pd.isna(row.start) else row.end
    words = " and ".join(
        WORDS_BY_OBSTACLE[code].format(row=row, first=first, last=last) for code in obstacles
    )
    meant = f"; {suggestion(row.unit_id, known)}" if "unknown_unit" in obstacles else ""
    yield obstacles[0], f"{words}: left out{meant}"


def _grazing(row) -> Iterator[tuple[str, str]]:  # type: ignore[no-untyped-def]
    """What is odd about the animals of a row that is used."""
    each, first = row.animal_unit_equivalent, _first(row)
    if row.kind == "graze" and (pd.isna(row.head) or (pd.isna(each) and pd.isna(row.weight_lb))):
        yield (
            "animals_untold",
            f"grazing from {first:%Y-%m-%d} without head or animal_unit_equivalent (or "
            "weight_lb): animal-unit days are unknown",
        )
    if each > HIGHEST_EQUIVALENT:
        yield (
            "equivalent_too_high",
            f"animal_unit_equivalent {each:g} is more than a bull counts for: is it the head?",
        )


def _first(row) -> pd.Timestamp:  # type: ignore[no-untyped-def]
    """First day of a row; of a plan, the planned one."""
    return row.planned_start if pd.isna(row.start) else row.start
