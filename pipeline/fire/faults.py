"""What is wrong with the burns and the weather, told before anything is computed."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.names import listed
from pipeline.fire.breaks.break_kinds import phrases_of
from pipeline.fire.smoke.burn_weather import read_times

ZONE = r"[T ].*(?:Z|[+-]\d\d:?(?:\d\d)?)$"


def fire_faults(
    burns: pd.DataFrame, hourly_weather: pd.DataFrame, break_kinds: pd.DataFrame
) -> list[Fault]:
    """Blocks and kinds of breaks that contradict each other, and hours that cannot be used."""
    blocks = [*_units_in_two_blocks(burns), *_blocks_told_twice(burns)]
    return [*blocks, *_words_of_two_kinds(break_kinds), *hour_faults(hourly_weather)]


def _words_of_two_kinds(break_kinds: pd.DataFrame) -> Iterator[Fault]:
    """Words that two kinds of breaks go by: what they name would be one as well as the other."""
    kinds: dict[str, list[str]] = {}
    for row in break_kinds.itertuples():
        for phrase in {" ".join(words) for words in phrases_of(row.words)}:
            kinds.setdefault(phrase, []).append(row.break_kind)
    for phrase, named in sorted(kinds.items()):
        if len(named) > 1:
            yield Fault(
                "[sources.break_kinds] words",
                f'"{phrase}" stands with {len(named)} kinds, {listed(named)}',
                "each of the words with one kind",
                "leave it with one of them",
            )


def _units_in_two_blocks(burns: pd.DataFrame) -> Iterator[Fault]:
    """Units that two burn blocks name: they can burn with one of them only."""
    pairs = burns[["block", "unit_id"]].drop_duplicates()
    for unit_id, blocks in pairs.groupby("unit_id")["block"]:
        if len(blocks) > 1:
            yield Fault(
                f"[[burns]] {listed(blocks)}",
                f'unit "{unit_id}" is in {len(blocks)} blocks',
                "each unit in one block",
                "leave it in one of them",
            )


def _blocks_told_twice(burns: pd.DataFrame) -> Iterator[Fault]:
    """Blocks of which two entries tell different winds or fuels: a block burns in one wind."""
    for block, rows in burns.groupby("block"):
        figures = rows[["wind_from_deg", "fuel_height_ft", "flame_length_ft"]]
        differing = [name for name in figures if figures[name].nunique(dropna=False) > 1]
        if differing:
            yield Fault(
                f'[[burns]] "{block}"',
                f"two entries of this name differ in {listed(differing)}",
                "one wind and one fuel for a block",
                "make them alike, or name them as two blocks",
            )


def hour_faults(hourly_weather: pd.DataFrame) -> Iterator[Fault]:
    """Hours that are no times, that stand in a time zone, or that stand twice."""
    texts = hourly_weather["time"]
    zoned = texts.str.contains(ZONE, regex=True).fillna(False).astype(bool)
    times = read_times(texts.mask(zoned))
    repeated = times.notna() & times.duplicated()
    for odd, found, expected, do in (
        (times.isna() & ~zoned, "", "local time such as 2026-04-14T13:00", "write it that way"),
        (zoned, ", a time zone", "local time without a time zone", "write the clock's own time"),
        (repeated, " stands twice", "each hour once", "delete one of the rows"),
    ):
        if odd.any():
            more = f" (and {odd.sum() - 1} more cells)" if odd.sum() > 1 else ""
            where = "[sources.hourly_weather] time"
            yield Fault(where, f'"{texts[odd].iloc[0]}"{found}{more}', expected, do)
