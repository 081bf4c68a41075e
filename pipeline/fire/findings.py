"""What a person should look at before a line is mown."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.units import SQFT_PER_AC, half_up
from pipeline.fire.breaks.uncredited import find_uncredited
from pipeline.fire.firebreaks import rule_of_side, sides_asked
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.width_rules import figures_needed, rule_named
from pipeline.fire.wind_sides import SIDES
from pipeline.fire.words import CODE_WORDS, feet_words, place_words
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.outline_findings import SMALLEST_AC
from pipeline.ground.overlays import common, less, united

WIDTHS = ["bare_ft", "mown_ft", "blackline_ft"]
"""Ground of a line that a rule may count."""


LEAST_UNMOWN_SQFT = 10.0


STRIP_BOUND = 0.1
"""Strips and lines may cover this share more or less than their length, width and corners say."""


MEND = (
    "delete the unit if it is left over from drawing; else redraw its outline where it crosses or "
    "folds back onto itself or a neighbor's, or lower slop_ft"
)
"""What helps a unit whose ground is lost."""


WIDTH_SLOP_FT = 1.0
"""A break drawn narrower than stated by up to this is drawn as stated: judgment, no source."""


OPEN_PLACES = ("gap", "hand_over")
"""Places where nothing stops a fire yet."""


def find_firebreaks(
    drawn_units: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    burns: pd.DataFrame,
    stretches: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    tie_ins: gpd.GeoDataFrame,
    mow_strips: gpd.GeoDataFrame,
    mow_moves: gpd.GeoDataFrame,
    mow_routes: pd.DataFrame,
    burn_blocks: gpd.GeoDataFrame,
    ground_refusals: pd.DataFrame,
    edge_refusals: pd.DataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Findings of the firebreak steps."""
    findings = [
        *_refusals(ground_refusals, edge_refusals, burn_blocks),
        *_overlaps(burn_blocks),
        *_slivers(burn_blocks),
        *_lanes(burn_blocks),
        *_places(tie_ins),
        *_too_narrow(firebreaks),
        *_winds_planned(burns, settings),
        *_required_unknown(burns, firebreaks, settings),
        *_existing(firebreaks),
        *find_uncredited(breaks, break_credits, firebreaks, settings),
        *_beside(breaks, stretches, settings),
        *_drawn_narrower(breaks, stretches),
        *_narrow_strips(mow_strips),
        *_unmown(mow_strips),
        *_strips_off(mow_routes, burn_blocks),
        *_moves_off(mow_moves),
        *_outside_units(drawn_units, burn_blocks, mow_strips),
    ]
    return findings_frame(findings, drawn_units.crs)


def _finding(
    code: str,
    severity: str,
    subject: str,
    message: str,
    *,
    amount: float | None = None,
    source: str = "firebreaks",
    geometry: BaseGeometry | None = None,
) -> Finding:
    return Finding(
        severity=severity,
        source=source,
        subject=subject,
        message=message,
        code=code,
        amount=amount,
        geometry=geometry,
    )


def _of_stretches(
    code: str, severity: str, block: str, message: str, rows: gpd.GeoDataFrame
) -> Finding:
    """A finding on stretches of a block, with their length [ft] and lines."""
    shape = shapely.line_merge(united(rows.geometry.to_numpy()))
    length_ft = rows["length_ft"].sum()
    return _finding(code, severity, block, message, amount=length_ft, geometry=shape)


def _refusals(
    ground_refusals: pd.DataFrame, edge_refusals: pd.DataFrame, burn_blocks: gpd.GeoDataFrame
) -> Iterator[Finding]:
    """Blocks whose model failed a gate: no figure of theirs is told."""
    refused = "no lines, strips or acres to burn are told of this block"
    for row in ground_refusals[ground_refusals["block"].isna()].itertuples():
        message = (
            f"within the unit's edges are {half_up(row.found_ac, 2)} ac, expected "
            f"{half_up(row.expected_ac, 2)} ac: {MEND}"
        )
        lost_ac = abs(row.expected_ac - row.found_ac)
        yield _finding("unit_ground_lost", "warning", row.unit_id, message, amount=lost_ac)
    for row in ground_refusals[ground_refusals["block"].notna()].itertuples():
        what = "the block" if row.unit_id is None else f"unit {row.unit_id}"
        message = (
            f"{refused}: {what} has {half_up(row.found_ac, 2)} ac within its edges, expected "
            f"{half_up(row.expected_ac, 2)} ac; {MEND}"
        )
        yield _finding("block_refused", "warning", row.block, message, amount=row.expected_ac)
    gross_ac = burn_blocks.set_index("block")["gross_ac"]
    for row in edge_refusals.itertuples():
        message = (
            f"{refused}: its stretches sum to {feet_words(row.found_ft)}, its outline is "
            f"{feet_words(row.expected_ft)}; tell the program's makers, with the map"
        )
        yield _finding("block_refused", "warning", row.block, message, amount=gross_ac[row.block])


def _overlaps(burn_blocks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Blocks whose units sum to more than the ground: they overlap each other or other units."""
    for block in burn_blocks.itertuples():
        if block.overlap_ac > SMALLEST_AC:
            units = half_up(block.units_ac, 2)
            drawn = half_up(block.units_ac - block.overlap_ac, 2)
            message = (
                f"units sum to {units} ac and cover {drawn} ac: {half_up(block.overlap_ac, 2)} ac "
                "are drawn in two of them, or lie in a smaller unit that does not burn with them"
            )
            yield _finding("units_overlap", "note", block.block, message, amount=block.overlap_ac)


def _slivers(burn_blocks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Blocks whose units miss each other by less than the slop: that ground is told."""
    for block in burn_blocks[burn_blocks["sliver_ac"] > SMALLEST_AC].itertuples():
        gaps = "1 gap" if block.slivers == 1 else f"{block.slivers} gaps"
        message = (
            f"{gaps} between or in its units, narrower than slop_ft of [acreage], closed: "
            f"{half_up(block.sliver_ac, 2)} ac that no unit has are ground of the block"
        )
        yield _finding("slivers_closed", "note", block.block, message, amount=block.sliver_ac)


def _lanes(burn_blocks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Blocks with a lane between two of their units, whose sides are not held."""
    for block in burn_blocks[burn_blocks["lane_ft"] > 0].itertuples():
        message = (
            f"{feet_words(block.lane_ft)} of outline run along lanes between units of the block "
            "and lie inside it: only the ends of a lane are held; set lane_ft of [acreage] lower "
            "if both sides are to be held"
        )
        yield _finding("lane_inside", "note", block.block, message, amount=block.lane_ft)


def _places(tie_ins: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Every place along the breaks; only where nothing stops a fire yet it is a warning."""
    for place in tie_ins.to_dict("records"):
        kind = place["kind"]
        yield _finding(
            kind,
            "warning" if kind in OPEN_PLACES else "note",
            place["block"],
            f"{CODE_WORDS[kind]}: {place_words(place)}",
            amount=place["distance_ft"],
            geometry=place["geometry"],
        )


def _too_narrow(firebreaks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """What is narrower than its rule though all ways allowed are used: by block and side."""
    own = firebreaks["rule_block"] == firebreaks["block"]
    side = firebreaks["held_side"].where(own, firebreaks["neighbor_held_side"]).fillna(SIDES[0])
    short = firebreaks.assign(side=side)[firebreaks["short_ft"] > 0]
    for (block, side), rows in short.groupby(["rule_block", "side"]):
        worst = rows.loc[rows["short_ft"].idxmax()]
        message = (
            f"{feet_words(rows['length_ft'].sum())} taken as {side} side fall short by up to "
            f'{feet_words(worst["short_ft"])}: rule "{worst["rule"]}" needs '
            f"{feet_words(worst['required_ft'])} of {CODE_WORDS[worst['counted_ground']]}, there "
            f"are {feet_words(worst['planned_ft'])} with all ways allowed under [mowing]"
        )
        yield _of_stretches("break_too_narrow", "warning", str(block), message, rows)


def _winds_planned(burns: pd.DataFrame, settings: FirebreakSettings) -> Iterator[Finding]:
    """Winds that the widths of each block hold for."""
    arc = settings.wind_arc_deg
    for block, rows in burns.groupby("block", sort=True):
        wind = rows["wind_from_deg"].iloc[0]
        if arc > 0 and pd.notna(wind):
            first, last = (half_up((wind + turn) % 360, 0) for turn in (-arc, arc))
            winds = f"winds from {first} to {last} degrees" if arc < 180 else "every wind"
            message = f"widths hold for {winds}: wind_arc_deg = {arc:g} under [firebreaks]"
            yield _finding("winds_planned", "note", block, message)


def _required_unknown(
    burns: pd.DataFrame, firebreaks: gpd.GeoDataFrame, settings: FirebreakSettings
) -> Iterator[Finding]:
    """Blocks without the figures that their wind sides and the rules of these need."""
    needs: dict[str, set[str]] = {}
    for row in burns.itertuples():
        if pd.isna(row.wind_from_deg):
            needs.setdefault(row.block, set()).add("wind_from_deg")
    figures = burns.drop_duplicates("block").set_index("block").to_dict("index")
    for stretch in firebreaks[firebreaks["required_ft"].isna()].to_dict("records"):
        for block, side in sides_asked(stretch):
            rule = rule_named(rule_of_side(settings, side), settings)
            known = {**figures[block], "wind_mph": settings.wind_mph}
            missing = {name for name in figures_needed(rule) if pd.isna(known[name])}
            needs.setdefault(block, set()).update(missing)
    for block, missing in sorted(needs.items()):
        of_block = sorted(missing - {"wind_mph"}, reverse=True)
        words = [f"{' and '.join(of_block)} under [[burns]]"] * bool(of_block)
        words += ["wind_mph under [firebreaks]"] * ("wind_mph" in missing)
        if words:
            message = f"width required: unknown, needs {', '.join(words)}"
            yield _finding("required_width_unknown", "warning", block, message)


def _existing(firebreaks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Existing breaks whose width is not known, and those that count on a condition only."""
    existing = firebreaks[firebreaks["status"] == "existing"]
    unknown = existing[existing[WIDTHS].isna().any(axis=1)]
    for (block, kind), rows in unknown.groupby(["block", "kind"]):
        message = (
            f"width of the {kind} along {feet_words(rows['length_ft'].sum())} is not known, so it "
            "may be too narrow: measure it and give width_ft under [[sources.breaks]]"
        )
        yield _of_stretches("break_width_unknown", "warning", str(block), message, rows)
    for (block, kind, ground, condition), rows in existing.dropna(subset="condition").groupby(
        ["block", "kind", "credited_as", "condition"]
    ):
        message = (
            f"to check on the day: the {kind} along {feet_words(rows['length_ft'].sum())} counts "
            f"as {CODE_WORDS[ground]}: {condition}"
        )
        yield _finding("break_condition", "note", block, message, amount=rows["length_ft"].sum())


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
        yield _of_stretches("break_beside", "note", str(block), message, rows)


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
        yield _of_stretches("break_drawn_narrower", "warning", str(block), message, rows)


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
            amount=strip.area_ac,
            source="mowing",
            geometry=strip.geometry,
        )


def _unmown(mow_strips: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Ground of a strip that no pass reaches, in necks and corners."""
    for strip in mow_strips[mow_strips["unmown_sqft"] >= LEAST_UNMOWN_SQFT].itertuples():
        sqft = half_up(strip.unmown_sqft, 0)
        yield _finding(
            "strip_unmown",
            "note",
            strip.strip_id,
            f"no pass reaches {sqft:,} sq ft of the strip: mow them by hand",
            amount=strip.unmown_sqft / SQFT_PER_AC,
            source="mowing",
            geometry=strip.geometry,
        )


def _strips_off(mow_routes: pd.DataFrame, burn_blocks: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Blocks whose strips and lines cover much less or more than their length and width ask for."""
    shapes = burn_blocks.set_index("block").geometry
    for route in mow_routes.itertuples():
        if abs(route.made_ac - route.planned_ac) <= STRIP_BOUND * route.planned_ac:
            continue
        made, planned = half_up(route.made_ac, 2), half_up(route.planned_ac, 2)
        yield _finding(
            "strip_area_off",
            "warning",
            route.block,
            f"strips and lines cover {made} ac where their length and width ask for {planned} ac: "
            "the ground is too narrow or too crooked for them, look at the map",
            amount=abs(route.made_ac - route.planned_ac),
            source="mowing",
            geometry=shapes[route.block],
        )


def _moves_off(mow_moves: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Ways of the mower for which there is none on the block's ground."""
    off = mow_moves[~mow_moves["on_ground"].astype(bool)]
    for block, rows in off.groupby("block", sort=True):
        yield _finding(
            "move_off_block",
            "note",
            str(block),
            f"the mower leaves the block on {len(rows)} of its moves, "
            f"{feet_words(rows['length_ft'].sum())} as the crow flies: its parts are not joined "
            "by ground or road",
            amount=rows["length_ft"].sum(),
            source="mowing",
            geometry=shapely.multilinestrings(rows.geometry.to_numpy()),
        )


def _outside_units(
    drawn_units: gpd.GeoDataFrame, burn_blocks: gpd.GeoDataFrame, mow_strips: gpd.GeoDataFrame
) -> Iterator[Finding]:
    """Strips mown outside their block, where that is outside all units."""
    blocks = burn_blocks.set_index("block").geometry
    tree = shapely.STRtree(drawn_units.geometry.to_numpy())
    for strip in mow_strips.itertuples():
        shape = strip.geometry
        if common(shape, blocks[strip.block]).area > shape.area / 2:
            continue
        near = drawn_units.geometry.to_numpy()[tree.query(shape)]
        outside = polygonal(less(shape, united(near)))
        ac = float(area_ac(gpd.GeoSeries([outside], crs=mow_strips.crs))[0])
        if ac > SMALLEST_AC:
            yield _finding(
                "strip_outside_units",
                "warning",
                strip.strip_id,
                f"{half_up(ac, 2)} ac of the strip lie outside your units: ask the neighbor, or "
                "mow inside",
                amount=ac,
                source="mowing",
                geometry=outside,
            )
