"""What a person must read before the figures: the cautions of every page, messages said once."""

from collections.abc import Iterable, Mapping
from typing import Any

import pandas as pd

from pipeline.pages.words import plain

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


def subjects_by_message(findings: Iterable[Mapping[Any, Any]]) -> dict[str, list[str]]:
    """What each message speaks of, each thing once, so that no message is said twice."""
    subjects: dict[str, list[str]] = {}
    for finding in findings:
        named = subjects.setdefault(plain(finding["message"]), [])
        if pd.notna(finding["subject"]) and plain(finding["subject"]) not in named:
            named.append(plain(finding["subject"]))
    return subjects
