"""A small map of each year ahead: which ground burns, is grazed, hayed, sown or left to rest."""

import geopandas as gpd
import pandas as pd

from pipeline.pages import palette
from pipeline.pages.ahead.year_choices import KIND_OF, Frames
from pipeline.pages.map_frame import MapFrame, frame_around
from pipeline.pages.maps.outlines import Outlines
from pipeline.pages.maps.work_looks import work_texture, work_textures
from pipeline.pages.markup import Markup, tag
from pipeline.pages.symbols.textures import ground_tiles, patterns
from pipeline.pages.words import code_words

WIDTH_PX = 200
"""Width that textures are sized for."""


SUFFIX = "-ahead"


TEXTURES = {
    **{kind: work_texture(kind) for kind in ("burn", "graze", "hay", "seed")},
    "undecided": "unjudged",
}
"""Texture of each kind of choice; rest and waiting have none."""


FILLS = {kind: palette.WORK_TINTS[kind] for kind in ("burn", "graze", "hay", "seed", "rest")} | {
    "undecided": palette.UNKNOWN,
    "wait": palette.PAPER,
}
"""Ground below the texture."""


def draw_year_maps(frames: Frames) -> Markup:
    """A figure a year, all on one frame, so that they compare."""
    units = gpd.GeoDataFrame(frames["units"])
    frame, outlines = frame_around(units), Outlines(units)
    years = frames["plan_years"].groupby("year")
    figures = [
        _figure(int(str(year)), rows, frame, outlines, first=not n)
        for n, (year, rows) in enumerate(years)
    ]
    return tag("div", *figures, attributes={"class": "charts small"})


def _figure(
    year: int, rows: pd.DataFrame, frame: MapFrame, outlines: Outlines, *, first: bool
) -> Markup:
    """The map of a year; the first one brings the textures of all."""
    kinds = rows["treatment"].map(KIND_OF)
    grounds = []
    for shape, kind in zip(rows["geometry"], kinds, strict=True):
        fills = [FILLS[kind], *([f"url(#{TEXTURES[kind]}{SUFFIX})"] if kind in TEXTURES else [])]
        for n, fill in enumerate(fills):
            line = {"stroke": palette.INK, "stroke-width": 0.8} if not n else {"stroke": "none"}
            look = {"fill": fill, "fill-rule": "evenodd", **line}
            grounds.append(outlines.drawn(shape, frame, look))
    tiles = {**ground_tiles(), **work_textures()}
    used = {name: tiles[name] for name in TEXTURES.values()}
    defs = [patterns(used, frame.width / WIDTH_PX, suffix=SUFFIX)] if first else []
    burned = rows.loc[kinds == "burn", ["unit_id", "treatment"]].itertuples(index=False)
    told = "; ".join(f"{unit} {code_words(code)}" for unit, code in burned) or "no burn"
    key = f"ahead-{year}"
    drawing = tag(
        "svg",
        tag("title", f"{year}: {told}", attributes={"id": key}),
        *defs,
        *grounds,
        attributes={
            "class": "chart",
            "viewBox": f"0 0 {frame.width} {frame.height}",
            "role": "img",
            "aria-labelledby": key,
        },
    )
    return tag("figure", tag("figcaption", str(year)), drawing, tag("p", told))
