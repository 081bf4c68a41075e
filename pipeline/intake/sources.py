"""Everything a run reads, as frames: the property file's own lists and all its sources."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
from pydantic import BaseModel
from pyproj import CRS

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding, findings_frame
from pipeline.core.layer import Layer, conform, empty
from pipeline.core.layers import SOURCES
from pipeline.ground.geometry import working_crs
from pipeline.intake.layers import INTAKE_FINDINGS
from pipeline.intake.references import find_references, reference_faults
from pipeline.intake.safety import SourceRead
from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import PropertyHead, TableSource, VectorSource
from pipeline.intake.tables import read_table
from pipeline.intake.vector import read_vector
from pipeline.log.findings import find_treatments
from pipeline.log.treatment_log import why_left_out

LAYER_BY_SOURCE = {"units": "drawn_units"}


UNIT_LISTS = (("units", None), ("burned", "burned"), ("reference", "reference"))


@dataclass(frozen=True, slots=True)
class Intake:
    """Every layer that the steps may read, by name, each as declared; empty where not given.

    ``crs`` is the working projection, which all shapes are in.
    """

    frames: dict[str, pd.DataFrame]
    crs: CRS


@dataclass(slots=True)
class _Gathered:
    """What the sources gave so far."""

    parts: dict[str, list[pd.DataFrame]] = field(default_factory=dict)
    findings: list[tuple[CRS | None, Finding]] = field(default_factory=list)
    rows: list[dict[str, Any]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def add(self, layer: str, read: SourceRead) -> None:
        """Take in one source."""
        crs = read.frame.crs if isinstance(read.frame, gpd.GeoDataFrame) else None
        self.parts.setdefault(layer, []).append(read.frame)
        self.findings += [(crs, finding) for finding in read.findings]
        self.faults += read.faults
        if read.source_row is not None:
            self.rows.append(read.source_row)


def read_sources(
    property_file: PropertyHead,
    arriving: Mapping[str, Layer],
    find_faults: Callable[[Mapping[str, pd.DataFrame]], list[Fault]],
    folder: Path,
    allowed: tuple[Path, ...] = (),
) -> Intake:
    """Every source of a property file, checked alone and against the others.

    ``arriving`` are the declared layers that sources and lists of the property file fill;
    ``find_faults`` tells what is wrong when they are held against each other.

    Raises SourceError with all faults of all sources.
    """
    gathered = _Gathered()
    for name, source, entry in _given(property_file):
        layer = arriving[LAYER_BY_SOURCE.get(name, name)]
        if isinstance(source, VectorSource):
            read = read_vector(name, source, layer, folder, allowed, entry=entry)
        else:
            read = read_table(source, layer, folder, allowed)
        gathered.add(layer.name, read)
    _add_scenes(property_file, folder, allowed, gathered)
    tables = listed_frames(property_file, arriving)
    units = gathered.parts["drawn_units"][0]
    if gathered.faults:
        known_units = not any(f.where.startswith("units") for f in gathered.faults) and len(units)
        given = {name: parts[0] for name, parts in gathered.parts.items()} | tables
        names = reference_faults(given) if known_units else []
        raise SourceError([*gathered.faults, *names])
    crs = working_crs(units.geometry)
    frames = _placed(gathered, arriving, crs)
    faults = find_faults(frames | tables)
    if faults:
        raise SourceError(faults)
    frames |= {name: conform(frame, arriving[name]) for name, frame in tables.items()}
    return Intake(frames | _told_of_sources(gathered, frames, crs), crs)


def _given(property_file: PropertyHead) -> Iterator[tuple[str, TableSource, int]]:
    """Each map and table source that the property file names: its name, itself, its number."""
    for name in type(property_file.sources).model_fields:
        told = getattr(property_file.sources, name)
        for entry, source in enumerate(told if isinstance(told, tuple) else (told,), 1):
            if isinstance(source, TableSource):
                yield name, source, entry


def _add_scenes(
    property_file: PropertyHead, folder: Path, allowed: tuple[Path, ...], gathered: _Gathered
) -> None:
    """The rasters, looked at and not read."""
    frame, rows, faults = read_scenes(property_file.sources.scenes, folder, allowed)
    gathered.add("scenes", SourceRead(frame, [], None, faults))
    gathered.rows += rows


def listed_frames(
    property_file: PropertyHead, arriving: Mapping[str, Layer]
) -> dict[str, pd.DataFrame]:
    """The lists of the property file as frames: one row for each unit of each entry."""
    frames = {"property": pd.DataFrame([property_file.property.model_dump()])}
    for name in type(property_file).model_fields:
        told = getattr(property_file, name)
        if name in arriving and isinstance(told, tuple):
            rows = [row for entry in told for row in _rows_of(entry, arriving[name])]
            frames[name] = _declared_frame(rows, arriving[name])
    return frames


def _rows_of(entry: BaseModel, layer: Layer) -> Iterator[dict[str, Any]]:
    """Rows of one entry; its own name, the first of its fields, stands in the first column."""
    told = entry.model_dump()
    name, *_ = told
    row = {layer.columns[0].name: told[name]} | told
    for field_name, role in UNIT_LISTS:
        for unit_id in told.get(field_name, ()):
            yield row | {"unit_id": unit_id, "role": role}


def _declared_frame(rows: list[dict[str, Any]], layer: Layer) -> pd.DataFrame:
    """Rows as a frame with the declared columns; what a row does not tell is empty."""
    if not rows:
        return empty(layer)
    frame = pd.DataFrame(
        {c.name: pd.Series([row.get(c.name) for row in rows], dtype=object) for c in layer.columns}
    )
    for column in layer.columns:
        if column.kind == "date":
            frame[column.name] = pd.to_datetime(frame[column.name]).astype("datetime64[s]")
    return frame


def _placed(
    gathered: _Gathered, arriving: Mapping[str, Layer], crs: CRS
) -> dict[str, pd.DataFrame]:
    """What the sources gave in the working projection and as declared, the rest empty."""
    frames = {
        name: empty(layer, crs if layer.geometry else None) for name, layer in arriving.items()
    }
    for name, parts in gathered.parts.items():
        layer = arriving[name]
        there = [p.to_crs(crs) if layer.geometry else p for p in parts if len(p)]
        if there:
            together = pd.concat(there, ignore_index=True)
            frames[name] = conform(together, layer, crs if layer.geometry else None)
    return frames


def _told_of_sources(
    gathered: _Gathered, frames: dict[str, pd.DataFrame], crs: CRS
) -> dict[str, pd.DataFrame]:
    """Layers ``intake_findings`` and ``sources``."""
    findings = [_moved(finding, own, crs) for own, finding in gathered.findings]
    log, units = frames["treatments"], frames["drawn_units"]
    findings += find_references(frames) + find_treatments(log, units)
    sources = pd.DataFrame(gathered.rows)
    left_out = int((why_left_out(log, units).map(len) > 0).sum())
    sources.loc[sources["source"] == "treatments", "rows_used"] -= left_out
    layers = INTAKE_FINDINGS, SOURCES
    return {
        "intake_findings": conform(findings_frame(findings, crs), layers[0], crs),
        "sources": conform(sources, layers[1]),
    }


def _moved(finding: Finding, own: CRS | None, crs: CRS) -> Finding:
    """The finding with its place in the working projection."""
    place = finding.get("geometry")
    if place is None or own is None:
        return finding
    return {**finding, "geometry": gpd.GeoSeries([place], crs=own).to_crs(crs).iloc[0]}
