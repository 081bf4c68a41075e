"""Key of the map, which is also its switches, and the facts that a chosen unit shows."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.pages import palette
from pipeline.pages.greenness_words import greenness_settings, verdict_words
from pipeline.pages.map_svg import rows, stroked, textures
from pipeline.pages.map_themes import Theme, map_themes
from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.words import NOTHING, date_words, number_words, signed_words, text_words

Frames = Mapping[str, "pd.DataFrame"]


def draw_switches(frames: Frames) -> Markup:
    """Fields to choose what the map shows; each stands beside a sample of what it switches."""
    themes = map_themes(frames)
    fills = [_fill_switch(theme, chosen=n == 0) for n, theme in enumerate(themes)]
    plain = tag("label", _radio("none", not themes), tag("span", "Plain ground"),
                attributes={"class": "bare"})  # fmt: skip
    unseen: dict[str, object] = {"width": 0, "height": 0, "aria-hidden": "true", "class": "store"}
    return joined(
        (
            tag("svg", textures(1.0, suffix="-key"), attributes=unseen),
            tag("fieldset", tag("legend", "Lines and areas"), *_line_switches(frames)),
            tag("fieldset", tag("legend", "Units filled by"), *fills, plain),
        )
    )


def _line_switches(frames: Frames) -> list[Markup]:
    breaks = frames["firebreaks"]["status"]
    band = palette.BLOCK_BAND
    block = {"stroke": band.color, "stroke-width": band.width, "fill": "none"}
    excluded = {"fill": "url(#excluded-key)", "stroke": palette.TEXTURE}
    seeded = {**stroked(palette.SEED_STROKE), "fill": "url(#seeded-key)"}
    strip = {**stroked(palette.STRIP_STROKE), "fill": palette.STRIP_FILL}
    switches = [
        ("labels", "Unit names", _letters(), len(frames["units"])),
        ("exclusions", "Left out of burning or seeding", _box(excluded),
         len(frames.get("excluded_ground", ()))),
        ("burn_blocks", "Burn blocks", _band(block), len(frames["burn_blocks"])),
        *(
            (f"breaks_{status}", words, _line(palette.BREAK_STROKES[status]),
             int((breaks == status).sum()))
            for status, words in (
                ("existing", "Break that exists"),
                ("prepare", "Break to prepare"),
                ("gap", "Gap in a break"),
            )
        ),
        ("mow_strips", "Mow strips", _box(strip), len(frames["mow_strips"])),
        ("tie_ins", "Tie-ins (round), gaps (square)", _dots(), len(frames["tie_ins"])),
        ("seed_areas", "Seed areas", _box(seeded), len(frames["seed_areas"])),
    ]  # fmt: skip
    return [
        tag("label", _check(name), sample, tag("span", words))
        for name, words, sample, count in switches
        if count
    ]


def _check(name: str) -> Markup:
    told: dict[str, object] = {"type": "checkbox", "data-shows": name, "checked": True}
    return tag("input", attributes=told)


def _radio(name: str, chosen: bool) -> Markup:
    told: dict[str, object] = {
        "type": "radio", "name": "fill", "data-fills": name, "checked": chosen,
    }  # fmt: skip
    return tag("input", attributes=told)


def _fill_switch(theme: Theme, *, chosen: bool) -> Markup:
    """A choice with its key below, shown while it is the chosen one."""
    label = tag("label", _radio(theme.name, chosen), tag("span", given(theme.title)),
                attributes={"class": "bare"})  # fmt: skip
    items = [
        tag("li", _swatch(color, texture), tag("span", words))
        for color, texture, words in theme.key
    ]
    key = tag(
        "div",
        tag("ul", *items, attributes={"class": "key"}),
        tag("p", theme.about, attributes={"class": "about"}),
        attributes={"id": f"key-{theme.name}", "hidden": not chosen},
    )
    return joined((label, key))


def _sample(*shapes: Markup, width: int = 48) -> Markup:
    told: dict[str, object] = {
        "width": width, "height": 18, "viewBox": f"0 0 {width} 18", "aria-hidden": "true",
    }  # fmt: skip
    return tag("svg", *shapes, attributes=told)


def _rect(told: Mapping[str, object], width: int = 46) -> Markup:
    return tag("rect", attributes={"x": 1, "y": 1, "width": width, "height": 16, **told})


def _box(told: Mapping[str, object]) -> Markup:
    return _sample(_rect(told))


def _band(told: Mapping[str, object]) -> Markup:
    line = {"d": "M0 9H48", "stroke-opacity": palette.BLOCK_OPACITY, **told}
    return _sample(tag("path", attributes=line))


def _swatch(color: str, texture: str | None) -> Markup:
    outline = {"stroke": palette.INK, "stroke-width": 0.7}
    shapes = [_rect({"fill": color, **outline}, 38)]
    if texture:
        shapes.append(_rect({"fill": f"url(#{texture}-key)"}, 38))
    return _sample(*shapes, width=40)


def _line(stroke: palette.Stroke) -> Markup:
    casing = tag(
        "path",
        attributes={"d": "M0 9H48", "stroke": palette.CASING, "stroke-width": stroke.width + 3},
    )
    return _sample(casing, tag("path", attributes={"d": "M0 9H48", **stroked(stroke)}))


def _dots() -> Markup:
    marks = [
        tag("path", attributes={"d": f"M{x} 9h.1", "stroke": color, "stroke-width": 9,
                                "stroke-linecap": cap})
        for x, color, cap in (
            (12, palette.BREAK_STROKES["prepare"].color, "round"),
            (34, palette.BREAK_STROKES["gap"].color, "square"),
        )
    ]  # fmt: skip
    return _sample(*marks)


def _letters() -> Markup:
    told = {"x": 24, "y": 14, "text-anchor": "middle", "font-size": 13, "font-weight": 600}
    return _sample(tag("text", "Ab1", attributes={**told, "fill": palette.INK}))


def unit_facts(frames: Frames) -> list[Markup]:
    """For each unit, in the order of the map, what a person who points at it wants to know."""
    by_unit = {
        name: {r["unit_id"]: r for r in rows(frames[name].drop(columns="geometry"))}
        for name in ("history", "fuel", "season_plan")
    }
    changes = rows(frames["greenness"].drop(columns="geometry"))
    settings = greenness_settings(frames["settings"])
    cards = []
    for number, unit in enumerate(rows(frames["units"].drop(columns="geometry"))):
        name = unit["unit_id"]
        facts = [*_ground_facts(unit), *_state_facts({k: v.get(name) for k, v in by_unit.items()})]
        facts += [
            (f"Greenness, {c['comparison']}", _change_words(c, settings))
            for c in changes
            if c["unit_id"] == name
        ]
        pairs = [tag("dt", given(term)) + tag("dd", given(words)) for term, words in facts]
        title = name if pd.isna(unit["name"]) else f"{name}, {unit['name']}"
        card = tag("h3", given(title)) + tag("dl", *map(Markup, pairs))
        cards.append(tag("template", Markup(card), attributes={"id": f"unit-{number}"}))
    return cards


def _ground_facts(unit: Mapping[Any, Any]) -> list[tuple[str, str]]:
    return [
        ("Ground", text_words(unit["cover"])),
        ("Gross", f"{number_words(unit['gross_ac'], 1)} ac"),
        ("Burnable", f"{number_words(unit['burnable_ac'], 1)} ac"),
        ("Seedable", f"{number_words(unit['seedable_ac'], 1)} ac"),
    ]


def _state_facts(found: Mapping[str, Mapping[Any, Any] | None]) -> list[tuple[str, str]]:
    history, fuel, plan = found["history"], found["fuel"], found["season_plan"]
    facts = []
    if history:
        facts.append(("Last burn", _last_burn_words(history)))
        facts.append(("Last grazed", date_words(history["last_grazed"])))
    if fuel:
        load = number_words(fuel["spring_load_lb_ac"], 0)
        words = fuel["carries"] if load == NOTHING else f"{fuel['carries']}, {load} lb/ac"
        facts.append(("Carries a fire", words))
    if plan:
        facts.append(("Suggestion", text_words(plan["suggestion"])))
    return facts


def _last_burn_words(history: Mapping[Any, Any]) -> str:
    """Day of the last burn, with the share of the unit that burned that year if not all of it."""
    share = number_words(history["burned_share_pct"], 0)
    part = "" if share in (NOTHING, "100") else f", {share} % of the unit that year"
    return date_words(history["last_burn"]) + part


def _change_words(change: Mapping[Any, Any], settings: Mapping[str, str]) -> str:
    words = verdict_words(change, settings)
    if pd.isna(change["change_vs_reference"]):
        return words
    return f"{signed_words(change['change_vs_reference'], 3)}: {words}"
