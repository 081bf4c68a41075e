"""Read a map source by the declaration of its layer: every row used, or a fault that says why."""

from dataclasses import dataclass, field, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import geopandas as gpd
import numpy as np
from pyproj import CRS

from pipeline.compute.cells import Complaint, Value, cell_value
from pipeline.compute.findings import Finding
from pipeline.compute.headers import match_headers, percent_in_header
from pipeline.compute.names import listed
from pipeline.compute.shape_checks import Drawn, check_shapes
from pipeline.compute.stated_acres import find_stated_acres
from pipeline.errors import Fault, SourceError
from pipeline.io.features import Features, read_features
from pipeline.io.map_file import MapFile, open_map, told_crs
from pipeline.io.safety import guard_path
from pipeline.io.source_file import SourceRead, sha256_of
from pipeline.io.tables import typed_frame
from pipeline.layers import Column, Layer, empty
from pipeline.settings.sources import VectorSource

DEFAULTS = {"applies_to": "both"}
ROW_COLUMNS = ("source_row", "exclusion_id")


@dataclass(slots=True)
class Notes:
    """What is found on the way through one file."""

    findings: list[Finding] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def read_vector(
    role: str, source: VectorSource, layer: Layer, folder: Path, allowed: tuple[Path, ...] = (),
    *, entry: int = 1,
) -> SourceRead:  # fmt: skip
    """A map source as the frame of a layer, in its own reference system, every fault told at once.

    ``role`` is the source's name in the property file, ``entry`` its number among several.
    """
    notes = Notes()
    try:
        path = guard_path(source.path, folder, allowed, where=f"{role}: {source.path}")
        with TemporaryDirectory(prefix="swardline-", ignore_cleanup_errors=True) as scratch:
            opened = open_map(path, source, role, (folder, *allowed), Path(scratch))
            notes.findings += opened.findings
            notes.faults += opened.faults
            if not opened.rows:
                return _without_rows(role, source, layer, opened, notes, entry)
            crs = _settled_crs(opened, source, notes)
            headers = _headers(opened, source, layer, notes)
            features = read_features(opened, list(headers.values()))
            checksum = sha256_of(opened.parts)
    except SourceError as error:
        faults = [*notes.faults, *error.faults]
        return SourceRead(empty(layer), notes.findings, None, faults)
    data = _attributes(opened, features, headers, source, layer, notes)
    frame = _with_shapes(data, features, layer, opened, crs, role, notes, entry)
    row = _source_row(role, source, opened, checksum, crs, entry)
    return SourceRead(frame, notes.findings, row | {"rows_used": len(frame)}, notes.faults)


def _source_row(
    role: str, source: VectorSource, opened: MapFile, checksum: str, crs: CRS | None, entry: int
) -> dict[str, Any]:
    """Row of the layer ``sources``, without the count of rows used."""
    return {
        "source": role if entry == 1 else f"{role} {entry}", "path": source.path.replace("\\", "/"),
        "sha256": checksum, "driver": opened.driver, "crs": _crs_name(crs),
        "rows_read": opened.rows,
    }  # fmt: skip


def _without_rows(
    role: str, source: VectorSource, layer: Layer, opened: MapFile, notes: Notes, entry: int
) -> SourceRead:
    """A map without a row: refused for units, which all is measured on; told of for the others."""
    if layer.key == ("unit_id",):
        do = "draw the units, or name the file that holds them"
        notes.faults.append(Fault(opened.name, "no rows", "a polygon for each unit", do))
    else:
        message = f"{opened.name}: no rows, so that nothing of it is used: is it the right file?"
        notes.findings.append(Finding(severity="warning", source=role, message=message))
    row = _source_row(role, source, opened, sha256_of(opened.parts), opened.crs, entry)
    return SourceRead(empty(layer), notes.findings, row | {"rows_used": 0}, notes.faults)


def _crs_name(crs: CRS | None) -> str | None:
    """Code of a reference system where it has one, else its name."""
    if crs is None:
        return None
    authority = crs.to_authority(min_confidence=100)
    return ":".join(authority) if authority else crs.name


def _settled_crs(opened: MapFile, source: VectorSource, notes: Notes) -> CRS | None:
    """The reference system: the file's own, or the told one where the file has none."""
    told = told_crs(source.crs, opened.name) if source.crs else None
    own = opened.crs
    if own is not None and told is not None and not _same_crs(own, told):
        notes.faults.append(
            Fault(
                opened.name,
                f"the file says {_crs_name(own)}, the property file {_crs_name(told)}",
                "one reference system",
                "leave out crs = …, or mend the file",
            )
        )
    crs = own or told
    if crs is None:
        do = 'say crs = "EPSG:…" with the code of the system it was drawn in'
        notes.faults.append(Fault(opened.name, "no coordinate reference system",
                                  "one in the file, or crs = … beside its path", do))  # fmt: skip
        return None
    flat = crs.to_2d()
    if flat.geodetic_crs is None or flat.get_geod() is None:
        found = f'the system "{crs.name}" is not tied to the earth'
        do = "save the file in one, such as longitude and latitude"
        notes.faults.append(Fault(opened.name, found, "a geographic or projected system", do))
        return None
    return flat


def _same_crs(first: CRS, second: CRS) -> bool:
    """Whether two reference systems are the same, whatever their axis order and metadata."""
    if first.equals(second, ignore_axis_order=True):
        return True
    codes = [crs.to_authority(min_confidence=70) for crs in (first, second)]
    return codes[0] is not None and codes[0] == codes[1]


def _declared(layer: Layer, source: VectorSource) -> list[Column]:
    """Columns that a file may fill; those told once for the whole source need not be there."""
    numbered = [n for n in layer.key if layer.column(n).kind == "integer"]
    columns = [c for c in layer.columns if c.name not in (*numbered, *ROW_COLUMNS, "source_id")]
    return [
        column if column.required and getattr(source, column.name, None) is None
        else replace(column, required=False, nullable=True)
        for column in columns
    ]  # fmt: skip


def _headers(opened: MapFile, source: VectorSource, layer: Layer, notes: Notes) -> dict[str, str]:
    """Field of the file for each of our columns."""
    fields = list(opened.fields)
    if opened.fid_field and opened.fid_field in source.columns.values():
        fields.append(opened.fid_field)
    columns = _declared(layer, source)
    match = match_headers(fields, columns, source.columns)
    notes.faults += [
        Fault(f"{opened.name}: {where}", found, expected, do)
        for where, found, expected, do in match.wrong
    ]  # fmt: skip
    return match.header_by_column


def _attributes(
    opened: MapFile, features: Features, headers: dict[str, str], source: VectorSource,
    layer: Layer, notes: Notes,
) -> dict[str, list[Value]]:  # fmt: skip
    """Values of the columns, row by row, with the faults of the cells."""
    data: dict[str, list[Value]] = {}
    rows = len(features.shapes)
    for column in _declared(layer, source):
        constant = getattr(source, column.name, None)
        if constant is None:
            constant = DEFAULTS.get(column.name)
        header = headers.get(column.name)
        values: list[Value] = [None] * rows
        if header is not None:
            told = percent_in_header(header)
            read = [cell_value(t, column, percent_told=told) for t in features.texts[header]]
            for number, value in enumerate(read, 1):
                if isinstance(value, Complaint):
                    where = f"{opened.name}, row {number}: {header}"
                    notes.faults.append(Fault(where, value.found, value.expected, value.do))
            values = [None if isinstance(v, Complaint) else v for v in read]
        data[column.name] = [constant if v is None else v for v in values]
    return data


def _with_shapes(
    data: dict[str, list[Value]], features: Features, layer: Layer, opened: MapFile,
    crs: CRS | None, role: str, notes: Notes, entry: int,
) -> gpd.GeoDataFrame:  # fmt: skip
    """The frame with its shapes checked and mended; rows that hold nothing left out and told."""
    drawn = Drawn(
        shapes=features.shapes.set_crs(crs), geometry=str(layer.geometry), name=opened.name,
        role=role, unit_ids=data["unit_id"] if layer.key == ("unit_id",) else (),
        closed=features.closed, rewound=features.rewound,
    )  # fmt: skip
    checked = check_shapes(drawn)
    notes.findings += checked.findings
    notes.faults += checked.faults
    if "stated_ac" in data and crs is not None and not checked.faults:
        stated_ac = np.where(checked.kept, np.array(data["stated_ac"], "float64"), np.nan)
        notes.findings += find_stated_acres(checked.shapes, stated_ac, drawn)
    frame = typed_frame(data, [c for c in layer.columns if c.name in data])
    for column in layer.columns:
        if column.name not in data:
            is_entry = column.name == "source_id"
            frame[column.name] = entry if is_entry else np.arange(1, len(frame) + 1)
    result = gpd.GeoDataFrame(frame, geometry=checked.shapes.to_numpy(), crs=crs)
    result = result.loc[checked.kept, [*layer.column_names, "geometry"]]
    if layer.key == ("unit_id",):
        notes.faults += _repeated_ids(result, opened.name)
    return result.reset_index(drop=True)


def _repeated_ids(frame: gpd.GeoDataFrame, name: str) -> list[Fault]:
    """Unit names that stand in several rows."""
    named = frame[frame["unit_id"].notna()]
    repeated = named[named.duplicated("unit_id", keep=False)]
    return [
        Fault(f"{name}, rows {listed(rows + 1)}", f'unit "{unit_id}" stands {len(rows)} times',
              "a name of its own for each unit", "rename them, or join them into one row")
        for unit_id, rows in repeated.groupby("unit_id").groups.items()
    ]  # fmt: skip
