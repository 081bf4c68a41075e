"""Rows of a map of units held against what a unit can be, and mended where the user said how.

The refusal of a row that could be mended offers the line to write under ``[mend]``.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.errors import Fault
from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.units import FT_PER_MI, half_up
from pipeline.ground.geometry import area_ac, length_ft, working_crs
from pipeline.ground.overlays import common, less, united
from pipeline.intake.cells.complaints import Value
from pipeline.intake.layers import MENDED
from pipeline.intake.repair import Drawn
from pipeline.intake.settings import MendSettings
from pipeline.intake.shape_checks import Checked, place_words

LARGEST_UNIT_AC = 1e6
LONGEST_UNIT_MI = 100.0

STICKS_OUT = 1e-3
"""Share of a unit inside another that may stick out; judgment of this program, no source."""


@dataclass(frozen=True, slots=True)
class Mended:
    """One mend of a row: which, of which row and unit, and the acres that it concerns."""

    mend: str
    row: int | None
    unit_id: str
    acres_ac: float | None = None
    was: str | None = None
    shape: shapely.Geometry | None = None


@dataclass(frozen=True, slots=True)
class UnitRows:
    """Checked rows of units with the values of their columns, and the mends made so far."""

    drawn: Drawn
    checked: Checked
    data: dict[str, list[Value]]
    mends: list[Mended] = field(default_factory=list)


def check_units(rows: UnitRows, mend: MendSettings) -> UnitRows:
    """Rows of units as they are used: joined, too small ones and doubles mended or refused."""
    if rows.drawn.shapes.crs is None:
        return _with_faults(rows, _repeated_names(rows))
    if mend.dissolve is not None:
        rows = _joined(rows)
    rows = _sized(rows, mend)
    rows = _single(rows, mend)
    return _with_faults(rows, _repeated_names(rows))


def named_units(
    names: Sequence[Value], mend: MendSettings, prefix: str | None
) -> tuple[list[Value], list[Mended]]:
    """Names of the units, row by row, and the mends that made them.

    ``names`` are those of the file or of its columns. A name that is repeated is numbered where
    the user said so; a prefix stands before each.
    """
    kept = Counter(names)
    count: Counter[Value] = Counter()
    result: list[Value] = []
    for row, name in enumerate(names, 1):
        count[name] += 1
        new = name
        if mend.names == "row" and name is None:
            new = str(row)
        elif mend.names == "numbered" and name is None:
            new = f"row {row}"
        elif mend.names == "numbered" and kept[name] > 1:
            new = f"{name} {count[name]}"
        result.append(f"{prefix} {new}" if prefix and new is not None else new)
    code = {"row": "named_by_row", "numbered": "numbered"}.get(str(mend.names), "")
    mends = [
        Mended(code, row, str(new), was=None if old is None else str(old))
        for row, (old, new) in enumerate(zip(names, result, strict=True), 1)
        if code and new is not None and new != (f"{prefix} {old}" if prefix else old)
    ]
    return result, mends


def _with_faults(rows: UnitRows, faults: Iterator[Fault]) -> UnitRows:
    checked = rows.checked
    return replace(rows, checked=replace(checked, faults=[*checked.faults, *faults]))


def _usable(checked: Checked) -> np.ndarray:
    """Positions of kept rows whose shape can be measured."""
    shapes = checked.shapes.to_numpy()
    sound = (shapely.get_dimensions(shapes) == 2) & ~shapely.is_empty(shapes)
    finite = np.isfinite(shapely.bounds(shapes)).all(axis=1)
    return np.flatnonzero(checked.kept & sound & finite & shapely.is_valid(shapes))


def _joined(rows: UnitRows) -> UnitRows:
    """The rows of one name as one: its first, with the ground of all and what they agree on."""
    groups: dict[Value, list[int]] = {}
    for position in _usable(rows.checked).tolist():
        groups.setdefault(rows.data["unit_id"][position], []).append(position)
    shapes, kept = rows.checked.shapes.to_numpy().copy(), rows.checked.kept.copy()
    data = {name: list(values) for name, values in rows.data.items()}
    mends, findings = list(rows.mends), list(rows.checked.findings)
    crs = rows.checked.shapes.crs
    for unit_id, (first, *others) in groups.items():
        if not others or unit_id is None:
            continue
        shapes[first] = _united(rows.checked.shapes.iloc[[first, *others]])
        kept[others] = False
        for name in data.keys() - {"unit_id"}:
            values = [rows.data[name][position] for position in (first, *others)]
            data[name][first] = _sum(values) if name == "stated_ac" else _agreed(values)
            if data[name][first] is None and any(value is not None for value in values):
                words = f"its {len(values)} rows do not agree on {name}; left empty"
                findings.append(
                    rows.drawn.finding(first, "joined_rows_differ", words, severity="note")
                )
        mends += [Mended("dissolved", n + 1, str(unit_id)) for n in (first, *others)]
    series = gpd.GeoSeries(shapes, crs=crs)
    checked = replace(rows.checked, shapes=series, kept=kept, findings=findings)
    return replace(rows, checked=checked, data=data, mends=mends)


def _united(shapes: gpd.GeoSeries) -> shapely.Geometry:
    """All ground of several shapes, joined in a plane: degrees are no measure for a grid."""
    plane = shapes.to_crs(working_crs(shapes))
    whole = gpd.GeoSeries([united(plane.to_numpy())], crs=plane.crs)
    return whole.to_crs(shapes.crs).iloc[0]


def _agreed(values: Sequence[Value]) -> Value:
    """The one value of several rows, None where they differ."""
    return values[0] if len(set(values)) == 1 else None


def _sum(values: Sequence[Value]) -> Value:
    """Sum of stated acres, None where a row states none."""
    numbers = [value for value in values if isinstance(value, int | float)]
    return float(sum(numbers)) if len(numbers) == len(values) else None


def _sized(rows: UnitRows, mend: MendSettings) -> UnitRows:
    """The rows without specks, which are dropped, kept or refused; larger than a unit is refused.

    What is longer or larger than a unit can be has mostly lost one corner.
    """
    drawn, checked = rows.drawn, rows.checked
    usable = _usable(checked)
    if not len(usable):
        return rows
    measured = checked.shapes.iloc[usable]
    acres, reach_mi = area_ac(measured), _reach_mi(measured)
    far = ~(reach_mi <= LONGEST_UNIT_MI)
    small = ~far & (acres < mend.specks_below_ac)
    faults = [
        *_far_faults(drawn, usable[far], measured[far], reach_mi[far]),
        *_large_faults(drawn, usable[~far], acres[~far]),
    ]
    specks, specks_ac = usable[small], acres[small]
    kept, mends = checked.kept.copy(), list(rows.mends)
    if mend.specks is None and len(specks):
        faults.append(_speck_fault(drawn, specks, specks_ac, mend))
    elif mend.specks is not None:
        kept[specks] = mend.specks == "keep"
        code = {"drop": "speck_dropped", "keep": "speck_kept"}[mend.specks]
        for position, ac in zip(specks.tolist(), specks_ac, strict=True):
            unit_id, shape = str(rows.data["unit_id"][position]), checked.shapes.iloc[position]
            mends.append(Mended(code, position + 1, unit_id, float(ac), shape=shape))
    checked = replace(checked, kept=kept, faults=[*checked.faults, *faults])
    return replace(rows, checked=checked, mends=mends)


def _far_faults(
    drawn: Drawn, positions: np.ndarray, shapes: gpd.GeoSeries, reach_mi: np.ndarray
) -> Iterator[Fault]:
    """Faults of units longer than a unit can be."""
    place = place_words(drawn.shapes.crs)
    for position, shape, miles in zip(positions.tolist(), shapes, reach_mi, strict=True):
        corners = shapely.get_coordinates(shape)
        far = np.hypot(*(corners - np.median(corners, axis=0)).T).argmax()
        found = f"reaches over {miles:,.0f} miles, to {place(*corners[far])}"
        expected = f"a unit of at most {LONGEST_UNIT_MI:.0f} miles"
        yield Fault(drawn.row(position), found, expected, "mend that corner, or delete the row")


def _large_faults(drawn: Drawn, positions: np.ndarray, acres: np.ndarray) -> Iterator[Fault]:
    """Faults of units larger than a unit can be."""
    for position, ac in zip(positions.tolist(), acres, strict=True):
        if ac > LARGEST_UNIT_AC:
            do = "check the reference system of the file, or delete the row"
            expected = f"at most {LARGEST_UNIT_AC:,.0f} ac"
            yield Fault(drawn.row(position), f"an area of {ac:.3g} ac", expected, do)


def _speck_fault(
    drawn: Drawn, positions: np.ndarray, acres: np.ndarray, mend: MendSettings
) -> Fault:
    """The fault of rows smaller than a unit can be, all in one line."""
    expected = f"units of at least {mend.specks_below_ac:g} ac"
    do = 'write specks = "drop" (or "keep") under [mend], or check the file\'s reference system'
    where, found = drawn.row(int(positions[0])), f"an area of {acres[0]:.3g} ac"
    if len(positions) > 1:
        where = f"{drawn.name}, rows {listed(positions + 1, 6)}"
        found = f"{len(positions)} areas of {acres.min():.3g} to {acres.max():.3g} ac"
    return Fault(where, found, expected, do, mend=("specks", "drop"))


def _reach_mi(shapes: gpd.GeoSeries) -> np.ndarray:
    """Length [mi] of the diagonal of each shape's bounding box, on the ellipsoid."""
    west, south, east, north = shapely.bounds(shapes.to_numpy()).T
    across = shapely.linestrings(np.array([[west, east], [south, north]]).transpose(2, 1, 0))
    return length_ft(gpd.GeoSeries(across, crs=shapes.crs)) / FT_PER_MI


def _single(rows: UnitRows, mend: MendSettings) -> UnitRows:
    """The rows with each polygon once: a repeat of the same unit is told, another's is refused."""
    drawn, checked, names = rows.drawn, rows.checked, rows.data["unit_id"]
    kept, findings, faults = checked.kept.copy(), list(checked.findings), list(checked.faults)
    mends = list(rows.mends)
    for position, first in _repeats(checked).items():
        if names[first] == names[position]:
            kept[position] = False
            findings.append(
                drawn.finding(position, "row_repeated", f"repeats row {first + 1}; used once")
            )
        elif mend.duplicates == "keep_first":
            kept[position] = False
            shape = checked.shapes.iloc[position]
            ac = float(area_ac(checked.shapes.iloc[[position]])[0])
            unit_id, was = str(names[first]), str(names[position])
            mends.append(Mended("duplicate_left_out", position + 1, unit_id, ac, was, shape))
        else:
            found = f'the same polygon as unit "{names[first]}" in row {first + 1}'
            do = 'delete one of them, or write duplicates = "keep_first" under [mend]'
            expected, mend_line = "ground that belongs to one unit", ("duplicates", "keep_first")
            faults.append(Fault(drawn.row(position), found, expected, do, mend_line))
    checked = replace(checked, kept=kept, findings=findings, faults=faults)
    return replace(rows, checked=checked, mends=mends)


def _repeats(checked: Checked) -> dict[int, int]:
    """Positions of polygons that stand before in the file, each with that of the first."""
    first_by_shape: dict[bytes, int] = {}
    repeats = {}
    for position in _usable(checked).tolist():
        shape = shapely.normalize(checked.shapes.iloc[position])
        first = first_by_shape.setdefault(shape.wkb, position)
        if first != position:
            repeats[position] = first
    return repeats


def _repeated_names(rows: UnitRows) -> Iterator[Fault]:
    """Faults of unit names that stand in several rows."""
    positions_by_name: dict[str, list[int]] = {}
    for position in np.flatnonzero(rows.checked.kept).tolist():
        name = rows.data["unit_id"][position]
        if name is not None:
            positions_by_name.setdefault(str(name), []).append(position)
    for name, positions in positions_by_name.items():
        if len(positions) > 1:
            yield Fault(
                f"{rows.drawn.name}, rows {listed([p + 1 for p in positions], 6)}",
                f'unit "{name}" stands {len(positions)} times',
                expected="a name of its own for each unit",
                do='rename them, or write under [mend] names = "numbered" (a number behind each) '
                'or dissolve = "the column" (join them)',
                mend=("names", "numbered"),
            )


def without_in_holdings(units: gpd.GeoDataFrame) -> tuple[gpd.GeoDataFrame, list[Mended]]:
    """Units with the ground of those that lie wholly inside them taken out, and the mends.

    A unit lies inside another where less than a thousandth of it sticks out and the other is
    larger. ``units`` are in a projection.
    """
    shapes, names = units.geometry.to_numpy(), units["unit_id"].to_numpy()
    one, other = units.sindex.query(shapes, predicate="intersects")
    areas = shapely.area(shapes)
    larger = areas[other] > areas[one] * (1 + STICKS_OUT)
    pairs = [
        (inner, outer)
        for inner, outer in zip(one[larger].tolist(), other[larger].tolist(), strict=True)
        if shapely.area(common(shapes[inner], shapes[outer])) >= areas[inner] * (1 - STICKS_OUT)
    ]
    clipped, mends = shapes.copy(), []
    for outer in sorted({outer for _, outer in pairs}):
        inside = [inner for inner, around in pairs if around == outer]
        taken = united(shapes[inside])
        clipped[outer] = less(shapes[outer], taken)
        lost_ac = area_ac(gpd.GeoSeries([shapes[outer], clipped[outer]], crs=units.crs))
        was = listed(names[inside], len(inside))
        ground = common(shapes[outer], taken)
        lost = float(lost_ac[0] - lost_ac[1])
        mends.append(Mended("in_holding_clipped", None, str(names[outer]), lost, was, ground))
    return units.set_geometry(gpd.GeoSeries(clipped, index=units.index, crs=units.crs)), mends


def mended_frame(mends: Sequence[Mended], source: str, crs: object) -> gpd.GeoDataFrame:
    """Rows of the layer ``mended`` for the mends of one source."""
    rows = [
        {
            "mend": mend.mend,
            "source": source,
            "source_row": mend.row,
            "unit_id": mend.unit_id,
            "acres_ac": mend.acres_ac,
            "was": mend.was,
        }
        for mend in mends
    ]
    columns = [name for name in MENDED.column_names if name != "number"]
    shapes = [mend.shape for mend in mends]
    frame = pd.DataFrame(rows, columns=columns, dtype=object)
    return gpd.GeoDataFrame(frame, geometry=shapes, crs=crs)


def mend_findings(mends: Sequence[Mended], name: str, role: str) -> Iterator[Finding]:
    """A note on each kind of mend made in a file: how many rows and acres it concerns."""
    for code, words in MEND_WORDS.items():
        of_kind = [mend for mend in mends if mend.mend == code]
        if of_kind:
            acres = [mend.acres_ac for mend in of_kind if mend.acres_ac is not None]
            measured = f" ({half_up(sum(acres), 4)} ac)" if acres else ""
            rows = "1 row" if len(of_kind) == 1 else f"{len(of_kind)} rows"
            message = f"{name}: {rows}{measured} {words}, as [mend] says"
            amount = sum(acres) if acres else None
            yield Finding(severity="note", source=role, message=message, code=code, amount=amount)


MEND_WORDS = {
    "named_by_row": "named by the number of the row",
    "numbered": "named with a number",
    "named_by_columns": "named from two columns",
    "dissolved": "joined with others of the same name",
    "speck_dropped": "too small for a unit left out",
    "speck_kept": "smaller than a unit mostly is kept",
    "duplicate_left_out": "left out, the same polygon stands before",
    "in_holding_clipped": "taken out where another unit lies inside",
}
"""Mends in words, as they stand behind a number of rows."""
