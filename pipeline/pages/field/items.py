"""Things of the plan that have a place: how each is called, told and drawn, whatever the file."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from pipeline.core.layer import Layer
from pipeline.core.names import natural_key
from pipeline.fire.layers import BURN_BLOCKS
from pipeline.fire.mowing.layers import MADE_LINES, MOW_MOVES, MOW_STRIPS
from pipeline.fire.slope.layers import BREAK_SLOPES
from pipeline.fire.smoke.layers import SMOKE_PLACES
from pipeline.fire.source_layers import BREAK_LINES
from pipeline.fire.words import place_words
from pipeline.ground.layers import EXCLUDED_GROUND, UNITS
from pipeline.pages.conflict_lines import conflict_words, stops
from pipeline.pages.field.break_items import merged_breaks
from pipeline.pages.field.settings import mower_words
from pipeline.pages.field.told import Item, Row, Told
from pipeline.pages.packet.burned_ground import burned_of_block
from pipeline.pages.packet.numbered_places import water_words
from pipeline.pages.palette import change_scale
from pipeline.pages.photo_words import due_words, look_words
from pipeline.pages.symbols.layer_symbols import layer_styles
from pipeline.pages.words import code_words, plain, row_words, rows, sentence
from pipeline.seed.field_layers import SEED_AREAS

Frames = Mapping[str, gpd.GeoDataFrame]


def plan_items(frames: Frames) -> list[Item]:
    """Everything of the plan that a crew looks for on the ground, theme by theme.

    No two have one name, since a receiver may keep only one of them.
    """
    styles = layer_styles(change_scale((), noise_floor=0))
    items, seen = [], Counter[str]()
    for layer, told_rows in _themes(frames).items():
        for row, told in told_rows:
            if row["geometry"] is not None and not row["geometry"].is_empty:
                # Ground of a conflict is that of a block or unit, which is drawn already.
                shape = mark_of(row["geometry"]) if layer == "conflicts" else row["geometry"]
                seen[told.name] += 1
                if seen[told.name] > 1:
                    told = replace(told, name=f"{told.name}, no. {seen[told.name]}")
                items.append(Item(layer, told, shape, styles[layer].look(row)))
    return items


def _themes(frames: Frames) -> dict[str, Iterator[tuple[Row, Told]]]:
    """Rows of each layer with what is told of them, in the order of the folders."""
    mower = mower_words(frames["settings"])
    passes = frames["mow_passes"].groupby("block")["drive_order"].max()
    strips = frames["mow_strips"].set_index("strip_id")["width_ft"]
    windows = frames["photo_windows"]

    def block(row: Row) -> Told:
        return _block(row, burned_of_block(row, frames).words)

    def mown(row: Row) -> Told:
        part = f" part {row['part']}" if row["part"] > 1 else ""
        wide = _figure({"width_ft": strips[row["strip_id"]]}, MOW_STRIPS, "width_ft")
        name = f"{row['strip_id']} pass {row['pass_number']}{part}, {mower}"
        remark = f"{row['drive_order']} of {passes[row['block']]} in block {row['block']}: "
        remark += f"mow {_figure(row, MOW_MOVES, 'length_ft')}; strip of {wide}"
        return Told(name, "mower pass", remark, (row["block"],))

    return {
        "burn_blocks": _each(frames["burn_blocks"], block, "block"),
        "firebreaks": merged_breaks(frames["firebreaks"]),
        "made_lines": _each(frames["made_lines"], _line, "line_id"),
        "mow_strips": _each(frames["mow_strips"], _strip, "strip_id"),
        "mow_passes": _each(frames["mow_passes"], mown),
        "mow_moves": _each(frames["mow_moves"], _move),
        "tie_ins": _each(frames["tie_ins"], _place),
        "gates": _each(frames["gates"], _gate),
        "water_places": _each(frames["water_places"], _water),
        "conflicts": _each(stops(frames["conflicts"]), _stop),
        "smoke_places": _smoke(frames["smoke_places"]),
        "break_slopes": _each(_steep(frames["break_slopes"]), _slope),
        "excluded_ground": _each(frames["excluded_ground"], _left_out),
        "units": _each(frames["units"], _unit, "unit_id"),
        "seed_areas": _each(frames["seed_areas"], _seeded, "area"),
        "break_lines": _each(frames["break_lines"], _drawn_break),
        "break_areas": _each(frames["break_areas"], _drawn_break),
        "photo_points": _each(
            frames["photo_points"], lambda row: photo_told(row, windows), "point"
        ),
    }


def _each(
    frame: pd.DataFrame, tell: Callable[[Row], Told], name: str | None = None
) -> Iterator[tuple[Row, Told]]:
    """Rows with what is told of each, as people count their names where these are in ``name``."""
    listed = rows(frame)
    if name is not None:
        listed = sorted(listed, key=lambda row: natural_key(str(row[name])))
    return ((row, tell(row)) for row in listed)


def _figure(row: Mapping[Any, Any], layer: Layer, column: str) -> str:
    return row_words(row, layer, column)


def _joined(*parts: Any) -> str:
    """What is known of some parts, one behind the other."""
    return "; ".join(plain(str(part)) for part in parts if part and pd.notna(part))


def _block(row: Row, burned: str) -> Told:
    remark = _joined(
        burned.removesuffix("."),
        f"units {row['unit_ids']}",
        f"{_figure(row, BURN_BLOCKS, 'burnable_ac')} burnable",
        f"{_figure(row, BURN_BLOCKS, 'perimeter_ft')} around, of it "
        f"{_figure(row, BURN_BLOCKS, 'prepare_ft')} to prepare and "
        f"{_figure(row, BURN_BLOCKS, 'gap_ft')} of gaps",
    )
    return Told(f"Block {row['block']}", "burn block", remark, (row["block"],))


def _line(row: Row) -> Told:
    wide, long = (_figure(row, MADE_LINES, name) for name in ("width_ft", "length_ft"))
    kind = f"{code_words(row['kind'])} to be made"
    return Told(f"{row['line_id']}, {wide}", kind, f"{long} long", (row["block"],))


def _strip(row: Row) -> Told:
    wide = _figure(row, MOW_STRIPS, "width_ft")
    ground = _figure(row, MOW_STRIPS, "area_ac")
    remark = f"{row['passes']} passes side by side, {ground}"
    return Told(f"{row['strip_id']}, strip of {wide}", "mow strip", remark, (row["block"],))


def _move(row: Row) -> Told:
    long = _figure(row, MOW_MOVES, "length_ft")
    remark = long if row["on_ground"] else f"{long}, drawn straight: it leaves the block's ground"
    name = f"{row['block']} way to pass {row['to_order']}"
    return Told(name, "way without mowing", remark, (row["block"],))


def _place(row: Row) -> Told:
    kind = code_words(row["kind"])
    remark = f"{row['block']}: {place_words(row)}"
    return Told(f"{row['tie_in_id']} {kind}", kind, remark, (row["block"],))


def _gate(row: Row) -> Told:
    """A gate, its name beginning with the one that the packet gives it."""
    return Told(f"G{row['gate_id']} {row['name'] or 'gate'}", "gate", "gate of the property")


def _water(row: Row) -> Told:
    """Water, its name beginning with the one that the packet gives it."""
    remark = "to fill from, as you say; what it holds is seen on the day"
    return Told(f"W{row['water_id']} {water_words(row)}", "water", remark)


def _stop(row: Row) -> Told:
    blocks = (row["block"],) if row["block"] and pd.notna(row["block"]) else ()
    return Told(f"Stop and ask {row['number']}", "stop and ask", conflict_words(row), blocks)


def _smoke(places: gpd.GeoDataFrame) -> Iterator[tuple[Row, Told]]:
    """Each place once, with the blocks that it is near to."""
    for number, near in places.groupby("place_id", sort=True):
        listed = rows(near[near["block"].notna()])
        remark = "; ".join(
            f"{row['block']}: {_figure(row, SMOKE_PLACES, 'distance_mi')}, smoke of the planned "
            f"wind: {code_words(row['planned_smoke'])}"
            for row in listed
        )
        kind = str(near["kind"].iloc[0] or "place")
        blocks = tuple(row["block"] for row in listed)
        told = Told(
            f"{sentence(kind)} {number}",
            "keep smoke off",
            remark or "near no block of this season",
            blocks,
        )
        yield rows(near)[0], told


def _steep(slopes: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return slopes[slopes["over_mower_ft"] > 0]


def _slope(row: Row) -> Told:
    long = _figure(row, BREAK_SLOPES, "over_mower_ft")
    blocks = tuple(b for b in (row["block"], row["neighbor_block"]) if pd.notna(b))
    remark = f"{' and '.join(blocks)}: {long} of this stretch lie on ground above the mower's limit"
    return Told(f"{row['break_id']} too steep to mow", "hazard", remark, blocks)


def _left_out(row: Row) -> Told:
    out_of = {"both": "burning and seeding", "burn": "burning", "seed": "seeding"}
    kind = row["kind"] or "ground"
    remark = f"left out of {out_of[row['applies_to']]}; {_figure(row, EXCLUDED_GROUND, 'area_ac')}"
    return Told(f"{sentence(kind)} {row['exclusion_id']}", "left out", remark)


def _unit(row: Row) -> Told:
    remark = _joined(
        row["cover"],
        _figure(row, UNITS, "gross_ac"),
        f"{_figure(row, UNITS, 'burnable_ac')} burnable",
    )
    return Told(" ".join(filter(None, ("Unit", row["unit_id"], row["name"]))), "unit", remark)


def _seeded(row: Row) -> Told:
    remark = _joined(
        row["mix"],
        code_words(row["method"]),
        _figure(row, SEED_AREAS, "net_ac"),
        f"{_figure(row, SEED_AREAS, 'bulk_lb')} of bulk seed",
    )
    return Told(f"Seeding area {row['area']}", "seeding area", remark)


def _drawn_break(row: Row) -> Told:
    wide = "" if pd.isna(row["width_ft"]) else f", {_figure(row, BREAK_LINES, 'width_ft')} wide"
    name = sentence(str(row["kind"] or "break")) + wide
    return Told(name, "break of the map", "as drawn in your own map")


def photo_told(row: Row, windows: pd.DataFrame) -> Told:
    """Name of a photo point and what to do there."""
    due = due_words(row["point"], windows)
    remark = _joined(sentence(look_words(row)), f"due {due}" if due else "", row["note"])
    return Told(row["point"], "photo point", remark)


def mark_of(shape: BaseGeometry) -> shapely.Point:
    """Where a thing that is no place is marked: on the line, halfway, or inside the ground."""
    if shape.geom_type == "Point":
        return shape
    if shapely.get_dimensions(shape) == 1:
        longest = max(shapely.get_parts(shape), key=shapely.length)
        return shapely.line_interpolate_point(longest, 0.5, normalized=True)
    return shapely.point_on_surface(shape)
