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
from pipeline.intake.shape_checks import Drawn

SAME_SHARE = 1e-4


DIFFERENT_SHARE = 0.01


GEODESIC = "acres on the ellipsoid, as computed here"


WEB_MERCATOR, WORLD_MERCATOR = "Web Mercator acres", "World Mercator acres"


EPSG_BY_MEASURE = {WEB_MERCATOR: 3857, WORLD_MERCATOR: 3395}


M2_PER_HA = 10_000.0


@dataclass(frozen=True, slots=True)
class Reading:
    """Which of the stated figures are what a measure gives, and by how much it differs.

    ``excess_share`` is the middle of (stated − geodesic) / geodesic over these rows.
    """

    measure: str
    positions: tuple[int, ...]
    excess_share: float

    @property
    def rows(self) -> int:
        """How many figures these are."""
        return len(self.positions)


def areas_by_measure(shapes: gpd.GeoSeries) -> dict[str, np.ndarray]:
    """Figure that each way of measuring gives for each polygon, in the unit the way names."""
    crs = CRS(shapes.crs)
    geodesic_m2 = area_m2(shapes)
    areas = {GEODESIC: geodesic_m2 / M2_PER_AC}
    if crs.is_projected:
        grid_m2 = shapely.area(shapes.to_numpy()) * crs.axis_info[0].unit_conversion_factor ** 2
        areas["acres on the grid of the file's own projection"] = grid_m2 / M2_PER_AC
        areas["square meters on the grid of the file's own projection"] = grid_m2
        areas["square feet on the grid of the file's own projection"] = grid_m2 / M_PER_FT**2
    utm = shapes.estimate_utm_crs()
    areas[f"acres on the grid of {utm.name}"] = shapes.to_crs(utm).area.to_numpy() / M2_PER_AC
    for name, epsg in EPSG_BY_MEASURE.items():
        areas[name] = shapes.to_crs(epsg).area.to_numpy() / M2_PER_AC
    areas["hectares"] = geodesic_m2 / M2_PER_HA
    areas["square meters"] = geodesic_m2
    areas["square feet"] = geodesic_m2 / M_PER_FT**2
    return areas


def rounding_step(stated: Sequence[float]) -> float:
    """Smallest step [in the column's unit] that the figures of a column are written in."""
    places = max(
        (-int(half_up(value, 6).normalize().as_tuple().exponent) for value in stated), default=0
    )
    return float(10.0 ** -min(max(places, 0), 6))


def read_stated(stated: np.ndarray, areas: dict[str, np.ndarray]) -> list[Reading]:
    """Which measures the stated figures are, the one that explains most rows first.

    A figure is a measure's where it differs by no more than a ten-thousandth or half the step it
    is rounded to, if that step is fine enough to tell anything. Rows that no measure explains are
    in none of the readings.
    """
    half_step = rounding_step(list(stated)) / 2 * (1 + 1e-9)
    fits = {
        name: (np.abs(stated - area) <= np.maximum(SAME_SHARE * area, half_step))
        & (half_step <= DIFFERENT_SHARE * area)
        for name, area in areas.items()
    }
    left = np.ones(len(stated), bool)
    readings = []
    while left.any():
        name = max(fits, key=lambda measure: int((fits[measure] & left).sum()))
        rows = fits[name] & left
        if not rows.any():
            break
        excess = stated[rows] / areas[GEODESIC][rows] - 1
        positions = tuple(np.flatnonzero(rows).tolist())
        readings.append(Reading(name, positions, float(np.median(excess))))
        left &= ~rows
    return readings


def find_stated_acres(shapes: gpd.GeoSeries, stated_ac: np.ndarray, drawn: Drawn) -> list[Finding]:
    """Findings on a column of stated acres: what it is, and the rows that are off by over 1 %.

    Rows are listed where they differ from the rule that most of the column follows.
    """
    given = np.isfinite(stated_ac)
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
        findings.append(
            Finding(
                severity="warning",
                source=drawn.role,
                row=row + 1,
                subject=drawn.subject(row),
                message=f"{drawn.row(row)}: the file states {half_up(stated[position], 2)} ac, "
                f"measured are {half_up(measured[position], 2)} ac ({share:+.1%}); the measured "
                "acres are used",
                geometry=shapes.iloc[row].representative_point(),
            )
        )
    return findings


def _summary(readings: list[Reading], rows: int, drawn: Drawn) -> Finding:
    """What the whole column is."""
    explained = sum(reading.rows for reading in readings)
    parts = [
        f"{r.rows} of {rows} are {r.measure}"
        + (f" ({r.excess_share:+.2%} against the ellipsoid)" if "acres" in r.measure
           and r.measure != GEODESIC else "")
        for r in readings
    ]  # fmt: skip
    if explained < rows:
        parts.append(f"{rows - explained} of {rows} are none of the usual measures")
    usual = all(r.measure == GEODESIC or abs(r.excess_share) < DIFFERENT_SHARE for r in readings)
    severity = "note" if usual and explained == rows else "warning"
    message = f"{drawn.name}: stated acres: {listed(parts)}"
    return Finding(severity=severity, source=drawn.role, message=message)
