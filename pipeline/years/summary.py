"""The files of a property's years: ``years.json``, ``.gpkg``, ``.csv`` and ``.html``, each whole.

Paths in them count from the folder that they stand in, so that it may be moved or given away.
"""

import json
from pathlib import Path
from typing import Any

import pandas as pd
from pyproj import CRS

from pipeline.pages.cautions import CAUTION
from pipeline.write.geopackage import write_tables
from pipeline.write.pages import beside
from pipeline.write.record import program_record
from pipeline.write.stored.whole_files import refuse_unless_former, write_whole
from pipeline.years.join import LON_LAT, Years
from pipeline.years.layers import CLASS_ACRES, LAYERS
from pipeline.years.page import years_page

RECORD, GEOPACKAGE, TABLE, PAGE = "years.json", "years.gpkg", "years.csv", "years.html"


def refuse_unless_years(out: Path) -> None:
    """Raise OutputError where these files may not be written, before anything is read."""
    refuse_unless_former(out, "years", RECORD, (GEOPACKAGE, TABLE, PAGE))


def write_years(years: Years) -> list[Path]:
    """Write the files, each under another name first; the paths written."""
    out, tables, crs = years.out, years.tables, CRS.from_epsg(LON_LAT)
    out.mkdir(parents=True, exist_ok=True)
    page = years_page(
        years.name,
        tables,
        style=beside("report.css") + beside("batch.css"),
        script=beside("batch.js"),
    )
    # The record comes first: by it the next one knows that the others are its own.
    return [
        write_whole(out / RECORD, lambda part: part.write_text(record_text(years), "utf-8")),
        write_whole(out / GEOPACKAGE, lambda part: write_tables(tables, LAYERS, crs, part)),
        write_whole(out / TABLE, lambda part: part.write_bytes(table_bytes(years))),
        write_whole(out / PAGE, lambda part: part.write_text(page, "utf-8")),
    ]


def table_bytes(years: Years) -> bytes:
    """Text of ``years.csv``: a row for each piece of ground and year, as spreadsheets read it."""
    table = years.tables["unit_years"]
    return table.to_csv(index=False, date_format="%Y-%m-%d", lineterminator="\r\n").encode(
        "utf-8-sig"
    )


def record_text(years: Years) -> str:
    """Text of ``years.json``: each run with its state, and the acres of each season by outcome."""
    seasons = years.tables["seasons"]
    acres = ["planned_ac", *(column.name for column in CLASS_ACRES), "without_plan_ac"]
    record = {
        "program": program_record(),
        "caution": CAUTION,
        "property": years.name,
        "totals": {name: float(seasons[name].sum()) for name in acres},
        "rows": {name: len(table) for name, table in years.tables.items()},
        "seasons": [_plain(row) for row in seasons.to_dict("records")],
        "notes": [_plain(row) for row in years.tables["notes"].to_dict("records")],
    }
    return json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _plain(row: dict[Any, Any]) -> dict[str, Any]:
    """A row as JSON has it."""
    return {
        str(name): None
        if pd.isna(cell)
        else cell.date().isoformat()
        if isinstance(cell, pd.Timestamp)
        else int(cell)
        if hasattr(cell, "__index__")
        else cell
        for name, cell in row.items()
    }
