"""The map of the property as one SVG drawing, layer upon layer, in the working CRS."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import pandas as pd

from pipeline.core.units import M_PER_FT
from pipeline.fire.words import place_words
from pipeline.pages import palette
from pipeline.pages.map_paths import PER_M, QUARTER_MILE_M, Frame, frame_around
from pipeline.pages.map_themes import Theme, map_themes
from pipeline.pages.markup import Markup, isolated, joined, tag
from pipeline.pages.words import code_words, number_words

if TYPE_CHECKING:
    import geopandas as gpd


Frames = Mapping[str, "pd.DataFrame"]


MAP_WIDTH_PX = 960
"""Width of the map that labels and textures are sized for until the page measures its own."""


LABEL_PX = 13.0


SLIT_M = 6.0


SCALE_BAR_FT = (100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000)


def draw_map(frames: Frames) -> Markup:
    """The whole map. What a layer without rows would show is left out."""
    frame = frame_around(frames["units"])
    pixel = frame.width / MAP_WIDTH_PX
    units = frames["units"]
    layers = [
        _layer("lattice", _lattice(frame), still=True),
        *(_theme_layer(theme, frame, shown=n == 0) for n, theme in enumerate(map_themes(frames))),
        _layer("exclusions", _areas(frames, "excluded_ground", frame, _EXCLUDED), still=True),
        _layer("seed_areas", _areas(frames, "seed_areas", frame, _SEEDED), still=True),
        _layer(
            "burn_blocks", [_block(row, frame) for row in rows(frames["burn_blocks"])], still=True
        ),
        _layer("units", [_unit(row, n, frame) for n, row in enumerate(rows(units))]),
        _layer("mow_strips", [_strip(row, frame) for row in rows(frames["mow_strips"])]),
        *(_break_layer(frames["firebreaks"], status, frame) for status in palette.BREAK_STROKES),
        _layer("tie_ins", [_tie_in(row, frame) for row in rows(frames["tie_ins"])]),
        _layer("labels", [_label(row, frame, row["unit_id"]) for row in rows(units)], still=True),
    ]
    return tag(
        "svg",
        textures(pixel),
        *layers,
        _scale_bar(frame),
        attributes={
            "id": "map", "viewBox": f"0 0 {frame.width} {frame.height}", "role": "group",
            "aria-label": "Map of the property, north up", "font-size": _size(LABEL_PX * pixel),
            "data-label-px": LABEL_PX,
        },
    )  # fmt: skip


def rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a layer as dictionaries."""
    return frame.to_dict("records")


def _size(value: float) -> str:
    return f"{value:.0f}"


def _layer(name: str, shapes: list[Markup], *, still: bool = False) -> Markup:
    """A group that a switch shows and hides; a still one is not touched by the pointer."""
    if not shapes:
        return Markup("")
    told = {"data-layer": name, "class": "still" if still else None}
    return tag("g", *shapes, attributes=told)


def _path(data: str, told: dict[str, object], title: str | None = None) -> Markup:
    return tag("path", *([tag("title", title)] if title else []), attributes={"d": data, **told})


def stroked(stroke: palette.Stroke) -> dict[str, object]:
    """Attributes of a line."""
    return {
        "stroke": stroke.color,
        "stroke-width": stroke.width,
        "stroke-dasharray": stroke.dash or None,
        "stroke-linecap": stroke.cap,
        "fill": "none",
    }


_EXCLUDED: dict[str, object] = {
    "fill": "url(#excluded)", "stroke": palette.TEXTURE, "stroke-width": 1,
}  # fmt: skip


_SEEDED = {**stroked(palette.SEED_STROKE), "fill": "url(#seeded)"}


_BLOCK: dict[str, object] = {
    "stroke": palette.BLOCK_BAND.color, "stroke-width": palette.BLOCK_BAND.width,
    "stroke-opacity": palette.BLOCK_OPACITY, "fill": "none",
}  # fmt: skip


def _areas(frames: Frames, name: str, frame: Frame, told: dict[str, object]) -> list[Markup]:
    """Polygons of one layer, all drawn alike."""
    if name not in frames:
        return []
    return [_path(frame.path(row["geometry"]), told) for row in rows(frames[name])]


def _block(row: dict[str, Any], frame: Frame) -> Markup:
    """A broad band along the outline of a block; slits between its units are closed for it."""
    closed = row["geometry"].buffer(SLIT_M).buffer(-SLIT_M)
    return _path(frame.path(closed), _BLOCK)


def _unit(row: dict[str, Any], number: int, frame: Frame) -> Markup:
    """Outline of a unit: reached by the keyboard, and what the pointer meets first."""
    name = "" if pd.isna(row["name"]) else f", {isolated(row['name'])}"
    spoken = f"Unit {isolated(row['unit_id'])}{name}, {number_words(row['gross_ac'], 1)} acres"
    return tag(
        "g",
        _path(frame.path(row["geometry"]), {**stroked(palette.UNIT_STROKE), "fill": None}),
        attributes={
            "class": "unit", "data-unit": number, "tabindex": 0, "role": "button",
            "aria-pressed": "false", "aria-label": spoken,
        },
    )  # fmt: skip


def _label(row: dict[str, Any], frame: Frame, words: object) -> Markup:
    inside = row["geometry"].representative_point()
    x, y = frame.point(inside.x, inside.y)
    return tag("text", isolated(words), attributes={"x": x, "y": y, "font-weight": 600})


def _strip(row: dict[str, Any], frame: Frame) -> Markup:
    title = (
        f"Mow strip {isolated(row['strip_id'])}: {number_words(row['width_ft'], 0)} ft wide, "
        f"{number_words(row['area_ac'], 2)} ac, {row['passes']} passes, "
        f"{number_words(row['hours'], 1)} hours"
    )
    told = {**stroked(palette.STRIP_STROKE), "fill": palette.STRIP_FILL}
    return _path(frame.path(row["geometry"]), told, title)


def _break_layer(breaks: "gpd.GeoDataFrame", status: str, frame: Frame) -> Markup:
    """All breaks of one status: a white casing under the line, each with its figures."""
    stroke = palette.BREAK_STROKES[status]
    casing = {"stroke": palette.CASING, "stroke-width": stroke.width + 3, "fill": "none"}
    drawn = [
        (frame.path(row["geometry"]), break_title(row))
        for row in rows(breaks[breaks["status"] == status])
    ]
    return _layer(
        f"breaks_{status}",
        [_path("".join(data for data, _ in drawn), casing)] * bool(drawn)
        + [_path(data, stroked(stroke), title) for data, title in drawn],
    )


def break_title(row: dict[str, Any]) -> str:
    """One stretch in words."""
    kind = "" if pd.isna(row["kind"]) else f" ({isolated(row['kind'])})"
    short = row["short_ft"]
    width = "" if pd.isna(short) or short <= 0 else f", {number_words(short, 0)} ft too narrow"
    side = "" if pd.isna(row["wind_side"]) else f", {row['wind_side']} side"
    return (
        f"Break {isolated(row['break_id'])} of block {isolated(row['block'])}: "
        f"{row['status']}{kind}, {number_words(row['length_ft'], 0)} ft{side}{width}"
    )


def _tie_in(row: dict[str, Any], frame: Frame) -> Markup:
    """A dot of the same size at every zoom: square for a gap, round for a tie-in."""
    data = frame.path(row["geometry"])
    gap = row["kind"] == "gap"
    cap = "square" if gap else "round"
    color = palette.BREAK_STROKES["gap" if gap else "prepare"].color
    title = f"{code_words(row['kind'])}, block {isolated(row['block'])}: {place_words(row)}"
    return joined(
        _path(
            data,
            {"stroke": color_, "stroke-width": width, "stroke-linecap": cap, "fill": "none"},
            title,
        )
        for color_, width in ((palette.CASING, 13), (color, 9))
    )


def _theme_layer(theme: Theme, frame: Frame, *, shown: bool) -> Markup:
    """Units filled by one quantity, with a texture where it is in doubt and its value as text."""
    fills = [_path(frame.path(a.shape), {"fill": a.color}) for a in theme.areas]
    doubts = [
        _path(frame.path(a.shape), {"fill": f"url(#{a.texture})"}) for a in theme.areas if a.texture
    ]
    words = [_below(a.shape, frame, a.words, theme.below_the_name) for a in theme.areas if a.words]
    return tag(
        "g", *fills, *doubts, tag("g", *words, attributes={"font-size": "92%"}),
        attributes={"data-theme": theme.name, "class": "still", "hidden": not shown},
    )  # fmt: skip


def _below(shape: Any, frame: Frame, words: str, below: bool) -> Markup:
    inside = shape.representative_point()
    x, y = frame.point(inside.x, inside.y)
    told = {"x": x, "y": y, "dy": "1.25em" if below else None}
    return tag("text", words, attributes=told)


def textures(pixel: float, *, suffix: str = "") -> Markup:
    """Textures; those of the map are kept at one size on the screen by the page's script."""
    line = {"stroke": palette.TEXTURE, "stroke-width": 1}
    drawn = {
        "excluded": (9, [_stroke_line(0, 0, 9, 9, line), _stroke_line(0, 9, 9, 0, line)]),
        "seeded": (
            11,
            [_dot(3, 3, 1.5, palette.SEED_FILL), _dot(8.5, 8.5, 1.5, palette.SEED_FILL)],
        ),
        "doubt": (7, [_stroke_line(0, 7, 7, 0, {"stroke": palette.TEXTURE, "stroke-width": 0.9})]),
        "unjudged": (8, [_dot(2, 2, 0.9, palette.TEXTURE), _dot(6, 6, 0.9, palette.TEXTURE)]),
    }
    patterns = [
        tag(
            "pattern", *marks,
            attributes={
                "id": f"{name}{suffix}", "width": size, "height": size,
                "patternUnits": "userSpaceOnUse",
                "patternTransform": f"scale({pixel:.2f})",
            },
        )
        for name, (size, marks) in drawn.items()
    ]  # fmt: skip
    return tag("defs", *patterns)


def _stroke_line(x1: float, y1: float, x2: float, y2: float, told: dict[str, object]) -> Markup:
    data = f"M{x1} {y1}L{x2} {y2}"
    return tag("path", attributes={"d": data, "class": "grain", **told})


def _dot(x: float, y: float, radius: float, color: str) -> Markup:
    return tag("circle", attributes={"cx": x, "cy": y, "r": radius, "fill": color})


def _lattice(frame: Frame) -> list[Markup]:
    """Crosses a quarter mile apart: a measure at every zoom, on paper too."""
    arm = round(QUARTER_MILE_M * PER_M * 0.018)
    crosses = frame.quarter_mile_crosses()
    if not crosses:
        return []
    data = "".join(f"M{x - arm} {y}h{2 * arm}m{-arm} {-arm}v{2 * arm}" for x, y in crosses)
    return [_path(data, {"stroke": "#9a8f78", "stroke-width": 1, "fill": "none"})]


def _scale_bar(frame: Frame) -> Markup:
    """Bar in feet and an arrow to the north, in the lower left corner."""
    fitting = [ft for ft in SCALE_BAR_FT if ft * M_PER_FT < 0.24 * frame.width_m]
    feet = fitting[-1] if fitting else SCALE_BAR_FT[0]
    length = round(feet * M_PER_FT * PER_M)
    unit = round(frame.width / 100)
    x, y = 2 * unit, frame.height - 2 * unit
    bar = _path(
        f"M{x} {y - unit}v{unit}h{length}v{-unit}m{-length // 2} {unit}v{-unit // 2}",
        {"stroke": palette.INK, "stroke-width": 1.6, "fill": "none"},
    )
    words = tag(
        "text", f"{feet:,} ft", attributes={"x": x + length // 2, "y": y - unit, "dy": "-.2em"}
    )
    top = frame.height - 9 * unit
    middle = x + length + 4 * unit
    arrow = _path(
        f"M{middle} {y}V{top + 2 * unit}m{-unit} {2 * unit}l{unit} {-2 * unit}l{unit} {2 * unit}",
        {"stroke": palette.INK, "stroke-width": 1.6, "fill": "none"},
    )
    north = tag("text", "N", attributes={"x": middle, "y": top + 2 * unit, "dy": "-.3em"})
    return tag("g", bar, words, arrow, north, attributes={"class": "still", "id": "scale"})
