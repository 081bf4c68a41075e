"""Quantities that the units of the map are filled by, and the map's key, which is its switches."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from pipeline.fire.breaks.given_breaks import given_breaks
from pipeline.pages import palette
from pipeline.pages.maps.area_names import WIND
from pipeline.pages.maps.conflict_marks import conflict_icons, mark_paths
from pipeline.pages.maps.work_looks import kinds_by_unit, shared_textures, work_texture
from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.palette import stroked
from pipeline.pages.symbols.layer_symbols import (
    BREAK_WORDS,
    CHANGE_COLUMN,
    change_style,
    comparison_scale,
    fuel_style,
    natives_style,
    years_style,
)
from pipeline.pages.symbols.looks import Look, Style
from pipeline.pages.symbols.textures import textures
from pipeline.pages.words import NOTHING, number_words, rows, sentence
from pipeline.pages.work_words import WORK_WORDS
from pipeline.work.codes import WORK_KINDS

Frames = Mapping[str, pd.DataFrame]


@dataclass(frozen=True, slots=True)
class FilledArea:
    """A shape, its color, the texture of a doubt (or none), and the value to print on it."""

    shape: Any
    color: str
    texture: str | None = None
    words: str = ""


Areas = tuple[FilledArea, ...]
Key = tuple[tuple[str, str | None, str], ...]
Words = Callable[[Mapping[Any, Any]], str]


@dataclass(frozen=True, slots=True)
class Theme:
    """One quantity: its areas and its key, rows of color, texture and words."""

    name: str
    title: str
    about: str
    areas: Areas
    key: Key


def map_themes(frames: Frames) -> list[Theme]:
    """Every theme that the layers allow: the greenness changes first."""
    greenness, units = frames["greenness"], frames["units"]
    themes = [
        _with_rest(_change_theme(number, str(name), rows), rows, units, "not in this comparison")
        for number, (name, rows) in enumerate(greenness.groupby("comparison", sort=True))
    ]
    if len(frames["fire_history"]) or frames["history"]["last_burn"].notna().any():
        themes.append(_years_theme(frames))
    makers: tuple[tuple[str, Callable[[pd.DataFrame], Theme], str], ...] = (
        ("fuel", _fuel_theme, "fuel not told"),
        ("community", _natives_theme, "no survey"),
        ("planned_work", _work_theme, "nothing planned"),
    )
    for name, theme, rest in makers:
        if len(frames[name]):
            themes.append(_with_rest(theme(frames[name]), frames[name], units, rest))
    return themes


def _with_rest(theme: Theme, told: pd.DataFrame, units: pd.DataFrame, words: str) -> Theme:
    """The theme with units that it does not speak of in its key: their ground is left white."""
    if units["unit_id"].isin(told["unit_id"]).all():
        return theme
    return replace(theme, key=(*theme.key, (palette.CASING, None, words)))


def _themed(rows: Iterable[Mapping[Any, Any]], style: Style, words: Words) -> Areas:
    """Areas of rows by the table of symbols; a pattern that lies over goes before the look's."""
    areas = []
    for row in rows:
        look = style.look(row)
        patterns = [each.pattern for each in (*style.over(row), look) if each.pattern]
        color = look.fill or palette.PAPER
        areas.append(FilledArea(row["geometry"], color, next(iter(patterns), None), words(row)))
    return tuple(areas)


def _key(looks: Iterable[Look]) -> Key:
    """Key of the looks of a style; what lies over is shown on the ground of no clear change."""
    return tuple((look.fill or palette.NO_CLEAR_CHANGE, look.pattern, look.words) for look in looks)


def _change_theme(number: int, name: str, rows: pd.DataFrame) -> Theme:
    scale = comparison_scale(rows)
    style = change_style(scale)
    classes, rest = style.looks[: len(scale.classes())], style.looks[len(scale.classes()) :]
    return Theme(
        name=f"change{number}",
        title=f"Greenness change, {name}",
        about="Change beyond that of the unburned units, in index units. It tells greenness, "
        "not plants and not success.",
        areas=_themed(rows.to_dict("records"), style, _change_words),
        key=_key((*reversed(classes), *reversed(rest))),
    )


def _change_words(row: Mapping[Any, Any]) -> str:
    change = row[CHANGE_COLUMN]
    return "?" if pd.isna(change) else number_words(change, 2, signed=True)


def _years_theme(frames: Frames) -> Theme:
    """Years since the last burn, by the parts of the burn map where there is one."""
    burned_parts, history = frames["fire_history"], frames["history"]
    whole = history[~history["unit_id"].isin(burned_parts["unit_id"])]
    style = years_style()
    return Theme(
        name="years",
        title="Years since the last burn",
        about="From the records given; a burn that was not written down is not in it.",
        areas=_themed(
            [*whole.to_dict("records"), *burned_parts.to_dict("records")], style, _years_words
        ),
        key=_key(style.looks),
    )


def _years_words(row: Mapping[Any, Any]) -> str:
    years = row["years_since_burn"]
    return "" if pd.isna(years) else f"{number_words(years, 0)} y"


def _fuel_theme(fuel: pd.DataFrame) -> Theme:
    style = fuel_style()
    return Theme(
        name="fuel",
        title="Standing fuel in spring",
        about="Dry load at the likely winter loss, in pounds an acre. Not a permission to ignite.",
        areas=_themed(fuel.to_dict("records"), style, _fuel_words),
        key=_key(style.looks),
    )


def _fuel_words(row: Mapping[Any, Any]) -> str:
    load = number_words(row["spring_load_lb_ac"], 0)
    return "" if load == NOTHING else load


def _natives_theme(community: pd.DataFrame) -> Theme:
    """Natives of the latest survey of each unit."""
    latest = community.sort_values("date").groupby("unit_id").tail(1)
    style = natives_style()
    return Theme(
        name="natives",
        title="Natives among the plants",
        about="Share of the plant cover in the latest survey of each unit, in percent.",
        areas=_themed(latest.to_dict("records"), style, _natives_words),
        key=_key(style.looks),
    )


def _natives_words(row: Mapping[Any, Any]) -> str:
    share = number_words(row["native_share_pct"], 0)
    return "" if share == NOTHING else f"{share} %"


def _work_theme(planned_work: pd.DataFrame) -> Theme:
    """Units by the work that is planned on them; several kinds stand side by side in strips."""
    kinds, there = kinds_by_unit(rows(planned_work)), set(planned_work["kind"])
    areas = [
        FilledArea(
            row["geometry"],
            palette.WORK_TINTS[kinds[row["unit_id"]][0]],
            work_texture(*kinds[row["unit_id"]]),
            ", ".join(WORK_WORDS[kind] for kind in kinds[row["unit_id"]]),
        )
        for row in rows(planned_work.drop_duplicates("unit_id"))
    ]
    return Theme(
        name="work",
        title="Work this season",
        about="What is planned, not what is allowed: no burn on this map is a permission. Kinds in "
        "strips side by side are each planned on all of the unit.",
        areas=tuple(areas),
        key=tuple(
            (palette.WORK_TINTS[kind], work_texture(kind), WORK_WORDS[kind])
            for kind in WORK_KINDS
            if kind in there
        ),
    )


def draw_switches(frames: Frames) -> Markup:
    """Fields to choose what the map shows; each stands beside a sample of what it switches."""
    themes = map_themes(frames)
    fills = [_fill_switch(theme, chosen=n == 0) for n, theme in enumerate(themes)]
    ground = _label(_radio("none", not themes), "Plain ground", bare=True)
    unseen = {"width": 0, "height": 0, "aria-hidden": "true", "class": "store"}
    looks = textures(1.0, suffix="-key", more=shared_textures(rows(frames["planned_work"])))
    return joined(
        (
            tag("svg", looks, conflict_icons(), attributes=unseen),
            tag("fieldset", tag("legend", "Lines and areas"), *_line_switches(frames)),
            tag("fieldset", tag("legend", "Units filled by"), *fills, ground),
        )
    )


def _line_switches(frames: Frames) -> list[Markup]:
    """A switch for each layer that has rows, and for each status of a break."""
    breaks = frames["firebreaks"]
    excluded = _area("excluded", {"stroke": palette.TEXTURE})
    seeded = _sample(_rect(stroked(palette.SEED_BAND)))
    water = _hollow("round", palette.WATER_STROKE.color, 13)
    smoke = _sample(_stretch({**stroked(palette.SMOKE_STROKE), "d": "M18 9h12"}))
    switches = [
        ("labels", "Unit names", _letters(), frames["units"]),
        ("exclusions", "Left out of burning or seeding", excluded, frames["excluded_ground"]),
        ("burn_blocks", "Burn blocks", _band(), frames["burn_blocks"]),
        ("wind", "Wind that a burn is planned for", _wind(), _windy(frames["burn_blocks"])),
        *(_break_switch(breaks, status) for status in BREAK_WORDS),
        ("mow_strips", "Mow strips", _strip(), frames["mow_strips"]),
        ("made_lines", "Bare lines, blacklines", _made_lines(), frames["made_lines"]),
        ("tie_ins", "Tie-ins (round), gaps (square)", _dots(), frames["tie_ins"]),
        (
            "sources",
            "Roads and other breaks given",
            _line(palette.SOURCE_STROKE),
            given_breaks(frames["break_lines"], frames["break_areas"]),
        ),
        ("gates", "Gates", _hollow("square", palette.INK, 11), frames["gates"]),
        ("water_places", "Water to fill from", water, frames["water_places"]),
        ("smoke_places", "Places to keep smoke off", smoke, frames["smoke_places"]),
        ("seed_areas", "Seed areas", seeded, frames["seed_areas"]),
        ("patch_ground", "Patches of weeds or brush", _patch(), frames["patch_ground"]),
        ("photo_points", "Photo points, the way they look", _photo(), frames["photo_points"]),
        ("conflicts", "Conflicts: star, stop and ask", _star(), frames["conflicts"]),
    ]
    return [
        _label(_check(name), words, sample) for name, words, sample, rows in switches if len(rows)
    ]


def _windy(blocks: pd.DataFrame) -> pd.DataFrame:
    """Blocks with a planned wind."""
    return blocks[blocks["wind_from_deg"].notna()]


def _break_switch(breaks: pd.DataFrame, status: str) -> tuple[str, str, Markup, pd.DataFrame]:
    sample = _line(palette.BREAK_STROKES[status])
    return (
        f"breaks_{status}",
        sentence(BREAK_WORDS[status]),
        sample,
        breaks[breaks["status"] == status],
    )


def _label(
    field: Markup, words: object, sample: Markup | str = "", *, bare: bool = False
) -> Markup:
    """A field with its sample and words; a bare one has no sample."""
    attributes = {"class": "bare"} if bare else None
    return tag("label", field, sample, tag("span", words), attributes=attributes)


def _check(name: str) -> Markup:
    return tag("input", attributes={"type": "checkbox", "data-shows": name, "checked": True})


def _radio(name: str, chosen: bool) -> Markup:
    attributes = {"type": "radio", "name": "fill", "data-fills": name, "checked": chosen}
    return tag("input", attributes=attributes)


def _fill_switch(theme: Theme, *, chosen: bool) -> Markup:
    """A choice with its key below, shown while it is the chosen one."""
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
    return joined((_label(_radio(theme.name, chosen), given(theme.title), bare=True), key))


def _sample(*shapes: Markup, width: int = 48) -> Markup:
    box = f"0 0 {width} 18"
    attributes = {"width": width, "height": 18, "viewBox": box, "aria-hidden": "true"}
    return tag("svg", *shapes, attributes=attributes)


def _rect(attributes: Mapping[str, object], width: int = 46) -> Markup:
    return tag("rect", attributes={"x": 1, "y": 1, "width": width, "height": 16, **attributes})


def _area(texture: str, outline: Mapping[str, object]) -> Markup:
    return _sample(_rect({**outline, "fill": f"url(#{texture}-key)"}))


def _patch() -> Markup:
    """Ground of a patch with its mark."""
    ground = {**stroked(palette.PATCH_STROKE), "fill": "url(#patched-key)"}
    return _hollow("square", palette.PATCH_STROKE.color, 10, _rect(ground), way="l.1 .1")


def _photo() -> Markup:
    """A photo point and its wedge."""
    look = {**stroked(palette.PHOTO_STROKE), "fill": palette.CASING, "d": "M12 9L36 2V16z"}
    dot = {"stroke": palette.PHOTO_STROKE.color, "stroke-width": 8, "stroke-linecap": "round"}
    return _sample(_stretch(look), _stretch({**dot, "d": "M12 9h.1"}))


def _strip() -> Markup:
    return _sample(_rect({**stroked(palette.STRIP_STROKE), "fill": palette.STRIP_FILL}))


def _made_lines() -> Markup:
    bare, black = palette.LINE_FILLS.values()
    return _sample(_rect({"fill": bare}, 46), _rect({"fill": black}, 23))


def _stretch(attributes: Mapping[str, object]) -> Markup:
    """A line across a sample."""
    return tag("path", attributes={"d": "M0 9H48", **attributes})


def _band() -> Markup:
    band = stroked(palette.BLOCK_BAND)
    return _sample(_stretch({**band, "stroke-opacity": palette.BLOCK_OPACITY}))


def _wind() -> Markup:
    """An arrow, as the planned wind is drawn."""
    return _sample(_stretch({**stroked(WIND), "d": "M8 9H38M30 4L38 9L30 14"}))


def _line(stroke: palette.Stroke) -> Markup:
    casing = {"stroke": palette.CASING, "stroke-width": stroke.width + 3}
    return _sample(_stretch(casing), _stretch(stroked(stroke)))


def _swatch(color: str, texture: str | None) -> Markup:
    shapes = [_rect({"fill": color, "stroke": palette.INK, "stroke-width": 0.7}, 38)]
    if texture:
        shapes.append(_rect({"fill": f"url(#{texture}-key)"}, 38))
    return _sample(*shapes, width=40)


def _dots() -> Markup:
    looks = ((12, "prepare", "round"), (34, "gap", "square"))
    return _sample(
        *(
            tag(
                "path",
                attributes={
                    "d": f"M{x} 9h.1",
                    "stroke": palette.BREAK_STROKES[status].color,
                    "stroke-width": 9,
                    "stroke-linecap": cap,
                },
            )
            for x, status, cap in looks
        )
    )


def _hollow(cap: str, color: str, side: int, *under: Markup, way: str = "h.1") -> Markup:
    """A hollow square as gates are drawn, a ring as water, a diamond as a patch."""
    ends = {"d": f"M24 9{way}", "stroke-linecap": cap}
    strokes = ((color, side), (palette.CASING, side // 2 + 1 if under else 7))
    return _sample(
        *under,
        *(tag("path", attributes={**ends, "stroke": c, "stroke-width": w}) for c, w in strokes),
    )


def _star() -> Markup:
    """Where conflicts stand: the mark of the most serious ones."""
    return _sample(*mark_paths("stop_and_ask", "M24 9", 0.62))


def _letters() -> Markup:
    place = {"x": 24, "y": 14, "text-anchor": "middle", "fill": palette.INK}
    return _sample(tag("text", "Ab1", attributes={**place, "font-size": 13, "font-weight": 600}))
