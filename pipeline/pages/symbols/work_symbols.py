"""Symbols of the season's work: planned ground by kind, conflicts by weight, tasks dashed.

Patterns, dashes and widths tell them apart where a print has no color.
"""

from pipeline.pages import palette
from pipeline.pages.palette import Stroke
from pipeline.pages.symbols.looks import Look, Style, Test
from pipeline.pages.words import code_words
from pipeline.pages.work_words import SERIOUSNESS_WORDS, WORK_WORDS
from pipeline.work.codes import WORK_KINDS

CONFLICT_LOOKS = {
    "stop_and_ask": (Stroke(palette.INK, 4.0, cased=False), "stop_and_ask", "star"),
    "think_again": (Stroke(palette.INK, 2.5, "6 3", cased=False), "think_again", "diamond"),
    "know": (Stroke(palette.FAINT_INK, 1.5, "2 3", cased=False), None, "circle"),
}
"""Outline, pattern and mark of each kind of conflict, the heavier the more serious."""


TASK_STROKE = Stroke(palette.INK, 2.0, "4 4", cased=False)
"""Several tasks lie over each other: an outline alone, dashed."""


FINDING_LOOKS = {
    "warning": (Stroke(palette.INK, 2.5, cased=False), "diamond"),
    "note": (Stroke(palette.FAINT_INK, 1.2, "2 3", cased=False), "circle"),
}
"""Outline and mark of each severity of a finding."""


OPTION_LOOKS: dict[str, tuple[str, str | None]] = {
    "burn": (palette.WORK_TINTS["burn"], "burn"),
    "burn_or_graze": (palette.CASING, "burn"),
    "graze": (palette.WORK_TINTS["graze"], "graze"),
    "rest_or_graze": (palette.CASING, "graze"),
    "rest": (palette.WORK_TINTS["rest"], "rest"),
    "defer": (palette.CASING, "rest"),
    "seed": (palette.WORK_TINTS["seed"], "seed"),
    "establish": (palette.CASING, "seed"),
    "overseed": (palette.WORK_TINTS["graze"], "seed"),
    "hay": (palette.WORK_TINTS["hay"], "hay"),
    "harvest": (palette.CASING, "hay"),
    "cut": (palette.WORK_TINTS["cut"], "cut"),
    "weeds": (palette.CASING, "cut"),
    "watch": (palette.PAPER, None),
    "ask": (palette.CASING, "stop_and_ask"),
    "record": (palette.UNKNOWN, None),
}
"""Ground and pattern of what a unit's plan leads to; what may be done in part is on white."""


YEAR_LOOKS: dict[str, tuple[str, str]] = {
    "rest": (palette.WORK_TINTS["rest"], "rest"),
    "burn_dormant": (palette.WORK_TINTS["burn"], "burn"),
    "burn_early_spring": (palette.CASING, "burn"),
    "burn_late_spring": (palette.UNKNOWN, "burn"),
    "burn_summer": (palette.WORK_TINTS["hay"], "burn"),
    "burn_fall": (palette.WORK_TINTS["till"], "burn"),
    "graze_early": (palette.WORK_TINTS["graze"], "graze"),
    "graze_late": (palette.CASING, "graze"),
    "hay": (palette.WORK_TINTS["hay"], "hay"),
    "seed": (palette.WORK_TINTS["seed"], "seed"),
    "wait": (palette.CASING, "rest"),
    "undecided": (palette.UNKNOWN, "unjudged"),
}
"""Ground and pattern of what a plan of years has for a unit in one of them."""


FIRST_OPTION = (Test("rank", above=0.5, up_to=1.5),)
"""Of the options of a unit the first one is drawn; the others stand in the table."""


def work_styles() -> dict[str, Style]:
    """Style of each layer of the season's work; a conflict or task may be ground, line or place."""
    planned = (
        Look(
            WORK_WORDS[kind],
            palette.UNIT_STROKE,
            palette.WORK_TINTS[kind],
            kind,
            tests=(Test("kind", (kind,)),),
        )
        for kind in WORK_KINDS
    )
    against = (
        Look(
            SERIOUSNESS_WORDS[serious],
            stroke,
            pattern=pattern,
            mark=mark,
            tests=(Test("seriousness", (serious,)),),
        )
        for serious, (stroke, pattern, mark) in CONFLICT_LOOKS.items()
    )
    options = [
        Look(
            code_words(code), palette.UNIT_STROKE, fill, pattern, tests=(Test("leads_to", (code,)),)
        )
        for code, (fill, pattern) in OPTION_LOOKS.items()
    ]
    unplanned = Look(
        "no option known",
        palette.UNIT_STROKE,
        palette.UNKNOWN,
        "unjudged",
        tests=(Test("leads_to"),),
    )
    years = (
        Look(
            code_words(code),
            palette.UNIT_STROKE,
            fill,
            pattern,
            tests=(Test("treatment", (code,)),),
        )
        for code, (fill, pattern) in YEAR_LOOKS.items()
    )
    found = (
        Look(severity, stroke, mark=mark, tests=(Test("severity", (severity,)),))
        for severity, (stroke, mark) in FINDING_LOOKS.items()
    )
    task = Look("task", TASK_STROKE, mark="square")
    return {
        "planned_work": Style("polygon", tuple(planned), "kind"),
        "season_plan": Style("polygon", (*options, unplanned), "unit_id"),
        "season_options": Style("polygon", (*options, unplanned), "unit_id", FIRST_OPTION),
        "plan_years": Style("polygon", tuple(years), "year"),
        "conflicts": Style("any", tuple(against), "number"),
        "tasks": Style("any", (task,), "number"),
        "findings": Style("any", tuple(found), "subject"),
    }
