"""What a person should look at in the outlines of the units before lines are drawn from them."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.core.units import M_PER_FT, half_up
from pipeline.ground.geometry import area_ac, length_ft
from pipeline.ground.settings import AcreageSettings
from pipeline.ground.unit_outlines import (
    DrawnPlane,
    Misfit,
    enclosed_gaps,
    gaps,
    narrow_units,
    overlaps,
    step_m,
)

SMALLEST_AC = 0.005
"""Less ground than this is told as 0.00 ac, and not worth a finding."""


def outline_findings(
    drawn_units: gpd.GeoDataFrame, edges: gpd.GeoDataFrame, settings: AcreageSettings
) -> Iterator[Finding]:
    """Findings about overlaps, gaps, slivers, narrow units and outlines traced from pixels."""
    slop_m = settings.slop_ft * M_PER_FT
    drawn = DrawnPlane.of(drawn_units.geometry)
    common = overlaps(drawn, slop_m)
    closed = enclosed_gaps(drawn, slop_m)
    near_m = max(settings.near_miss_ft * M_PER_FT, slop_m)
    apart = _outside(gaps(drawn, slop_m, near_m), closed)
    yield from _overlaps(drawn_units, [misfit for misfit in common if misfit.wide])
    yield from _enclosed(drawn_units, closed)
    yield from _near_misses(drawn_units, [misfit for misfit in apart if misfit.wide], settings)
    slivers = [misfit for misfit in (*common, *apart) if not misfit.wide]
    yield from _slivers(drawn_units, slivers, settings.slop_ft)
    yield from _without_edges(drawn_units, edges, settings.slop_ft)
    yield from _narrow(drawn_units, settings)
    yield from _stepped(drawn_units)


def _finding(
    code: str,
    severity: str,
    subject: str | None,
    message: str,
    geometry: shapely.Geometry,
    amount: float,
) -> Finding:
    return Finding(
        severity=severity,
        source="units",
        subject=subject,
        message=message,
        code=code,
        amount=amount,
        geometry=geometry,
    )


def _acres(shapes: list[shapely.Geometry], crs: object) -> list[float]:
    return area_ac(gpd.GeoSeries(shapes, crs=crs)).tolist() if shapes else []


def _outside(found: list[Misfit], closed: list[shapely.Polygon]) -> list[Misfit]:
    """Misfits that are no part of the closed gaps, which are told by themselves."""
    tree = shapely.STRtree(closed)
    points = [shapely.point_on_surface(misfit.shape) for misfit in found]
    pairs = zip(found, points, strict=True)
    return [misfit for misfit, point in pairs if not len(tree.query(point, "intersects"))]


def _pair(units: gpd.GeoDataFrame, misfit: Misfit, joint: str = ", ") -> str:
    return joint.join(sorted(units["unit_id"].iloc[[misfit.one, misfit.other]]))


def _overlaps(units: gpd.GeoDataFrame, wide: list[Misfit]) -> Iterator[Finding]:
    """Ground that two units both cover, wider than the slop."""
    for misfit, ac in zip(wide, _acres([m.shape for m in wide], units.crs), strict=True):
        message = (
            f"both cover the same {half_up(ac, 2)} ac; it counts in the acres of both, and their "
            "edge is drawn around the smaller one: mend the map if that is wrong"
        )
        yield _finding("overlap", "warning", _pair(units, misfit), message, misfit.shape, ac)


def _enclosed(units: gpd.GeoDataFrame, closed: list[shapely.Polygon]) -> Iterator[Finding]:
    """Gaps that units close in on all sides, wider than the slop."""
    for shape, ac in zip(closed, _acres(closed, units.crs), strict=True):
        message = (
            f"{half_up(ac, 2)} ac between units belong to none of them; their edges count as "
            "firebreaks"
        )
        yield _finding("enclosed_gap", "note", None, message, shape, ac)


def _near_misses(
    units: gpd.GeoDataFrame, wide: list[Misfit], settings: AcreageSettings
) -> Iterator[Finding]:
    """Gaps open at their ends, wider than the slop and narrower than the near-miss distance."""
    slop, near = half_up(settings.slop_ft, 0), half_up(settings.near_miss_ft, 0)
    for misfit, ac in zip(wide, _acres([m.shape for m in wide], units.crs), strict=True):
        message = (
            f"{half_up(ac, 2)} ac lie between these units in a gap wider than slop_ft = {slop} and "
            f"up to {near} ft wide: each has an edge of its own there, counted as two unless it is "
            "a lane (lane_ft) inside one burn block; if they should meet, mend the map or raise "
            "slop_ft"
        )
        yield _finding("near_miss", "note", _pair(units, misfit), message, misfit.shape, ac)


def _slivers(units: gpd.GeoDataFrame, slivers: list[Misfit], slop_ft: float) -> Iterator[Finding]:
    """Gaps and overlaps within the slop, in one note; its geometry holds them, largest first."""
    if not slivers:
        return
    shapes = [misfit.shape for misfit in slivers]
    names = [_pair(units, misfit, " and ") for misfit in slivers]
    found = pd.DataFrame({"pair": names, "shape": shapes, "ac": _acres(shapes, units.crs)})
    found = found.sort_values("ac", ascending=False, kind="stable")
    pairs = found.groupby("pair")["ac"].agg(["size", "sum"])
    pairs = pairs.sort_values("sum", ascending=False, kind="stable")
    by_pair = [f"{n} between {pair} ({_small_ac(ac)})" for pair, n, ac in pairs.itertuples()]
    message = (
        f"{len(found)} sliver{'s' * (len(found) > 1)}, {_small_ac(found['ac'].sum())} in all, "
        f"where outlines miss or overlap each other within {half_up(slop_ft, 0)} ft (slop_ft): one "
        "edge is drawn; acres stay as drawn. The largest has "
        f"{_small_ac(found['ac'].iloc[0])}. By pairs of units: {listed(by_pair)}"
    )
    subject = _pair(units, slivers[0]) if len(pairs) == 1 else None
    shape = shapely.multipolygons(list(found["shape"]))
    yield _finding("slivers", "note", subject, message, shape, found["ac"].sum())


def _small_ac(ac: float) -> str:
    """Acres too few to be told to the hundredth."""
    return f"{half_up(ac, 3)} ac" if ac >= 0.001 else "less than 0.001 ac"


def _without_edges(
    units: gpd.GeoDataFrame, edges: gpd.GeoDataFrame, slop_ft: float
) -> Iterator[Finding]:
    """Units that the edge graph has nothing of."""
    drawn = {*edges["left_unit"].dropna(), *edges["right_unit"].dropna()}
    message = (
        "no edge is left of this unit: it is a copy of another one, all excluded, or narrower than "
        f"slop_ft = {half_up(slop_ft, 0)}"
    )
    for name, shape in zip(units["unit_id"], units.geometry, strict=True):
        if name not in drawn:
            (ac,) = _acres([shape], units.crs)
            yield _finding("no_edge", "warning", name, message, shape, ac)


def _narrow(units: gpd.GeoDataFrame, settings: AcreageSettings) -> Iterator[Finding]:
    """Units so narrow that the slop is more than a quarter of them.

    One narrower than the slop, or no larger than a tiny part, is likely no unit at all.
    """
    slop_ft = settings.slop_ft
    for number, width_m in narrow_units(units.geometry, slop_ft * M_PER_FT).items():
        unit, width_ft = units.iloc[number], width_m / M_PER_FT
        (ac,) = _acres([unit["geometry"]], units.crs)
        is_left_over = width_ft < slop_ft or ac < settings.tiny_part_ac
        lower = f"lower slop_ft to {half_up(width_ft / 4, 1)} or less"
        message = (
            f"the unit is at most {half_up(width_ft, 0)} ft wide, and slop_ft = "
            f"{half_up(slop_ft, 0)} is more than a quarter of that: its edges may be drawn onto "
            "each other or onto a neighbor's; "
            f"{'delete it if it is left over from drawing, else ' * is_left_over}{lower}"
        )
        code = "left_over_unit" if is_left_over else "narrow_unit"
        yield _finding(code, "warning", unit["unit_id"], message, unit["geometry"], ac)


def _stepped(units: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Outlines in steps, as they come from tracing pixels."""
    for name, shape in zip(units["unit_id"], units.geometry, strict=True):
        step = step_m(shape)
        if step is None:
            continue
        step_ft = step / M_PER_FT
        message = (
            f"the outline goes in steps of about {half_up(step_ft, 0)} ft, as if traced from "
            "pixels: its length is up to 41 % too much, and wind sides and existing breaks go by "
            "the steps unless smoothing_ft of [firebreaks] is at least "
            f"{half_up(step_ft + 0.5, 0)}: set it so, or draw the outline anew"
        )
        (around_ft,) = length_ft(gpd.GeoSeries([shape], crs=units.crs))
        yield _finding("stepped_outline", "warning", name, message, shape, around_ft)


def find_acreage(
    units: gpd.GeoDataFrame,
    drawn_units: gpd.GeoDataFrame,
    edges: gpd.GeoDataFrame,
    settings: AcreageSettings,
) -> gpd.GeoDataFrame:
    """Findings of the ground: tiny separate parts, and outlines that miss or overlap each other."""
    findings = [*_tiny_parts(units, settings), *outline_findings(drawn_units, edges, settings)]
    return findings_frame(findings, units.crs)


def _tiny_parts(units: gpd.GeoDataFrame, settings: AcreageSettings) -> Iterator[Finding]:
    """Separate pieces of a unit that may be left over from drawing."""
    for unit_id, shape in zip(units["unit_id"], units.geometry, strict=True):
        parts = gpd.GeoSeries(shapely.get_parts(shape), crs=units.crs)
        if len(parts) == 1:
            continue
        for part, part_ac in zip(parts, area_ac(parts), strict=True):
            if part_ac < settings.tiny_part_ac:
                message = (
                    f"a separate piece of {half_up(part_ac, 4)} ac is counted with this unit; "
                    "delete it if it is left over from drawing"
                )
                place = part.representative_point()
                yield _finding("tiny_part", "note", unit_id, message, place, part_ac)
