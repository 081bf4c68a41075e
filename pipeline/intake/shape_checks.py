"""Shapes of a map source looked at row by row: used, mended and told of, or refused."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS, Transformer

from pipeline.core.errors import Fault
from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.units import FT_PER_MI
from pipeline.ground.geometry import area_ac, length_ft
from pipeline.intake.placement import misplacement
from pipeline.intake.repair import Drawn, repair_polygons

SMALLEST_UNIT_AC = 0.01
LARGEST_UNIT_AC = 1e6
LONGEST_UNIT_MI = 100.0

WORDS_BY_DIMENSION = {0: "points", 1: "lines", 2: "polygons"}
DIMENSIONS_BY_GEOMETRY = {
    "MultiPolygon": (2,),
    "LineString": (1,),
    "Point": (0,),
    "LineOrPolygon": (1, 2),
    "Geometry": (0, 1, 2),
}
DRAW_IT = "draw it again, or delete the row"

PlaceWords = Callable[[float, float], str]
"""Says where a point of the source's reference system is, as latitude and longitude [deg]."""


@dataclass(frozen=True, slots=True)
class Checked:
    """The mended shapes, which rows are kept, and what was found."""

    shapes: gpd.GeoSeries
    kept: np.ndarray
    findings: list[Finding] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def check_shapes(source: Drawn) -> Checked:
    """The shapes of a source, mended where they can be, with every fault of every row.

    Nothing is measured before its coordinates are known to be finite numbers.
    """
    drawn = _without_single_points(source)
    shapes = drawn.shapes.to_numpy()
    empty = shapely.is_missing(shapes) | shapely.is_empty(shapes)
    endless, right_kind = _is_endless(shapes), _is_of_the_right_kind(drawn)
    findings = [] if drawn.are_units else list(_without_shape(drawn, empty))
    faults = [
        *(_no_shape_faults(drawn, empty) if drawn.are_units else ()),
        *_number_faults(drawn, endless),
        *_kind_faults(drawn, ~right_kind & ~empty),
    ]
    sound = right_kind & ~endless & ~empty
    if drawn.shapes.crs is None or not sound.any():
        return Checked(drawn.shapes, ~empty, findings, faults)
    rows = np.flatnonzero(sound) + 1
    if misplaced := misplacement(drawn.shapes[sound], rows, drawn.name):
        return Checked(drawn.shapes, ~empty, findings, [*faults, misplaced])
    place = place_words(CRS(drawn.shapes.crs))
    mended = _mended(drawn, sound, place)
    usable = sound & mended.kept
    findings += [*mended.findings, *_reader_mends(drawn, mended.shapes, sound)]
    faults += mended.faults
    left_out = empty | ~mended.kept
    if drawn.are_units:
        faults += _size_faults(drawn, mended.shapes, usable, place)
        repeats = _repeats(mended.shapes, usable)
        faults += _double_faults(drawn, repeats)
        same_row = {p: first for p, first in repeats.items() if _same_unit(drawn, p, first)}
        findings += [
            drawn.finding(position, f"repeats row {first + 1}; used once")
            for position, first in same_row.items()
        ]
        left_out |= np.isin(np.arange(len(shapes)), list(same_row))
    return Checked(mended.shapes, ~left_out, findings, faults)


def place_words(crs: CRS) -> PlaceWords:
    """Function that says where a point is, as latitude and longitude [deg]."""
    transformer = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)

    def words(x: float, y: float) -> str:
        lon_deg, lat_deg = transformer.transform(x, y)
        return f"{lat_deg:.5f}, {lon_deg:.5f}"

    return words


def _without_shape(drawn: Drawn, empty: np.ndarray) -> Iterator[Finding]:
    """Findings on rows without a shape, which are left out."""
    for position in np.flatnonzero(empty).tolist():
        yield drawn.finding(position, "has no shape; left out")


def _no_shape_faults(drawn: Drawn, empty: np.ndarray) -> Iterator[Fault]:
    """Faults of units without a shape."""
    for position in np.flatnonzero(empty).tolist():
        yield Fault(drawn.row(position), "has no shape", "a polygon", DRAW_IT)


def _is_endless(shapes: np.ndarray) -> np.ndarray:
    """Which shapes have a coordinate that is no number, or none on any map."""
    coordinates, rows = shapely.get_coordinates(shapes, return_index=True)
    return np.isin(np.arange(len(shapes)), rows[~(np.abs(coordinates) < 1e30).all(axis=1)])


def _number_faults(drawn: Drawn, endless: np.ndarray) -> Iterator[Fault]:
    """Faults of rows whose coordinates are no numbers."""
    for position in np.flatnonzero(endless).tolist():
        found = "a coordinate that is no number (NaN or infinite)"
        yield Fault(drawn.row(position), found, "coordinates that are numbers", DRAW_IT)


def _without_single_points(drawn: Drawn) -> Drawn:
    """The shapes with collections of one point, which some programs write, as that point."""
    shapes = drawn.shapes.to_numpy().copy()
    is_multi = shapely.get_type_id(shapes) == shapely.GeometryType.MULTIPOINT
    single = is_multi & (shapely.get_num_geometries(shapes) == 1)
    shapes[single] = shapely.get_geometry(shapes[single], 0)
    series = gpd.GeoSeries(shapes, index=drawn.shapes.index, crs=drawn.shapes.crs)
    return replace(drawn, shapes=series)


def _is_of_the_right_kind(drawn: Drawn) -> np.ndarray:
    """Which rows have a shape of the kind that the source is for."""
    shapes = drawn.shapes.to_numpy()
    odd = [shapely.GeometryType.GEOMETRYCOLLECTION]
    odd += [shapely.GeometryType.MULTIPOINT] if drawn.geometry == "Point" else []
    is_odd = np.isin(shapely.get_type_id(shapes), odd)
    return np.isin(shapely.get_dimensions(shapes), DIMENSIONS_BY_GEOMETRY[drawn.geometry]) & ~is_odd


def _kind_faults(drawn: Drawn, odd: np.ndarray) -> Iterator[Fault]:
    """Faults of shapes of another kind than the source is for, each kind once with its rows."""
    kinds = drawn.shapes.geom_type
    expected = " or ".join(WORDS_BY_DIMENSION[d] for d in DIMENSIONS_BY_GEOMETRY[drawn.geometry])
    for kind in sorted(set(kinds[odd])):
        rows = np.flatnonzero((kinds == kind) & odd) + 1
        where = f"{drawn.name}, rows {listed(rows)}"
        several = kind == "MultiPoint" and drawn.geometry == "Point"
        do = "give each point a row of its own" if several else "keep them in another file"
        yield Fault(where, f"{kind} shapes", expected, do)


def _mended(drawn: Drawn, sound: np.ndarray, place: PlaceWords) -> Checked:
    """The shapes with every invalid polygon made valid and told of, or refused."""
    rows = np.flatnonzero(sound & (shapely.get_dimensions(drawn.shapes.to_numpy()) == 2))
    mended, repairs = repair_polygons(drawn.shapes.iloc[rows])
    shapes = drawn.shapes.to_numpy().copy()
    shapes[rows] = mended.to_numpy()
    kept = np.ones(len(shapes), bool)
    findings, faults = [], []
    for repair in repairs:
        position = int(rows[repair.position])
        what = f"{repair.what} at {place(repair.x, repair.y)}"
        if repair.refused:
            kept[position] = False
            found, expected = f"{what}; {repair.refused}", "an outline with one meaning"
            faults.append(Fault(drawn.row(position), found, expected, "draw it again there"))
        else:
            severity = "warning" if repair.changes_acres else "note"
            point = shapely.Point(repair.x, repair.y)
            words = f"{what}; {repair.words}"
            findings.append(drawn.finding(position, words, severity=severity, place=point))
    series = gpd.GeoSeries(shapes, index=drawn.shapes.index, crs=drawn.shapes.crs)
    return Checked(series, kept, findings, faults)


def _reader_mends(drawn: Drawn, shapes: gpd.GeoSeries, sound: np.ndarray) -> Iterator[Finding]:
    """Findings on rings that had to be closed or sorted in reading."""
    closed = "a ring was not closed; closed with a straight line"
    rewound = "rings are wound against the rule of the format; holes told by what lies in what"
    for positions, words in ((drawn.closed, closed), (drawn.rewound, rewound)):
        for position in positions:
            if sound[position]:
                inside = shapes.iloc[position].representative_point()
                yield drawn.finding(position, words, place=inside)


def _size_faults(
    drawn: Drawn, shapes: gpd.GeoSeries, usable: np.ndarray, place: PlaceWords
) -> Iterator[Fault]:
    """Faults of units longer, smaller or larger than a unit can be: mostly one lost corner."""
    rows = np.flatnonzero(usable)
    measured = shapes.iloc[rows]
    reach_mi, acres = _reach_mi(measured), area_ac(measured)
    for position, shape, miles, ac in zip(rows.tolist(), measured, reach_mi, acres, strict=True):
        where = drawn.row(position)
        if not miles <= LONGEST_UNIT_MI:
            corners = shapely.get_coordinates(shape)
            far = np.hypot(*(corners - np.median(corners, axis=0)).T).argmax()
            found = f"reaches over {miles:,.0f} miles, to {place(*corners[far])}"
            expected = f"a unit of at most {LONGEST_UNIT_MI:.0f} miles"
            yield Fault(where, found, expected, "mend that corner, or delete the row")
        elif not SMALLEST_UNIT_AC <= ac <= LARGEST_UNIT_AC:
            expected = f"{SMALLEST_UNIT_AC} to {LARGEST_UNIT_AC:,.0f} ac"
            do = "check the reference system of the file, or delete the row"
            yield Fault(where, f"an area of {ac:.3g} ac", expected, do)


def _reach_mi(shapes: gpd.GeoSeries) -> np.ndarray:
    """Length [mi] of the diagonal of each shape's bounding box, on the ellipsoid."""
    west, south, east, north = shapely.bounds(shapes.to_numpy()).T
    across = shapely.linestrings(np.array([[west, east], [south, north]]).transpose(2, 1, 0))
    return length_ft(gpd.GeoSeries(across, crs=shapes.crs)) / FT_PER_MI


def _repeats(shapes: gpd.GeoSeries, usable: np.ndarray) -> dict[int, int]:
    """Positions of polygons that stand before in the file, each with that of the first."""
    first_by_shape: dict[bytes, int] = {}
    repeats = {}
    for position in np.flatnonzero(usable).tolist():
        first = first_by_shape.setdefault(shapely.normalize(shapes.iloc[position]).wkb, position)
        if first != position:
            repeats[position] = first
    return repeats


def _same_unit(drawn: Drawn, position: int, first: int) -> bool:
    """Whether two rows name the same unit."""
    return drawn.unit_ids[first] == drawn.unit_ids[position]


def _double_faults(drawn: Drawn, repeats: dict[int, int]) -> Iterator[Fault]:
    """Faults of the same polygon under two names."""
    for position, first in repeats.items():
        if not _same_unit(drawn, position, first):
            found = f'the same polygon as unit "{drawn.unit_ids[first]}" in row {first + 1}'
            expected = "ground that belongs to one unit"
            yield Fault(drawn.row(position), found, expected, "delete one of them")
