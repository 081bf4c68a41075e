"""The map of the property as one SVG drawing, layer upon layer, and the card of each unit."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.greenness.change_layers import GREENNESS
from pipeline.ground.layers import UNITS
from pipeline.pages import palette
from pipeline.pages.greenness_words import greenness_settings, verdict_words
from pipeline.pages.map_frame import MapFrame, frame_around
from pipeline.pages.map_themes import Theme, map_themes
from pipeline.pages.maps.conflict_marks import conflict_marks
from pipeline.pages.maps.map_shapes import (
    EXCLUDED,
    SEEDED,
    block_band,
    break_layer,
    drawn_areas,
    drawn_path,
    gate,
    lattice,
    layer_group,
    made_line,
    map_text,
    mow_strip,
    patch_marks,
    photo_marks,
    scale_bar,
    smoke_marks,
    source_break,
    tie_in,
)
from pipeline.pages.markup import Markup, given, isolated, tag
from pipeline.pages.palette import stroked
from pipeline.pages.symbols.textures import textures
from pipeline.pages.words import NOTHING, bare_heading, cell_words, row_words, rows
from pipeline.pages.work.conflict_list import conflict_facts
from pipeline.season.fuel.layers import FUEL
from pipeline.season.layers import HISTORY
from pipeline.season.plan_layers import SEASON_PLAN

Frames = Mapping[str, pd.DataFrame]


MAP_WIDTH_PX = 960
"""Width of the map that labels and textures are sized for until the page measures its own."""


LABEL_PX = 13.0


def draw_map(frames: Frames) -> Markup:
    """The whole map. What a layer without rows would show is left out."""
    frame = frame_around(frames["units"])
    pixel = frame.width / MAP_WIDTH_PX
    units = rows(frames["units"])
    blocks = [block_band(row, frame) for row in rows(frames["burn_blocks"])]
    layers = [
        layer_group("lattice", lattice(frame), still=True),
        *(_theme_layer(theme, frame, shown=n == 0) for n, theme in enumerate(map_themes(frames))),
        layer_group(
            "exclusions", drawn_areas(frames["excluded_ground"], frame, EXCLUDED), still=True
        ),
        layer_group("seed_areas", drawn_areas(frames["seed_areas"], frame, SEEDED), still=True),
        layer_group("burn_blocks", blocks, still=True),
        layer_group("units", [_unit(row, n, frame) for n, row in enumerate(units)]),
        layer_group("mow_strips", [mow_strip(row, frame) for row in rows(frames["mow_strips"])]),
        layer_group("made_lines", [made_line(row, frame) for row in rows(frames["made_lines"])]),
        layer_group("sources", [source_break(row, frame) for row in rows(frames["breaks"])]),
        *(break_layer(frames["firebreaks"], status, frame) for status in palette.BREAK_STROKES),
        layer_group("tie_ins", [tie_in(row, frame) for row in rows(frames["tie_ins"])]),
        layer_group("gates", [gate(row, frame) for row in rows(frames["gates"])]),
        layer_group("smoke_places", smoke_marks(frames["smoke_places"], frame)),
        layer_group("patch_ground", patch_marks(frames["patch_ground"], frame)),
        layer_group("photo_points", photo_marks(frames["photo_points"], frame)),
        layer_group("labels", [_label(row, frame) for row in units], still=True),
        layer_group("conflicts", conflict_marks(frames["conflicts"], frame, pixel=pixel)),
    ]
    attributes = {
        "id": "map",
        "viewBox": f"0 0 {frame.width} {frame.height}",
        "role": "group",
        "aria-label": "Map of the property, north up",
        "font-size": f"{LABEL_PX * pixel:.0f}",
        "data-label-px": LABEL_PX,
    }
    return tag("svg", textures(pixel), *layers, scale_bar(frame), attributes=attributes)


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
    return tag("g", drawn_path(frame.path(row["geometry"]), outline), attributes=attributes)


def _label(row: dict[str, Any], frame: MapFrame) -> Markup:
    """Name of a unit inside it."""
    inside = row["geometry"].representative_point()
    place = frame.point(inside.x, inside.y)
    return map_text(isolated(row["unit_id"]), place, {"font-weight": 600})


def _theme_layer(theme: Theme, frame: MapFrame, *, shown: bool) -> Markup:
    """Units filled by one quantity, with a texture where it is in doubt and its value as text."""
    fills = [drawn_path(frame.path(a.shape), {"fill": a.color}) for a in theme.areas]
    doubts = [
        drawn_path(frame.path(a.shape), {"fill": f"url(#{a.texture})"})
        for a in theme.areas
        if a.texture
    ]
    words = [_value(a.shape, frame, a.words) for a in theme.areas if a.words]
    values = tag("g", *words, attributes={"font-size": "92%"})
    attributes = {"data-theme": theme.name, "class": "still", "hidden": not shown}
    return tag("g", *fills, *doubts, values, attributes=attributes)


def _value(shape: Any, frame: MapFrame, words: str) -> Markup:
    """Value of an area, below the name of the unit."""
    inside = shape.representative_point()
    return map_text(words, frame.point(inside.x, inside.y), {"dy": "1.25em"})


def unit_facts(frames: Frames) -> list[Markup]:
    """For each unit, in the order of the map, what a person who points at it wants to know."""
    by_unit = {
        name: {row["unit_id"]: row for row in rows(frames[name])}
        for name in ("history", "fuel", "season_plan")
    }
    conflicts = conflict_facts(frames["conflicts"], frames["planned_work"])
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
            *conflicts.get(name, []),
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
