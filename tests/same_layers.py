"""Two GeoPackages of one property held against each other, cell by cell.

Run by hand when code is moved: ``python tests/same_layers.py FORMER.gpkg NOW.gpkg [--passes NAME]``
prints every table, column and cell that differs and ends with 1 where anything does. ``--passes``
names a table or ``table.column`` whose difference is meant.
"""

import argparse
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import pandas as pd

# Tables of the format itself: they hold no figure of the property.
FORMAT_TABLES = ("gpkg_", "rtree_", "sqlite_", "layer_styles", "qgis_")


def layers_of(path: Path) -> dict[str, pd.DataFrame]:
    """Every table of a GeoPackage by name, shapes as their bytes, rows in their stored order."""
    with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as database:
        names = pd.read_sql("select name from sqlite_master where type = 'table'", database)["name"]
        return {
            name: pd.read_sql(f'select * from "{name}" order by rowid', database)
            for name in names
            if not name.startswith(FORMAT_TABLES)
        }


def differences(
    former: dict[str, pd.DataFrame], now: dict[str, pd.DataFrame], passes: set[str]
) -> list[str]:
    """What differs between the tables of two files, a line each; nothing for equal ones."""
    lines = [f"{name}: only in the former file" for name in sorted({*former} - {*now} - passes)]
    lines += [f"{name}: only in the new file" for name in sorted({*now} - {*former} - passes)]
    for name in sorted(({*former} & {*now}) - passes):
        lines += table_differences(name, former[name], now[name], passes)
    return lines


def table_differences(
    name: str, former: pd.DataFrame, now: pd.DataFrame, passes: set[str]
) -> list[str]:
    """What differs between two tables of one name, a line for each column."""
    columns = [c for c in former.columns if f"{name}.{c}" not in passes]
    others = [c for c in now.columns if f"{name}.{c}" not in passes]
    gone = [column for column in columns if column not in others]
    new = [column for column in others if column not in columns]
    lines = [f"{name}: columns gone {gone}, new {new}"] if gone or new else []
    if len(former) != len(now):
        return [*lines, f"{name}: {len(former)} rows, now {len(now)}"]
    columns = [column for column in columns if column not in gone]
    for column in columns:
        both = former[column].isna() & now[column].isna()
        odd = ~(both | (former[column] == now[column]))
        if odd.any():
            row = odd.idxmax()
            lines.append(
                f"{name}.{column}: {odd.sum()} of {len(odd)} cells differ, the first in row {row}: "
                f"{former[column][row]!r:.80} is now {now[column][row]!r:.80}"
            )
    return lines


def main(words: list[str]) -> int:
    """Print what differs; 1 where anything does."""
    parser = argparse.ArgumentParser(description="Hold two GeoPackages against each other.")
    parser.add_argument("former", type=Path)
    parser.add_argument("now", type=Path)
    parser.add_argument("--passes", action="append", default=[], metavar="TABLE[.COLUMN]")
    told = parser.parse_args(words)
    lines = differences(layers_of(told.former), layers_of(told.now), set(told.passes))
    print("\n".join(lines) or "the same")
    return int(bool(lines))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
