"""Read a map source by the declaration of its layer: every row used, or a fault that says why."""

from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.core.layer import Column, Layer, empty
from pipeline.core.names import listed
from pipeline.intake.cells import Complaint, Value, cell_value
from pipeline.intake.geojson import plain_number
from pipeline.intake.headers import match_headers, percent_in_header
from pipeline.intake.map_file import MapFile, gdal_options, open_map, plain_errors, told_crs
from pipeline.intake.safety import SourceRead, guard_path, sha256_of
from pipeline.intake.settings import VectorSource
from pipeline.intake.shape_checks import Drawn, check_shapes
from pipeline.intake.stated_acres import find_stated_acres
from pipeline.intake.tables import typed_frame


@dataclass(frozen=True, slots=True)
class Features:
    """Rows of a map file in their order. ``texts`` holds the attributes asked for, by field.

    ``closed`` and ``rewound`` are the positions of rows whose rings the reader had to close, or
    whose holes are wound like outlines.
    """

    shapes: gpd.GeoSeries
    texts: dict[str, list[str]]
    closed: list[int]
    rewound: list[int]


def read_features(opened: MapFile, fields: list[str]) -> Features:
    """All rows of a map file, or a SourceError: none is ever left out."""
    frame, closed = _read(opened, fields)
    if len(frame) != opened.rows:
        raise SourceError(
            Fault(opened.name, f"{opened.rows} rows in the file, {len(frame)} of them can be read",
                  "every row of the file", "get a new copy of the file")
        )  # fmt: skip
    if opened.written is not None:
        texts = {
            name: [row.get(name, "") for row in opened.written.attributes] for name in fields
        }  # fmt: skip
    else:
        texts = {name: [native_text(value) for value in frame[name]] for name in fields}
    rewound = _rewound(opened, frame) if opened.driver == "ESRI Shapefile" else []
    return Features(frame.geometry, texts, closed, rewound)


def _read(opened: MapFile, fields: list[str]) -> tuple[gpd.GeoDataFrame, list[int]]:
    """The rows, and positions of those whose rings had to be closed."""
    asked = [] if opened.written is not None else [f for f in fields if f != opened.fid_field]
    try:
        return _frame(opened, asked, "raise"), []
    except shapely.GEOSException:
        # One unclosed ring fails the whole file: close them, and see which rows needed it.
        fixed = _frame(opened, asked, "fix")
        unfixed = _frame(opened, [], "ignore")
        closed = fixed.geometry.notna().to_numpy() & unfixed.geometry.isna().to_numpy()
        return fixed, np.flatnonzero(closed).tolist()


def _frame(opened: MapFile, fields: list[str], on_invalid: str) -> gpd.GeoDataFrame:
    """The rows as the bulk reader gives them, in the file's own reference system."""
    with plain_errors(opened.name), gdal_options(**opened.options):
        frame = gpd.read_file(
            opened.path, layer=opened.layer, engine="pyogrio", columns=fields, force_2d=True,
            encoding=opened.encoding, fid_as_index=True, on_invalid=on_invalid,
        )  # fmt: skip
    if opened.fid_field:
        frame[opened.fid_field] = frame.index
    shapes = gpd.GeoDataFrame(frame.drop(columns="geometry"), geometry=list(frame.geometry))
    return shapes.reset_index(drop=True)


def _rewound(opened: MapFile, frame: gpd.GeoDataFrame) -> list[int]:
    """Positions of shapes that differ when rings are trusted to be wound as the format asks."""
    by_winding = opened.options | {"OGR_ORGANIZE_POLYGONS": "ONLY_CCW"}
    with plain_errors(opened.name), gdal_options(**by_winding):
        trusted = gpd.read_file(opened.path, layer=opened.layer, engine="pyogrio", columns=[],
                                force_2d=True, on_invalid="fix")  # fmt: skip
    if len(trusted) != len(frame):
        return []
    ours, theirs = (
        shapely.area(frame.geometry.to_numpy()),
        shapely.area(trusted.geometry.to_numpy()),
    )
    differ = ~np.isclose(ours, theirs, rtol=1e-9) & np.isfinite(ours)
    return np.flatnonzero(differ).tolist()


def native_text(value: object) -> str:
    """An attribute as a person would type it: 7.0 is "7", a day has no hour, null is empty."""
    if value is None or value is pd.NaT or (isinstance(value, float) and np.isnan(value)):
        return ""
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, float | np.floating):
        return plain_number(repr(float(value)))
    if isinstance(value, datetime):
        return (
            value.date().isoformat() if value.time() == datetime.min.time() else value.isoformat()
        )
    return value.isoformat() if isinstance(value, date) else str(value).strip("\0")


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
