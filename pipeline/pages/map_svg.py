"""The map of the property as one SVG drawing, layer upon layer, and the card of each unit."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.fire.breaks.given_breaks import given_breaks
from pipeline.greenness.change_layers import GREENNESS
from pipeline.ground.layers import UNITS
from pipeline.pages import palette
from pipeline.pages.greenness_words import greenness_settings, verdict_words
from pipeline.pages.map_frame import MapFrame, frame_around
from pipeline.pages.map_themes import Theme, map_themes
from pipeline.pages.maps.area_names import WIND, area_names, block_names, wind_arrows
from pipeline.pages.maps.conflict_marks import conflict_marks, conflict_signs
from pipeline.pages.maps.map_shapes import (
    BLOCK,
    EXCLUDED,
    PATCH,
    PHOTO,
    SEEDED,
    SMOKE_PLACE,
    SOURCE,
    STRIP,
    block_band,
    break_layer,
    drawn_areas,
    gate,
    lattice,
    layer_group,
    made_line,
    map_text,
    mow_strip,
    named,
    patch_marks,
    photo_marks,
    place_signs,
    scale_bar,
    signs,
    smoke_marks,
    source_break,
    tie_in,
    water_place,
)
from pipeline.pages.maps.outlines import Outlines
from pipeline.pages.maps.work_looks import shared_textures
from pipeline.pages.markup import Markup, given, isolated, joined, tag
from pipeline.pages.packing import packed
from pipeline.pages.palette import stroked
from pipeline.pages.season_words import option_lines
from pipeline.pages.symbols.textures import textures
from pipeline.pages.words import NOTHING, bare_heading, cell_words, row_words, rows
from pipeline.pages.work.conflict_list import conflict_facts
from pipeline.season.fuel.layers import FUEL
from pipeline.season.layers import HISTORY

Frames = Mapping[str, pd.DataFrame]


MAP_WIDTH_PX = 960
"""Width of the map that labels and textures are sized for until the page measures its own."""


LABEL_PX = 13.0


def draw_map(frames: Frames) -> Markup:
    """The whole map. What a layer without rows would show is left out."""
    frame = frame_around(frames["units"])
    pixel = frame.width / MAP_WIDTH_PX
    units, outlines = rows(frames["units"]), Outlines(frames["units"])
    given = given_breaks(frames["break_lines"], frames["break_areas"])
    blocks = [block_band(row, frame) for row in rows(frames["burn_blocks"])]
    layers = [
        layer_group("lattice", lattice(frame), still=True),
        _ground(frames, frame, outlines),
        *(
            _theme_layer(theme, frame, outlines, shown=n == 0)
            for n, theme in enumerate(map_themes(frames))
        ),
        layer_group(
            "exclusions", drawn_areas(frames["excluded_ground"], frame), still=True, look=EXCLUDED
        ),
        layer_group(
            "seed_areas", drawn_areas(frames["seed_areas"], frame), still=True, look=SEEDED
        ),
        layer_group("burn_blocks", blocks, still=True, look=BLOCK),
        layer_group("units", [_unit(row, n, frame, outlines) for n, row in enumerate(units)]),
        layer_group(
            "mow_strips", [mow_strip(row, frame) for row in rows(frames["mow_strips"])], look=STRIP
        ),
        layer_group("made_lines", [made_line(row, frame) for row in rows(frames["made_lines"])]),
        layer_group("sources", [source_break(row, frame) for row in rows(given)], look=SOURCE),
        *(break_layer(frames["firebreaks"], status, frame) for status in palette.BREAK_STROKES),
        layer_group("tie_ins", [tie_in(row, frame) for row in rows(frames["tie_ins"])]),
        layer_group("gates", [gate(row, frame) for row in rows(frames["gates"])]),
        layer_group(
            "water_places", [water_place(row, frame) for row in rows(frames["water_places"])]
        ),
        layer_group("smoke_places", smoke_marks(frames["smoke_places"], frame), look=SMOKE_PLACE),
        layer_group("patch_ground", patch_marks(frames["patch_ground"], frame), look=PATCH),
        layer_group("photo_points", photo_marks(frames["photo_points"], frame), look=PHOTO),
        layer_group("wind", wind_arrows(frames["burn_blocks"], frame), look=stroked(WIND)),
        named("burn_blocks", block_names(frames["burn_blocks"], frame)),
        named("seed_areas", area_names(frames["seed_areas"], frame)),
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
    looks = textures(pixel, more=shared_textures(rows(frames["planned_work"])))
    known = (looks, outlines.defined(), signs(*place_signs(), *conflict_signs()))
    return tag("svg", *known, *layers, scale_bar(frame), attributes=attributes)


def _ground(frames: Frames, frame: MapFrame, outlines: Outlines) -> Markup:
    """White ground of the units, which tells those that a quantity leaves out from the outside."""
    shapes = (outlines.drawn(shape, frame, {}) for shape in frames["units"].geometry)
    return tag("g", *shapes, attributes={"class": "still", "fill": palette.CASING})


def _unit(row: dict[str, Any], number: int, frame: MapFrame, outlines: Outlines) -> Markup:
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
    return tag("g", outlines.drawn(row["geometry"], frame, outline), attributes=attributes)


def _label(row: dict[str, Any], frame: MapFrame) -> Markup:
    """Name of a unit inside it."""
    inside = row["geometry"].representative_point()
    place = frame.point(inside.x, inside.y)
    return map_text(isolated(row["unit_id"]), place, {"font-weight": 600})


def _theme_layer(theme: Theme, frame: MapFrame, outlines: Outlines, *, shown: bool) -> Markup:
    """Units filled by one quantity, with a texture where it is in doubt and its value as text."""
    fills = [outlines.drawn(a.shape, frame, {"fill": a.color}) for a in theme.areas]
    doubts = [
        outlines.drawn(a.shape, frame, {"fill": f"url(#{a.texture})"})
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


def unit_facts(frames: Frames) -> Markup:
    """For each unit, in the order of the map, what a person who points at it wants to know.

    Packed, since it is the page's script that shows it.
    """
    cards = {"id": "cards", "hidden": True, "data-packed": packed(joined(unit_cards(frames)))}
    return tag("div", attributes=cards)


def unit_cards(frames: Frames) -> list[Markup]:
    """Card of each unit: its name, and facts as terms and words."""
    by_unit = {
        name: {row["unit_id"]: row for row in rows(frames[name])} for name in ("history", "fuel")
    }
    options = dict(list(frames["season_options"].groupby("unit_id")))
    conflicts = conflict_facts(frames["conflicts"], frames["planned_work"])
    settings = greenness_settings(frames["settings"])
    changes: dict[str, list[dict[str, Any]]] = {}
    for change in rows(frames["greenness"]):
        changes.setdefault(change["unit_id"], []).append(change)
    cards = []
    for unit in rows(frames["units"]):
        name = unit["unit_id"]
        facts = [
            *_ground_facts(unit),
            *_history_facts(by_unit["history"].get(name)),
            *_fuel_facts(by_unit["fuel"].get(name)),
            *_option_facts(options.get(name)),
            *conflicts.get(name, []),
            *_change_facts(changes.get(name, []), settings),
        ]
        pairs = [joined((tag("dt", given(t)), tag("dd", given(words)))) for t, words in facts]
        title = name if pd.isna(unit["name"]) else f"{name}, {unit['name']}"
        cards.append(tag("div", tag("h3", given(title)), tag("dl", *pairs)))
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


def _option_facts(options: pd.DataFrame | None) -> Facts:
    """Up to three options for the season, best first."""
    if options is None:
        return []
    lines = option_lines(options)
    return [("Option" if n == 1 else "Or", line) for n, line in enumerate(lines, 1)]


def _change_facts(changes: Any, settings: Mapping[str, str]) -> Facts:
    """Change of each comparison against the unburned units, and what it says."""
    facts = []
    for change in changes:
        words = cell_words(change["change_vs_reference"], GREENNESS.column("change_vs_reference"))
        verdict = verdict_words(change, settings)
        said = verdict if words == NOTHING else f"{words}: {verdict}"
        facts.append((f"Greenness, {change['comparison']}", said))
    return facts
