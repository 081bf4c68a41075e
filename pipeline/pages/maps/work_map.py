"""Map of the season's work alone: ground that is planned for, lines to make, places to mind."""

from collections.abc import Mapping, Sequence
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.names import listed
from pipeline.pages import palette
from pipeline.pages.map_frame import PER_M, MapFrame, frame_around
from pipeline.pages.maps.conflict_marks import (
    MARK_PX,
    conflict_icon,
    conflict_marks,
    conflict_places,
)
from pipeline.pages.maps.map_names import name_places, shared_places
from pipeline.pages.maps.map_shapes import (
    drawn_path,
    map_text,
    scale_bar,
)
from pipeline.pages.maps.outlines import Outlines
from pipeline.pages.maps.work_looks import (
    kinds_by_unit,
    shared_textures,
    work_texture,
    work_textures,
)
from pipeline.pages.markup import Markup, isolated, joined, tag
from pipeline.pages.palette import stroked
from pipeline.pages.symbols.textures import patterns
from pipeline.pages.words import plain, rows, sentence
from pipeline.pages.work_words import SERIOUSNESS_WORDS, WORK_WORDS
from pipeline.work.codes import WORK_KINDS
from pipeline.work.layers import SERIOUSNESS

Frames = Mapping[str, pd.DataFrame]


WIDE = 1.4
"""How many times as wide as high the map is, so that a screen can be laid out around it."""


WIDTH_PX = 620
"""Width that labels and textures are sized for until the page measures its own."""


LABEL_PX = 12.5


NARROW_PX = 360
"""Width of the map on a phone, on which names and marks must not lie on each other either."""


MARKED = ("stop_and_ask", "think_again")
"""Conflicts that have a mark on this map; the map of the property has all of them."""


TO_DO = ("prepare", "gap")
"""Statuses of a break that leave something to do."""


SUFFIX = "-season"


def draw_work_map(frames: Frames) -> Markup:
    """Map and key of the season's work; nothing where nothing is planned."""
    planned = frames["planned_work"]
    if not len(planned):
        return Markup("")
    frame = frame_around(planned).shaped(WIDE)
    pixel = frame.width / WIDTH_PX
    conflicts = frames["conflicts"]
    marked = conflicts[conflicts["seriousness"].isin(MARKED)]
    breaks, outlines = frames["firebreaks"], Outlines(frames["units"])
    layers = [
        _context(frames["units"], frame, outlines),
        _planned(planned, frame, outlines),
        *(
            outlines.again(name, frame)
            for name in ("mow_strips", "made_lines")
            if len(frames[name])
        ),
        *(outlines.again(f"breaks_{s}", frame) for s in TO_DO if (breaks["status"] == s).any()),
        _names(frames, marked, frame),
        tag("g", *_places(frames, marked, frame)),
        tag("g", *conflict_marks(marked, frame, pixel=frame.width / NARROW_PX, told_beside=True)),
    ]
    attributes = {
        "id": "season-map",
        "viewBox": f"0 0 {frame.width} {frame.height}",
        "role": "img",
        "aria-label": _spoken(planned, marked),
        "font-size": f"{LABEL_PX * pixel:.0f}",
        "data-label-px": LABEL_PX,
    }
    tiles = {**work_textures(), **shared_textures(rows(planned))}
    looks = patterns(tiles, pixel, suffix=SUFFIX)
    drawing = tag("svg", looks, *layers, scale_bar(frame, "season-scale"), attributes=attributes)
    return joined((tag("div", drawing, attributes={"class": "plat"}), _key(frames, marked, frame)))


def _each_once(smoke_places: pd.DataFrame) -> pd.DataFrame:
    """Places that smoke must not drift onto, which the layer tells once for each block."""
    return smoke_places.drop_duplicates("place_id")


def _context(units: gpd.GeoDataFrame, frame: MapFrame, outlines: Outlines) -> Markup:
    """Faint outlines of all units on the map, so that a reader knows where it is."""
    window = shapely.box(
        frame.west, frame.north - frame.height_m, frame.west + frame.width_m, frame.north
    )
    near = units.geometry[units.intersects(window)]
    look = {"stroke": palette.FAINT_INK, "stroke-width": 0.8, "fill": palette.PAPER}
    return tag("g", *(outlines.drawn(shape, frame, {}) for shape in near), attributes=look)


def _planned(planned: gpd.GeoDataFrame, frame: MapFrame, outlines: Outlines) -> Markup:
    """Each unit with work, in its texture; several kinds stand side by side in strips."""
    drawn = []
    for row, kinds in _units(planned):
        outline = {**stroked(palette.UNIT_STROKE), "fill": palette.WORK_TINTS[kinds[0]]}
        looks: list[dict[str, object]] = [outline]
        looks.append({"fill": f"url(#{work_texture(*kinds)}{SUFFIX})"})
        drawn += [outlines.drawn(row["geometry"], frame, look) for look in looks]
    return tag("g", *drawn)


def _units(planned: gpd.GeoDataFrame) -> list[tuple[dict[str, Any], list[str]]]:
    """Each unit with planned work, once, and the kinds of it."""
    kinds = kinds_by_unit(rows(planned))
    return [(row, kinds[row["unit_id"]]) for row in rows(planned.drop_duplicates("unit_id"))]


def _names(frames: Frames, marked: pd.DataFrame, frame: MapFrame) -> Markup:
    """Names of the units with work, as far as there is room, units with a conflict first."""
    pixel, planned = frame.width / NARROW_PX, frames["planned_work"]
    first = planned.assign(calm=~planned["unit_id"].isin(marked["unit_id"]), size=planned.area)
    ordered = first.sort_values(["calm", "size"], ascending=[True, False], kind="stable")
    units = [row for row, _ in _units(ordered)]
    names = [plain(row["unit_id"]) for row in units]
    inside = [row["geometry"].representative_point() for row in units]
    places = name_places(
        names,
        [frame.point(at.x, at.y) for at in inside],
        [PER_M * (row["geometry"].bounds[3] - row["geometry"].bounds[1]) / 2 for row in units],
        LABEL_PX * pixel,
        [*conflict_places(marked, frame, pixel=pixel)[1], *_signs(frames, frame)],
        MARK_PX * pixel,
    )
    return tag(
        "g",
        *(
            map_text(isolated(name), place, {"font-weight": 600})
            for name, place in zip(names, places, strict=True)
            if place
        ),
    )


def _signs(frames: Frames, frame: MapFrame) -> list[tuple[int, int]]:
    """Where gates and places to keep smoke off have their signs."""
    shapes = [*frames["gates"].geometry, *_each_once(frames["smoke_places"]).geometry]
    points = [shape.representative_point() for shape in shapes]
    return [frame.inside(at.x, at.y) for at in points]


PLACE_LOOKS = {
    "S": {"stroke": palette.FAINT_INK, "stroke-width": 19, "stroke-linecap": "round"},
    "G": {"stroke": palette.FAINT_INK, "stroke-width": 17, "stroke-linecap": "square"},
}
"""A place to keep smoke off is round, a gate square; both carry their letter and number."""


def _places(frames: Frames, marked: pd.DataFrame, frame: MapFrame) -> list[Markup]:
    """Gates and places to keep smoke off, with letter and number; beyond the map, at its edge.

    A sign that would lie on a mark or on another sign is left to the map of the property.
    """
    gates, smoke = frames["gates"], _each_once(frames["smoke_places"])
    told = [("G", row["gate_id"], row["name"], row["geometry"]) for row in rows(gates)]
    told += [("S", row["place_id"], row["kind"], row["geometry"]) for row in rows(smoke)]
    pixel = frame.width / NARROW_PX
    marks = conflict_places(marked, frame, pixel=pixel)[1]
    points = [shape.representative_point() for *_, shape in told]
    places = [frame.inside(at.x, at.y) for at in points]
    shared = shared_places([*marks, *places], (MARK_PX * pixel * 0.8, MARK_PX * pixel * 0.8))
    return [
        _sign(letter, number, words, place, beyond=not frame.holds(at.x, at.y))
        for n, ((letter, number, words, _), place, at) in enumerate(
            zip(told, places, points, strict=True), len(marks)
        )
        if shared[n] == n
    ]


def _sign(letter: str, number: int, words: Any, place: tuple[int, int], *, beyond: bool) -> Markup:
    """A sign with its letter and number, and what it says when pointed at."""
    look = {**PLACE_LOOKS[letter], "fill": "none"}
    face = {**look, "stroke": palette.CASING}
    face["stroke-width"] = int(str(look["stroke-width"])) - 3
    what = "" if pd.isna(words) else f": {isolated(plain(words))}"
    far = ", beyond the edge of this map" if beyond else ""
    data = f"M{place[0]} {place[1]}h1"
    about = {"dy": ".35em", "class": "onmark", "font-size": "84%"}
    return tag(
        "g",
        tag("title", f"{letter}{number}{what}{far}"),
        drawn_path(data, look),
        drawn_path(data, face),
        map_text(f"{letter}{number}", place, about),
    )


def _spoken(planned: pd.DataFrame, marked: pd.DataFrame) -> str:
    """The map for those who do not see it: what is planned where, and which conflicts it marks."""
    parts = []
    for kind in WORK_KINDS:
        units = planned.loc[planned["kind"] == kind, "unit_id"].map(plain).unique()
        if len(units):
            parts.append(f"{WORK_WORDS[kind]}: {listed(list(units), 12)}")
    numbers = listed([str(n) for n in sorted(marked["number"])], 12)
    told = f" Conflicts marked: {numbers}." if len(marked) else ""
    return f"Map of the season's work, north up. {sentence('; '.join(parts))}.{told}"


def _key(frames: Frames, marked: pd.DataFrame, frame: MapFrame) -> Markup:
    """Key of what the map shows, and of nothing else."""
    breaks, there = frames["firebreaks"]["status"], set(frames["planned_work"]["kind"])
    entries = [
        *((_swatch(kind), sentence(WORK_WORDS[kind])) for kind in WORK_KINDS if kind in there),
        *([(_strips(strips), STRIPS)] if (strips := _first_shared(frames)) else []),
        *(
            (_line(status), words)
            for status, words in (("prepare", "Line to prepare"), ("gap", "Gap to close"))
            if (breaks == status).any()
        ),
        *([(_strip(), "Strip to mow")] if len(frames["mow_strips"]) else []),
        *([(_place("G"), "Gate")] if len(frames["gates"]) else []),
        *([(_place("S"), "Keep smoke off")] if len(frames["smoke_places"]) else []),
        *(
            (conflict_icon(serious), SERIOUSNESS_WORDS[serious])
            for serious in SERIOUSNESS
            if (marked["seriousness"] == serious).any()
        ),
    ]
    items = [tag("li", sample, tag("span", words)) for sample, words in entries]
    return joined((tag("ul", *items, attributes={"class": "mapkey"}), _beyond(frames, frame)))


def _beyond(frames: Frames, frame: MapFrame) -> Markup:
    """Places that lie beyond the map, which shows them at its edge."""
    places = _each_once(frames["smoke_places"])
    points = places.geometry.representative_point()
    far = [
        f"S{place}"
        for place, at in zip(places["place_id"], points, strict=True)
        if not frame.holds(at.x, at.y)
    ]
    if not far:
        return Markup("")
    words = f"Beyond the edge of this map: {listed(far, 6)}."
    return tag("p", words, attributes={"class": "about"})


def _sample(*shapes: Markup) -> Markup:
    box = {"viewBox": "0 0 34 18", "width": 34, "height": 18, "aria-hidden": "true"}
    return tag("svg", *shapes, attributes=box)


def _rect(attributes: Mapping[str, object]) -> Markup:
    return tag("rect", attributes={"x": 1, "y": 1, "width": 32, "height": 16, **attributes})


def _swatch(kind: str) -> Markup:
    edge = {"stroke": palette.INK, "stroke-width": 0.8}
    texture = {"fill": f"url(#{work_texture(kind)}-key)"}
    return _sample(_rect({"fill": palette.WORK_TINTS[kind], **edge}), _rect(texture))


STRIPS = "Strips: each on the whole unit"


def _first_shared(frames: Frames) -> list[str]:
    """Kinds of the first unit that has several."""
    by_unit = kinds_by_unit(rows(frames["planned_work"])).values()
    return next((kinds for kinds in by_unit if len(kinds) > 1), [])


def _strips(kinds: Sequence[str]) -> Markup:
    edge = {"stroke": palette.INK, "stroke-width": 0.8}
    return _sample(_rect({"fill": f"url(#{work_texture(*kinds)}-key)", **edge}))


def _line(status: str) -> Markup:
    return _sample(
        tag("path", attributes={"d": "M0 9H34", **stroked(palette.BREAK_STROKES[status])})
    )


def _strip() -> Markup:
    return _sample(_rect({**stroked(palette.STRIP_STROKE), "fill": palette.STRIP_FILL}))


def _place(letter: str) -> Markup:
    shape = {"d": "M17 9h.1", **PLACE_LOOKS[letter], "stroke-width": 17}
    face = {**shape, "stroke": palette.CASING, "stroke-width": 14}
    words = tag("text", letter, attributes={"x": 17, "y": 13, "class": "onmark"})
    return _sample(tag("path", attributes=shape), tag("path", attributes=face), words)
