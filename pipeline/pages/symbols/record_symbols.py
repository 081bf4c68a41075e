"""Symbols of what is on record: where a unit stands on its way back, logged work, mends."""

from pipeline.pages import palette
from pipeline.pages.palette import Stroke
from pipeline.pages.symbols.looks import Look, Style, Test
from pipeline.pages.words import code_words

ROAD_LOOKS: dict[str, tuple[str, str | None]] = {
    "cropped": (palette.UNKNOWN, "bare"),
    "inherited": (palette.NATIVES_COLORS[0], None),
    "resting": (palette.NATIVES_COLORS[0], "rest"),
    "waiting": (palette.NATIVES_COLORS[0], "burn"),
    "not_answered": (palette.NATIVES_COLORS[1], "doubt"),
    "answered": (palette.NATIVES_COLORS[1], None),
    "recovering": (palette.NATIVES_COLORS[2], None),
    "recovered": (palette.NATIVES_COLORS[3], None),
    "establishing": (palette.WORK_TINTS["seed"], "seed"),
    "established": (palette.MORE_GREEN[2], None),
}
"""Ground and pattern of each state, the darker the further a unit has come."""


LOGGED = Stroke(palette.FAINT_INK, 1.2, "3 2", cased=False)


REPORTED = Stroke(palette.BLOCK_STROKE.color, 2.0, cased=False)


MENDED = Stroke(palette.PATCH_STROKE.color, 2.0, "5 3", cased=False)


def record_styles() -> dict[str, Style]:
    """Style of each layer of records."""
    road = (
        Look(
            code_words(state), palette.UNIT_STROKE, fill, pattern, tests=(Test("state", (state,)),)
        )
        for state, (fill, pattern) in ROAD_LOOKS.items()
    )
    return {
        "road": Style("polygon", tuple(road), "unit_id"),
        "record_book": Style("any", (Look("work on record", LOGGED, mark="circle"),), "kind"),
        "burn_reports": Style("any", (Look("burn reported", REPORTED, mark="triangle"),), "burn"),
        "mended": Style("any", (Look("mended outline", MENDED, mark="diamond"),), "mend"),
    }
