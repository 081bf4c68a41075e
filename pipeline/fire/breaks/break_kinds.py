"""What a break is, by the words its user wrote, and what it counts as by the table of kinds."""

import re
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.fire.breaks.layers import BREAK_CREDITS, CREDITED_AS
from pipeline.fire.settings import FirebreakSettings

REFUSED: dict[str, tuple[str, ...]] = {
    "all": (),
    "private": ("public_road",),
    "none": ("public_road", "private_road"),
}
"""Classes that may not serve, by the setting roads_as_breaks."""


NUMBER = "#"
"""Stands for any number in the words of a kind, as in "us #" for US 81."""


PARTED = re.compile(r"[,;/+&()]|\b(?:and|or|with|plus)\b")
"""What stands between two things that are named together."""


BESIDE = re.compile(
    r"\b(?:along|alongside|beside|by|near|next|at|on|of|from|to|under|over|behind|inside|outside)\b"
)
"""Words after which it is told where a thing is, not what it is."""


def words_of(text: str) -> list[str]:
    """Words and numbers of a text in lower case; a number at the end of a word stands alone."""
    return re.findall(r"[^\W\d_]+|\d+|#", text.lower())


@cache
def phrases_of(words: str) -> list[list[str]]:
    """Phrases of a cell of the table, parted by semicolons, each as its words."""
    return [words_of(phrase) for phrase in words.split(";") if words_of(phrase)]


def things_of(kind: str) -> list[list[str]]:
    """Words of each thing that a kind names, without those that tell where it is."""
    return [words_of(BESIDE.split(thing)[0]) for thing in PARTED.split(kind.lower())]


def last_of(phrase: Sequence[str], words: Sequence[str]) -> int | None:
    """Place of the last word of a phrase whose words stand whole and in order among the words.

    Plurals count, and other words may stand between: "private road" fits "private gravel road".
    None where the phrase does not fit.
    """
    at = -1
    for asked in phrase:
        later = range(at + 1, len(words))
        at = next((place for place in later if _same(words[place], asked)), -1)
        if at < 0:
            return None
    return at


def _same(word: str, asked: str) -> bool:
    if asked == NUMBER:
        return word.isdigit()
    return word in (asked, f"{asked}s", f"{asked}es")


def kind_row(kind: str, break_kinds: pd.DataFrame) -> dict[Any, Any] | None:
    """Row of the table that a kind of break is read as; None where no words of it fit.

    The phrase with the most words says what a thing is; of equals the one that ends last, which
    names the thing ("Forest Avenue" is an avenue). Of two things the one that is credited least
    counts ("road and hedge").
    """
    rows = break_kinds.to_dict("records")
    found = [row for words in things_of(kind) if (row := _thing_row(words, rows))]
    return max(found, key=_caution, default=None)


def _thing_row(words: Sequence[str], rows: Sequence[dict[Any, Any]]) -> dict[Any, Any] | None:
    """Row of the table that the words of one thing are read as."""
    fitting = [
        ((len(phrase), last, _caution(row)), row)
        for row in rows
        for phrase in phrases_of(row["words"])
        if (last := last_of(phrase, words)) is not None
    ]
    return max(fitting, key=lambda ranked: ranked[0], default=(None, None))[1]


def _caution(row: Mapping[Any, Any]) -> int:
    """Place of what a kind counts as, from bare ground to nothing."""
    return [*CREDITED_AS, None].index(row["credited_as"])


def credit_breaks(
    breaks: gpd.GeoDataFrame, break_kinds: pd.DataFrame, settings: FirebreakSettings
) -> pd.DataFrame:
    """Table ``break_credits``: what each break is and counts as, and whether it may serve.

    A kind that the table does not know counts as nothing until the user says what it is.
    """
    if breaks.empty:
        return empty(BREAK_CREDITS)
    by_kind = {kind: kind_row(kind, break_kinds) or {} for kind in breaks["kind"].unique()}
    told = ("break_kind", "break_class", "credited_as", "condition", "hazard")
    rows = [{name: by_kind[kind].get(name) for name in told} for kind in breaks["kind"]]
    credits_ = pd.DataFrame(rows, columns=list(told), dtype=object)
    for name in ("source_id", "source_row", "kind"):
        credits_[name] = breaks[name].to_numpy()
    refused = credits_["break_class"].isin(REFUSED[settings.roads_as_breaks])
    return credits_.assign(serves=credits_["credited_as"].notna() & ~refused)
