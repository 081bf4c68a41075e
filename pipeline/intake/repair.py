"""Shapes as people draw them, their polygons made valid, with what that changed."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely

from pipeline.core.findings import Finding
from pipeline.core.units import half_up
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import united

CHANGE_SHARE = 0.01
CHANGE_AC = 0.1
SAME_SHARE = 1e-3

PLACE_IN_REASON = re.compile(r"^(?P<what>[^\[]+)\[(?P<x>\S+) (?P<y>\S+)\]$")
WORDS_BY_REASON = {
    "Self-intersection": "outline crosses itself",
    "Ring Self-intersection": "outline touches itself",
    "Hole lies outside shell": "a hole lies outside its outline",
    "Nested shells": "one part lies inside another",
    "Holes are nested": "one hole lies inside another",
    "Interior is disconnected": "holes cut it in pieces",
    "Duplicate Rings": "the same ring twice",
    "Too few points in geometry component": "an outline of fewer than three corners",
}


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

    def finding(
        self,
        position: int,
        code: str,
        words: str,
        *,
        severity: str = "warning",
        amount: float | None = None,
        place: shapely.Geometry | None = None,
    ) -> Finding:
        """A finding about one row, with its place where it has one."""
        return Finding(
            severity=severity,
            source=self.role,
            row=position + 1,
            subject=self.subject(position),
            message=f"{self.row(position)}: {words}",
            code=code,
            amount=amount,
            geometry=place,
        )


@dataclass(frozen=True, slots=True)
class Repair:
    """What was wrong with one polygon and what mending it changed.

    ``refused`` says why the mended shape must not be trusted; None where it can be. ``other_ac``
    is the area by the even-odd rule, where that reading differs.
    """

    position: int
    what: str
    x: float
    y: float
    before_ac: float
    after_ac: float
    other_ac: float | None
    refused: str | None

    @property
    def changes_acres(self) -> bool:
        """Whether the acres changed by a hundredth or more."""
        return abs(self.before_ac - self.after_ac) >= 0.01

    @property
    def words(self) -> str:
        """What the repair changed, in acres."""
        places = 2 if self.changes_acres else 4
        before, after = half_up(self.before_ac, places), half_up(self.after_ac, places)
        words = f"repaired, area {before} -> {after} ac"
        if self.other_ac is not None:
            words += f" ({half_up(self.other_ac, 2)} ac if ground enclosed twice is left out)"
        return words


def repair_polygons(shapes: gpd.GeoSeries) -> tuple[gpd.GeoSeries, list[Repair]]:
    """The polygons with every invalid one mended, and what was mended.

    Rings keep the ground they enclose (the structure method): a buffer of zero, the usual quick
    mend, silently drops one half of a figure eight. Coordinates must be finite.
    """
    mended = shapes.to_numpy().copy()
    repairs: list[Repair] = []
    for position in np.flatnonzero(~shapely.is_valid(mended)):
        repair, shape = _repaired(int(position), mended[position], shapes.crs)
        repairs.append(repair)
        mended[position] = shape
    return gpd.GeoSeries(mended, index=shapes.index, crs=shapes.crs), repairs


def _repaired(
    position: int, shape: shapely.Geometry, crs: object
) -> tuple[Repair, shapely.Geometry]:
    """One polygon mended: what that changed, and the polygon."""
    reason = shapely.is_valid_reason(shape)
    match = PLACE_IN_REASON.match(reason)
    what = match["what"] if match else reason
    mended = made_valid(shape)
    even_odd = polygons_of(shapely.make_valid(shape))
    before_ac, after_ac, other_ac = area_ac(gpd.GeoSeries([shape, mended, even_odd], crs=crs))
    middle = shape.envelope.centroid
    repair = Repair(
        position=position,
        what=WORDS_BY_REASON.get(what, what.lower()),
        x=float(match["x"]) if match else middle.x,
        y=float(match["y"]) if match else middle.y,
        before_ac=float(before_ac),
        after_ac=float(after_ac),
        other_ac=float(other_ac) if abs(other_ac - after_ac) >= 0.01 else None,
        refused=_refusal(what, shape, mended, float(before_ac), float(after_ac)),
    )
    return repair, mended


def made_valid(shape: shapely.Geometry) -> shapely.Geometry:
    """Polygons that cover the ground a shape encloses, whatever its rings cross.

    By its structure; by its linework where that fails on a sliver. Parts that come out side by
    side with a common edge are joined: as one multipolygon they would not be valid.
    """
    try:
        mended = shapely.make_valid(shape, method="structure", keep_collapsed=False)
    except shapely.GEOSException:
        mended = shapely.make_valid(shape, method="linework")
    polygons = polygons_of(mended)
    if not polygons.is_valid:
        polygons = polygons_of(united(shapely.get_parts(polygons)))
    return polygons


def polygons_of(shape: shapely.Geometry) -> shapely.Geometry:
    """The polygons among the parts of a shape, one polygon or a multipolygon."""
    parts = shapely.get_parts(shapely.get_parts(shape))
    polygons = [part for part in parts if part.geom_type == "Polygon" and not part.is_empty]
    return polygons[0] if len(polygons) == 1 else shapely.MultiPolygon(polygons)


def _refusal(
    what: str, shape: shapely.Geometry, mended: shapely.Geometry, before_ac: float, after_ac: float
) -> str | None:
    """Why a mended polygon must not be trusted, None where it can be."""
    if what == "Hole lies outside shell" or shape.area < 0:
        return "what is ground and what is hole cannot be told"
    if mended.is_empty:
        return "nothing is left of it"
    change_ac = abs(before_ac - after_ac)
    if change_ac <= CHANGE_AC or change_ac <= CHANGE_SHARE * max(before_ac, after_ac):
        return None
    if _counted_twice(shape, before_ac, after_ac):
        return None
    return f"its area would be {before_ac:.2f} ac as drawn and {after_ac:.2f} ac mended"


def _counted_twice(shape: shapely.Geometry, before_ac: float, after_ac: float) -> bool:
    """Whether the area only changed because ground drawn twice now counts once.

    Parts of a multipolygon that lie on each other, or a ring traced a whole number of times.
    """
    parts = shapely.get_parts(shape)
    if len(parts) > 1 and shapely.is_valid(parts).all():
        return True
    times = before_ac / after_ac
    return times > 1.5 and abs(times - round(times)) < SAME_SHARE
