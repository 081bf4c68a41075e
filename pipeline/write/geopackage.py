"""The GeoPackage of a run: its layers and tables, labeled, the same bytes for the same layers.

*Source*: OGC 12-128r17, GeoPackage Encoding Standard 1.3 (2021).
"""

import json
import re
import sqlite3
from collections.abc import Collection, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pyogrio.raw
import shapely
from pyogrio.errors import DataLayerError
from pyproj import CRS
from pyproj.exceptions import CRSError

from pipeline import __version__
from pipeline.catalog import LAYERS
from pipeline.core.errors import Fault, SourceError
from pipeline.core.layer import Layer, conform, empty
from pipeline.core.run import Run
from pipeline.pages.cautions import CAUTION
from pipeline.pages.conflict_lines import stop_lines, stops_note
from pipeline.write.geopackage_checks import geopackage_faults, opened_to_read
from pipeline.write.geopackage_tables import (
    PROVENANCE_URI,
    add_schema,
    add_table,
    add_tables,
    stored_cells,
)
from pipeline.write.record import RECORDED_PACKAGES, version_of
from pipeline.write.stored.schema import SCHEMA, in_todays_schema

# The run folder is put on the disk as a whole, so there is no need to wait for it layer by layer.
UNSAFE_AND_FAST = {"OGR_SQLITE_SYNCHRONOUS": "OFF", "OGR_SQLITE_JOURNAL": "MEMORY"}


SLUG = "[A-Za-z0-9_]+"  # Becomes the name of a folder, so it must not be a path.


MOMENT = r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z"  # Goes into every file as it stands.


VERSION = "1.3"  # The newest that common viewers read without a complaint.


@dataclass(frozen=True, slots=True)
class Stored:
    """What a finished GeoPackage holds: its layers (all of them, absent ones empty) and origin.

    ``unread`` are layers of an older schema that cannot be told in today's, with the reason.
    """

    frames: dict[str, pd.DataFrame]
    crs: CRS
    provenance: dict[str, Any]
    unread: dict[str, str] = field(default_factory=dict)


def write_geopackage(run: Run, path: Path) -> None:
    """Write every layer and table of the run that has rows, and those that are always there."""
    names = [
        name
        for name, layer in LAYERS.items()
        if not layer.internal and (layer.always or len(run.frames[name]))
    ]
    conflicts = run.frames["conflicts"]
    told = {name: layer_description(LAYERS[name], conflicts) for name in names}
    with _written(path, run.frames, LAYERS, told, run.crs, run.stamp) as database:
        title = f"{run.name} {run.season}"
        add_tables(database, names, _provenance(run), title, run.stamp)
    if faults := geopackage_faults(path):
        raise ValueError("the GeoPackage breaks its standard: " + "; ".join(faults))


def _provenance(run: Run) -> dict[str, Any]:
    """Origin of the figures: program, sources and settings."""
    settings = run.frames["settings"]
    return {
        "program": "swardline",
        "version": __version__,
        "schema": SCHEMA,
        "packages": {name: version_of(name) for name in RECORDED_PACKAGES},
        "property": {"name": run.name, "season": run.season},
        "slug": run.slug,
        "newest_source": run.stamp,
        "crs": run.crs.to_wkt(),
        "sources": run.frames["sources"][["source", "path", "sha256"]].to_dict("records"),
        "settings": {
            f"{row.section}.{row.setting}": {"value": row.value, "origin": row.origin}
            for row in settings.itertuples(index=False)
        },
        "caution": CAUTION,
        "stop_and_ask": stop_lines(run.frames["conflicts"]),
    }


WORK_OF_LAYER = dict.fromkeys(
    (
        "burn_blocks",
        "firebreaks",
        "tie_ins",
        "line_work",
        "mow_strips",
        "mow_passes",
        "mow_moves",
        "mow_routes",
        "made_lines",
    ),
    "burn",
) | dict.fromkeys(("seed_areas", "seed_order"), "seed")
"""Planned work that a layer serves: its description says on top what stands against that."""


def layer_description(layer: Layer, conflicts: pd.DataFrame) -> str:
    """Meaning of a layer, after what one must stop and ask for before it is used."""
    kind = WORK_OF_LAYER.get(layer.name)
    note = stops_note(conflicts, kind) if kind else ""
    return f"{note} {layer.meaning}".strip()


def write_tables(
    frames: Mapping[str, pd.DataFrame], layers: Mapping[str, Layer], crs: CRS, path: Path
) -> None:
    """Write layers that are of no run, such as those of a batch, labeled as those of a run are."""
    told = {name: layer.meaning for name, layer in layers.items()}
    with _written(path, frames, layers, told, crs, NO_MOMENT) as database:
        add_schema(database, layers.values())


def write_layers(
    frames: Mapping[str, pd.DataFrame],
    layers: Mapping[str, Layer],
    crs: CRS,
    path: Path,
    stamp: str,
) -> None:
    """Write layers alone, as of a moment (ISO 8601, UTC)."""
    told = {name: layer.meaning for name, layer in layers.items()}
    with _written(path, frames, layers, told, crs, stamp):
        pass


NO_MOMENT = "2000-01-01T00:00:00.000Z"
"""Time in a file that is of many runs, so that the same runs give the same bytes."""


@contextmanager
def _written(
    path: Path,
    frames: Mapping[str, pd.DataFrame],
    layers: Mapping[str, Layer],
    told: Mapping[str, str],
    crs: CRS,
    stamp: str,
) -> Iterator[sqlite3.Connection]:
    """The layers and tables that something is told of, written; then the file, to add to it.

    The library opens the file anew for each layer, which takes the longer the more is in it. So
    it writes those with shapes alone, and the tables are added in one go.
    """
    spatial = [name for name in told if layers[name].geometry]
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": stamp, **UNSAFE_AND_FAST})
    try:
        for name in spatial:
            _write_layer(path, layers[name], frames[name], crs, told[name])
    finally:
        pyogrio.set_gdal_config_options(dict.fromkeys(("OGR_CURRENT_DATE", *UNSAFE_AND_FAST)))
    with closing(sqlite3.connect(path)) as database, database:
        database.execute("PRAGMA synchronous = OFF")
        for name, description in told.items():
            if name not in spatial:
                add_table(database, layers[name], frames[name], description, stamp)
        yield database


def _write_layer(path: Path, layer: Layer, frame: pd.DataFrame, crs: CRS, description: str) -> None:
    """Append one layer. Types are set here, since a date would else arrive as text."""
    values, masks = zip(*(stored_cells(frame[c.name], c.kind) for c in layer.columns), strict=True)
    pyogrio.raw.write(
        path,
        geometry=shapely.to_wkb(frame["geometry"].to_numpy()),
        field_data=list(values),
        fields=np.array(layer.column_names, dtype=object),
        field_mask=list(masks),
        layer=layer.name,
        driver="GPKG",
        geometry_type=_geometry_type(layer),
        crs=crs.to_wkt(),
        append=path.exists(),
        dataset_options={} if path.exists() else {"VERSION": VERSION},
        layer_options={"DESCRIPTION": description, "IDENTIFIER": layer.name},
    )


def _geometry_type(layer: Layer) -> str | None:
    """Geometry type in the words of the format."""
    return "Unknown" if layer.geometry in ("LineOrPolygon", "Geometry") else layer.geometry


def read_geopackage(path: Path, only: Collection[str] | None = None) -> Stored:
    """Layers and origin of a GeoPackage that a run wrote, all of them as this version writes them.

    ``only`` names the layers that are wanted; without it all of them are read. Raises SourceError
    for any other file, and for one of an older schema that has more than can be told in today's.
    """
    stored = read_any_schema(path, only)
    if stored.unread:
        named = ", ".join(sorted(stored.unread))
        found = f"of an older schema, from which this version cannot make {named}"
        expected = f"a file of schema {SCHEMA}"
        do = "make it again with swardline run; swardline years reads what can be read of it"
        raise _refused(path, found, expected, do)
    return stored


def read_any_schema(path: Path, only: Collection[str] | None = None) -> Stored:
    """Layers and origin of a GeoPackage of this schema or an older one, read as far as can be.

    Raises SourceError for a file of a newer schema or one that no run wrote.
    """
    names, tables, provenance, crs = _contents(path)
    schema = provenance.get("schema", 1)
    wanted = {name: LAYERS[name] for name in (LAYERS if only is None else only)}
    try:
        if gone := sorted((_due(schema) | names) - (names & tables)):
            raise ValueError(f"layers missing {gone}")
        if schema == SCHEMA:
            frames = {name: _read_layer(path, layer, names, crs) for name, layer in wanted.items()}
            unread: dict[str, str] = {}
            if only is None:
                _check_run(frames)
        else:
            raw = {name: _raw_layer(path, LAYERS[name], crs) for name in LAYERS if name in names}
            told = provenance["newest_source"]
            frames, unread = in_todays_schema(
                raw, wanted, schema=schema, newest_source=told, crs=crs
            )
        return Stored(frames, crs, provenance, unread)
    except (ValueError, LookupError, DataLayerError) as error:
        found = f"made by another version of the program, or changed since: {error}"
        expected = "the layers as this version writes them"
        raise _refused(path, found, expected, "make it again with swardline run") from error


def _due(schema: int) -> set[str]:
    """Layers that every file of a schema has."""
    if schema == SCHEMA:
        return {name for name, layer in LAYERS.items() if layer.always}
    return {"property", "units"}


def _contents(path: Path) -> tuple[set[str], set[str], dict[str, Any], CRS]:
    """Layers that a GeoPackage lists, tables that it has, its origin and its working system."""
    try:
        with opened_to_read(path) as database:
            if database.execute("SELECT 1 FROM sqlite_master WHERE type = 'view'").fetchone():
                raise ValueError("it holds a view")
            names = {row[0] for row in database.execute("SELECT table_name FROM gpkg_contents")}
            tables = {row[0] for row in database.execute("SELECT name FROM sqlite_master")}
            texts = database.execute(
                "SELECT metadata FROM gpkg_metadata WHERE md_standard_uri = ?", (PROVENANCE_URI,)
            ).fetchall()
        provenance = json.loads(texts[0][0])
        slug, crs = provenance["slug"], CRS.from_wkt(provenance["crs"])
        _check_moment(provenance["newest_source"])
        schema = provenance.get("schema", 1)
        if type(schema) is not int or schema < 1:
            raise ValueError(f"its schema is no number: {schema}")
    except (sqlite3.Error, LookupError, TypeError, ValueError, RecursionError, CRSError) as error:
        found = f"cannot be read as one ({error})"
        raise _refused(path, found, "a GeoPackage written by swardline run", THE_RUNS) from error
    if not isinstance(slug, str) or not re.fullmatch(SLUG, slug):
        found = f'its metadata names the run "{slug}"'
        raise _refused(path, found, "a name of letters, digits and underscores", THE_RUNS)
    if schema > SCHEMA:
        found = f"of schema {schema}, written by a newer version ({provenance.get('version')})"
        raise _refused(path, found, f"a schema up to {SCHEMA}", "install the newer version")
    return names, tables, provenance, crs


def _check_moment(stamp: object) -> None:
    """Raise ValueError unless the time of the newest source is one, as a run writes it."""
    if not isinstance(stamp, str) or not re.fullmatch(MOMENT, stamp, re.ASCII):
        raise ValueError(f"newest_source is no time: {stamp}")
    datetime.fromisoformat(stamp)


def _check_run(frames: Mapping[str, pd.DataFrame]) -> None:
    """Raise ValueError where what every run writes, or what a row hangs on, is not there."""
    if len(frames["property"]) != 1:
        raise ValueError(f"layer property: {len(frames['property'])} rows in place of 1")
    lost = set(frames["mow_passes"]["strip_id"]) - set(frames["mow_strips"]["strip_id"])
    if lost:
        raise ValueError(f"layer mow_strips: no row for {sorted(lost)}")


THE_RUNS = "give the .gpkg out of a run folder"


def _refused(path: Path, found: str, expected: str, do: str) -> SourceError:
    return SourceError(Fault(str(path), found, expected, do))


def _read_layer(path: Path, layer: Layer, names: set[str], crs: CRS) -> pd.DataFrame:
    """One layer as it was written; an absent one is empty."""
    if layer.name not in names:
        return empty(layer, crs if layer.geometry else None)
    return conform(_raw_layer(path, layer, crs), layer)


def _raw_layer(path: Path, layer: Layer, crs: CRS) -> pd.DataFrame:
    """One layer as it stands in the file."""
    frame = pyogrio.read_dataframe(path, layer=layer.name)
    if layer.geometry is not None:
        if "geometry" not in frame:
            frame = gpd.GeoDataFrame(frame, geometry=[None] * len(frame), crs=crs)
        frame = frame.set_crs(crs, allow_override=True)
    return frame
