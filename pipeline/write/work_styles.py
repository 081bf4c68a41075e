"""Symbols of the season's work: planned ground by kind, conflicts by weight, tasks dashed.

Patterns, dashes and widths tell them apart where a print has no color.
"""

from pipeline.pages import palette
from pipeline.pages.palette import Stroke
from pipeline.pages.work_words import SERIOUSNESS_WORDS, WORK_WORDS
from pipeline.write.looks import Look, Style

WORK_BRUSHES = {
    "burn": "f_diagonal",
    "seed": "dense6",
    "graze": "dense7",
    "rest": "no",
    "mow": "vertical",
    "hay": "horizontal",
    "spray": "cross",
    "till": "b_diagonal",
    "cut": "diagonal_x",
    "drag": "dense5",
    "move": "dense4",
}
"""Pattern of each kind of planned work."""


CONFLICT_LOOKS = {
    "stop_and_ask": (Stroke(palette.INK, 4.0, cased=False), "diagonal_x", ("star", "star")),
    "think_again": (
        Stroke(palette.INK, 2.5, "6 3", cased=False),
        "b_diagonal",
        ("diamond", "square"),
    ),
    "know": (Stroke(palette.FAINT_INK, 1.5, "2 3", cased=False), "no", ("circle", "circle")),
}
"""Outline, pattern and mark of each kind of conflict, the heavier the more serious."""


TASK_STROKE = Stroke(palette.INK, 2.0, "4 4", cased=False)
"""Several tasks lie over each other: an outline alone, dashed."""


def work_styles() -> dict[str, Style]:
    """Style of each layer of the season's work; a conflict or task may be ground, line or place."""
    planned = tuple(
        Look(WORK_WORDS[kind], palette.UNIT_STROKE, kind, palette.WORK_INKS[kind], True, brush)
        for kind, brush in WORK_BRUSHES.items()
    )
    against = tuple(
        Look(SERIOUSNESS_WORDS[serious], stroke, serious, stroke.color, True, brush, point)
        for serious, (stroke, brush, point) in CONFLICT_LOOKS.items()
    )
    task = Look("task", TASK_STROKE, point=("square", "square"))
    return {
        "planned_work": Style("polygon", planned, "kind"),
        "conflicts": Style("any", against, "seriousness"),
        "tasks": Style("any", (task,)),
    }
