"""Shapes of a map source looked at row by row: used, mended and told of, or refused.

Shapes that cannot lie where their reference system puts them give away that it is a wrong one.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS, Transformer

from pipeline.core.errors import Fault
from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.intake.repair import Drawn, repair_polygons

BEYOND_USE_DEG = 4.0
HIGHEST_LATITUDE_DEG = 75.0
LOWEST_LATITUDE_DEG = -60.0
"""South of it lies no ground that grows grass to speak of: only ice and sea."""
WGS84 = CRS.from_epsg(4326)
SWAPPED = "the axes are swapped: save it with longitude first"

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
    if misplaced := _misplacement(drawn.shapes[sound], rows, drawn.name):
        return Checked(drawn.shapes, ~empty, findings, [*faults, misplaced])
    place = place_words(CRS(drawn.shapes.crs))
    mended = _mended(drawn, sound, place)
    findings += [*mended.findings, *_reader_mends(drawn, mended.shapes, sound)]
    faults += mended.faults
    left_out = empty | ~mended.kept
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
        yield drawn.finding(position, "no_shape", "has no shape; left out")


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
            change_ac = abs(repair.before_ac - repair.after_ac)
            findings.append(
                drawn.finding(
                    position,
                    "outline_mended",
                    words,
                    severity=severity,
                    amount=change_ac,
                    place=point,
                )
            )
    series = gpd.GeoSeries(shapes, index=drawn.shapes.index, crs=drawn.shapes.crs)
    return Checked(series, kept, findings, faults)


def _reader_mends(drawn: Drawn, shapes: gpd.GeoSeries, sound: np.ndarray) -> Iterator[Finding]:
    """Findings on rings that had to be closed or sorted in reading."""
    closed = "a ring was not closed; closed with a straight line"
    rewound = "rings are wound against the rule of the format; holes told by what lies in what"
    for positions, code, words in (
        (drawn.closed, "ring_closed", closed),
        (drawn.rewound, "rings_rewound", rewound),
    ):
        for position in positions:
            if sound[position]:
                inside = shapes.iloc[position].representative_point()
                yield drawn.finding(position, code, words, place=inside)


@dataclass(frozen=True, slots=True)
class Misplaced:
    """Which shapes cannot lie where they say, and what to do."""

    odd: np.ndarray
    found: str
    expected: str
    do: str


def _misplacement(shapes: gpd.GeoSeries, rows: np.ndarray, name: str) -> Fault | None:
    """The fault of shapes that cannot be where their reference system puts them, None if they can.

    Every shape must have finite coordinates and at least one of them. ``rows`` are their numbers
    in the file called ``name``, from 1.
    """
    crs = CRS(shapes.crs)
    bounds = shapely.bounds(shapes.to_numpy())
    if crs.is_geographic:
        why = _outside_the_earth(bounds) or _across_the_date_line(bounds)
    else:
        why = _degrees_in_a_plane(bounds, crs)
    why = why or _outside_area_of_use(bounds, crs, rows)
    if why is None:
        return None
    odd = rows[why.odd]
    where = f"{name}, row{'s' if len(odd) > 1 else ''} {listed(odd)}"
    return Fault(where, why.found, why.expected, why.do)


def _corner_words(bounds: np.ndarray) -> str:
    """The lower left corner of a shape in words."""
    return f"coordinates such as ({bounds[0]:.6g}, {bounds[1]:.6g})"


def _outside_the_earth(bounds: np.ndarray) -> Misplaced | None:
    """Coordinates that are no degrees, or degrees in the wrong order."""
    size = np.abs(bounds)
    too_large = (size[:, [0, 2]] > 180.0).any(axis=1) | (size[:, [1, 3]] > 90.0).any(axis=1)
    north, south = bounds[:, 3] > HIGHEST_LATITUDE_DEG, bounds[:, 1] < LOWEST_LATITUDE_DEG
    polar = ~too_large & (north | south)
    odd = too_large | polar
    if not odd.any():
        return None
    found = _corner_words(bounds[np.argmax(odd)])
    fits_swapped = (
        LOWEST_LATITUDE_DEG <= bounds[:, 0].min() <= bounds[:, 2].max() <= (HIGHEST_LATITUDE_DEG)
    )
    if fits_swapped and (size <= 180.0).all():
        return Misplaced(odd, found, "longitude first, then latitude", SWAPPED)
    if polar.any():
        found = f"{_corner_words(bounds[np.argmax(polar)])}: near a pole"
        expected = "ground that can be grazed or burned"
        return Misplaced(polar, found, expected, "check the reference system of the file")
    do = "these are no degrees: save the file in its true system"
    return Misplaced(too_large, found, "degrees within ±180 and ±90", do)


def _across_the_date_line(bounds: np.ndarray) -> Misplaced | None:
    """Shapes that go around the earth the long way."""
    wide = bounds[:, 2] - bounds[:, 0] > 180.0
    if not wide.any() and bounds[:, 2].max() - bounds[:, 0].min() <= 180.0:
        return None
    odd = wide if wide.any() else np.arange(len(bounds)) == 0
    found = "shapes on both sides of the date line"
    return Misplaced(odd, found, "a property on one side", "split it at 180°")


def _degrees_in_a_plane(bounds: np.ndarray, crs: CRS) -> Misplaced | None:
    """Numbers that look like degrees in a system that counts meters or feet."""
    size = np.abs(bounds)
    if (size[:, [0, 2]] > 360.0).any() or (size[:, [1, 3]] > 90.0).any():
        return None
    return Misplaced(
        odd=np.ones(len(bounds), bool),
        found=f"{_corner_words(bounds[0])} look like degrees",
        expected=f"coordinates in {crs.axis_info[0].unit_name}, as {crs.name} says",
        do="save the file with its true reference system",
    )


def _outside_area_of_use(bounds: np.ndarray, crs: CRS, rows: np.ndarray) -> Misplaced | None:
    """Shapes far from the area that their reference system is made for."""
    to_degrees = Transformer.from_crs(crs, WGS84, always_xy=True)
    middle_x, middle_y = (bounds[:, 0] + bounds[:, 2]) / 2, (bounds[:, 1] + bounds[:, 3]) / 2
    lon_deg, lat_deg = to_degrees.transform(middle_x, middle_y)
    lost = ~(np.isfinite(lon_deg) & np.isfinite(lat_deg))
    west, south, east, north = crs.area_of_use.bounds if crs.area_of_use else (-180, -90, 180, 90)
    # Areas of use that cross the date line have their west east of their east.
    away_lon = np.mod(lon_deg - west + BEYOND_USE_DEG, 360.0)
    width = np.mod(east - west, 360.0) or 360.0
    odd = lost | (away_lon > width + 2 * BEYOND_USE_DEG) | (lat_deg < south - BEYOND_USE_DEG)
    odd |= lat_deg > min(north + BEYOND_USE_DEG, HIGHEST_LATITUDE_DEG)
    if not odd.any():
        return None
    first = int(np.argmax(odd))
    lon, lat = lon_deg[first], lat_deg[first]
    place = "nowhere on the earth" if lost[first] else f"at {lat:.4f}, {lon:.4f}"
    swapped = crs.is_geographic and south <= lon <= north and west <= lat <= east
    area = f" ({crs.area_of_use.name[:80]})" if crs.area_of_use else ""
    return Misplaced(
        odd=odd,
        found=f"{crs.name} puts row {rows[first]} {place}",
        expected=f"ground in the area of that system{area}",
        do=SWAPPED if swapped else "the reference system is wrong: find out the true one",
    )
