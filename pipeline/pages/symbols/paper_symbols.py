"""Symbols of the maps on paper: those of the table of symbols, told apart without color.

Ground keeps its pattern, lines their width and dash, places their mark. Where paper shows what a
screen does not, or must say it apart from something else, its look stands here.
"""

from dataclasses import replace

from pipeline.pages import palette
from pipeline.pages.palette import Stroke
from pipeline.pages.symbols.layer_symbols import plain_styles
from pipeline.pages.symbols.looks import Kind, Look, Style

ON_PAPER = 0.55
"""Lines on paper [point] for their width on the screen [pixel]: paper is read closer by."""


THIN = Stroke(palette.FAINT_INK, 1.0, cased=False)


NO_LINE = Stroke("none", 0.0, cased=False)


BLOCK_GROUND = Look("ground of the block", NO_LINE, palette.BLOCK_BAND.color)


BURNED = Look("burned this season, by the log", THIN, pattern="burned")


BEYOND = Look("place beyond the map, that way", THIN, palette.INK, mark="beyond")


HEAVY_EDGE = replace(palette.BLOCK_STROKE, width=4.0)
"""Around a block on the map of the whole property: heavier than what it runs along."""


SMOKE_ARC = Look("winds onto a place", palette.SMOKE_STROKE)
"""Part of the compass of winds."""


PAPER_LOOKS = {
    "units": Look("edge of a unit", THIN),
    "excluded_ground": Look("not to be burned", THIN, pattern="excluded"),
    "mow_strips": Look("strip to be mown", palette.STRIP_STROKE, palette.STRIP_PAPER_FILL),
    "gates": Look("gate", THIN, palette.CASING, mark="square"),
    "water_places": Look("water to fill from", THIN, palette.FAINT_INK, mark="drop"),
    "smoke_places": Look("place to keep smoke off", THIN, palette.CASING, mark="house"),
    "excluded_seed": Look("not to be sown", THIN, pattern="excluded"),
    "burn_blocks": BLOCK_GROUND,
    "block_edge": Look("edge of a burn block", HEAVY_EDGE),
    "burned": BURNED,
    "seed_areas": Look("ground to be sown", palette.SEED_STROKE, pattern="seeded"),
    "photo_points": Look("photo point, the way it looks", palette.PHOTO_STROKE, mark="look"),
    "beyond": BEYOND,
}
"""Looks on paper that differ from those on the screen, each the only one of its layer."""


OWN_KINDS: dict[str, Kind] = {
    "burned": "polygon",
    "excluded_seed": "polygon",
    "block_edge": "line",
    "beyond": "point",
}
"""Kinds of the shapes of those that no layer of the program has."""


def paper_styles() -> dict[str, Style]:
    """Style of each layer that is drawn on paper."""
    styles = plain_styles()
    own = {
        layer: replace(styles[layer], looks=(look,))
        if layer in styles
        else Style(OWN_KINDS[layer], (look,))
        for layer, look in PAPER_LOOKS.items()
    }
    return {**styles, **own}
