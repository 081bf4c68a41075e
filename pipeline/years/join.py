"""The runs of a property joined: every table of its years."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import conform
from pipeline.write.stored.whole_files import way_from
from pipeline.years.ground import drawn_outlines, followed_lines, told_changes
from pipeline.years.layers import LAYERS, NOTES, SEASONS
from pipeline.years.options import tell_option_years, tell_task_years
from pipeline.years.outcomes import hold_plans_against_logs, season_sums
from pipeline.years.records import Note, joined_log
from pipeline.years.runs import Failed, SeasonRun, read_runs
from pipeline.years.unit_years import (
    draw_lines,
    tell_line_records,
    tell_species_years,
    tell_unit_years,
    with_species_counts,
)

LON_LAT = 4326  # EPSG: each season has a working system of its own, so all is told in one.


@dataclass(frozen=True, slots=True)
class Years:
    """A property over its years: its name, the runs that were read or not, and the tables."""

    name: str
    out: Path
    runs: tuple[SeasonRun, ...]
    left_out: tuple[SeasonRun, ...]
    failed: tuple[Failed, ...]
    tables: dict[str, pd.DataFrame]


def join_years(packages: Iterable[Path], out: Path) -> Years:
    """Read all runs and join them. Raises UsageError where they are of several properties.

    Where none could be read the tables have no rows but those of the runs that failed.
    """
    runs, left_out, failed = read_runs(packages)
    tables = _joined(runs) if runs else {}
    tables["seasons"] = _seasons(runs, left_out, failed, tables.get("outcomes"), out)
    conformed = {
        name: conform(tables.get(name, _no_rows(name)), layer, LON_LAT if layer.geometry else None)
        for name, layer in LAYERS.items()
    }
    name = runs[-1].name if runs else ""
    return Years(name, out, tuple(runs), tuple(left_out), tuple(failed), conformed)


def _no_rows(name: str) -> pd.DataFrame:
    """A table without rows."""
    columns = LAYERS[name].column_names
    if LAYERS[name].geometry is None:
        return pd.DataFrame(columns=columns)
    return gpd.GeoDataFrame(columns=[*columns, "geometry"], geometry="geometry", crs=LON_LAT)


def _joined(runs: Sequence[SeasonRun]) -> dict[str, pd.DataFrame]:
    """All tables of runs that could be read."""
    crs, seasons = runs[-1].frames["units"].crs, [run.season for run in runs]
    outlines = drawn_outlines({run.season: run.frames["units"] for run in runs}, crs)
    log = joined_log(runs, outlines)
    lines = followed_lines(outlines, seasons)
    species = tell_species_years(runs, lines, outlines)
    years = with_species_counts(tell_unit_years(runs, lines, log, outlines), species)
    return {
        "ground_lines": draw_lines(runs, lines, years, log, outlines).to_crs(LON_LAT),
        "outcomes": hold_plans_against_logs(runs, log, outlines),
        "unit_years": years,
        "line_records": tell_line_records(lines, log, outlines),
        "unit_changes": told_changes(outlines, seasons),
        "option_years": tell_option_years(runs, log, outlines),
        "task_years": tell_task_years(runs, log, outlines),
        "species_years": species,
        "notes": _notes(runs, log.notes),
    }


def _seasons(
    runs: Sequence[SeasonRun],
    left_out: Sequence[SeasonRun],
    failed: Sequence[Failed],
    outcomes: pd.DataFrame | None,
    out: Path,
) -> pd.DataFrame:
    """Table ``seasons``: a row a run, those that failed at the end."""
    sums: Mapping[Any, Any] = {}
    if outcomes is not None:
        sums = season_sums(outcomes).to_dict("index")
    none: dict[str, Any] = dict.fromkeys(
        (c.name for c in SEASONS.columns if c.kind == "number"), 0.0
    )
    none |= {"plans": 0, "planned_pls_lb": None, "done_pls_lb": None}
    rows = []
    for run in [*runs, *left_out]:
        is_left_out = run in left_out
        rows.append(
            ({} if is_left_out else none | dict(sums.get(run.season, {})))
            | {
                "season": run.season,
                "run": way_from(out, _folder_of(run.path)),
                "state": "left_out" if is_left_out else "read_in_part" if run.lacking else "read",
                "as_of": run.as_of,
                "version": run.provenance.get("version"),
                "schema": run.provenance.get("schema", 1),
                "units": len(run.frames["units"]),
                "ground_ac": _ground_ac(run),
                "reasons": ", ".join(sorted(run.lacking)) or None,
            }
        )
    rows += [
        {
            "run": way_from(out, _folder_of(run.path)),
            "state": "failed",
            "reasons": "\n".join(run.reasons),
        }
        for run in failed
    ]
    return pd.DataFrame(rows, columns=SEASONS.column_names)


def _folder_of(package: Path) -> Path:
    """The run folder of a GeoPackage; where there is none, the file."""
    return package.parent if (package.parent / "run.json").is_file() else package


def _ground_ac(run: SeasonRun) -> float | None:
    """Acres of ground that the units cover; an older schema did not tell them."""
    totals = run.frames["ground_totals"]
    return None if totals.empty else float(totals["ground_ac"].iloc[0])


def _notes(runs: Sequence[SeasonRun], of_log: Sequence[Note]) -> pd.DataFrame:
    """Table ``notes``: seasons without a run, layers not read, and what is odd of logs."""
    notes: list[Note] = []
    for before, run in pairwise(runs):
        if run.season - before.season > 1:
            gap = f"{before.season + 1} to {run.season - 1}"
            words = f"no run of the seasons {gap}: what was planned in them is not known"
            notes.append({"season": run.season, "code": "season_missing", "note": words})
        if run.name != before.name:
            words = f'the property was called "{before.name}" before, on the same ground'
            notes.append({"season": run.season, "code": "name_changed", "note": words})
    for run in runs:
        if run.lacking:
            words = (
                "of an older schema, which has nothing of these layers: what they tell is not known"
            )
            about = ", ".join(sorted(run.lacking))
            told = {"season": run.season, "code": "layers_lacking", "about": about, "note": words}
            notes.append(told)
    table = pd.DataFrame([*notes, *of_log], columns=NOTES.column_names)
    return table.assign(number=range(1, len(table) + 1))
