"""The treatment log as it is read and as it is used, and the ground that its burns took."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer, optional_date, optional_number, optional_text
from pipeline.core.layers import UNIT_ID

START_SPELLINGS = ("date", "date_start")


KINDS = ("burn", "graze", "rest", "mow", "hay", "spray", "till", "seed", "cut", "drag", "move")

"""What the log may tell of. A cut is of trees and brush, a drag is a harrow over standing grass,
and a move is stock brought to a unit or taken off it."""


SOWN_HOW = ("drill", "broadcast", "overseed")


TREATMENTS = Layer(
    "treatments",
    None,
    "The log of what was done to each unit: one row for each event. A row that names no unit of "
    "the map, has no first day or ends before it begins is told and used nowhere.",
    (
        replace(UNIT_ID, nullable=True),
        Column("start", "date", "First day.", "From", nullable=True, aliases=START_SPELLINGS),
        optional_date(
            "end", "Last day; the first day where it is empty.", "To", aliases=("date_end",)
        ),
        Column("kind", "text", "What was done.", "Done", choices=KINDS, aliases=("treatment",)),
        optional_number("head", "Animals on the unit.", "Animals", 0, dimensionless=True),
        optional_number(
            "animal_unit_equivalent",
            "Animal units that one animal counts for.",
            "Animal units each",
            2,
            dimensionless=True,
            aliases=("aue",),
        ),
        optional_number(
            "weight_lb", "Weight of one animal, where no equivalent is given.", "Weight", 0
        ),
        optional_text("livestock", "Kind of animal.", "Livestock"),
        optional_number(
            "acres_treated_ac",
            "Acres treated, where it was not the whole unit.",
            "Acres treated",
            1,
            lowest=0.01,
        ),
        optional_number(
            "unburned_inside_pct",
            "Share inside the burned ground that stayed.",
            "Left unburned inside",
            0,
            highest=100,
        ),
        optional_number(
            "residual_height_in", "Height of what was left standing.", "Height left", 1
        ),
        optional_text("objective", "What it was done for.", "For"),
        optional_text("permit", "Number of the permit.", "Permit"),
        optional_text("weather", "Weather on the day, in the user's words.", "Weather"),
        optional_text("product", "Product that was sprayed.", "Product"),
        optional_text("epa_reg_no", "EPA registration number on its label.", "EPA registration"),
        optional_text("applicator", "Who sprayed.", "Applicator"),
        optional_text(
            "license_no", "License of the applicator.", "License", aliases=("licence_no",)
        ),
        optional_text("mix", "Mix that was sown.", "Mix"),
        optional_text(
            "method",
            "How it was sown: overseed is seed put into a standing sward.",
            "How sown",
            choices=SOWN_HOW,
            aliases=("seeding_method",),
        ),
        optional_text("recorded_by", "Who wrote the row.", "Written by"),
        optional_text("note", "Anything else.", "Note"),
    ),
    internal=True,
)


ALWAYS_IN_THE_LOG = ("unit_id", "start", "end")


USABLE_LOG = Layer(
    "usable_log",
    None,
    "Rows of the treatments table that can be used, in the order of their days.",
    tuple(
        replace(column, nullable=column.nullable and column.name not in ALWAYS_IN_THE_LOG)
        for column in TREATMENTS.columns
    ),
    internal=True,
)


TREATMENT_LOG = replace(
    USABLE_LOG,
    name="treatment_log",
    meaning="What was done up to the day the plan is looked at from: what every step reads of the "
    "log. Of a row that goes on after it, the days until then.",
    internal=False,
)


PLANNED_LOG = replace(
    USABLE_LOG,
    name="planned_log",
    meaning="What the log tells of days after the day the plan is looked at from: planned. Of a "
    "row that is under way, the days that are left.",
)


BURNED_AREAS = Layer(
    "burned_areas",
    "MultiPolygon",
    "Ground that a burn took where it was not the whole unit.",
    (
        UNIT_ID,
        Column("date", "date", "Day of the burn, as in the treatments table."),
    ),
    internal=True,
)
