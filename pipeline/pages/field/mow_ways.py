"""The driver's way as one can follow it: passes joined by the ways between, and strip by strip.

A run goes on as long as the mower can drive on over the block's own ground; where a way is only
drawn straight, a new run begins.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import geopandas as gpd
import shapely

from pipeline.core.names import natural_key
from pipeline.fire.mowing.layers import MOW_PASSES
from pipeline.pages.field.settings import mower_words
from pipeline.pages.field.told import Row
from pipeline.pages.words import row_words, rows


@dataclass(frozen=True, slots=True)
class Leg:
    """A pass in the direction it is driven, with the way that leads to it where there is one.

    ``order`` is its place in the block's way; ``start`` names its beginning.
    """

    order: int
    way: shapely.LineString | None
    line: shapely.LineString
    start: str
    remark: str


@dataclass(frozen=True, slots=True)
class Run:
    """Legs that follow one another without leaving the ground, of a block with so many passes."""

    block: str
    passes: int
    legs: list[Leg]


@dataclass(frozen=True, slots=True)
class Strip:
    """Passes of a strip that stand in one track: its name, a remark, and the lines."""

    name: str
    remark: str
    lines: list[shapely.LineString]


def mow_runs(frames: Mapping[str, gpd.GeoDataFrame]) -> Iterator[Run]:
    """Runs of each block in the order in which they are driven."""
    moves = {(row["block"], row["to_order"]): row for row in rows(frames["mow_moves"])}
    passes = frames["mow_passes"].sort_values(["block", "drive_order"])
    blocks = sorted(passes.groupby("block"), key=lambda pair: natural_key(str(pair[0])))
    for block, of_block in blocks:
        count = int(of_block["drive_order"].max())
        legs: list[Leg] = []
        for row in rows(of_block):
            move = moves.get((block, row["drive_order"]))
            on_ground = move is not None and move["on_ground"]
            if legs and not on_ground:
                yield Run(str(block), count, legs)
                legs = []
            legs.append(_leg(row, count, move["geometry"] if move and on_ground else None))
        yield Run(str(block), count, legs)


def _leg(row: Row, count: int, way: shapely.LineString | None) -> Leg:
    name = f"{row['drive_order']} of {count}: {row['strip_id']} pass {row['pass_number']}"
    remark = f"mow {row_words(row, MOW_PASSES, 'length_ft')}"
    return Leg(row["drive_order"], way, row["geometry"], name, remark)


def mow_tracks(frames: Mapping[str, gpd.GeoDataFrame], shortest_ft: float) -> Iterator[Strip]:
    """Tracks of passes, parts of one pass together.

    A pass shorter than ``shortest_ft`` [ft] stands with the pass of its strip before it, or with
    the next one where there is none before.
    """
    mower = mower_words(frames["settings"])
    by_strip: dict[str, dict[int, list[Row]]] = {}
    for row in rows(frames["mow_passes"].sort_values(["pass_number", "drive_order"])):
        by_strip.setdefault(row["strip_id"], {}).setdefault(row["pass_number"], []).append(row)
    for strip_id in sorted(by_strip, key=natural_key):
        for group in _groups(by_strip[strip_id], shortest_ft):
            first, last = group[0]["pass_number"], group[-1]["pass_number"]
            numbers = f"pass {first}" if first == last else f"passes {first}-{last}"
            driven = ", ".join(str(row["drive_order"]) for row in group)
            yield Strip(
                f"{strip_id} {numbers}, {mower}",
                f"block {group[0]['block']}, driven as {driven}: mow {_feet(_long_ft(group))}",
                [row["geometry"] for row in group],
            )


def _feet(length_ft: float) -> str:
    return row_words({"length_ft": length_ft}, MOW_PASSES, "length_ft")


def _long_ft(parts: list[Row]) -> float:
    return float(sum(row["length_ft"] for row in parts))


def _groups(by_pass: Mapping[int, list[Row]], shortest_ft: float) -> list[list[Row]]:
    """Rows of the passes that stand in one track, passes in the order of their numbers."""
    groups: list[list[Row]] = []
    for parts in by_pass.values():
        if groups and min(_long_ft(parts), _long_ft(groups[-1])) < shortest_ft:
            groups[-1] += parts
        else:
            groups.append(list(parts))
    return groups
