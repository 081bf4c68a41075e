"""Words of the season's work: what is planned, what stands against it, what there is to do."""

from typing import Any

import pandas as pd

SERIOUSNESS_WORDS = {
    "stop_and_ask": "Stop and ask",
    "think_again": "Think again",
    "know": "Know",
}
"""Headings of the three kinds of conflict."""


WORK_WORDS = {
    "burn": "burn",
    "seed": "seeding",
    "graze": "grazing",
    "rest": "rest",
    "mow": "mowing",
    "hay": "haying",
    "spray": "spraying",
    "till": "tillage",
}
"""What is planned, as a noun."""


def planned_words(row: dict[str, Any]) -> str:
    """What is planned, such as ``burn of block North, unit M1``, from a row of ``conflicts``."""
    places = [
        f"{name} {row[column]}"
        for column, name in (("block", "block"), ("area", "area"), ("unit_id", "unit"))
        if not pd.isna(row[column])
    ]
    kind = WORK_WORDS[row["kind"]]
    return f"{kind} of {', '.join(places)}" if places else kind
