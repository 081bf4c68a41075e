"""The table of symbols: each layer with ground, lines or places, its classes and their words.

Nothing rests on color alone: doubt, want of a figure and kinds of work are patterns, breaks have
dashes and widths of their own.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import pairwise

import pandas as pd

from pipeline.greenness.change_columns import CHANGE_VERDICTS, CLEAR_VERDICTS
from pipeline.pages import palette
from pipeline.pages.palette import ChangeScale, Stroke
from pipeline.pages.symbols.looks import OPEN_END, Kind, Look, Style, Test
from pipeline.pages.symbols.record_symbols import record_styles
from pipeline.pages.symbols.work_symbols import work_styles
from pipeline.pages.words import code_words

MOVE_STROKE = Stroke(palette.FAINT_INK, 1.0, "2 3", cased=False)


CHANGE_COLUMN = "change_vs_reference"
"""Change that the map is drawn by: beyond that of the unburned units."""


BREAK_WORDS = {
    "existing": "break that exists",
    "prepare": "break to prepare",
    "gap": "gap in a break",
}


PLACES: Mapping[str, tuple[str, str]] = {
    "gap": ("gap in a break", "x"),
    "away": ("edge away from its break", "pentagon"),
    "tie_in": ("tie-in: lead the line to the break", "circle"),
    "side_change": ("line goes over to the other side of a break", "star"),
    "hand_over": ("hand-over from break to break", "diamond"),
    "sharp_corner": ("sharp corner: bend the line around it", "triangle"),
}


CARRIES_WORDS = {
    "yes": "likely carries a fire",
    "patchy": "patchy",
    "no": "likely does not carry",
    "unknown": "unknown",
}


def change_style(scale: ChangeScale) -> Style:
    """Change in greenness beyond that of the unburned units, by the classes of ``scale``.

    An edge belongs to the class nearer to zero, on both sides.
    """
    verdict = Test("verdict", tuple(code for code in CHANGE_VERDICTS if code not in CLEAR_VERDICTS))
    below = (math.nextafter(-edge, -math.inf) for edge in reversed(scale.edges))
    return Style(
        "polygon",
        (
            *_classes(CHANGE_COLUMN, (*below, *scale.edges), scale.classes()),
            _no_figure("cannot be judged", CHANGE_COLUMN),
            Look(
                "in doubt: may be none, or not the fire's",
                palette.UNIT_STROKE,
                pattern="doubt",
                tests=(Test(CHANGE_COLUMN, above=-OPEN_END, up_to=OPEN_END), verdict),
                over=True,
            ),
        ),
        CHANGE_COLUMN,
    )


def years_style(*over: Look) -> Style:
    """Years since the last burn; ground without a burn on record is told apart."""
    column = "years_since_burn"
    return Style(
        "polygon",
        (
            *_classes(column, palette.YEARS_UPPER, palette.years_classes()),
            _no_figure("no burn on record", column),
            *over,
        ),
        "unit_id",
    )


def fuel_style() -> Style:
    """Units by whether their fuel carries a fire; what is unknown has a pattern."""
    return Style(
        "polygon",
        tuple(
            Look(
                CARRIES_WORDS[carries],
                palette.UNIT_STROKE,
                color,
                "unjudged" if carries == "unknown" else None,
                tests=(Test("carries", (carries,)),),
            )
            for carries, color in palette.CARRIES_COLORS.items()
        ),
        "unit_id",
    )


def natives_style() -> Style:
    """Share of natives in the cover of plants."""
    return Style(
        "polygon",
        (
            *_classes("native_share_pct", palette.NATIVES_UPPER, palette.natives_classes()),
            _no_figure("no plants on record", "native_share_pct"),
        ),
        "unit_id",
    )


def layer_styles(scale: ChangeScale) -> dict[str, Style]:
    """Style of each layer that has one; ``scale`` has the classes of change in greenness."""
    return {**plain_styles(), "greenness": change_style(scale)}


def plain_styles() -> dict[str, Style]:
    """Style of each layer whose classes do not hang on its figures."""
    strip, dark = palette.STRIP_STROKE, Stroke(palette.FAINT_INK, 1.0, cased=False)
    in_part = Look(
        "burned in part",
        palette.UNIT_STROKE,
        pattern="in_part",
        tests=(Test("burned_share_pct", above=-OPEN_END, up_to=99.5),),
        over=True,
    )
    place = Look("place to keep smoke off", palette.SMOKE_STROKE, mark="circle")
    return {
        "units": _one("polygon", Look("unit", palette.UNIT_STROKE), "name"),
        "excluded_ground": _one("polygon", Look("left out", dark, pattern="excluded"), "kind"),
        "burn_blocks": _one("polygon", Look("burn block", palette.BLOCK_STROKE), "block"),
        "firebreaks": _break_style(),
        "break_lines": _one("line", Look("break of the map", palette.SOURCE_STROKE), "kind"),
        "break_areas": _one(
            "polygon",
            Look("ground that does not burn", palette.SOURCE_STROKE, pattern="bare"),
            "kind",
        ),
        "break_slopes": _break_style(),
        "tie_ins": _place_style(),
        "gates": _one("point", Look("gate", dark, palette.CASING, mark="square"), "name"),
        "water_places": _one(
            "point",
            Look("water to fill from", palette.WATER_STROKE, palette.CASING, mark="pentagon"),
            "name",
        ),
        "smoke_places": _one("any", place, "place_id"),
        "mow_strips": _one("polygon", Look("mow strip", strip, palette.STRIP_FILL), "strip_id"),
        "made_lines": _line_style(),
        "mow_passes": _one("line", Look("mower pass", strip), "drive_order"),
        "mow_moves": _one("line", Look("way without mowing", MOVE_STROKE), "to_order"),
        "seed_areas": _one(
            "polygon", Look("seed area", palette.SEED_STROKE, pattern="seeded"), "area"
        ),
        "photo_points": _one(
            "point",
            Look("photo point", palette.PHOTO_STROKE, palette.CASING, mark="triangle"),
            "point",
        ),
        "patch_ground": _one(
            "polygon",
            Look("patch of weeds or brush", palette.PATCH_STROKE, pattern="patched"),
            "kind",
        ),
        "fuel": fuel_style(),
        "history": years_style(in_part),
        "fire_history": years_style(),
        "community": natives_style(),
        **work_styles(),
        **record_styles(),
    }


def greenness_styles(greenness: pd.DataFrame) -> dict[str, Style]:
    """Style of each comparison by its name, the newest first, in the classes of the report."""
    newest = greenness.groupby("comparison")["after"].max().sort_values(kind="stable")
    return {
        str(name): replace(
            change_style(comparison_scale(greenness[greenness["comparison"] == name])),
            only=(Test("comparison", (str(name),)),),
        )
        for name in reversed(newest.index)
    }


def comparison_scale(rows: pd.DataFrame) -> ChangeScale:
    """Classes of the changes of one comparison, about its widest noise floor."""
    floor = float(rows["noise_floor"].max())
    return palette.change_scale(rows[CHANGE_COLUMN], noise_floor=floor)


def _break_style() -> Style:
    return Style(
        "line",
        tuple(
            Look(BREAK_WORDS[status], stroke, tests=(Test("status", (status,)),))
            for status, stroke in palette.BREAK_STROKES.items()
        ),
        "break_id",
    )


def _line_style() -> Style:
    """Bare lines and blacklines, each kind in its own tone."""
    thin = Stroke(palette.FAINT_INK, 0.5, cased=False)
    return Style(
        "polygon",
        tuple(
            Look(f"{code_words(kind)} to be made", thin, fill, tests=(Test("kind", (kind,)),))
            for kind, fill in palette.LINE_FILLS.items()
        ),
        "line_id",
    )


def _place_style() -> Style:
    stroke = Stroke(palette.INK, 1.5, cased=False)
    return Style(
        "point",
        tuple(
            Look(words, stroke, palette.CASING, mark=mark, tests=(Test("kind", (kind,)),))
            for kind, (words, mark) in PLACES.items()
        ),
        "kind",
    )


def _one(kind: Kind, look: Look, label: str = "") -> Style:
    return Style(kind, (look,), label)


def _classes(
    column: str, uppers: Iterable[float], classes: Iterable[tuple[str, str]]
) -> list[Look]:
    """Looks of a number by classes that follow on each other."""
    ends = (-OPEN_END, *uppers, OPEN_END)
    return [
        Look(words, palette.UNIT_STROKE, color, tests=(Test(column, above=low, up_to=high),))
        for (low, high), (color, words) in zip(pairwise(ends), classes, strict=True)
    ]


def _no_figure(words: str, column: str) -> Look:
    """Look of rows whose cell is empty."""
    return Look(words, palette.UNIT_STROKE, palette.UNKNOWN, "unjudged", tests=(Test(column),))
