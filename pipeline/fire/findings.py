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


WIDTH_SLOP_FT = 1.0
"""A break drawn narrower than stated by up to this is drawn as stated: judgment, no source."""


OPEN_PLACES = ("gap", "hand_over")
"""Places where nothing stops a fire yet."""


def find_firebreaks(
    drawn_units: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    burns: pd.DataFrame,
    stretches: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    tie_ins: gpd.GeoDataFrame,
    mow_strips: gpd.GeoDataFrame,
    burn_blocks: gpd.GeoDataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Findings of the firebreak steps."""
    findings = [
        *_overlaps(burn_blocks),
        *_places(tie_ins),
        *_too_narrow(firebreaks),
        *_unknowns(burns, firebreaks, settings),
        *_not_serving(breaks, firebreaks, settings),
        *_beside(breaks, stretches, settings),
        *_drawn_narrower(breaks, stretches),
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


def _overlaps(burn_blocks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Blocks whose units overlap, so that their acres are more than the ground they cover."""
    for block in burn_blocks.itertuples():
        if block.gross_ac - block.covered_ac > SMALLEST_AC:
            gross, covered = half_up(block.gross_ac, 2), half_up(block.covered_ac, 2)
            message = f"units sum to {gross} ac and cover {covered} ac: outlines overlap"
            yield _finding("units_overlap", "note", block.block, message)


def _places(tie_ins: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Every place along the breaks; only where nothing stops a fire yet it is a warning."""
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


def _beside(
    breaks: gpd.GeoDataFrame, stretches: gpd.GeoDataFrame, settings: FirebreakSettings
) -> Iterator[Finding]:
    """Breaks that run along edges out of reach, by block and kind."""
    beside = stretches[stretches["near"] == "beside"]
    kinds = breaks["kind"].to_numpy(object)[beside["near_row"].to_numpy(int)]
    for (block, kind), rows in beside.groupby([beside["block"], kinds], sort=True):
        message = (
            f"a {kind} runs beside {feet_words(rows['length_ft'].sum())} of edge, up to "
            f"{feet_words(rows['near_ft'].max())} off: not credited, too little of it is within "
            f"along_ft = {settings.along_ft:g}"
        )
        shape = shapely.line_merge(shapely.union_all(rows.geometry.to_numpy()))
        yield _finding("break_beside", "note", block, message, geometry=shape)


def _drawn_narrower(breaks: gpd.GeoDataFrame, stretches: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Breaks whose polygon is narrower along an edge than the width stated for them."""
    along = stretches[stretches["break_row"].notna()]
    row = along["break_row"].to_numpy(int)
    stated_ft = breaks["width_ft"].to_numpy(float)[row]
    narrow = (stated_ft - along["drawn_ft"]).to_numpy(float) > WIDTH_SLOP_FT
    keys = [along["block"], breaks["kind"].to_numpy(object)[row], stated_ft]
    for (block, kind, stated), rows in along[narrow].groupby([k[narrow] for k in keys], sort=True):
        message = (
            f"the {kind} along {feet_words(rows['length_ft'].sum())} is drawn down to "
            f"{half_up(rows['drawn_ft'].min(), 1)} ft wide, stated as {half_up(stated, 1)} ft: the "
            "width drawn counts"
        )
        shape = shapely.line_merge(shapely.union_all(rows.geometry.to_numpy()))
        yield _finding("break_drawn_narrower", "warning", block, message, geometry=shape)


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
