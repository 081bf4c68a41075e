"""The record of a run: which settings, which sources, which versions, which files."""

import json
import platform
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline import __version__
from pipeline.catalog import PropertyFile, settings_sections
from pipeline.core.run import Run
from pipeline.core.units import unit_of
from pipeline.intake.files.checksums import sha256_of
from pipeline.write.former_run import RECORD, Owner, manifest_rows, read_manifest, record_text
from pipeline.write.stored.schema import SCHEMA

RECORDED_PACKAGES = ("geopandas", "numpy", "pandas", "pyogrio", "pyproj", "rasterio", "shapely")


@cache
def version_of(package: str) -> str:
    """Version of an installed package, looked up once a process."""
    return version(package)


def newest_source_stamp(property_file: Path, sources: Iterable[str]) -> str:
    """Time of the newest source [ISO 8601, UTC], to the second: the stamp of all outputs.

    ``sources`` are paths as they stand in the property file.
    """
    folder = property_file.resolve().parent
    newest = max(path.stat().st_mtime for path in (property_file, *(folder / s for s in sources)))
    return datetime.fromtimestamp(int(newest), UTC).strftime("%Y-%m-%dT%H:%M:%S.000Z")


def settings_rows(property_file: PropertyFile) -> pd.DataFrame:
    """Rows of the layer ``settings``: value, unit, origin, meaning and source of each one."""
    rows = []
    for name, section in settings_sections().items():
        values = getattr(property_file, name)
        for setting, field in section.model_fields.items():
            extra = field.json_schema_extra
            declared: dict[str, Any] = extra if isinstance(extra, dict) else {}
            rows.append(
                {
                    "section": name,
                    "setting": setting,
                    "value": _text(getattr(values, setting)),
                    "unit": None if declared.get("dimensionless") else unit_of(setting),
                    "origin": "property_file" if setting in values.model_fields_set else "default",
                    "meaning": field.description,
                    "reference": declared["source"],
                }
            )
    return pd.DataFrame(rows)


def _text(value: object) -> str:
    """A setting's value as it would be written in a property file."""
    if value is None:
        return "not given"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (tuple, list)):
        return ", ".join(map(_text, value))
    return str(value)


def program_record() -> dict[str, str]:
    """Versions of the program and of what it computes with."""
    own = {"swardline": __version__, "python": platform.python_version()}
    return own | {name: version_of(name) for name in RECORDED_PACKAGES}


def inputs_record(
    property_file: Path, stamp: str, settings: pd.DataFrame, sources: pd.DataFrame
) -> dict[str, Any]:
    """All that the outputs of a run depend on; two runs with the same are the same.

    The time of the newest source is among it, since it stands in the outputs.
    """
    return {
        "program": program_record(),
        "schema": SCHEMA,
        "property_file_sha256": sha256_of([property_file]),
        "newest_source": stamp,
        "settings": _records(settings),
        "sources": _records(sources),
    }


def stands_as_recorded(folder: Path, inputs: Mapping[str, Any]) -> bool:
    """Whether a run of just these inputs stands in a folder, with all of its files.

    A file beside the GeoPackage may have been edited since; that is its user's right.
    """
    manifest = read_manifest(folder)
    if manifest is None or not manifest.record_unchanged:
        return False
    record = json.loads((folder / RECORD).read_text(encoding="utf-8"))
    if any(record.get(key) != value for key, value in inputs.items()):
        return False
    files = [folder / name for name in manifest.sums_by_file]
    whole = all(path.is_file() for path in files)
    return whole and all(manifest.accounts_for(p) for p in files if p.suffix == ".gpkg")


def write_run_record(
    run: Run,
    written: Iterable[Path],
    folder: Path,
    owner: Owner,
    inputs: Mapping[str, Any] | None = None,
) -> None:
    """Write ``run.json``: all that tells two runs apart, and whose the folder is.

    ``inputs`` is what the run read, None where its files were made from a finished GeoPackage.
    """
    record = {
        "program": program_record(),
        "schema": SCHEMA,
        "property": {"name": run.name, "season": run.season, "file": owner.property_file},
        "property_file_sha256": None if inputs is None else inputs["property_file_sha256"],
        "newest_source": run.stamp,
        "crs": run.crs.to_wkt(),
        "conflicts": _records(run.frames["conflicts"].drop(columns="geometry")),
        "settings": _records(run.frames["settings"]),
        "sources": _records(run.frames["sources"]),
        "findings": _records(run.frames["findings"].drop(columns="geometry")),
        "findings_by_cause": _records(run.frames["findings_by_cause"]),
        "layers": {name: len(frame) for name, frame in sorted(run.frames.items())},
        "outputs": manifest_rows(written),
    }
    (folder / RECORD).write_text(record_text(record), encoding="utf-8", errors="backslashreplace")


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a table as plain values; nulls as None, days as year, month and day."""
    plain = frame.astype(object).where(frame.notna(), None)
    return [{str(k): _plain(v) for k, v in row.items()} for row in plain.to_dict("records")]


def _plain(value: Any) -> Any:
    """One cell as JSON has it."""
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    return int(value) if hasattr(value, "__index__") else value
