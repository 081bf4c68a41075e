"""The map of the property as one SVG drawing, layer upon layer, and the card of each unit."""

from collections.abc import Mapping
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.units import M_PER_FT
from pipeline.fire.layers import FIREBREAKS, TIE_INS
from pipeline.fire.mowing.layers import MADE_LINES, MOW_STRIPS
from pipeline.fire.smoke.layers import SMOKE_PLACES
from pipeline.fire.words import place_words
from pipeline.greenness.change_layers import GREENNESS
from pipeline.ground.layers import UNITS
from pipeline.pages import palette
from pipeline.pages.greenness_words import greenness_settings, verdict_words
from pipeline.pages.map_frame import PER_M, QUARTER_MILE_M, MapFrame, frame_around
from pipeline.pages.map_themes import Theme, map_themes, stroked, textures
from pipeline.pages.markup import Markup, given, isolated, joined, tag
from pipeline.pages.words import NOTHING, bare_heading, cell_words, row_words, rows, sentence
from pipeline.season.layers import HISTORY
from pipeline.season.plan_layers import FUEL, SEASON_PLAN

Frames = Mapping[str, pd.DataFrame]


MAP_WIDTH_PX = 960
"""Width of the map that labels and textures are sized for until the page measures its own."""


LABEL_PX = 13.0


SLIT_M = 6.0


SCALE_BAR_FT = (100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000)


LATTICE_COLOR = "#9a8f78"


def draw_map(frames: Frames) -> Markup:
    """The whole map. What a layer without rows would show is left out."""
    frame = frame_around(frames["units"])
    pixel = frame.width / MAP_WIDTH_PX
    units = rows(frames["units"])
    blocks = [_block(row, frame) for row in rows(frames["burn_blocks"])]
    layers = [
        _layer("lattice", _lattice(frame), still=True),
        *(_theme_layer(theme, frame, shown=n == 0) for n, theme in enumerate(map_themes(frames))),
        _layer("exclusions", _areas(frames["excluded_ground"], frame, EXCLUDED), still=True),
        _layer("seed_areas", _areas(frames["seed_areas"], frame, SEEDED), still=True),
        _layer("burn_blocks", blocks, still=True),
        _layer("units", [_unit(row, n, frame) for n, row in enumerate(units)]),
        _layer("mow_strips", [_strip(row, frame) for row in rows(frames["mow_strips"])]),
        _layer("made_lines", [_made_line(row, frame) for row in rows(frames["made_lines"])]),
        *(_break_layer(frames["firebreaks"], status, frame) for status in palette.BREAK_STROKES),
        _layer("tie_ins", [_tie_in(row, frame) for row in rows(frames["tie_ins"])]),
        _layer("smoke_places", _smoke_places(frames["smoke_places"], frame)),
        _layer("labels", [_label(row, frame) for row in units], still=True),
    ]
    attributes = {
        "id": "map",
        "viewBox": f"0 0 {frame.width} {frame.height}",
        "role": "group",
        "aria-label": "Map of the property, north up",
        "font-size": f"{LABEL_PX * pixel:.0f}",
        "data-label-px": LABEL_PX,
    }
    return tag("svg", textures(pixel), *layers, _scale_bar(frame), attributes=attributes)


def _layer(name: str, shapes: list[Markup], *, still: bool = False) -> Markup:
    """A group that a switch shows and hides; a still one is not touched by the pointer."""
    if not shapes:
        return Markup("")
    attributes = {"data-layer": name, "class": "still" if still else None}
    return tag("g", *shapes, attributes=attributes)


def _path(data: str, attributes: Mapping[str, object], title: str | None = None) -> Markup:
    inside = [tag("title", title)] if title else []
    return tag("path", *inside, attributes={"d": data, **attributes})


def _mark(words: object, place: tuple[int, int], attributes: Mapping[str, object]) -> Markup:
    """A text element at a place of the drawing."""
    x, y = place
    return tag("text", words, attributes={"x": x, "y": y, **attributes})


EXCLUDED = {"fill": "url(#excluded)", "stroke": palette.TEXTURE, "stroke-width": 1}


SEEDED = {**stroked(palette.SEED_STROKE), "fill": "url(#seeded)"}


SMOKE_PLACE = {
    **stroked(palette.SMOKE_STROKE),
    "fill": palette.SMOKE_STROKE.color,
    "stroke-linejoin": "round",
}


BLOCK = {**stroked(palette.BLOCK_BAND), "stroke-opacity": palette.BLOCK_OPACITY}


def _areas(layer: pd.DataFrame, frame: MapFrame, attributes: Mapping[str, object]) -> list[Markup]:
    """Polygons of one layer, all drawn alike."""
    return [_path(frame.path(row["geometry"]), attributes) for row in rows(layer)]


def _block(row: dict[str, Any], frame: MapFrame) -> Markup:
    """A broad band along the outline of a block; slits between its units are closed for it."""
    closed = row["geometry"].buffer(SLIT_M).buffer(-SLIT_M)
    return _path(frame.path(closed), BLOCK)


def _unit(row: dict[str, Any], number: int, frame: MapFrame) -> Markup:
    """Outline of a unit: reached by the keyboard, and what the pointer meets first."""
    name = "" if pd.isna(row["name"]) else f", {isolated(row['name'])}"
    acres = cell_words(row["gross_ac"], UNITS.column("gross_ac"))
    attributes = {
        "class": "unit",
        "data-unit": number,
        "tabindex": 0,
        "role": "button",
        "aria-pressed": "false",
        "aria-label": f"Unit {isolated(row['unit_id'])}{name}, {acres} acres",
    }
    outline = {**stroked(palette.UNIT_STROKE), "fill": None}
    return tag("g", _path(frame.path(row["geometry"]), outline), attributes=attributes)


def _label(row: dict[str, Any], frame: MapFrame) -> Markup:
    """Name of a unit inside it."""
    inside = row["geometry"].representative_point()
    place = frame.point(inside.x, inside.y)
    return _mark(isolated(row["unit_id"]), place, {"font-weight": 600})


def _strip(row: dict[str, Any], frame: MapFrame) -> Markup:
    width, area, hours = (row_words(row, MOW_STRIPS, n) for n in ("width_ft", "area_ac", "hours"))
    title = (
        f"Mow strip {isolated(row['strip_id'])}: {width} wide, {area}, {row['passes']} passes, "
        f"{hours}"
    )
    attributes = {**stroked(palette.STRIP_STROKE), "fill": palette.STRIP_FILL}
    return _path(frame.path(row["geometry"]), attributes, title)


def _made_line(row: dict[str, Any], frame: MapFrame) -> Markup:
    kind, width, area, hours = (
        row_words(row, MADE_LINES, n) for n in ("kind", "width_ft", "area_ac", "hours")
    )
    title = f"{sentence(kind)} {isolated(row['line_id'])}: {width} wide, {area}, {hours}"
    return _path(frame.path(row["geometry"]), {"fill": palette.LINE_FILLS[row["kind"]]}, title)


def _break_layer(breaks: gpd.GeoDataFrame, status: str, frame: MapFrame) -> Markup:
    """All breaks of one status: a white casing under the line, each with its figures."""
    stroke = palette.BREAK_STROKES[status]
    casing = {"stroke": palette.CASING, "stroke-width": stroke.width + 3, "fill": "none"}
    drawn = [
        (frame.path(row["geometry"]), break_title(row))
        for row in rows(breaks[breaks["status"] == status])
    ]
    below = [_path("".join(data for data, _ in drawn), casing)] if drawn else []
    return _layer(
        f"breaks_{status}",
        below + [_path(data, stroked(stroke), title) for data, title in drawn],
    )


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


def _tie_in(row: dict[str, Any], frame: MapFrame) -> Markup:
    """A dot of the same size at every zoom: square for a gap, round for a tie-in."""
    gap = row["kind"] == "gap"
    color = palette.BREAK_STROKES["gap" if gap else "prepare"].color
    cap = "square" if gap else "round"
    title = f"{row_words(row, TIE_INS, 'kind')}, block {isolated(row['block'])}: {place_words(row)}"
    dots = [
        {"stroke": dot_color, "stroke-width": width, "stroke-linecap": cap, "fill": "none"}
        for dot_color, width in ((palette.CASING, 13), (color, 9))
    ]
    return joined(_path(frame.path(row["geometry"]), dot, title) for dot in dots)


def _smoke_places(places: pd.DataFrame, frame: MapFrame) -> list[Markup]:
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
        drawn.append(_path(frame.path(first["geometry"]), SMOKE_PLACE, title))
    return drawn


def _theme_layer(theme: Theme, frame: MapFrame, *, shown: bool) -> Markup:
    """Units filled by one quantity, with a texture where it is in doubt and its value as text."""
    fills = [_path(frame.path(a.shape), {"fill": a.color}) for a in theme.areas]
    doubts = [
        _path(frame.path(a.shape), {"fill": f"url(#{a.texture})"}) for a in theme.areas if a.texture
    ]
    words = [_value(a.shape, frame, a.words) for a in theme.areas if a.words]
    values = tag("g", *words, attributes={"font-size": "92%"})
    attributes = {"data-theme": theme.name, "class": "still", "hidden": not shown}
    return tag("g", *fills, *doubts, values, attributes=attributes)


def _value(shape: Any, frame: MapFrame, words: str) -> Markup:
    """Value of an area, below the name of the unit."""
    inside = shape.representative_point()
    return _mark(words, frame.point(inside.x, inside.y), {"dy": "1.25em"})


def _lattice(frame: MapFrame) -> list[Markup]:
    """Crosses a quarter mile apart: a measure at every zoom, on paper too."""
    arm = round(QUARTER_MILE_M * PER_M * 0.018)
    crosses = frame.quarter_mile_crosses()
    if not crosses:
        return []
    data = "".join(f"M{x - arm} {y}h{2 * arm}m{-arm} {-arm}v{2 * arm}" for x, y in crosses)
    return [_path(data, {"stroke": LATTICE_COLOR, "stroke-width": 1, "fill": "none"})]


def _scale_bar(frame: MapFrame) -> Markup:
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
        _path(bar, line),
        _mark(f"{feet:,} ft", (x + length // 2, y - unit), {"dy": "-.2em"}),
        _path(f"M{middle} {y}V{top + 2 * unit}{head}", line),
        _mark("N", (middle, top + 2 * unit), {"dy": "-.3em"}),
        attributes={"class": "still", "id": "scale"},
    )


def unit_facts(frames: Frames) -> list[Markup]:
    """For each unit, in the order of the map, what a person who points at it wants to know."""
    by_unit = {
        name: {row["unit_id"]: row for row in rows(frames[name])}
        for name in ("history", "fuel", "season_plan")
    }
    settings = greenness_settings(frames["settings"])
    changes: dict[str, list[dict[str, Any]]] = {}
    for change in rows(frames["greenness"]):
        changes.setdefault(change["unit_id"], []).append(change)
    cards = []
    for number, unit in enumerate(rows(frames["units"])):
        name = unit["unit_id"]
        facts = [
            *_ground_facts(unit),
            *_history_facts(by_unit["history"].get(name)),
            *_fuel_facts(by_unit["fuel"].get(name)),
            *_plan_facts(by_unit["season_plan"].get(name)),
            *_change_facts(changes.get(name, []), settings),
        ]
        pairs = [tag("dt", given(term)) + tag("dd", given(words)) for term, words in facts]
        title = name if pd.isna(unit["name"]) else f"{name}, {unit['name']}"
        card = tag("h3", given(title)) + tag("dl", *map(Markup, pairs))
        cards.append(tag("template", Markup(card), attributes={"id": f"unit-{number}"}))
    return cards


Facts = list[tuple[str, str]]


def _ground_facts(unit: Mapping[Any, Any]) -> Facts:
    columns = [UNITS.column(n) for n in ("cover", "gross_ac", "burnable_ac", "seedable_ac")]
    return [(bare_heading(column), row_words(unit, UNITS, column.name)) for column in columns]


def _history_facts(history: Mapping[Any, Any] | None) -> Facts:
    """Day of the last burn, with the share of the unit that burned that year if not all of it."""
    if history is None:
        return []
    share = row_words(history, HISTORY, "burned_share_pct")
    part = "" if not history["burned_share_pct"] < WHOLE_PCT else f", {share} of the unit that year"
    return [
        ("Last burn", row_words(history, HISTORY, "last_burn") + part),
        ("Last grazed", row_words(history, HISTORY, "last_grazed")),
    ]


WHOLE_PCT = 99.5
"""From this share on a unit burned whole, as a figure without decimals says."""


def _fuel_facts(fuel: Mapping[Any, Any] | None) -> Facts:
    if fuel is None:
        return []
    load = row_words(fuel, FUEL, "spring_load_lb_ac")
    carries = row_words(fuel, FUEL, "carries")
    return [("Carries a fire", carries if load == NOTHING else f"{carries}, {load}")]


def _plan_facts(plan: Mapping[Any, Any] | None) -> Facts:
    return [("Suggestion", row_words(plan, SEASON_PLAN, "suggestion"))] if plan else []


def _change_facts(changes: Any, settings: Mapping[str, str]) -> Facts:
    """Change of each comparison against the unburned units, and what it says."""
    facts = []
    for change in changes:
        words = cell_words(change["change_vs_reference"], GREENNESS.column("change_vs_reference"))
        verdict = verdict_words(change, settings)
        said = verdict if words == NOTHING else f"{words}: {verdict}"
        facts.append((f"Greenness, {change['comparison']}", said))
    return facts
