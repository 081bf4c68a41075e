"""The files of a batch: ``batch.json``, ``batch.gpkg`` and ``batch.html``, each whole or not there.

Paths in them count from the folder that they stand in, so that it may be moved or given away.
"""

import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd
from pyproj import CRS

from pipeline.batch.figures import LON_LAT, batch_tables
from pipeline.batch.job import Outcome
from pipeline.batch.layers import LAYERS
from pipeline.batch.page import batch_page
from pipeline.pages.cautions import CAUTION
from pipeline.write.geopackage import write_tables
from pipeline.write.pages import beside
from pipeline.write.record import program_record
from pipeline.write.run_folder import clear_all_remains, sole_writer
from pipeline.write.stored.whole_files import refuse_unless_former, way_from, write_whole

RECORD, GEOPACKAGE, PAGE = "batch.json", "batch.gpkg", "batch.html"


PART = re.compile(r"\.batch\.[0-9]+\.part\.(json|html|gpkg(-journal)?)")
"""Name of a file of a batch that is being written."""


COUNTED = ("stop_and_ask", "think_again", "know", "warnings")


@dataclass(frozen=True, slots=True)
class Batch:
    """A finished batch: its outcomes in the order of the properties, and its tables."""

    out: Path
    outcomes: tuple[Outcome, ...]
    tables: dict[str, pd.DataFrame]

    @property
    def states(self) -> Counter[str]:
        """How many properties are written, kept and failed."""
        return Counter(outcome.state for outcome in self.outcomes)

    def total(self, column: str) -> float:
        """Sum of a figure over all properties."""
        return float(self.tables["properties"][column].fillna(0).astype(float).sum())


def gather_batch(outcomes: Iterable[Outcome], out: Path) -> Batch:
    """The tables of all outcomes."""
    ordered = tuple(sorted(outcomes, key=lambda outcome: outcome.job.number))
    heads = [_head(outcome, out) for outcome in ordered]
    return Batch(out, ordered, batch_tables(heads, [outcome.figures for outcome in ordered]))


def _head(outcome: Outcome, out: Path) -> dict[str, str | None]:
    """State, files and reasons of a property."""
    return {
        "property_file": way_from(out, outcome.job.property_file),
        "state": outcome.state,
        "folder": way_from(out, outcome.folder) if outcome.folder is not None else None,
        "reasons": "\n".join(outcome.reasons) or None,
    }


def refuse_unless_batch(out: Path) -> None:
    """Raise OutputError where the files of a batch may not be written, before it is computed."""
    refuse_unless_former(out, "batch", RECORD, (GEOPACKAGE, PAGE))


@contextmanager
def only_batch(out: Path) -> Iterator[Path]:
    """Be the only batch that writes into a folder, cleared of what killed ones left; its lock."""
    with sole_writer(out, "batch", out, "another batch is writing there") as lock:
        clear_all_remains(out)
        for part in out.glob(".batch.*"):
            if PART.fullmatch(part.name):
                part.unlink(missing_ok=True)
        yield lock


def write_batch(batch: Batch) -> list[Path]:
    """Write the three files, each under another name first; the paths written."""
    batch.out.mkdir(parents=True, exist_ok=True)
    tables, crs = batch.tables, CRS.from_epsg(LON_LAT)
    # The record comes first: by it the next batch knows that the others are its own.
    return [
        write_whole(batch.out / RECORD, lambda part: part.write_text(record_text(batch), "utf-8")),
        write_whole(batch.out / GEOPACKAGE, lambda part: write_tables(tables, LAYERS, crs, part)),
        write_whole(batch.out / PAGE, lambda part: part.write_text(page_text(batch), "utf-8")),
    ]


def record_text(batch: Batch) -> str:
    """Text of ``batch.json``: every property with its state, files, reasons and counts."""
    record = {
        "program": program_record(),
        "caution": CAUTION,
        "totals": {state: batch.states[state] for state in ("written", "kept", "failed")}
        | {name: int(batch.total(name)) for name in COUNTED},
        "properties": [_record(row) for row in batch.tables["properties"].to_dict("records")],
    }
    return json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _record(row: Mapping[Any, Any]) -> dict[str, Any]:
    """A property in ``batch.json``."""
    told = {name: row[name] for name in ("property_file", "state", "property", "season", "folder")}
    told["season"] = None if pd.isna(told["season"]) else int(told["season"])
    told["reasons"] = row["reasons"].split("\n") if row["reasons"] else []
    counts = {name: int(row[name]) for name in COUNTED if not pd.isna(row[name])}
    return told | counts


def page_text(batch: Batch) -> str:
    """Text of ``batch.html``."""
    return batch_page(
        batch.tables,
        style=beside("report.css") + beside("batch.css"),
        script=beside("batch.js"),
    )
