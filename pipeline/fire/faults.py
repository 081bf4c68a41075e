"""What is wrong with the burns and the weather, told before anything is computed."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.names import listed
from pipeline.fire.burn_weather import read_times

ZONE = r"[T ].*(?:Z|[+-]\d\d:?(?:\d\d)?)$"


def fire_faults(burns: pd.DataFrame, hourly_weather: pd.DataFrame) -> list[Fault]:
    """Blocks that contradict themselves or each other, and hours that cannot be used."""
    blocks = [*_units_in_two_blocks(burns), *_blocks_told_twice(burns)]
    return [*blocks, *hour_faults(hourly_weather)]


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
