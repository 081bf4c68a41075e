"""What the acres that a file states are: measured how, or out of date.

A column of acres is often years older than the outline, or comes from a map projection that
stretches the ground. Trying the likely ways of measuring tells which one it was.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS

from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.units import M2_PER_AC, M_PER_FT, half_up
from pipeline.ground.geometry import area_m2
from pipeline.intake.repair import Drawn

SAME_SHARE = 1e-4
DIFFERENT_SHARE = 0.01
M2_PER_HA = 10_000.0


@dataclass(frozen=True, slots=True)
class Measure:
    """A way of measuring areas: what to call it, and whether it counts in acres."""

    words: str
    in_acres: bool = False


def acres(how: str) -> Measure:
    """Acres measured in some way."""
    return Measure(how, in_acres=True)


GEODESIC = acres("acres on the ellipsoid, as computed here")
MERCATORS = {acres("Web Mercator acres"): 3857, acres("World Mercator acres"): 3395}
"""Acres of the maps that stretch the ground most, with their EPSG codes."""


@dataclass(frozen=True, slots=True)
class Reading:
    """Which of the stated figures are what a measure gives, and by how much it differs.

    ``excess_share`` is the middle of (stated − geodesic) / geodesic over these rows.
    """

    measure: Measure
    positions: tuple[int, ...]
    excess_share: float

    @property
    def rows(self) -> int:
        """Number of stated figures that the measure explains."""
        return len(self.positions)


def areas_by_measure(shapes: gpd.GeoSeries) -> dict[Measure, np.ndarray]:
    """Figure that each way of measuring gives for each polygon, in the unit the way names."""
    crs = CRS(shapes.crs)
    geodesic_m2 = area_m2(shapes)
    areas = {GEODESIC: geodesic_m2 / M2_PER_AC}
    if crs.is_projected:
        grid_m2 = shapely.area(shapes.to_numpy()) * crs.axis_info[0].unit_conversion_factor ** 2
        grid = "on the grid of the file's own projection"
        areas[acres(f"acres {grid}")] = grid_m2 / M2_PER_AC
        areas[Measure(f"square meters {grid}")] = grid_m2
        areas[Measure(f"square feet {grid}")] = grid_m2 / M_PER_FT**2
    utm = shapes.estimate_utm_crs()
    in_utm = acres(f"acres on the grid of {utm.name}")
    areas[in_utm] = shapes.to_crs(utm).area.to_numpy() / M2_PER_AC
    for mercator, epsg in MERCATORS.items():
        areas[mercator] = shapes.to_crs(epsg).area.to_numpy() / M2_PER_AC
    areas[Measure("hectares")] = geodesic_m2 / M2_PER_HA
    areas[Measure("square meters")] = geodesic_m2
    areas[Measure("square feet")] = geodesic_m2 / M_PER_FT**2
    return areas


def rounding_step(stated: Sequence[float]) -> float:
    """Smallest step [in the column's unit] that the figures of a column are written in."""
    places = max(
        (-int(half_up(value, 6).normalize().as_tuple().exponent) for value in stated), default=0
    )
    return float(10.0 ** -min(max(places, 0), 6))


def read_stated(stated: np.ndarray, areas: dict[Measure, np.ndarray]) -> list[Reading]:
    """Which measures the stated figures are, the one that explains most rows first.

    A figure is a measure's where it differs by no more than a ten-thousandth or half the step it
    is rounded to, if that step is fine enough to tell anything. Rows that no measure explains are
    in none of the readings.
    """
    half_step = rounding_step(list(stated)) / 2 * (1 + 1e-9)
    fits = {
        measure: (np.abs(stated - area) <= np.maximum(SAME_SHARE * area, half_step))
        & (half_step <= DIFFERENT_SHARE * area)
        for measure, area in areas.items()
    }
    left = np.ones(len(stated), bool)
    readings = []
    while left.any():
        likeliest = max(fits, key=lambda measure: int((fits[measure] & left).sum()))
        rows = fits[likeliest] & left
        if not rows.any():
            break
        excess = stated[rows] / areas[GEODESIC][rows] - 1
        positions = tuple(np.flatnonzero(rows).tolist())
        readings.append(Reading(likeliest, positions, float(np.median(excess))))
        left &= ~rows
    return readings


def find_stated_acres(shapes: gpd.GeoSeries, stated_ac: np.ndarray, drawn: Drawn) -> list[Finding]:
    """Findings on a column of stated acres: what it is, and the rows that are off by over 1 %.

    Rows are listed where they differ from the rule that most of the column follows. A blank or 0
    is no figure: nobody has measured there.
    """
    given = stated_ac > 0
    if not given.any():
        return []
    areas = {measure: area[given] for measure, area in areas_by_measure(shapes).items()}
    stated, rows = stated_ac[given], np.flatnonzero(given)
    readings = read_stated(stated, areas)
    findings = [_summary(readings, len(stated), drawn)]
    measured = areas[GEODESIC]
    off = np.abs(stated - measured) > DIFFERENT_SHARE * measured
    usual = readings[0].positions if readings and readings[0].rows * 2 > len(stated) else ()
    for position in np.flatnonzero(off & ~np.isin(np.arange(len(stated)), usual)):
        row = int(rows[position])
        share = stated[position] / measured[position] - 1
        words = (
            f"the file states {half_up(stated[position], 2)} ac, measured are "
            f"{half_up(measured[position], 2)} ac ({share:+.1%}); the measured acres are used"
        )
        off_ac = float(abs(stated[position] - measured[position]))
        place = shapes.iloc[row].representative_point()
        told = drawn.finding(row, "acres_stated_off", words, amount=off_ac, place=place)
        findings.append(told)
    return findings


def _summary(readings: list[Reading], rows: int, drawn: Drawn) -> Finding:
    """The finding on a whole column: which ways of measuring explain its figures."""
    explained = sum(reading.rows for reading in readings)
    parts = [f"{r.rows} of {rows} are {r.measure.words}{_excess_words(r)}" for r in readings]
    if explained < rows:
        parts.append(f"{rows - explained} of {rows} are none of the usual measures")
    usual = all(r.measure == GEODESIC or abs(r.excess_share) < DIFFERENT_SHARE for r in readings)
    severity = "note" if usual and explained == rows else "warning"
    message = f"{drawn.name}: stated acres: {listed(parts)}"
    return Finding(severity=severity, source=drawn.role, message=message, code="acres_stated")


def _excess_words(reading: Reading) -> str:
    """By how much acres of another measure differ from ours."""
    if reading.measure == GEODESIC or not reading.measure.in_acres:
        return ""
    return f" ({reading.excess_share:+.2%} against the ellipsoid)"
