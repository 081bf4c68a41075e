"""Everything a run reads, as frames: the property file's own lists and all its sources."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
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
from pipeline.core.names import clean_name, listed
from pipeline.ground.geometry import working_crs
from pipeline.intake.elevation import read_elevation
from pipeline.intake.faults import find_references, intake_faults
from pipeline.intake.layers import INTAKE_FINDINGS, MENDED
from pipeline.intake.photo_files import read_photo_files
from pipeline.intake.rasters.backdrop import find_backdrop, read_backdrop
from pipeline.intake.safety import SourceRead
from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import MendSettings, PropertyHead, TableSource, VectorSource
from pipeline.intake.shipped import FILE_BY_SOURCE, read_shipped
from pipeline.intake.tables import read_table, typed_frame
from pipeline.intake.unit_rows import Mended, mended_frame, without_in_holdings
from pipeline.intake.vector import read_vector
from pipeline.log.findings import find_treatments
from pipeline.log.treatment_log import why_left_out

LAYER_BY_SOURCE = {"units": "drawn_units", "photo_points": "drawn_photo_points"}
UNIT_LISTS = (("units", None), ("burned", "burned"), ("reference", "reference"))


@dataclass(frozen=True, slots=True)
class Intake:
    """Every layer that the steps may read, by name, each as declared; empty where not given.

    ``crs`` is the working projection, which all shapes are in.
    """

    frames: dict[str, pd.DataFrame]
    crs: CRS


@dataclass(frozen=True, slots=True)
class Source:
    """One map, table or list of rasters that was read, and the layer it fills."""

    layer: str
    read: SourceRead
    more_rows: Sequence[dict[str, Any]] = ()

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The rows that it has in the layer ``sources``."""
        row = self.read.source_row
        return [*([] if row is None else [row]), *self.more_rows]

    def findings(self, crs: CRS) -> list[Finding]:
        """What was found in it, with places in the working projection."""
        frame = self.read.frame
        file_crs = frame.crs if isinstance(frame, gpd.GeoDataFrame) else None
        return [_moved(finding, file_crs, crs) for finding in self.read.findings]


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
    read = list(_read_each(property_file, arriving, folder, allowed))
    lists = listed_frames(property_file, arriving)
    _refuse_unreadable(read, lists)
    _refuse_shared_names(_units(read))
    first, *others = [source.read.frame.geometry for source in _units(read)]
    crs = working_crs(pd.concat([first, *(shapes.to_crs(first.crs) for shapes in others)]))
    frames = _placed(read, arriving, crs)
    frames["drawn_units"], clipped = _clipped(frames["drawn_units"], property_file.mend)
    if faults := find_faults(frames | lists):
        raise SourceError(faults)
    frames |= {name: conform(frame, arriving[name]) for name, frame in lists.items()}
    mended = [*(s.read.mended for s in read if s.read.mended is not None), clipped]
    frames["mended"] = _mended(mended, crs)
    return Intake(frames | _findings_and_sources(read, frames, crs), crs)


def _read_each(
    property_file: PropertyHead,
    arriving: Mapping[str, Layer],
    folder: Path,
    allowed: tuple[Path, ...],
) -> Iterator[Source]:
    """Each source that is named or comes with the program; rasters are looked at only."""
    for name in FILE_BY_SOURCE:
        layer = arriving[name]
        for read in read_shipped(getattr(property_file.sources, name), layer, folder, allowed):
            yield Source(layer.name, read)
    for name, source, entry in _given(property_file):
        layer = arriving[LAYER_BY_SOURCE.get(name, name)]
        if isinstance(source, VectorSource):
            mend = property_file.mend
            read = read_vector(name, source, layer, folder, allowed, entry=entry, mend=mend)
        else:
            read = read_table(source, layer, folder, allowed)
        yield Source(layer.name, read)
    frame, rows, faults = read_scenes(property_file.sources.scenes, folder, allowed)
    yield Source("scenes", SourceRead(frame, faults=faults), rows)
    if (heights := property_file.sources.elevation) is not None:
        yield Source("elevation", read_elevation(heights, folder, allowed))
    if (picture := property_file.sources.backdrop) is not None:
        yield Source("backdrop", read_backdrop(picture, folder, allowed))
    if (photos := property_file.sources.photos) is not None:
        layer = arriving["photo_files"]
        yield Source(layer.name, read_photo_files(photos, layer, folder, allowed))


def _given(property_file: PropertyHead) -> Iterator[tuple[str, TableSource | VectorSource, int]]:
    """Each map and table source that the property file names: its name, itself, its number."""
    for name in type(property_file.sources).model_fields:
        given = getattr(property_file.sources, name)
        for entry, source in enumerate(given if isinstance(given, tuple) else (given,), 1):
            if isinstance(source, TableSource | VectorSource):
                yield name, source, entry


def _units(read: Sequence[Source]) -> list[Source]:
    """The sources of the units, one or more."""
    return [source for source in read if source.layer == "drawn_units"]


def _refuse_shared_names(units: Sequence[Source]) -> None:
    """Raise SourceError where two sources of units have a name in common."""
    sources_by_name: dict[str, list[int]] = {}
    for number, source in enumerate(units, 1):
        for unit_id in source.read.frame["unit_id"]:
            sources_by_name.setdefault(unit_id, []).append(number)
    shared = {name: numbers for name, numbers in sources_by_name.items() if len(numbers) > 1}
    if not shared:
        return
    numbers = sorted({number for several in shared.values() for number in several})
    raise SourceError.of(
        f"[[sources.units]] numbers {listed(numbers)}",
        f"units of one name: {listed(shared)}",
        "a name of its own for each unit",
        'put a word before the names of each source: prefix = "…"',
    )


def _clipped(
    drawn_units: pd.DataFrame, mend: MendSettings
) -> tuple[pd.DataFrame, gpd.GeoDataFrame]:
    """The units without the ground of those inside them where the user says so, and the mends."""
    mends: list[Mended] = []
    if mend.in_holdings == "clip":
        drawn_units, mends = without_in_holdings(gpd.GeoDataFrame(drawn_units))
    return drawn_units, mended_frame(mends, "units", gpd.GeoDataFrame(drawn_units).crs)


def _mended(parts: Sequence[gpd.GeoDataFrame], crs: CRS) -> pd.DataFrame:
    """Layer ``mended``: the mends of all sources, numbered."""
    there = [part.to_crs(crs) for part in parts if len(part)]
    if not there:
        return empty(MENDED, crs)
    together = pd.concat(there, ignore_index=True)
    return conform(together.assign(number=range(1, len(together) + 1)), MENDED, crs)


def _refuse_unreadable(read: Sequence[Source], lists: dict[str, pd.DataFrame]) -> None:
    """Raise SourceError with the faults of all sources, and with units that no map could have."""
    faults = [fault for source in read for fault in source.read.faults]
    if not faults:
        return
    units = [source.read for source in _units(read)]
    if not any(one.faults for one in units):
        frames = {source.layer: source.read.frame for source in read}
        named = pd.concat([one.frame.drop(columns="geometry") for one in units])
        faults += intake_faults(frames | lists | {"drawn_units": named})
    raise SourceError(faults)


def listed_frames(
    property_file: PropertyHead, arriving: Mapping[str, Layer]
) -> dict[str, pd.DataFrame]:
    """The lists of the property file as frames: one row for each unit of each entry."""
    told = property_file.property.model_dump()
    frames = {"property": _declared_frame([told], arriving["property"])}
    for name in type(property_file).model_fields:
        entries = getattr(property_file, name)
        if name in arriving and isinstance(entries, tuple):
            rows = [row for entry in entries for row in _rows_of(entry, arriving[name])]
            frames[name] = _declared_frame(rows, arriving[name])
    return frames


def _rows_of(entry: BaseModel, layer: Layer) -> Iterator[dict[str, Any]]:
    """Rows of one entry; its own name, the first of its fields, stands in the first column.

    Names lose blanks around them and runs of blanks inside, as they do in tables and maps.
    """
    fields = {
        field: clean_name(value) if isinstance(value, str) else value
        for field, value in entry.model_dump().items()
    }
    name, *_ = fields
    row = {layer.columns[0].name: fields[name]} | fields
    for field_name, role in UNIT_LISTS:
        for unit_id in fields.get(field_name, ()):
            yield row | {"unit_id": clean_name(unit_id), "role": role}


def _declared_frame(rows: list[dict[str, Any]], layer: Layer) -> pd.DataFrame:
    """Rows as a frame with the declared columns; what a row does not give is empty."""
    if not rows:
        return empty(layer)
    columns = layer.columns
    return typed_frame({c.name: [row.get(c.name) for row in rows] for c in columns}, columns)


def _placed(
    read: Sequence[Source], arriving: Mapping[str, Layer], crs: CRS
) -> dict[str, pd.DataFrame]:
    """Layers that the sources gave, in the working projection and as declared, the rest empty."""
    frames = {}
    for name, layer in arriving.items():
        layer_crs = crs if layer.geometry else None
        parts = [source.read.frame for source in read if source.layer == name]
        there = [part.to_crs(crs) if layer.geometry else part for part in parts if len(part)]
        frames[name] = (
            conform(pd.concat(there, ignore_index=True), layer, layer_crs)
            if there
            else empty(layer, layer_crs)
        )
    return frames


def _findings_and_sources(
    read: Sequence[Source], frames: dict[str, pd.DataFrame], crs: CRS
) -> dict[str, pd.DataFrame]:
    """The layers ``intake_findings`` and ``sources``, gathered from all that was read."""
    log, units = frames["treatments"], frames["drawn_units"]
    findings = [finding for source in read for finding in source.findings(crs)]
    findings += [
        *find_references(frames),
        *find_treatments(log, units),
        *find_backdrop(frames),
    ]
    sources = pd.DataFrame(
        [{"origin": "property_file"} | row for source in read for row in source.rows]
    )
    left_out = int((why_left_out(log, units).map(len) > 0).sum())
    sources.loc[sources["source"] == "treatments", "rows_used"] -= left_out
    return {
        "intake_findings": conform(findings_frame(findings, crs), INTAKE_FINDINGS, crs),
        "sources": conform(sources, SOURCES),
    }


def _moved(finding: Finding, file_crs: CRS | None, crs: CRS) -> Finding:
    """The finding with its place in the working projection."""
    place = finding.get("geometry")
    if place is None or file_crs is None:
        return finding
    return {**finding, "geometry": gpd.GeoSeries([place], crs=file_crs).to_crs(crs).iloc[0]}
