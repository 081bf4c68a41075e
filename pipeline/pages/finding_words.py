"""Findings as people read them: one line a cause, under it each finding with its own words."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.core.units import unit_symbol
from pipeline.pages.cautions import subjects_by_message
from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.words import number_words, plain, rows

SMALLEST = 0.01
"""Amounts below this are told as less than it; a sliver of a ten-thousandth of an acre is one."""


def amount_words(amount: float, unit: str) -> str:
    """An amount in three figures or to the whole, with the sign of its unit: 0.84 ac, 1,558 ft."""
    if 0 < amount < SMALLEST:
        return f"less than {SMALLEST:g} {unit_symbol(unit)}"
    places = 2 if amount < 10 else 1 if amount < 100 else 0
    return f"{number_words(amount, places)} {unit_symbol(unit)}"


def cause_words(row: Mapping[Any, Any]) -> str:
    """A row of ``findings_by_cause`` in a line: 2 blocks that no wind fits, 236 ac."""
    amount = "" if pd.isna(row["amount"]) else f", {amount_words(row['amount'], row['unit'])}"
    return f"{row['findings']:,} {row['cause']}{amount}"


def counted(count: int, word: str) -> str:
    """So many of something: 1 warning, 2 warnings."""
    return f"{count:,} {word}{'s' * (count != 1)}"


def sum_words(by_cause: pd.DataFrame, severity: str) -> str:
    """How many findings of a severity there are, and of how many causes."""
    mine = by_cause[by_cause["severity"] == severity]
    count = int(mine["findings"].sum())
    of = f" of {counted(len(mine), 'cause')}" if count else ""
    return f"{counted(count, severity)}{of}"


def draw_findings(by_cause: pd.DataFrame, findings: pd.DataFrame) -> Markup:
    """One line a cause that unfolds into its findings: warnings first, the notes behind a fold."""
    mine = dict(list(findings.groupby(["severity", "code"])))
    drawn: dict[str, list[Markup]] = {"warning": [], "note": []}
    for row in rows(by_cause):
        of_cause = mine.get((row["severity"], row["code"]), findings[:0])
        drawn[row["severity"]].append(_cause(row, of_cause))
    parts = [
        tag("div", *drawn["warning"], attributes={"class": "findings"})
        if drawn["warning"]
        else tag("p", "No warnings. That says nothing about what was not given.")
    ]
    if drawn["note"]:
        summary = tag("summary", sum_words(by_cause, "note"))
        listed = tag("div", *drawn["note"], attributes={"class": "findings notes"})
        parts.append(tag("details", summary, listed))
    return joined(parts)


def _cause(row: Mapping[Any, Any], findings: pd.DataFrame) -> Markup:
    """One cause, folded: its line, what to do, and each message with all that it speaks of."""
    items = []
    for message, subjects in subjects_by_message(rows(findings)).items():
        who = joined((tag("b", joined(map(given, subjects), ", ")), " ")) if subjects else ""
        items.append(tag("li", who, given(message)))
    return tag(
        "details",
        tag("summary", cause_words(row), ": ", given(plain(row["worst"]))),
        tag("p", tag("b", "To do: "), row["do"], "."),
        tag("ul", *items),
    )
