"""The tables that come with the program: used without being named, replaced or added to by name."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pandas as pd

import pipeline
from pipeline.core.errors import Fault
from pipeline.core.findings import Finding
from pipeline.core.layer import Layer
from pipeline.core.names import folded
from pipeline.core.species_names import LatinNames
from pipeline.intake.safety import SourceRead
from pipeline.intake.settings import ShippedSource, TableSource
from pipeline.intake.tables import read_table

HOME = "config"

FILE_BY_SOURCE = {
    "break_kinds": "break_kinds.csv",
    "conflict_rules": "conflict_rules.csv",
    "full_rates": "full_rates.csv",
    "green_up": "green_up.csv",
    "mask_presets": "mask_presets.csv",
    "nesting_seasons": "nesting_seasons.csv",
    "plant_species": "plants.csv",
    "road_rules": "road_rules.csv",
    "season_rules": "season_rules.csv",
    "seed_factors": "seed_factors.csv",
    "seeding_windows": "seeding_windows.csv",
    "species": "species.csv",
    "test_rules": "test_rules.csv",
    "winter_losses": "winter_losses.csv",
}
"""The table that stands for each source where the property file names none."""


def shipped_folder() -> Path:
    """Folder of the tables: inside the installed package, or beside it in a copy of the code."""
    package = Path(pipeline.__file__).resolve().parent
    inside = package / HOME
    return inside if inside.is_dir() else package.parent / HOME


def read_shipped(
    source: ShippedSource | None, layer: Layer, folder: Path, allowed: tuple[Path, ...] = ()
) -> list[SourceRead]:
    """A table of the program, or the one named in its place, and the user's rows added to it.

    A row of the user's takes the place of those with the same key. Each result has its own row
    of ``sources``; together their frames are the layer.
    """
    source = source or ShippedSource()

    def named(path: str) -> SourceRead:
        table = TableSource(path=path, columns=source.columns, encoding=source.encoding)
        return read_table(table, layer, folder, allowed)

    base = _own_table(layer, shipped_folder()) if source.path is None else named(source.path)
    if source.extra is None:
        return [base]
    extra = named(source.extra)
    if extra.faults or base.faults:
        return [base, extra]
    likely_slips = list(_likely_slips(base.frame, extra.frame, layer))
    return [
        _without_replaced(base, extra, layer),
        replace(extra, findings=[*extra.findings, *likely_slips]),
    ]


def _likely_slips(base: pd.DataFrame, extra: pd.DataFrame, layer: Layer) -> Iterator[Finding]:
    """Findings on species added beside one of nearly the same scientific name."""
    if layer.key != ("species",):
        return
    there, ours = set(base["species"].map(_as_compared)), LatinNames(base["species"])
    for name in extra["species"]:
        if _as_compared(name) not in there and (near := ours.near(name)):
            yield Finding(
                severity="warning",
                source=layer.name,
                subject=name,
                code="row_beside_ours",
                message=f"added beside {' and '.join(near)}, which goes on counting: if that is "
                "the species meant, write its name as there",
            )


@cache
def _own_table(layer: Layer, folder: Path) -> SourceRead:
    """A table as it comes with the program; its path says so, wherever the program is.

    It is read once a process, however many properties that runs.
    """
    file = FILE_BY_SOURCE[layer.name]
    read = read_table(TableSource(path=file), layer, folder)
    if read.source_row is None:
        return SourceRead(read.frame, faults=[_missing(file)])
    row = {**read.source_row, "path": f"{HOME}/{file}", "origin": "program"}
    return SourceRead(read.frame, read.findings, row, read.faults)


def _missing(file: str) -> Fault:
    """What is said where the program is not whole."""
    found, expected = "is not there or cannot be read", "the table that comes with the program"
    return Fault(f"{HOME}/{file}", found, expected, "install the program again")


def _without_replaced(base: SourceRead, extra: SourceRead, layer: Layer) -> SourceRead:
    """A table without the rows that the user's own take the place of."""
    key = list(layer.key)
    if not key or base.source_row is None:
        return base
    ours, theirs = (
        pd.MultiIndex.from_frame(frame[key].astype(object).map(_as_compared))
        for frame in (base.frame, extra.frame)
    )
    stays = ~ours.isin(theirs)
    frame = base.frame[stays].reset_index(drop=True)
    row = {**base.source_row, "rows_used": len(frame)}
    return SourceRead(frame, base.findings, row)


def _as_compared(value: object) -> object:
    """A value of a key without what people spell differently in texts: case, blanks, marks."""
    return folded(value) if isinstance(value, str) else value
