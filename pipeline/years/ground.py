"""Ground through the years: units matched by outline, on the ellipsoid, and never by name alone."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, less, united
from pipeline.years.layers import UNIT_CHANGES

WHOLE_PCT = 95.0
"""Outlines that share so much of both are one: two people digitize an edge some feet apart.
*Source*: common practice, no source."""


PART_PCT = 5.0
"""Less than this of either outline is the width of a line, and is passed over.
*Source*: common practice, no source."""


MOSTLY_PCT = 50.0


UnitOf = tuple[int, str]
"""Season and name of a unit."""


@dataclass(slots=True)
class Outlines:
    """Outlines by number, and how much of each another one takes; drawn alike they are one.

    ``numbers`` are those of the units of all seasons, ``acres`` and ``shapes`` by the number.
    """

    crs: CRS
    shapes: list[shapely.Geometry]
    acres: list[float]
    numbers: dict[UnitOf, int]
    _by_drawing: dict[bytes, int]
    _shared: dict[tuple[int, int], float]

    @classmethod
    def empty(cls, crs: CRS) -> "Outlines":
        """No outlines yet; all are told in this reference system."""
        return cls(crs, [], [], {}, {}, {})

    def add(self, shape: shapely.Geometry) -> int:
        """Number of an outline, given to it where it is new."""
        drawing = shapely.to_wkb(shapely.normalize(shape))
        if drawing not in self._by_drawing:
            self._by_drawing[drawing] = len(self.shapes)
            self.shapes.append(shape)
            self.acres.append(float(area_ac(gpd.GeoSeries([shape], crs=self.crs))[0]))
        return self._by_drawing[drawing]

    def shared_ac(self, one: int, other: int) -> float:
        """Acres that two outlines have in common."""
        if one == other:
            return self.acres[one]
        pair = (min(one, other), max(one, other))
        if pair not in self._shared:
            first, second = (self.shapes[number] for number in pair)
            self._shared[pair] = 0.0
            if shapely.intersects(first, second):
                both = gpd.GeoSeries([areas(common(first, second))], crs=self.crs)
                self._shared[pair] = float(area_ac(both)[0])
        return self._shared[pair]

    def pct(self, one: int, other: int) -> float:
        """Part of the first outline [percent] that the second one takes."""
        return 100.0 * self.shared_ac(one, other) / self.acres[one] if self.acres[one] else 0.0

    def share(self, one: int, other: int) -> float:
        """That part from 0 to 1; all but the width of a line is all of it, and that width none."""
        pct = self.pct(one, other)
        return 1.0 if pct >= WHOLE_PCT else 0.0 if pct < PART_PCT else pct / 100.0

    def are_mostly_one(self, one: int, other: int) -> bool:
        """Whether the most of either outline lies in the other."""
        return max(self.pct(one, other), self.pct(other, one)) >= MOSTLY_PCT


def areas(shape: shapely.Geometry) -> shapely.Geometry:
    """Polygons of a shape; lines and points where outlines touch are no ground."""
    parts = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon"]
    return shapely.MultiPolygon(parts)


def drawn_outlines(units_by_season: Mapping[int, gpd.GeoDataFrame], crs: CRS) -> Outlines:
    """The outlines of the units of all seasons."""
    outlines = Outlines.empty(crs)
    for season, units in units_by_season.items():
        shapes = units.geometry.to_crs(crs)
        for unit_id, shape in zip(units["unit_id"], shapes, strict=True):
            outlines.numbers[season, unit_id] = outlines.add(shape)
    return outlines


@dataclass(frozen=True, slots=True)
class Line:
    """Ground that is followed: its name here, the unit that it is drawn as, and its outline."""

    line: str
    season: int
    unit_id: str
    outline: int


def followed_lines(outlines: Outlines, seasons: Sequence[int]) -> list[Line]:
    """The units of the newest season, then older ones whose ground is mostly in none of them.

    ``seasons`` are in their order, oldest first.
    """
    lines: list[Line] = []
    covered: shapely.Geometry = shapely.MultiPolygon()
    for season in reversed(seasons):
        new = []
        for (own, unit_id), number in outlines.numbers.items():
            if own != season:
                continue
            left = areas(less(outlines.shapes[number], covered))
            left_ac = float(area_ac(gpd.GeoSeries([left], crs=outlines.crs))[0])
            if season == seasons[-1] or left_ac >= MOSTLY_PCT / 100.0 * outlines.acres[number]:
                name = unit_id if season == seasons[-1] else f"{unit_id} (until {season})"
                new.append(Line(name, season, unit_id, number))
        lines += new
        covered = united([covered, *(outlines.shapes[line.outline] for line in new)])
    return lines


def units_then(outlines: Outlines, line: Line, season: int) -> list[tuple[str, float]]:
    """Units of a season that a piece of ground was in, with its share in each, the most first.

    Shares that differ by nothing but the last digits of an overlay are alike; names order them.
    """
    found = [
        (unit_id, outlines.share(line.outline, number))
        for (own, unit_id), number in outlines.numbers.items()
        if own == season
    ]
    return sorted((f for f in found if f[1] > 0), key=lambda f: (-round(f[1], 6), f[0]))


def told_changes(outlines: Outlines, seasons: Sequence[int]) -> pd.DataFrame:
    """Table ``unit_changes``: what became of each unit from each run to the next."""
    rows = [
        row for before, season in pairwise(seasons) for row in _changes(outlines, before, season)
    ]
    table = pd.DataFrame(rows, columns=UNIT_CHANGES.column_names)
    return table.assign(number=range(1, len(table) + 1))


def _changes(outlines: Outlines, before: int, season: int) -> Iterator[dict[str, Any]]:
    """What became of the units of one season until another."""
    olds, news = (
        {u: n for (s, u), n in outlines.numbers.items() if s == which} for which in (before, season)
    )
    pairs = [
        (old, new, outlines.pct(o, n), outlines.pct(n, o))
        for old, o in olds.items()
        for new, n in news.items()
        if max(outlines.pct(o, n), outlines.pct(n, o)) >= PART_PCT
    ]
    told = {"season": season, "season_before": before}
    for old, new, of_old, of_new in pairs:
        pieces = sum(o == old and b >= MOSTLY_PCT for o, _, _, b in pairs)
        parents = sum(n == new and a >= MOSTLY_PCT for _, n, a, _ in pairs)
        yield told | {
            "unit_before": old,
            "unit_id": new,
            "change": _change(old == new, of_old, of_new, pieces, parents),
            "before_ac": outlines.acres[olds[old]],
            "unit_ac": outlines.acres[news[new]],
            "shared_ac": outlines.shared_ac(olds[old], news[new]),
            "of_before_pct": of_old,
            "of_unit_pct": of_new,
        }
    met = {(old, new) for old, new, _, _ in pairs}
    for old in olds:
        if not any(pair[0] == old for pair in met):
            yield told | {
                "unit_before": old,
                "change": "gone",
                "before_ac": outlines.acres[olds[old]],
            }
    for new in news:
        if not any(pair[1] == new for pair in met):
            yield told | {"unit_id": new, "change": "new", "unit_ac": outlines.acres[news[new]]}
        if new in olds and (new, new) not in met:
            yield told | {
                "unit_before": new,
                "unit_id": new,
                "change": "same_name_elsewhere",
                "before_ac": outlines.acres[olds[new]],
                "unit_ac": outlines.acres[news[new]],
                "shared_ac": 0.0,
                "of_before_pct": 0.0,
                "of_unit_pct": 0.0,
            }


def _change(same_name: bool, of_old: float, of_new: float, pieces: int, parents: int) -> str:
    """What became of a unit by the shares of both outlines; several pieces are a split."""
    if min(of_old, of_new) >= WHOLE_PCT:
        return "same" if same_name else "renamed"
    if of_new >= MOSTLY_PCT and pieces > 1:
        return "split"
    if of_old >= MOSTLY_PCT and parents > 1:
        return "merged"
    return "redrawn" if max(of_old, of_new) >= MOSTLY_PCT else "part"
