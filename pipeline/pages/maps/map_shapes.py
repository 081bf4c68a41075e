"""Shapes of the maps of the report: lines, strips, places and what they say when pointed at."""

import math
from collections.abc import Iterable, Mapping
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.units import M_PER_FT
from pipeline.fire.breaks.given_breaks import AREA
from pipeline.fire.layers import FIREBREAKS, TIE_INS
from pipeline.fire.mowing.layers import MADE_LINES, MOW_STRIPS
from pipeline.fire.smoke.layers import SMOKE_PLACES
from pipeline.fire.source_layers import BREAKS
from pipeline.fire.words import place_words
from pipeline.pages import palette
from pipeline.pages.map_frame import PER_M, QUARTER_MILE_M, MapFrame
from pipeline.pages.markup import Markup, isolated, tag
from pipeline.pages.palette import stroked
from pipeline.pages.photo_words import look_words
from pipeline.pages.photo_words import place_words as place_of
from pipeline.pages.words import NOTHING, row_words, rows, sentence
from pipeline.season.plants.layers import PATCH_GROUND
from pipeline.season.plants.patches import newest_ground

SLIT_M = 6.0


SCALE_BAR_FT = (100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000)


LATTICE_COLOR = "#9a8f78"


def layer_group(
    name: str,
    shapes: list[Markup],
    *,
    still: bool = False,
    look: Mapping[str, object] | None = None,
) -> Markup:
    """A group that a switch shows and hides; a still one is not touched by the pointer.

    What all of its shapes look like is told once, in ``look``. The inner group can be used by
    another map of the page, whatever the switch says.
    """
    if not shapes:
        return Markup("")
    inner = {"id": f"all-{name}", "class": KEEP_THEIR_WIDTH, **(look or {})}
    attributes = {"data-layer": name, "class": "still" if still else None}
    return tag("g", tag("g", *shapes, attributes=inner), attributes=attributes)


def named(name: str, words: list[Markup]) -> Markup:
    """Names of a layer's shapes, which come and go with it."""
    attributes = {"data-layer": name, "class": "still", "font-weight": 600, "font-size": "92%"}
    return tag("g", *words, attributes=attributes) if words else Markup("")


KEEP_THEIR_WIDTH = "all"
"""Class of a group whose lines keep their width at every zoom, wherever it is used."""


def signs(*drawn: tuple[str, Iterable[Markup]]) -> Markup:
    """Signs of places, each defined once under its name."""
    groups = (
        tag("g", *paths, attributes={"id": f"sign-{name}", "class": KEEP_THEIR_WIDTH})
        for name, paths in drawn
    )
    return tag("defs", *groups)


def sign(name: str, place: tuple[int, int], title: str) -> Markup:
    """A sign at a place, with what it says when pointed at."""
    x, y = place
    about = {"href": f"#sign-{name}", "x": x, "y": y}
    return tag("use", tag("title", title), attributes=about)


def _ends(cap: str, *strokes: tuple[str, int], way: str = "h1") -> list[Markup]:
    """A sign that keeps its size at every zoom: ends of lines all but without length."""
    return [
        tag(
            "path",
            attributes={
                "d": f"M0 0{way}",
                "stroke": color,
                "stroke-width": width,
                "stroke-linecap": cap,
                "fill": "none",
            },
        )
        for color, width in strokes
    ]


def place_signs() -> list[tuple[str, list[Markup]]]:
    """Signs of gaps, tie-ins, gates, water, patches: square, dot; hollow square, dot, diamond."""
    gap, tie = (palette.BREAK_STROKES[status].color for status in ("gap", "prepare"))
    patch = palette.PATCH_STROKE.color
    return [
        ("gap", _ends("square", (palette.CASING, 13), (gap, 9))),
        ("tie_in", _ends("round", (palette.CASING, 13), (tie, 9))),
        ("gate", _ends("square", (palette.INK, 11), (palette.CASING, 7))),
        ("water", _ends("round", (palette.WATER_STROKE.color, 13), (palette.CASING, 7))),
        (
            "patch",
            _ends("square", (patch, 10), (palette.CASING, 5), way="l1 1"),
        ),
    ]


def drawn_path(data: str, attributes: Mapping[str, object], title: str | None = None) -> Markup:
    """A path, with what it says when pointed at."""
    inside = [tag("title", title)] if title else []
    return tag("path", *inside, attributes={"d": data, **attributes})


def map_text(words: object, place: tuple[int, int], attributes: Mapping[str, object]) -> Markup:
    """A text element at a place of the drawing."""
    x, y = place
    return tag("text", words, attributes={"x": x, "y": y, **attributes})


EXCLUDED = {"fill": "url(#excluded)", "stroke": palette.TEXTURE, "stroke-width": 1}


SEEDED = stroked(palette.SEED_BAND)


SMOKE_PLACE = {
    **stroked(palette.SMOKE_STROKE),
    "fill": palette.SMOKE_STROKE.color,
    "stroke-linejoin": "round",
}


PHOTO = {**stroked(palette.PHOTO_STROKE), "fill": palette.CASING, "stroke-linejoin": "round"}


WEDGE_SHARE, WEDGE_HALF_DEG = 0.03, 20.0
"""Length of the wedge of a photo point as a share of the map, and half of its angle."""


BLOCK = {**stroked(palette.BLOCK_BAND), "stroke-opacity": palette.BLOCK_OPACITY}


LONGEST_WEDGE_M = 80.0
"""The most of that length: wedges stay smaller than units on the map of a large property."""


def drawn_areas(layer: pd.DataFrame, frame: MapFrame) -> list[Markup]:
    """Polygons of one layer."""
    return [drawn_path(frame.path(row["geometry"]), {}) for row in rows(layer)]


def block_band(row: dict[str, Any], frame: MapFrame) -> Markup:
    """A broad band along the outline of a block; slits between its units are closed for it."""
    closed = row["geometry"].buffer(SLIT_M).buffer(-SLIT_M)
    return drawn_path(frame.path(closed), {})


STRIP = {**stroked(palette.STRIP_STROKE), "fill": palette.STRIP_FILL}


def mow_strip(row: dict[str, Any], frame: MapFrame) -> Markup:
    """A strip to mow, with its figures."""
    width, area, hours = (row_words(row, MOW_STRIPS, n) for n in ("width_ft", "area_ac", "hours"))
    title = (
        f"Mow strip {isolated(row['strip_id'])}: {width} wide, {area}, {row['passes']} passes, "
        f"{hours}"
    )
    return drawn_path(frame.path(row["geometry"]), {}, title)


def made_line(row: dict[str, Any], frame: MapFrame) -> Markup:
    """A bare line or blackline to make, with its figures."""
    kind, width, area, hours = (
        row_words(row, MADE_LINES, n) for n in ("kind", "width_ft", "area_ac", "hours")
    )
    title = f"{sentence(kind)} {isolated(row['line_id'])}: {width} wide, {area}, {hours}"
    return drawn_path(frame.path(row["geometry"]), {"fill": palette.LINE_FILLS[row["kind"]]}, title)


def break_layer(breaks: gpd.GeoDataFrame, status: str, frame: MapFrame) -> Markup:
    """All breaks of one status: a white casing under the line, each with its figures."""
    stroke, name = palette.BREAK_STROKES[status], f"breaks_{status}"
    drawn = [
        drawn_path(frame.path(row["geometry"]), {}, break_title(row))
        for row in rows(breaks[breaks["status"] == status])
    ]
    if not drawn:
        return Markup("")
    lines = tag("g", *drawn, attributes={"id": f"lines-{name}", "class": KEEP_THEIR_WIDTH})
    casing = {"href": f"#lines-{name}", "stroke": palette.CASING, "stroke-width": stroke.width + 3}
    below = tag("use", attributes={**casing, "class": "still", "fill": "none"})
    return layer_group(name, [below, tag("g", lines, attributes=stroked(stroke))])


def break_title(row: Mapping[Any, Any]) -> str:
    """One stretch in words."""
    kind = "" if pd.isna(row["kind"]) else f" ({isolated(row['kind'])})"
    short = f", {row_words(row, FIREBREAKS, 'short_ft')} too narrow" if row["short_ft"] > 0 else ""
    side = row_words(row, FIREBREAKS, "wind_side")
    return (
        f"Break {isolated(row['break_id'])} of block {isolated(row['block'])}: "
        f"{row_words(row, FIREBREAKS, 'status')}{kind}, {row_words(row, FIREBREAKS, 'length_ft')}"
        + ("" if side == NOTHING else f", {side} side")
        + short
    )


def tie_in(row: dict[str, Any], frame: MapFrame) -> Markup:
    """A dot of the same size at every zoom: square for a gap, round for a tie-in."""
    title = f"{row_words(row, TIE_INS, 'kind')}, block {isolated(row['block'])}: {place_words(row)}"
    name = "gap" if row["kind"] == "gap" else "tie_in"
    return sign(name, frame.point(row["geometry"].x, row["geometry"].y), title)


def source_break(row: dict[str, Any], frame: MapFrame) -> Markup:
    """A break as the property's own map has it, with its kind; thin, since no block may use it.

    Ground that does not burn, such as a tilled field, has a pattern.
    """
    kind = "kind not told" if pd.isna(row["kind"]) else isolated(row["kind"])
    width = row_words(row, BREAKS, "width_ft")
    title = kind if width == NOTHING else f"{kind}, {width} wide"
    look = {"fill": "url(#bare)"} if shapely.get_dimensions(row["geometry"]) == AREA else {}
    return drawn_path(frame.path(row["geometry"]), look, title)


SOURCE = stroked(palette.SOURCE_STROKE)


def gate(row: dict[str, Any], frame: MapFrame) -> Markup:
    """A gate: a hollow square of the same size at every zoom."""
    name = row["gate_id"] if pd.isna(row["name"]) else row["name"]
    return sign(
        "gate", frame.point(row["geometry"].x, row["geometry"].y), f"Gate: {isolated(name)}"
    )


def water_place(row: dict[str, Any], frame: MapFrame) -> Markup:
    """Water to fill from: a hollow dot of the same size at every zoom."""
    place = frame.point(row["geometry"].x, row["geometry"].y)
    told = ("W" + str(row["water_id"]), row["name"], row["kind"])
    return sign("water", place, "Water: " + isolated(", ".join(t for t in told if pd.notna(t))))


PATCH = {**stroked(palette.PATCH_STROKE), "fill": "url(#patched)"}


def patch_marks(patch_ground: gpd.GeoDataFrame, frame: MapFrame) -> list[Markup]:
    """The newest ground of each kind in each unit, and a mark on each piece of it."""
    drawn = []
    for row in rows(newest_ground(patch_ground)):
        area, seen = (row_words(row, PATCH_GROUND, name) for name in ("area_ac", "date"))
        title = f"{isolated(row['kind'])} in {isolated(row['unit_id'])}: {area}, seen {seen}"
        places = [piece.representative_point() for piece in row["geometry"].geoms]
        drawn.append(drawn_path(frame.path(row["geometry"]), {}, title))
        drawn += [sign("patch", frame.point(place.x, place.y), title) for place in places]
    return drawn


def photo_marks(points: pd.DataFrame, frame: MapFrame) -> list[Markup]:
    """Each photo point, with a wedge the way it looks."""
    drawn = []
    for row in rows(points):
        x, y = frame.point(row["geometry"].x, row["geometry"].y)
        title = f"Photo point {isolated(place_of(row))}: {look_words(row)}"
        data = f"M{x} {y}h.1" if pd.isna(row["bearing_deg"]) else _wedge(x, y, row, frame)
        drawn.append(drawn_path(data, {}, title))
        drawn.append(drawn_path(f"M{x} {y}h.1", {"class": "photodot"}, title))
    return drawn


def _wedge(x: int, y: int, row: Mapping[Any, Any], frame: MapFrame) -> str:
    """A narrow triangle from a place the way that it looks."""
    reach, sides = min(max(frame.width, frame.height) * WEDGE_SHARE, LONGEST_WEDGE_M * PER_M), []
    for turn in (-WEDGE_HALF_DEG, WEDGE_HALF_DEG):
        angle = math.radians(row["bearing_deg"] + turn)
        sides.append(f"{x + reach * math.sin(angle):.0f} {y - reach * math.cos(angle):.0f}")
    return f"M{x} {y}L{sides[0]}L{sides[1]}z"


def smoke_marks(places: pd.DataFrame, frame: MapFrame) -> list[Markup]:
    """Each place that smoke must not drift onto, with what lies near and the planned wind."""
    drawn = []
    for _, of_place in places.groupby("place_id"):
        near = [
            f"{row_words(row, SMOKE_PLACES, 'distance_mi')} from block {isolated(row['block'])}, "
            f"smoke of its planned wind: {row_words(row, SMOKE_PLACES, 'planned_smoke')}"
            for row in rows(of_place[of_place["block"].notna()])
        ]
        first = rows(of_place)[0]
        title = "; ".join([isolated(first["kind"]), *near])
        drawn.append(drawn_path(frame.path(first["geometry"]), {}, title))
    return drawn


def lattice(frame: MapFrame) -> list[Markup]:
    """Crosses a quarter mile apart: a measure at every zoom, on paper too."""
    arm = round(QUARTER_MILE_M * PER_M * 0.018)
    crosses = frame.quarter_mile_crosses()
    if not crosses:
        return []
    data = "".join(f"M{x - arm} {y}h{2 * arm}m{-arm} {-arm}v{2 * arm}" for x, y in crosses)
    return [drawn_path(data, {"stroke": LATTICE_COLOR, "stroke-width": 1, "fill": "none"})]


def scale_bar(frame: MapFrame, name: str = "scale") -> Markup:
    """Bar in feet and an arrow to the north, in the lower left corner."""
    fitting = [ft for ft in SCALE_BAR_FT if ft * M_PER_FT < 0.24 * frame.width_m]
    feet = fitting[-1] if fitting else SCALE_BAR_FT[0]
    length = round(feet * M_PER_FT * PER_M)
    unit = round(frame.width / 100)
    x, y = 2 * unit, frame.height - 2 * unit
    middle, top = x + length + 4 * unit, frame.height - 9 * unit
    line = {"stroke": palette.INK, "stroke-width": 1.6, "fill": "none"}
    bar = f"M{x} {y - unit}v{unit}h{length}v{-unit}m{-length // 2} {unit}v{-unit // 2}"
    head = f"m{-unit} {2 * unit}l{unit} {-2 * unit}l{unit} {2 * unit}"
    return tag(
        "g",
        drawn_path(bar, line),
        map_text(f"{feet:,} ft", (x, y - unit), {"dy": "-.2em", "class": "feet"}),
        drawn_path(f"M{middle} {y}V{top + 2 * unit}{head}", line),
        map_text("N", (middle, top + 2 * unit), {"dy": "-.3em"}),
        attributes={"class": "still", "id": name, "data-per-ft": f"{M_PER_FT * PER_M:.6f}"},
    )
