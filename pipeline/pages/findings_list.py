"""Findings as a person reads them: warnings open, notes folded, each kind under one heading."""

from itertools import groupby
from typing import Any

import pandas as pd

from pipeline.pages.markup import Markup, given, joined, tag


def draw_findings(findings: pd.DataFrame) -> Markup:
    """All findings: warnings first, then the notes behind a fold."""
    plain = findings[["severity", "source", "subject", "message"]].to_dict("records")
    warnings = [f for f in plain if f["severity"] == "warning"]
    notes = [f for f in plain if f["severity"] != "warning"]
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


def _grouped(findings: list[Any], style: str) -> Markup:
    """Findings that follow each other from one source, under its name."""
    groups = [
        tag("div", tag("h3", given(_heading(source))), tag("ul", *_items(list(group))))
        for source, group in groupby(findings, key=lambda f: f["source"])
    ]
    return tag("div", *groups, attributes={"class": style})


def _heading(source: str) -> str:
    words = source.replace("_", " ")
    return words[:1].upper() + words[1:]


def _items(findings: list[Any]) -> list[Markup]:
    """One item a message, with everything that it speaks of in front."""
    subjects: dict[str, list[str]] = {}
    for finding in findings:
        named = subjects.setdefault(finding["message"], [])
        if pd.notna(finding["subject"]) and finding["subject"] not in named:
            named.append(finding["subject"])
    items = []
    for message, named in subjects.items():
        who = joined((tag("b", joined(map(given, named), ", ")), " ")) if named else ""
        items.append(tag("li", who, given(message)))
    return items
