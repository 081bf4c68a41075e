"""What a person should look at before a line is mown."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.units import M_PER_FT, SQFT_PER_AC, half_up
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.stretches import FENCE_WORD, credited
from pipeline.fire.width_rules import COUNTS
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.outline_findings import SMALLEST_AC

FENCE_M = 3.0


def find_firebreaks(
    drawn_units: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    burns: pd.DataFrame,
    firebreaks: gpd.GeoDataFrame,
    tie_ins: gpd.GeoDataFrame,
    mow_strips: gpd.GeoDataFrame,
    burn_blocks: gpd.GeoDataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Findings of the firebreak steps."""
    findings = [
        *_sums(burn_blocks),
        *_places(tie_ins),
        *_widths(firebreaks),
        *_unknowns(burns, firebreaks),
        *_not_credited(breaks, firebreaks, settings),
        *_narrow(mow_strips),
        *_beyond_units(drawn_units, burn_blocks, mow_strips),
    ]
    return findings_frame(findings, drawn_units.crs)


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
            code=place.kind, geometry=place.geometry,
        )  # fmt: skip


def _widths(firebreaks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Stretches narrower than their rule, summed by block, side, rule and ground that counts."""
    short = firebreaks[firebreaks["short_ft"] > 0]
    keys = ["block", "wind_side", "status", "rule", "counts", "mown_ft"]
    for (block, side, status, rule, counts, mown_ft), rows in short.groupby(keys, dropna=False):
        worst = rows.loc[rows["short_ft"].idxmax()]
        where = "toward the neighbor block" if pd.isna(side) else f"on the {side} side"
        message = (
            f"{half_up(rows['length_ft'].sum(), 0):,} ft {where} ({status}): rule "
            f'"{rule}" needs {half_up(worst["required_ft"], 0)} ft of {counts}; planned '
            f"{half_up(worst['planned_ft'], 0)} ft, up to {half_up(worst['short_ft'], 0)} ft short"
        )
        if counts == COUNTS["bare"] and mown_ft > 0:
            message += f"; the {half_up(mown_ft, 0)} ft mown do not count under this rule"
        yield Finding(
            severity="warning", source="firebreaks", subject=block, message=message,
            code="break_too_narrow",
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
        feet = half_up(rows["length_ft"].sum(), 0)
        yield Finding(
            severity="note", source="firebreaks", subject=block,
            message=f"width of the {kind} along {feet:,} ft: unknown, "
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
            message=f"a {row.kind} runs along about {half_up(feet, 0):,} ft of break: "
            + ("crew and vehicles can be pinned against it; it stops no fire"
               if fence else f"not credited, roads_as_breaks = {settings.roads_as_breaks}"),
            geometry=row.geometry,
        )  # fmt: skip


def _narrow(mow_strips: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Strips that fill all the ground there is somewhere."""
    for strip in mow_strips[mow_strips["narrow"].astype(bool)].itertuples():
        yield Finding(
            severity="note", source="mowing", subject=strip.strip_id,
            message=f"the strip ({half_up(strip.area_ac * SQFT_PER_AC, 0):,} sq ft) covers all the "
            "ground there is: its last passes find no room", geometry=strip.geometry,
        )  # fmt: skip


def _beyond_units(
    drawn_units: gpd.GeoDataFrame, burn_blocks: gpd.GeoDataFrame, mow_strips: gpd.GeoDataFrame
) -> Iterator[Finding]:
    """Strips mown outside their block, where that is outside all units."""
    blocks = burn_blocks.set_index("block").geometry
    tree = shapely.STRtree(drawn_units.geometry.to_numpy())
    for strip in mow_strips.itertuples():
        shape = strip.geometry
        if shapely.intersection(shape, blocks[strip.block]).area > shape.area / 2:
            continue
        near = drawn_units.geometry.to_numpy()[tree.query(shape)]
        beyond = polygonal(shapely.difference(shape, shapely.union_all(near)))
        ac = float(area_ac(gpd.GeoSeries([beyond], crs=mow_strips.crs))[0])
        if ac > SMALLEST_AC:
            yield Finding(
                severity="warning", source="mowing", subject=strip.strip_id,
                message=f"{half_up(ac, 2)} ac of the strip lie outside your units: ask the "
                "neighbor, or mow inside", geometry=beyond,
            )  # fmt: skip
