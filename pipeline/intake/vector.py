"""Read a map source by the declaration of its layer: every row used, or a fault that says why."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
from pyproj import CRS

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.core.layer import Column, Layer, empty
from pipeline.core.limits import MAP_ROWS
from pipeline.core.names import clean_name, listed, suggestion
from pipeline.ground.geometry import is_of_the_earth
from pipeline.intake.cells.complaints import Complaint, Value, column_faults
from pipeline.intake.cells.dates import order_shown
from pipeline.intake.cells.headers import (
    Match,
    header_meant,
    match_headers,
    percent_in_header,
    read_as_findings,
)
from pipeline.intake.cells.values import cell_value
from pipeline.intake.files.checksums import sha256_of
from pipeline.intake.files.scratch import scratch_folder
from pipeline.intake.map_file import Features, MapFile, crs_named, open_map, read_features
from pipeline.intake.repair import Drawn
from pipeline.intake.safety import SourceRead, guard_path, plain_reading
from pipeline.intake.settings import MendSettings, UnitSource, VectorSource
from pipeline.intake.shape_checks import Checked, check_shapes
from pipeline.intake.stated_acres import find_stated_acres
from pipeline.intake.tables import typed_frame
from pipeline.intake.unit_rows import (
    Mended,
    UnitRows,
    check_units,
    mend_findings,
    mended_frame,
    named_units,
)

DEFAULTS = {"applies_to": "both"}
UNMENDED = MendSettings()
ROW_COLUMNS = ("source_row", "exclusion_id")


@dataclass(frozen=True, slots=True)
class Entry:
    """One map source of the property file: its ``role`` there and its ``number`` among several."""

    role: str
    source: VectorSource
    layer: Layer
    number: int = 1
    mend: MendSettings = UNMENDED

    @property
    def are_units(self) -> bool:
        """Whether its rows are the units themselves."""
        return self.layer.key == ("unit_id",)

    @property
    def prefix(self) -> str | None:
        """Word before the names of its units, None where there is none."""
        return self.source.prefix if isinstance(self.source, UnitSource) else None

    @property
    def naming_columns(self) -> tuple[str, ...]:
        """Columns of the file that name its units in the place of one of our own."""
        if not self.are_units or "unit_id" in self.source.columns:
            return ()
        return self.mend.names_from or ((self.mend.dissolve,) if self.mend.dissolve else ())

    @property
    def may_lack_names(self) -> bool:
        """Whether rows without a name of their own get one."""
        return self.are_units and bool(self.mend.names or self.naming_columns)

    def row(self, opened: MapFile, crs: CRS | None, used: int) -> dict[str, Any]:
        """Row of the layer ``sources``."""
        return {
            "source": self.role if self.number == 1 else f"{self.role} {self.number}",
            "path": self.source.path.replace("\\", "/"),
            "sha256": sha256_of(opened.parts),
            "driver": opened.driver,
            "crs": _crs_name(crs),
            "rows_read": opened.rows,
            "rows_used": used,
        }


def read_vector(
    role: str,
    source: VectorSource,
    layer: Layer,
    folder: Path,
    allowed: tuple[Path, ...] = (),
    *,
    entry: int = 1,
    mend: MendSettings = UNMENDED,
) -> SourceRead:
    """A map source as the frame of a layer, in its own reference system, every fault told at once.

    ``role`` is the source's name in the property file, ``entry`` its number among several, and
    ``mend`` says what is mended in a map of units.
    """
    try:
        with plain_reading(source.path), scratch_folder() as scratch:
            path = guard_path(source.path, folder, allowed, where=f"{role}: {source.path}")
            opened = open_map(path, source, role, (folder, *allowed), scratch)
            return _read(Entry(role, source, layer, entry, mend), opened)
    except SourceError as error:
        return SourceRead(empty(layer), faults=list(error.faults))


def _read(entry: Entry, opened: MapFile) -> SourceRead:
    """What an opened map gives: the frame of its layer, findings, faults and its row."""
    if not opened.rows:
        return _without_rows(entry, opened)
    if opened.rows > MAP_ROWS.most:
        found, do = f"{opened.rows:,} rows", "cut it to the property"
        raise SourceError.of(opened.name, found, str(MAP_ROWS), do)
    crs, faults = _settled_crs(opened, entry.source)
    match = _headers(opened, entry)
    faults = [*opened.faults, *faults, *match.faults]
    headers, naming_faults = _naming_headers(opened, entry)
    faults += naming_faults
    try:
        features = read_features(opened, [*match.header_by_column.values(), *headers])
    except SourceError as error:
        return SourceRead(empty(entry.layer), opened.findings, None, [*faults, *error.faults])
    data, cell_faults = _attributes(opened, features, match, entry)
    mends: list[Mended] = []
    if entry.are_units:
        if headers:
            data["unit_id"], mends = _names_of_columns(features, headers)
        data["unit_id"], more = named_units(data["unit_id"], entry.mend, entry.prefix)
        mends += more
    drawn = Drawn(
        shapes=features.shapes.set_crs(crs),
        geometry=str(entry.layer.geometry),
        name=opened.name,
        role=entry.role,
        unit_ids=data["unit_id"] if entry.are_units else (),
        closed=features.closed,
        rewound=features.rewound,
    )
    checked = check_shapes(drawn)
    stated = _stated_acres(data, checked, drawn)
    if entry.are_units:
        rows = check_units(UnitRows(drawn, checked, data, mends), entry.mend)
        checked, data, mends = rows.checked, rows.data, rows.mends
    frame = _frame(data, checked, entry)
    faults += [*cell_faults, *checked.faults]
    findings = [
        *opened.findings,
        *checked.findings,
        *stated,
        *mend_findings(mends, opened.name, entry.role),
    ]
    findings += read_as_findings(match, entry.role, opened.name)
    row = entry.row(opened, crs, len(frame))
    mended = mended_frame(mends, str(row["source"]), crs)
    return SourceRead(frame.reset_index(drop=True), findings, row, faults, mended)


def _without_rows(entry: Entry, opened: MapFile) -> SourceRead:
    """A map without a row: refused for units, which all is measured on; told of for the others."""
    findings, faults = list(opened.findings), list(opened.faults)
    if entry.are_units:
        do = "draw the units, or name the file that holds them"
        faults.append(Fault(opened.name, "no rows", "a polygon for each unit", do))
    else:
        message = f"{opened.name}: no rows, so that nothing of it is used: is it the right file?"
        finding = Finding(severity="warning", source=entry.role, message=message, code="no_rows")
        findings.append(finding)
    return SourceRead(empty(entry.layer), findings, entry.row(opened, opened.crs, 0), faults)


def _crs_name(crs: CRS | None) -> str | None:
    """Code of a reference system where it has one, else its name."""
    if crs is None:
        return None
    authority = crs.to_authority(min_confidence=100)
    return ":".join(authority) if authority else crs.name


def _settled_crs(opened: MapFile, source: VectorSource) -> tuple[CRS | None, list[Fault]]:
    """The file's reference system, or the one that the property file names where it has none."""
    fault = partial(Fault, opened.name)
    try:
        named = crs_named(source.crs, opened.name) if source.crs else None
    except SourceError as error:
        return None, list(error.faults)
    faults = []
    if opened.crs is not None and named is not None and not _same_crs(opened.crs, named):
        found = f"the file says {_crs_name(opened.crs)}, the property file {_crs_name(named)}"
        do = "leave out crs = …, or mend the file"
        faults.append(fault(found, "one reference system", do))
    crs = opened.crs or named
    if crs is None:
        expected = "one in the file, or crs = … beside its path"
        do = 'say crs = "EPSG:…" with the code of the system it was drawn in'
        return None, [*faults, fault("no coordinate reference system", expected, do)]
    flat = crs.to_2d()
    if not is_of_the_earth(flat):
        found = f'the system "{crs.name}" is not tied to the earth'
        do = "save the file in one, such as longitude and latitude"
        return None, [*faults, fault(found, "a geographic or projected system", do)]
    return flat, faults


def _same_crs(first: CRS, second: CRS) -> bool:
    """Whether two reference systems are the same, whatever their axis order and metadata."""
    if first.equals(second, ignore_axis_order=True):
        return True
    codes = [crs.to_authority(min_confidence=70) for crs in (first, second)]
    return codes[0] is not None and codes[0] == codes[1]


def _fillable(entry: Entry) -> list[Column]:
    """Columns that a file may fill; one given for the whole source need not be there."""
    layer = entry.layer
    numbered = [n for n in layer.key if layer.column(n).kind == "integer"]
    unfilled = (*numbered, *ROW_COLUMNS, "source_id")
    unneeded = {"unit_id"} if entry.may_lack_names else set()
    return [
        column
        if column.required and column.name not in unneeded and _constant(entry, column) is None
        else replace(column, required=False, nullable=True)
        for column in layer.columns
        if column.name not in unfilled
    ]


def _constant(entry: Entry, column: Column) -> Value:
    """Value that the property file gives for all rows of a column, None where it gives none."""
    value: Value = getattr(entry.source, column.name, None)
    return value


def _headers(opened: MapFile, entry: Entry) -> Match:
    """Field of the file for each of our columns."""
    fields = list(opened.fields)
    if opened.fid_field and opened.fid_field in entry.source.columns.values():
        fields.append(opened.fid_field)
    match = match_headers(opened.name, fields, _fillable(entry), entry.source.columns)
    if not entry.are_units or entry.source.columns.get("unit_id"):
        return match
    named = f"{opened.name}: unit_id"
    of_names = [fault for fault in match.faults if fault.where == named]
    others = [fault for fault in match.faults if fault.where != named]
    return replace(match, faults=[*_mendable(of_names, "row"), *others])


def _mendable(faults: Sequence[Fault], names: str) -> list[Fault]:
    """Faults of names of units that a line of [mend] would mend, with that line offered."""
    do = f'or write names = "{names}" under [mend]'
    return [replace(f, do=f"{f.do}, {do}", mend=("names", names)) for f in faults]


def _attributes(
    opened: MapFile, features: Features, match: Match, entry: Entry
) -> tuple[dict[str, list[Value]], list[Fault]]:
    """Values of the columns, row by row, and the faults of the cells."""
    data: dict[str, list[Value]] = {}
    faults: list[Fault] = []
    for column in _fillable(entry):
        values: list[Value] = [None] * len(features.shapes)
        header = match.header_by_column.get(column.name)
        if header is not None:
            texts = features.texts[header]
            reading = partial(
                cell_value,
                column=column,
                in_percent=percent_in_header(header),
                date_order=entry.source.date_order
                or (order_shown(texts) if column.kind == "date" else None),
            )
            read = [reading(text) for text in texts]
            complaints = [(n, v) for n, v in enumerate(read, 1) if isinstance(v, Complaint)]
            told = column_faults(complaints, partial(_row_words, opened.name, header))
            is_names = entry.are_units and column.name == "unit_id"
            can_number = is_names and all(complaint.is_empty for _, complaint in complaints)
            faults += _mendable(told, "numbered") if can_number else told
            values = [None if isinstance(value, Complaint) else value for value in read]
        given = _constant(entry, column)
        constant = DEFAULTS.get(column.name) if given is None else given
        data[column.name] = [constant if value is None else value for value in values]
    return data, faults


def _row_words(name: str, header: str, rows: Sequence[int]) -> str:
    """Rows of one column as a message names them."""
    return f"{name}, row{'s' if len(rows) > 1 else ''} {listed(rows, 6)}: {header}"


def _frame(data: dict[str, list[Value]], checked: Checked, entry: Entry) -> gpd.GeoDataFrame:
    """The kept rows with their mended shapes, each under its position in the file."""
    layer = entry.layer
    frame = typed_frame(data, [c for c in layer.columns if c.name in data])
    for column in layer.columns:
        if column.name not in data:
            is_entry = column.name == "source_id"
            frame[column.name] = entry.number if is_entry else np.arange(1, len(frame) + 1)
    shapes = checked.shapes
    result = gpd.GeoDataFrame(frame, geometry=shapes.to_numpy(), crs=shapes.crs)
    return result.loc[checked.kept, [*layer.column_names, "geometry"]]


def _stated_acres(data: dict[str, list[Value]], checked: Checked, drawn: Drawn) -> list[Finding]:
    """Findings on the acres that the file states, where its shapes can be measured."""
    if "stated_ac" not in data or checked.shapes.crs is None or checked.faults:
        return []
    stated_ac = np.where(checked.kept, np.array(data["stated_ac"], "float64"), np.nan)
    return find_stated_acres(checked.shapes, stated_ac, drawn)


def _naming_headers(opened: MapFile, entry: Entry) -> tuple[list[str], list[Fault]]:
    """Headers of the columns that name the units, and a fault for each that the file lacks."""
    headers, faults = [], []
    for wanted in entry.naming_columns:
        header = header_meant(wanted, opened.fields)
        if header is None:
            where, found = f"{opened.name}: [mend]", f'the file has no column "{wanted}"'
            do = suggestion(wanted, opened.fields)
            faults.append(Fault(where, found, "a column of the file", do))
        else:
            headers.append(header)
    return headers, faults


def _names_of_columns(features: Features, headers: list[str]) -> tuple[list[Value], list[Mended]]:
    """Names of the units out of one or two columns, and the mends where there are two."""
    columns = [[clean_name(text or "") for text in features.texts[header]] for header in headers]
    names = [" ".join(filter(None, parts)) or None for parts in zip(*columns, strict=True)]
    two = len(headers) == 2
    mends = [
        Mended("named_by_columns", row, name)
        for row, name in enumerate(names, 1)
        if two and name is not None
    ]
    return list(names), mends
