"""The driver's way through a block in words: which passes, in which order, and the ways between."""

import math
from itertools import groupby

import geopandas as gpd
import shapely

from pipeline.core.units import half_up
from pipeline.fire.mowing.layers import MOW_ROUTES
from pipeline.fire.words import feet_words
from pipeline.pages.words import compass_point, row_words, rows

LONG_MOVE_FT = 30.0
"""A way without mowing that is shorter is a turn, and goes without saying."""


def driving_words(passes: gpd.GeoDataFrame, moves: gpd.GeoDataFrame) -> list[str]:
    """A sentence for each run of passes of one strip, in driving order."""
    to_order = dict(zip(moves["to_order"], moves["length_ft"], strict=True))
    several = passes.groupby(["strip_id", "pass_number"])["part"].transform("max") > 1
    named = passes.assign(several=several)
    said = []
    for strip, group in groupby(rows(named), key=lambda row: row["strip_id"]):
        run = list(group)
        move_ft = to_order.get(run[0]["drive_order"], 0.0)
        before = f"after {feet_words(move_ft)} without mowing, " if move_ft > LONG_MOVE_FT else ""
        numbers = ", ".join(_pass_name(row) for row in run)
        word = "pass" if len(run) == 1 else "passes"
        said.append(f"{before}{strip}: {word} {numbers}, first {_way(run[0]['geometry'])}")
    return said


def _pass_name(row: dict[str, object]) -> str:
    """Number of a pass, and which part of it where it is driven in several."""
    return f"{row['pass_number']}" + (f" (part {row['part']})" if row["several"] else "")


def _way(line: shapely.LineString) -> str:
    """Which way a pass is driven."""
    if line.is_closed:
        return "counterclockwise" if shapely.is_ccw(line) else "clockwise"
    (x, y), (to_x, to_y) = shapely.get_coordinates(line)[[0, -1]].tolist()
    return f"toward {compass_point(math.degrees(math.atan2(to_x - x, to_y - y)) % 360)}"


def route_words(route: dict[str, object]) -> str:
    """Feet and hours of the way in one sentence."""
    mown, moved, least = (
        row_words(route, MOW_ROUTES, name) for name in ("mown_ft", "moves_ft", "least_moves_ft")
    )
    hours = " to ".join(
        str(half_up(float(str(route[n])), 1)) for n in ("least_hours", "most_hours")
    )
    lines = row_words(route, MOW_ROUTES, "line_hours")
    also = f"; bare lines and blacklines {lines}" if route["line_hours"] else ""
    return (
        f"{mown} of mowing and {moved} of driving between (no order needs less than {least}): "
        f"{hours} hours{also}"
    )
