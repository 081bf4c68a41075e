"""Shapes of a map source looked at row by row: used, mended and told of, or refused."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS, Transformer

from pipeline.core.errors import Fault
from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.units import FT_PER_MI, half_up
from pipeline.ground.geometry import area_ac, length_ft
from pipeline.intake.placement import misplaced
from pipeline.intake.repair import Repair, repair_polygons

SMALLEST_UNIT_AC = 0.01


LARGEST_UNIT_AC = 1e6


LONGEST_UNIT_MI = 100.0


WORDS_BY_DIMENSION = {0: "points", 1: "lines", 2: "polygons"}


DIMENSIONS_BY_GEOMETRY = {"MultiPolygon": (2,), "LineString": (1,), "Point": (0,),
                          "LineOrPolygon": (1, 2), "Geometry": (0, 1, 2)}  # fmt: skip


DRAW_IT = "draw it again, or delete the row"


@dataclass(frozen=True, slots=True)
class Drawn:
    """The shapes of one source and how to speak of them.

    ``unit_ids`` holds the name of each row where the source has names, else nothing. ``closed``
    and ``rewound`` are positions whose rings the reader had to close or to sort.
    """

    shapes: gpd.GeoSeries
    geometry: str
    name: str
    role: str
    unit_ids: Sequence[object] = ()
    closed: Sequence[int] = ()
    rewound: Sequence[int] = ()

    @property
    def are_units(self) -> bool:
        """Whether every row must hold a piece of ground of its own."""
        return bool(self.unit_ids)

    def subject(self, position: int) -> str | None:
        """Name of a row's unit, None where it has none."""
        unit = self.unit_ids[position] if self.unit_ids else None
        return None if unit is None else str(unit)

    def row(self, position: int) -> str:
        """A row as a message names it."""
        unit = self.subject(position)
        return f"{self.name}, row {position + 1}" + (f', unit "{unit}"' if unit else "")


@dataclass(slots=True)
class Checked:
    """The mended shapes, which rows are kept, and what was found."""

    shapes: gpd.GeoSeries
    kept: np.ndarray
    findings: list[Finding] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def check_shapes(drawn: Drawn) -> Checked:
    """The shapes of a source, mended where they can be, with every fault of every row.

    Nothing is measured before its coordinates are known to be finite numbers.
    """
    checked = Checked(drawn.shapes, np.ones(len(drawn.shapes), bool))
    _leave_out_empty(drawn, checked)
    sound = _finite(drawn, checked) & _of_the_right_kind(drawn, checked) & checked.kept
    if drawn.shapes.crs is None or not sound.any():
        return checked
    rows = np.flatnonzero(sound)
    if problem := misplaced(drawn.shapes[sound]):
        numbers = [int(rows[number - 1]) + 1 for number in problem.rows]
        where = f"{drawn.name}, row{'s' if len(numbers) > 1 else ''} {listed(numbers)}"
        checked.faults.append(Fault(where, problem.found, problem.expected, problem.do))
        return checked
    place = place_words(CRS(drawn.shapes.crs))
    _mend(drawn, checked, sound, place)
    _tell_reader_mends(drawn, checked, sound)
    if drawn.are_units:
        _check_sizes(drawn, checked, sound & ~_too_long(drawn, checked, sound, place))
        _check_doubles(drawn, checked, sound)
    return checked


def place_words(crs: CRS) -> Callable[[float, float], str]:
    """Function that says where a point is, as latitude and longitude [deg]."""
    transformer = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)

    def words(x: float, y: float) -> str:
        lon_deg, lat_deg = transformer.transform(x, y)
        return f"{lat_deg:.5f}, {lon_deg:.5f}"

    return words


def _leave_out_empty(drawn: Drawn, checked: Checked) -> None:
    """Rows without a shape: refused for units, left out and told of for anything else."""
    shapes = drawn.shapes.to_numpy()
    empty = shapely.is_missing(shapes) | shapely.is_empty(shapes)
    checked.kept &= ~empty
    for position in np.flatnonzero(empty).tolist():
        if drawn.are_units:
            checked.faults.append(Fault(drawn.row(position), "has no shape", "a polygon", DRAW_IT))
        else:
            checked.findings.append(_finding(drawn, position, "warning", "has no shape; left out"))


def _finite(drawn: Drawn, checked: Checked) -> np.ndarray:
    """Which rows have only finite coordinates; the others are refused."""
    coordinates, rows = shapely.get_coordinates(drawn.shapes.to_numpy(), return_index=True)
    bad = np.unique(rows[~(np.abs(coordinates) < 1e30).all(axis=1)])
    for position in bad.tolist():
        checked.faults.append(
            Fault(drawn.row(position), "a coordinate that is no number (NaN or infinite)",
                  "coordinates that are numbers", DRAW_IT)
        )  # fmt: skip
    return ~np.isin(np.arange(len(drawn.shapes)), bad)


def _of_the_right_kind(drawn: Drawn, checked: Checked) -> np.ndarray:
    """Which rows have a shape of the kind that the source is for; the others are refused."""
    wanted = DIMENSIONS_BY_GEOMETRY[drawn.geometry]
    shapes = drawn.shapes.to_numpy()
    dimensions = shapely.get_dimensions(shapes)
    mixed = shapely.get_type_id(shapes) == shapely.GeometryType.GEOMETRYCOLLECTION
    right = np.isin(dimensions, wanted) & ~mixed
    for kind in sorted(set(drawn.shapes.geom_type[checked.kept & ~right])):
        positions = np.flatnonzero((drawn.shapes.geom_type == kind) & checked.kept & ~right)
        expected = " or ".join(WORDS_BY_DIMENSION[d] for d in wanted)
        rows = f"{drawn.name}, rows {listed(positions + 1)}"
        checked.faults.append(Fault(rows, f"{kind} shapes", expected, "keep them in another file"))
    return right


def _mend(
    drawn: Drawn, checked: Checked, sound: np.ndarray, place: Callable[[float, float], str]
) -> None:
    """Invalid polygons made valid and told of, or refused."""
    polygons = sound & (shapely.get_dimensions(drawn.shapes.to_numpy()) == 2)
    rows = np.flatnonzero(polygons)
    mended, repairs = repair_polygons(drawn.shapes[polygons])
    shapes = drawn.shapes.to_numpy().copy()
    shapes[rows] = mended.to_numpy()
    checked.shapes = gpd.GeoSeries(shapes, index=drawn.shapes.index, crs=drawn.shapes.crs)
    for repair in repairs:
        position = int(rows[repair.position])
        what = f"{repair.what} at {place(repair.x, repair.y)}"
        if repair.refused:
            checked.kept[position] = False
            checked.faults.append(
                Fault(drawn.row(position), f"{what}; {repair.refused}",
                      "an outline with one meaning", "draw it again there")
            )  # fmt: skip
        else:
            checked.findings.append(
                _finding(drawn, position, "warning" if repair.moved else "note",
                         f"{what}; {_mended_words(repair)}", shapely.Point(repair.x, repair.y))
            )  # fmt: skip


def _mended_words(repair: Repair) -> str:
    """What a repair changed, in acres."""
    places = 2 if repair.moved else 4
    words = (
        f"repaired, area {half_up(repair.before_ac, places)} -> "
        f"{half_up(repair.after_ac, places)} ac"
    )
    if repair.other_ac is not None:
        words += f" ({half_up(repair.other_ac, 2)} ac if ground enclosed twice is left out)"
    return words


def _tell_reader_mends(drawn: Drawn, checked: Checked, sound: np.ndarray) -> None:
    """Rings that had to be closed or sorted in reading."""
    for positions, words in (
        (drawn.closed, "a ring was not closed; closed with a straight line"),
        (drawn.rewound, "rings are wound against the rule of the format; holes told by what lies "
                        "in what"),
    ):  # fmt: skip
        for position in positions:
            if sound[position]:
                checked.findings.append(
                    _finding(drawn, position, "warning", words,
                             checked.shapes.iloc[position].representative_point())
                )  # fmt: skip


def _too_long(
    drawn: Drawn, checked: Checked, sound: np.ndarray, place: Callable[[float, float], str]
) -> np.ndarray:
    """Which units reach over more miles than a unit can, mostly by one lost corner; refused."""
    rows = np.flatnonzero(sound & checked.kept)
    west, south, east, north = shapely.bounds(checked.shapes.iloc[rows].to_numpy()).T
    across = shapely.linestrings(np.array([[west, east], [south, north]]).transpose(2, 1, 0))
    reach_mi = length_ft(gpd.GeoSeries(across, crs=checked.shapes.crs)) / FT_PER_MI
    long = ~(reach_mi <= LONGEST_UNIT_MI)
    for position, miles in zip(rows[long].tolist(), reach_mi[long], strict=True):
        corners = shapely.get_coordinates(checked.shapes.iloc[position])
        far = np.hypot(*(corners - np.median(corners, axis=0)).T).argmax()
        checked.faults.append(
            Fault(
                drawn.row(position),
                f"reaches over {miles:,.0f} miles, to {place(*corners[far])}",
                f"a unit of at most {LONGEST_UNIT_MI:.0f} miles",
                "mend that corner, or delete the row",
            )
        )
    return np.isin(np.arange(len(sound)), rows[long])


def _check_sizes(drawn: Drawn, checked: Checked, sound: np.ndarray) -> None:
    """Units smaller or larger than a unit can be: mostly a wrong reference system."""
    rows = np.flatnonzero(sound & checked.kept).tolist()
    for position, acres in zip(rows, area_ac(checked.shapes.iloc[rows]), strict=True):
        if not SMALLEST_UNIT_AC <= acres <= LARGEST_UNIT_AC:
            checked.faults.append(
                Fault(drawn.row(position), f"an area of {acres:.3g} ac",
                      f"{SMALLEST_UNIT_AC} to {LARGEST_UNIT_AC:,.0f} ac",
                      "check the reference system of the file, or delete the row")
            )  # fmt: skip


def _check_doubles(drawn: Drawn, checked: Checked, sound: np.ndarray) -> None:
    """The same polygon twice: dropped where the row is the same, refused under two names."""
    first_by_shape: dict[bytes, int] = {}
    for position in np.flatnonzero(sound & checked.kept).tolist():
        key = shapely.normalize(checked.shapes.iloc[position]).wkb
        first = first_by_shape.setdefault(key, position)
        if first == position:
            continue
        if drawn.unit_ids[first] == drawn.unit_ids[position]:
            checked.kept[position] = False
            words = f"repeats row {first + 1}; used once"
            checked.findings.append(_finding(drawn, position, "warning", words))
        else:
            checked.faults.append(
                Fault(
                    drawn.row(position),
                    f'the same polygon as unit "{drawn.unit_ids[first]}" in row {first + 1}',
                    "ground that belongs to one unit",
                    "delete one of them",
                )
            )


def _finding(
    drawn: Drawn, position: int, severity: str, words: str, place: shapely.Point | None = None
) -> Finding:
    """A finding about one row."""
    return Finding(
        severity=severity,
        source=drawn.role,
        row=position + 1,
        subject=drawn.subject(position),
        message=f"{drawn.row(position)}: {words}",
        geometry=place,
    )
