"""What a person should look at before a line is mown."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.units import M_PER_FT, SQFT_PER_AC, half_up
from pipeline.fire.break_kinds import break_class, may_serve
from pipeline.fire.firebreaks import rule_of_side
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.width_rules import figures_needed, rule_named
from pipeline.fire.wind_sides import SIDES
from pipeline.fire.words import CODE_WORDS, feet_words, place_words
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.outline_findings import SMALLEST_AC

FENCE_M = 3.0
"""A fence or road this near to a stretch runs along it."""


MEND = (
    "redraw its outline where it crosses or folds back onto itself or a neighbor's, or lower "
    "slop_ft"
)
"""What helps a unit whose ground is lost."""


OPEN_PLACES = ("gap", "hand_over")
"""Places where nothing stops a fire yet."""


def find_firebreaks(
    drawn_units: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    burns: pd.DataFrame,
    firebreaks: gpd.GeoDataFrame,
    tie_ins: gpd.GeoDataFrame,
    mow_strips: gpd.GeoDataFrame,
    burn_blocks: gpd.GeoDataFrame,
    ground_refusals: pd.DataFrame,
    edge_refusals: pd.DataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Findings of the firebreak steps."""
    findings = [
        *_refusals(ground_refusals, edge_refusals),
        *_overlaps(burn_blocks),
        *_lanes(burn_blocks),
        *_places(tie_ins),
        *_too_narrow(firebreaks),
        *_unknowns(burns, firebreaks, settings),
        *_not_serving(breaks, firebreaks, settings),
        *_narrow_strips(mow_strips),
        *_outside_units(drawn_units, burn_blocks, mow_strips),
    ]
    return findings_frame(findings, drawn_units.crs)


def _finding(
    code: str,
    severity: str,
    subject: str,
    message: str,
    *,
    source: str = "firebreaks",
    geometry: BaseGeometry | None = None,
) -> Finding:
    return Finding(
        severity=severity,
        source=source,
        subject=subject,
        message=message,
        code=code,
        geometry=geometry,
    )


def _refusals(ground_refusals: pd.DataFrame, edge_refusals: pd.DataFrame) -> Iterator[Finding]:
    """Blocks whose model failed a gate: no figure of theirs is told."""
    refused = "no lines, strips or acres to burn are told of this block"
    for row in ground_refusals[ground_refusals["block"].isna()].itertuples():
        message = (
            f"within the unit's edges are {half_up(row.found_ac, 2)} ac, expected "
            f"{half_up(row.expected_ac, 2)} ac: {MEND}"
        )
        yield _finding("unit_ground_lost", "warning", row.unit_id, message)
    for row in ground_refusals[ground_refusals["block"].notna()].itertuples():
        what = "the block" if row.unit_id is None else f"unit {row.unit_id}"
        message = (
            f"{refused}: {what} has {half_up(row.found_ac, 2)} ac within its edges, expected "
            f"{half_up(row.expected_ac, 2)} ac; {MEND}"
        )
        yield _finding("block_refused", "warning", row.block, message)
    for row in edge_refusals.itertuples():
        message = (
            f"{refused}: its stretches sum to {feet_words(row.found_ft)}, its outline is "
            f"{feet_words(row.expected_ft)}; tell the program's makers, with the map"
        )
        yield _finding("block_refused", "warning", row.block, message)


def _overlaps(burn_blocks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Blocks whose units overlap, so that their acres are more than the ground they cover."""
    for block in burn_blocks.itertuples():
        if block.gross_ac - block.covered_ac > SMALLEST_AC:
            gross, covered = half_up(block.gross_ac, 2), half_up(block.covered_ac, 2)
            message = f"units sum to {gross} ac and cover {covered} ac: outlines overlap"
            yield _finding("units_overlap", "note", block.block, message)


def _lanes(burn_blocks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Blocks with a lane between two of their units, whose sides are not held."""
    for block in burn_blocks[burn_blocks["lane_ft"] > 0].itertuples():
        message = (
            f"{feet_words(block.lane_ft)} of outline run along lanes between units of the block "
            "and lie inside it: only the ends of a lane are held; set lane_ft of [acreage] lower "
            "if both sides are to be held"
        )
        yield _finding("lane_inside", "note", block.block, message)


def _places(tie_ins: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Every gap, tie-in, change of side, hand-over and sharp corner."""
    for place in tie_ins.to_dict("records"):
        kind = place["kind"]
        yield _finding(
            kind,
            "warning" if kind in OPEN_PLACES else "note",
            place["block"],
            f"{CODE_WORDS[kind]}: {place_words(place)}",
            geometry=place["geometry"],
        )


def _too_narrow(firebreaks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Stretches narrower than their rule, summed by block, side, rule and ground that counts."""
    short = firebreaks[firebreaks["short_ft"] > 0]
    keys = ["block", "wind_side", "status", "rule", "counted_ground", "mown_ft"]
    for (block, side, status, rule, ground, mown_ft), rows in short.groupby(keys, dropna=False):
        worst = rows.loc[rows["short_ft"].idxmax()]
        where = "toward the neighbor block" if pd.isna(side) else f"on the {side} side"
        message = (
            f"{feet_words(rows['length_ft'].sum())} {where} ({status}): rule "
            f'"{rule}" needs {feet_words(worst["required_ft"])} of {CODE_WORDS[ground]}; planned '
            f"{feet_words(worst['planned_ft'])}, up to {feet_words(worst['short_ft'])} short"
        )
        if ground == "bare_or_burned" and mown_ft > 0:
            message += f"; the {feet_words(mown_ft)} mown do not count under this rule"
        shape = shapely.line_merge(shapely.union_all(rows.geometry.to_numpy()))
        yield _finding("break_too_narrow", "warning", block, message, geometry=shape)


def _unknowns(
    burns: pd.DataFrame, firebreaks: gpd.GeoDataFrame, settings: FirebreakSettings
) -> Iterator[Finding]:
    """Blocks without the figures that wind sides and widths need, breaks of unknown width."""
    rules = {rule_named(rule_of_side(settings, side), settings) for side in SIDES}
    needed = {name for rule in rules for name in figures_needed(rule)}
    of_burns = ["wind_from_deg", *sorted(needed - {"wind_mph"})]
    windless = "wind_mph" in needed and settings.wind_mph is None
    for block, rows in burns.groupby("block", sort=True):
        missing = [name for name in of_burns if rows[name].isna().any()]
        needs = [f"{' and '.join(missing)} under [[burns]]"] * bool(missing)
        needs += ["wind_mph under [firebreaks]"] * windless
        if needs:
            message = f"width required: unknown, needs {', '.join(needs)}"
            yield _finding("required_width_unknown", "warning", block, message)
    unknown = firebreaks[(firebreaks["status"] == "existing") & firebreaks["bare_ft"].isna()]
    for (block, kind), rows in unknown.groupby(["block", "kind"]):
        feet = feet_words(rows["length_ft"].sum())
        message = f"width of the {kind} along {feet}: unknown, needs width_ft under "
        yield _finding("break_width_unknown", "note", block, message + "[[sources.breaks]]")


def _not_serving(
    breaks: gpd.GeoDataFrame, firebreaks: gpd.GeoDataFrame, settings: FirebreakSettings
) -> Iterator[Finding]:
    """Fences and roads along stretches that may not serve as breaks there."""
    for row in breaks[~may_serve(breaks, settings.roads_as_breaks)].itertuples():
        beside = shapely.buffer(row.geometry, FENCE_M, cap_style="flat")
        along = shapely.length(shapely.intersection(firebreaks.geometry.to_numpy(), beside))
        close = along > 2 * FENCE_M
        if not close.any():
            continue
        feet = feet_words(along[close].sum() / M_PER_FT)
        if break_class(row.kind) == "fence":
            code, severity = "fence_along_break", "warning"
            why = "crew and vehicles can be pinned against it; it stops no fire"
        else:
            code, severity = "road_not_credited", "note"
            why = f"not credited, roads_as_breaks = {settings.roads_as_breaks}"
        yield _finding(
            code,
            severity,
            ", ".join(sorted(set(firebreaks.loc[close, "block"]))),
            f"a {row.kind} runs along about {feet} of break: {why}",
            geometry=row.geometry,
        )


def _narrow_strips(mow_strips: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Strips that fill all the ground there is, so that some of their passes find no room."""
    for strip in mow_strips[mow_strips["narrow"].astype(bool)].itertuples():
        sqft = half_up(strip.area_ac * SQFT_PER_AC, 0)
        yield _finding(
            "strip_narrow",
            "note",
            strip.strip_id,
            f"the strip ({sqft:,} sq ft) covers all the ground there is: its last passes find no "
            "room",
            source="mowing",
            geometry=strip.geometry,
        )


def _outside_units(
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
        outside = polygonal(shapely.difference(shape, shapely.union_all(near)))
        ac = float(area_ac(gpd.GeoSeries([outside], crs=mow_strips.crs))[0])
        if ac > SMALLEST_AC:
            yield _finding(
                "strip_outside_units",
                "warning",
                strip.strip_id,
                f"{half_up(ac, 2)} ac of the strip lie outside your units: ask the neighbor, or "
                "mow inside",
                source="mowing",
                geometry=outside,
            )
