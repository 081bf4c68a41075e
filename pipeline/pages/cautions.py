"""What a person must read before the figures: the cautions of every page, and the findings."""

from collections.abc import Iterable, Mapping
from itertools import groupby
from typing import Any

import pandas as pd

from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.words import plain, sentence

CAUTION = (
    "Planning arithmetic only: not a burn plan, not a prescription, and no permission to ignite."
)


CAUTIONS: tuple[str, ...] = (
    CAUTION,
    "The local fire authority permits burning or waives a ban; rules differ by state and county. "
    "Tell dispatch and the neighbors.",
    "A qualified burn boss decides on site, with a spot forecast of the day and a test fire.",
    "Landowner and burn boss answer for escaped fire and for smoke.",
    "Ground under a conservation contract or easement: ask its office in writing, and mind the "
    "nesting dates.",
    "Widths are rules of thumb from the source cited in the settings; slope, wind and trees that "
    "burn hot, such as redcedar, override them.",
    "Acres and feet come from the boundaries supplied. Walk every line before the day.",
)
"""*Source*: state statutes and extension guides on prescribed burning agree on these; the wording
is our own."""


def draw_findings(findings: pd.DataFrame) -> Markup:
    """All findings: warnings first, then the notes behind a fold."""
    every = findings[["severity", "source", "subject", "message"]].to_dict("records")
    warnings = [finding for finding in every if finding["severity"] == "warning"]
    notes = [finding for finding in every if finding["severity"] == "note"]
    parts = [
        _grouped(warnings, "findings")
        if warnings
        else tag("p", "No warnings. That says nothing about what was not given.")
    ]
    if notes:
        summary = tag("summary", f"{len(notes)} note{'s' * (len(notes) > 1)}")
        listed = _grouped(notes, "findings notes")
        parts.append(tag("details", summary, listed, attributes={"data-print": True}))
    return joined(parts)


def _grouped(findings: list[Mapping[Any, Any]], style: str) -> Markup:
    """Findings that follow each other from one source, under its name."""
    groups = [
        tag(
            "div",
            tag("h3", given(sentence(source.replace("_", " ")))),
            tag("ul", *_items(list(group))),
        )
        for source, group in groupby(findings, key=lambda f: f["source"])
    ]
    return tag("div", *groups, attributes={"class": style})


def _items(findings: list[Mapping[Any, Any]]) -> list[Markup]:
    """One item a message, with everything that it speaks of in front."""
    items = []
    for message, subjects in subjects_by_message(findings).items():
        named = joined(map(given, subjects), ", ")
        who = joined((tag("b", named), " ")) if subjects else ""
        items.append(tag("li", who, given(message)))
    return items


def subjects_by_message(findings: Iterable[Mapping[Any, Any]]) -> dict[str, list[str]]:
    """What each message speaks of, each thing once, so that no message is said twice."""
    subjects: dict[str, list[str]] = {}
    for finding in findings:
        named = subjects.setdefault(plain(finding["message"]), [])
        if pd.notna(finding["subject"]) and plain(finding["subject"]) not in named:
            named.append(plain(finding["subject"]))
    return subjects
