"""The layers of kinds of breaks, of what each break counts as, and of what is to be made."""

from typing import get_args

from pipeline.core.layer import Column, Layer, optional_text
from pipeline.fire.mowing.settings import Way
from pipeline.fire.source_layers import BLOCK

WAYS: tuple[Way, ...] = get_args(Way)


CREDITED_AS = ("bare", "wet", "green", "mown", "black")
"""Ground that a break may count as, from the most trusted on."""


BREAK_CLASSES = (
    "fence",
    "public_road",
    "private_road",
    "water",
    "ground",
    "grass",
    "woody",
    "line",
)


BREAK_KINDS = Layer(
    "break_kinds",
    None,
    "Kinds of breaks, the words they go by, and what each counts as. A table of this sort ships as "
    "config/break_kinds.csv.",
    (
        Column("break_kind", "text", "Kind of break."),
        Column(
            "words",
            "text",
            "Words that the kind of a break is known by, parted by ; and taken whole. Of several "
            "that fit, the one of most words counts. # stands for a number.",
        ),
        Column("break_class", "text", "What sort of thing it is.", choices=BREAK_CLASSES),
        Column(
            "credited_as",
            "text",
            "Ground that it counts as: bare, wet, green, mown, black (burned); none or an empty "
            "cell where it stops no fire.",
            nullable=True,
            choices=CREDITED_AS,
        ),
        optional_text("condition", "When it counts: to be checked on the day."),
        optional_text("hazard", "What is dangerous about it."),
        Column("source", "text", "Published source, or its standing."),
    ),
    key=("break_kind",),
    internal=True,
)


BREAK_CREDITS = Layer(
    "break_credits",
    None,
    "What each break counts as, by the table of kinds: one row for each row of the layer breaks.",
    (
        Column("source_id", "integer", "Number of the [[sources.breaks]] entry, from 1."),
        Column("source_row", "integer", "Row of that source, from 1."),
        Column("kind", "text", "Kind of the break, in the user's words.", "Kind"),
        Column(
            "break_kind",
            "text",
            "Kind of the table that it is read as; empty where the table does not know it.",
            "Read as",
            nullable=True,
        ),
        Column(
            "break_class", "text", "Sort of thing.", "Class", choices=BREAK_CLASSES, nullable=True
        ),
        Column(
            "credited_as",
            "text",
            "Ground that it counts as; empty where it stops no fire.",
            "Counts as",
            choices=CREDITED_AS,
            nullable=True,
        ),
        Column("condition", "text", "When it counts.", "When", nullable=True),
        Column("hazard", "text", "What is dangerous about it.", "Hazard", nullable=True),
        Column("serves", "flag", "Whether it may serve as a firebreak.", "Serves"),
    ),
    key=("source_id", "source_row"),
    internal=True,
)


LINE_WORK = Layer(
    "line_work",
    None,
    "What is to be made this season so that the lines of a block meet their rules. A stretch "
    "between two blocks counts once, with the block that it is listed under.",
    (
        BLOCK,
        Column(
            "way",
            "text",
            "bare: bare or wet line. mown: strip mown. burned: strip burned out beforehand.",
            "How",
            choices=WAYS,
        ),
        Column(
            "length_ft",
            "number",
            "Length of the edges along which it is made.",
            "Along",
            0,
            lowest=0,
        ),
        Column(
            "least_width_ft",
            "number",
            "Width where it is made least wide.",
            "Least width",
            1,
            lowest=0,
        ),
        Column(
            "most_width_ft", "number", "Width where it is made widest.", "Most width", 1, lowest=0
        ),
        Column("area_ac", "number", "Length times width.", "Area", 2, lowest=0),
        Column(
            "hours",
            "number",
            "Mowing time, from the length of all passes; none for other ways, whose speed is not "
            "set.",
            "Time",
            2,
            nullable=True,
            lowest=0,
        ),
    ),
    key=("block", "way"),
)
