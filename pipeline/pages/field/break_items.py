"""Stretches of break for the field: those that are alike and follow one another as one line."""

from collections.abc import Iterator
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.names import natural_key
from pipeline.fire.layers import FIREBREAKS
from pipeline.pages.field.told import Row, Told
from pipeline.pages.words import figure_words, row_words, rows

ALIKE = [
    "block",
    "neighbor_block",
    "status",
    "kind",
    "condition",
    "make_bare_ft",
    "make_mown_ft",
    "make_black_ft",
]
"""Columns in which stretches of one line agree."""


TO_MAKE = {"make_bare_ft": "bare", "make_mown_ft": "mow", "make_black_ft": "blackline"}


STATUS_WORDS = {"existing": "existing break", "prepare": "to prepare", "gap": "gap"}


def merged_breaks(firebreaks: gpd.GeoDataFrame) -> Iterator[tuple[Row, Told]]:
    """Lines of breaks, each with what is told of it."""
    groups: dict[tuple[Any, ...], list[Row]] = {}
    for row in rows(firebreaks):
        alike = tuple(None if pd.isna(row[name]) else row[name] for name in ALIKE)
        groups.setdefault(alike, []).append(row)
    for stretches in sorted(groups.values(), key=_place):
        first = stretches[0]
        blocks = tuple(b for b in (first["block"], first["neighbor_block"]) if pd.notna(b))
        line = shapely.line_merge(
            shapely.multilinestrings(_lines(stretches)) if len(stretches) > 1 else first["geometry"]
        )
        told = Told(_name(first, blocks), _kind(first), _remark(stretches), blocks)
        yield first | {"geometry": line}, told


def _lines(stretches: list[Row]) -> list[shapely.LineString]:
    return list(shapely.get_parts(np.array([row["geometry"] for row in stretches], dtype=object)))


def _place(stretches: list[Row]) -> tuple[Any, ...]:
    first = stretches[0]
    return natural_key(first["block"]), tuple(STATUS_WORDS).index(first["status"])


def _kind(row: Row) -> str:
    kind = row["kind"]
    words = STATUS_WORDS[row["status"]]
    return words if pd.isna(kind) or not kind else f"{words}: {kind}"


def _name(row: Row, blocks: tuple[str, ...]) -> str:
    return f"{' and '.join(blocks)} {_kind(row)}{_to_make(row)}"


def _to_make(row: Row) -> str:
    """What is to be made there: ``, bare 8 ft, mow 20 ft``."""
    return "".join(
        f", {words} {row_words(row, FIREBREAKS, name)}"
        for name, words in TO_MAKE.items()
        if row[name] > 0
    )


def _remark(stretches: list[Row]) -> str:
    """Length of the line, what is missing of its width, what to check, and its stretches."""
    length = sum(row["length_ft"] for row in stretches)
    told = [figure_words(length, FIREBREAKS.column("length_ft"))]
    short = max((row["short_ft"] for row in stretches if row["short_ft"] > 0), default=0)
    if short:
        told.append(f"short by up to {figure_words(short, FIREBREAKS.column('short_ft'))}")
    if pd.notna(stretches[0]["condition"]) and stretches[0]["condition"]:
        told.append(f"check on the day: {stretches[0]['condition']}")
    names = sorted((row["break_id"] for row in stretches), key=natural_key)
    told.append("stretches " + ", ".join(names) if len(names) > 1 else f"stretch {names[0]}")
    return "; ".join(told)
