"""Whether what one source names is there in the other, and lies where it should."""

import re
import unicodedata
from collections.abc import Iterator, Mapping
from functools import lru_cache

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj.database import query_crs_info
from pyproj.enums import PJType

from pipeline.core.errors import Fault
from pipeline.core.findings import Finding
from pipeline.core.names import listed, suggestion
from pipeline.core.units import FT_PER_MI, M_PER_MI
from pipeline.ground.geometry import length_ft
from pipeline.intake.rasters.backdrop import backdrop_faults

ENTRY_BY_LIST = {"burns": "block", "seedings": "area", "comparisons": "comparison"}
NEAR_MI = 1.0
MOST_TOLD = 20
"""Units not on the map that get a line each, with the name that was perhaps meant."""
WIDE_MI = 60.0
OF_OTHER_TIMES = ("drawn_units", "treatments", "former_plan")
"""The map itself, and tables that may name units of another one."""


def intake_faults(frames: Mapping[str, pd.DataFrame]) -> list[Fault]:
    """Names of units that the map does not have, and units that an entry names twice.

    ``frames`` holds the units, the lists of the property file and the tables that could be read.
    The log of treatments and last year's plan may name units that are no more: the rows of the log
    pass a gate of their own, and the plan of years tells whose former years it cannot keep.
    """
    units = list(frames["drawn_units"]["unit_id"])
    found: list[Fault] = []
    for name, frame in frames.items():
        if name not in OF_OTHER_TIMES and "unit_id" in frame.columns:
            found += _unknown_units(name, frame, units)
    for name, entry in ENTRY_BY_LIST.items():
        found += _repeated_units(name, entry, frames[name])
    found += _away_from_state(frames["property"], frames["drawn_units"])
    found += backdrop_faults(frames)
    return found


BEYOND_STATE_DEG = 1.0
"""How far units may lie outside the rectangle around their state; a ranch may cross a border."""


@lru_cache(maxsize=4)
def state_bounds_deg(state: str) -> tuple[float, float, float, float] | None:
    """Rectangle around a state [degree]: west, south, east, north; None where it is not known.

    *Source*: areas of use of the state's projected systems in the EPSG dataset, as PROJ holds it.
    """
    systems = query_crs_info(auth_name="EPSG", pj_types=PJType.PROJECTED_CRS)
    name = re.compile(rf"United States \(USA\) - {re.escape(state)}\b")
    areas = [one.area_of_use for one in systems if one.area_of_use is not None]
    bounds = np.array([area.bounds for area in areas if name.match(str(area.name))])
    if not len(bounds):
        return None
    west, south = bounds[:, :2].min(axis=0)
    east, north = bounds[:, 2:].max(axis=0)
    return float(west), float(south), float(east), float(north)


def _away_from_state(property: pd.DataFrame, units: pd.DataFrame) -> Iterator[Fault]:
    """The fault of units that lie far from the state that the property file names."""
    state = property["state"].iloc[0]
    bounds = None if pd.isna(state) else state_bounds_deg(str(state))
    if bounds is None or not isinstance(units, gpd.GeoDataFrame) or not len(units):
        return
    west, south, east, north = bounds
    places = units.geometry.representative_point().to_crs(4326)
    beyond = BEYOND_STATE_DEG
    away = (places.x < west - beyond) | (places.x > east + beyond)
    away |= (places.y < south - beyond) | (places.y > north + beyond)
    if away.any():
        first = places[away].iloc[0]
        names = listed(units.loc[away.to_numpy(), "unit_id"], 4)
        found = f"{state}, but units lie elsewhere ({names} at {first.y:.4f}, {first.x:.4f})"
        do = "mend the state, the map's reference system, or the order of its coordinates"
        yield Fault("[property] state", found, "units in that state or just beyond", do)


LOOKALIKES = str.maketrans(
    "АВЕКМНОРСТХУІЈЅаеорсухіјѕΑΒΕΖΗΙΚΜΝΟΡΤΥΧο", "ABEKMHOPCTXYIJSaeopcyxijsABEZHIKMNOPTYXo"
)
"""Cyrillic and Greek letters that look like Latin ones, and those.

*Source*: Unicode Technical Standard 39, confusable characters; a part of it, from memory.
"""


def _alike(unit_id: str) -> str:
    """A name as the eye or a spreadsheet takes it: letters of one case, numbers without zeros."""
    plain = unicodedata.normalize("NFKC", unit_id).translate(LOOKALIKES).casefold()
    return re.sub(r"0+(?=\d)", "", "".join(plain.split()))


def _names_alike(units: pd.DataFrame) -> list[Finding]:
    """Findings on units whose names are easily taken for one another, such as A1 and a1."""
    groups: dict[str, list[str]] = {}
    for unit_id in units["unit_id"]:
        groups.setdefault(_alike(unit_id), []).append(unit_id)
    return [
        Finding(
            severity="warning",
            source="units",
            subject=names[0],
            message=f"units {' and '.join(names)} are easily taken for one another: tables name "
            "one of them, and nothing shows which was meant. Give one another name",
            code="names_alike",
        )
        for names in groups.values()
        if len(names) > 1
    ]


def _where(name: str, entry: object = None) -> str:
    """How a message names a list of the property file or a table."""
    return f'[[{name}]] "{entry}"' if name in ENTRY_BY_LIST else f"[sources.{name}]"


def _unknown_units(name: str, frame: pd.DataFrame, units: list[str]) -> Iterator[Fault]:
    """Faults of units that a list or table names and the map does not have."""
    entry = ENTRY_BY_LIST.get(name)
    columns = [entry, "unit_id"] if entry else ["unit_id"]
    odd = frame.loc[~frame["unit_id"].isin(units) & frame["unit_id"].notna(), columns]
    rows = odd.drop_duplicates()
    for row in rows[:MOST_TOLD].to_dict("records"):
        unit_id = str(row["unit_id"])
        where, found = _where(name, row.get(entry)), f'unit "{unit_id}" is not on the map'
        yield Fault(where, found, "a unit of the units source", suggestion(unit_id, units))
    if len(rows) > MOST_TOLD:
        found = f"{len(rows) - MOST_TOLD} more units that are not on the map"
        yield Fault(_where(name), found, "units of the units source", "mend these first")


def _repeated_units(name: str, entry: str, frame: pd.DataFrame) -> Iterator[Fault]:
    """Faults of units that stand twice under one name, in one entry or in two of that name."""
    repeated = frame.loc[frame.duplicated([entry, "unit_id"]), [entry, "unit_id"]]
    for row in repeated.drop_duplicates().to_dict("records"):
        where, found = _where(name, row[entry]), f'unit "{row["unit_id"]}" stands twice'
        expected = "each unit once, and each name for one entry"
        yield Fault(where, found, expected, "delete or rename one of them")


def find_references(frames: Mapping[str, pd.DataFrame]) -> list[Finding]:
    """Findings on sources that lie away from the units, and on ground to be sown twice."""
    units = frames["drawn_units"]
    findings = [*_wide_property(units), *_names_alike(units)]
    for name, frame in frames.items():
        if isinstance(frame, gpd.GeoDataFrame) and name in PLACED:
            for entry, part in frame.groupby("source_id" if name == "breaks" else lambda _: 1):
                findings += _far_away(name, entry, part, units)
    findings += _sown_twice(frames["seedings"])
    return findings


PLACED = ("exclusions", "breaks", "gates", "water_places")
"""Map sources of which something should lie near the units."""


def _wide_property(units: gpd.GeoDataFrame) -> list[Finding]:
    """A finding on units so far from the others that their coordinates are likely wrong.

    Distances [mi] are on the ellipsoid: the plane is no measure for what lies across the earth.
    """
    points = units.geometry.representative_point()
    places = shapely.get_coordinates(points.to_numpy())
    off = np.hypot(*(places - np.median(places, axis=0)).T)
    if off.max() * 2 <= WIDE_MI * M_PER_MI:
        return []
    middle = int(np.argmin(off))
    ways = shapely.linestrings([[places[middle], place] for place in places])
    away_mi = length_ft(gpd.GeoSeries(ways, crs=units.crs)) / FT_PER_MI
    far = np.flatnonzero(away_mi > WIDE_MI)
    if not len(far):
        return []
    names, degrees = units["unit_id"].to_numpy(), points.to_crs(4326)
    ways_in_words = [
        f"{away_mi[n]:,.0f} miles to {names[n]} (at {place.y:.5f}, {place.x:.5f})"
        for n in far[np.argsort(-away_mi[far], kind="stable")]
        for place in [degrees.iloc[n]]
    ]
    message = (
        f"units lie far apart: from {names[middle]} it is {listed(ways_in_words)}: is the "
        "coordinate right? The map and its plane are stretched over all of them, so that widths "
        "and strips are drawn less true: mend it, or give such units a property file of their own"
    )
    finding = Finding(
        severity="warning",
        source="units",
        subject=listed(names[far]),
        message=message,
        code="units_far_apart",
        geometry=shapely.multipoints(places[far]),
    )
    return [finding]


def _far_away(
    name: str, entry: object, part: gpd.GeoDataFrame, units: gpd.GeoDataFrame
) -> list[Finding]:
    """A finding on a source of which nothing lies near the units."""
    _, away_m = units.sindex.nearest(part.geometry, return_all=False, return_distance=True)
    away_mi = away_m.min() / M_PER_MI
    if away_mi <= NEAR_MI:
        return []
    source = f"{name} {entry}" if name == "breaks" else name
    message = (
        f"nothing of this source lies within {NEAR_MI:g} mile of the units (the nearest is "
        f"{away_mi:.1f} miles away): is it the right file, and its reference system right?"
    )
    return [Finding(severity="warning", source=source, message=message, code="source_far_away")]


def _sown_twice(seedings: pd.DataFrame) -> list[Finding]:
    """Findings on units that two seeding areas name; seed is then ordered for both."""
    areas = seedings.groupby("unit_id")["area"].unique()
    return [
        Finding(
            severity="warning",
            source="seedings",
            subject=str(unit_id),
            message=f"unit {unit_id} is in {len(names)} seeding areas ({listed(names)}): seed is "
            "ordered for each of them",
            code="unit_sown_twice",
        )
        for unit_id, names in areas.items()
        if len(names) > 1
    ]
