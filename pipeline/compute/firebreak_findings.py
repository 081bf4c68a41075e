"""What a person should look at before a line is mown."""

from collections.abc import Iterator

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.compute.acreage import polygonal
from pipeline.compute.findings import Finding, findings_frame
from pipeline.compute.firebreaks import FENCE_WORD, credited
from pipeline.compute.geometry import area_ac
from pipeline.settings.firebreaks import FirebreakSettings
from pipeline.units import M_PER_FT, SQFT_PER_AC, half_up

SMALLEST_AC = 0.005
FENCE_M = 3.0


def find_firebreaks(
    drawn_units: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    burns: pd.DataFrame,
    edges: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    tie_ins: gpd.GeoDataFrame,
    mow_strips: gpd.GeoDataFrame,
    burn_blocks: gpd.GeoDataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Findings of the firebreak steps."""
    findings = [
        *_coverage(drawn_units, edges, settings.slop_ft),
        *_sums(burn_blocks),
        *_places(tie_ins),
        *_widths(firebreaks),
        *_unknowns(burns, firebreaks),
        *_not_credited(breaks, firebreaks, settings),
        *_narrow(mow_strips),
    ]
    return findings_frame(findings, drawn_units.crs)


def real_overlaps(units: gpd.GeoSeries, slop_m: float) -> list[tuple[int, int, shapely.Geometry]]:
    """Pairs of units and the ground [polygon] both have, where it is wider than the slop [m]."""
    shapes = units.to_numpy()
    one, other = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    pairs = np.column_stack([one, other])[one < other]
    common = [polygonal(shape) for shape in shapely.intersection(
        shapes[pairs[:, 0]], shapes[pairs[:, 1]])]  # fmt: skip
    return [
        (int(a), int(b), shape)
        for (a, b), shape in zip(pairs, common, strict=True)
        if not shapely.buffer(shape, -slop_m / 2).is_empty
    ]


def enclosed_gaps(units: gpd.GeoSeries, slop_m: float) -> list[shapely.Polygon]:
    """Ground [polygon] that units close in and none covers, where it is wider than the slop [m].

    A hole in one unit alone is no gap between units.
    """
    shapes = units.to_numpy()
    whole = shapely.union_all(shapes)
    holes = [
        shapely.Polygon(ring)
        for part in shapely.get_parts(whole)
        for ring in shapely.get_parts(shapely.get_rings(part))[1:]
    ]
    tree = shapely.STRtree(shapes)
    return [
        hole
        for hole in holes
        if len(tree.query(hole, predicate="intersects")) > 1
        and not shapely.buffer(hole, -slop_m / 2).is_empty
    ]


def _coverage(
    drawn_units: gpd.GeoDataFrame, edges: gpd.GeoDataFrame, slop_ft: float
) -> Iterator[Finding]:
    """Overlaps and gaps wider than the slop, and units that the edge graph lost."""
    names = drawn_units["unit_id"].to_list()
    overlaps = real_overlaps(drawn_units.geometry, slop_ft * M_PER_FT)
    gaps = enclosed_gaps(drawn_units.geometry, slop_ft * M_PER_FT)
    shapes = [shape for _, _, shape in overlaps] + gaps
    acres = area_ac(gpd.GeoSeries(shapes, crs=drawn_units.crs)).tolist() if shapes else []
    for (a, b, shape), ac in zip(overlaps, acres[: len(overlaps)], strict=True):
        yield Finding(
            severity="warning", source="units", subject=f"{names[a]}, {names[b]}",
            message=f"both cover the same {half_up(ac, 2)} ac; it counts in the acres of both, and "
            "their edge is drawn around the smaller one: mend the map if that is wrong",
            geometry=shape,
        )  # fmt: skip
    for shape, ac in zip(gaps, acres[len(overlaps) :], strict=True):
        yield Finding(
            severity="note", source="units",
            message=f"{half_up(ac, 2)} ac between units belong to none of them; their edges count "
            "as firebreaks", geometry=shape,
        )  # fmt: skip
    drawn = {*edges["left_unit"].dropna(), *edges["right_unit"].dropna()}
    for name, shape in zip(names, drawn_units.geometry, strict=True):
        if name not in drawn:
            yield Finding(
                severity="warning", source="units", subject=name,
                message="no edge is left of this unit: it is a copy of another one, all excluded, "
                f"or narrower than slop_ft = {half_up(slop_ft, 0)}", geometry=shape,
            )  # fmt: skip


def _sums(burn_blocks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Blocks whose units overlap, and blocks with less ground than is taken from them."""
    for block in burn_blocks.itertuples():
        overlap = block.gross_ac - block.covered_ac
        if overlap > SMALLEST_AC:
            yield Finding(
                severity="note", source="firebreaks", subject=block.block,
                message=f"units sum to {half_up(block.gross_ac, 2)} ac and cover "
                f"{half_up(block.covered_ac, 2)} ac: outlines overlap",
            )  # fmt: skip


def _places(tie_ins: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Every gap, tie-in, hand-over and sharp corner."""
    for place in tie_ins.itertuples():
        yield Finding(
            severity="warning" if place.kind in ("gap", "hand-over") else "note",
            source="firebreaks", subject=place.block, message=f"{place.kind}: {place.message}",
            geometry=place.geometry,
        )  # fmt: skip


def _widths(firebreaks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Stretches narrower than their rule, summed by block, side and rule."""
    short = firebreaks[firebreaks["short_ft"] > 0]
    keys = ["block", "wind_side", "status", "rule"]
    for (block, side, status, rule), rows in short.groupby(keys, dropna=False):
        yield Finding(
            severity="warning", source="firebreaks", subject=block,
            message=f"{half_up(rows['length_ft'].sum(), 0)} ft on the {side} side ({status}) are "
            f"up to {half_up(rows['short_ft'].max(), 0)} ft too narrow for the rule \"{rule}\"",
            geometry=shapely.line_merge(shapely.union_all(rows.geometry.to_numpy())),
        )  # fmt: skip


def _unknowns(burns: pd.DataFrame, firebreaks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Blocks without the figures that wind sides and widths need."""
    for block, rows in burns.groupby("block", sort=True):
        missing = [name for name in ("wind_from_deg", "fuel_height_ft") if rows[name].isna().any()]
        if missing:
            yield Finding(
                severity="warning", source="firebreaks", subject=block,
                message=f"width required: unknown, needs {' and '.join(missing)} under [[burns]]",
            )  # fmt: skip
    unknown = firebreaks[(firebreaks["status"] == "existing") & firebreaks["bare_ft"].isna()]
    for (block, kind), rows in unknown.groupby(["block", "kind"]):
        yield Finding(
            severity="note", source="firebreaks", subject=block,
            message=f"width of the {kind} along {half_up(rows['length_ft'].sum(), 0)} ft: unknown, "
            "needs width_ft under [[sources.breaks]]",
        )  # fmt: skip


def _not_credited(
    breaks: gpd.GeoDataFrame, firebreaks: gpd.GeoDataFrame, settings: FirebreakSettings
) -> Iterator[Finding]:
    """Fences and refused roads along stretches: what they are in the way of."""
    refused = breaks[~credited(breaks, settings.roads_as_breaks)]
    for row in refused.itertuples():
        near = shapely.buffer(row.geometry, FENCE_M, cap_style="flat")
        along = shapely.length(shapely.intersection(firebreaks.geometry.to_numpy(), near))
        close = along > 2 * FENCE_M
        if not close.any():
            continue
        feet = along[close].sum() / M_PER_FT
        fence = FENCE_WORD in row.kind.lower()
        yield Finding(
            severity="warning" if fence else "note", source="firebreaks",
            subject=", ".join(sorted(set(firebreaks.loc[close, "block"]))),
            message=f"a {row.kind} runs along about {half_up(feet, 0)} ft of break: "
            + ("crew and vehicles can be pinned against it; it stops no fire"
               if fence else f"not credited, roads_as_breaks = {settings.roads_as_breaks}"),
            geometry=row.geometry,
        )  # fmt: skip


def _narrow(mow_strips: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Strips that fill all the ground there is somewhere."""
    for strip in mow_strips[mow_strips["narrow"].astype(bool)].itertuples():
        yield Finding(
            severity="note", source="mowing", subject=strip.strip_id,
            message=f"the strip ({half_up(strip.area_ac * SQFT_PER_AC, 0)} sq ft) covers all the "
            "ground there is: its last passes find no room", geometry=strip.geometry,
        )  # fmt: skip
