"""The treatment log as it is read and as it is used, and the ground that its burns took."""

from dataclasses import replace

from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_date,
    optional_number,
    optional_text,
)
from pipeline.core.layers import UNIT_ID

START_SPELLINGS = ("date", "date_start")


KINDS = (
    "burn",
    "graze",
    "rest",
    "mow",
    "hay",
    "spray",
    "till",
    "seed",
    "cut",
    "drag",
    "move",
    "harvest",
)
"""What the log may tell of. A cut is of trees and brush, a drag is a harrow or chain over standing
grass, a move is stock brought to a unit or taken off it, a harvest is of seed."""


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
        optional_text("objective", "What it was done for.", "Objective"),
        optional_text("permit", "Number of the permit.", "Permit"),
        optional_text("led_by", "Who was in charge, such as the burn boss.", "In charge"),
        optional_text("notified", "Who was told beforehand, and when.", "Told beforehand"),
        optional_text("start_time", "Time of the day it began, as on a clock.", "Began at"),
        optional_text("end_time", "Time of the day it was over.", "Over at"),
        optional_text("weather", "Weather on the day, in the user's words.", "Weather"),
        optional_number(
            "temperature_f", "Temperature of the air.", "Temperature", 0, lowest=-80, highest=140
        ),
        optional_number("humidity_pct", "Relative humidity.", "Humidity", 0, highest=100),
        optional_number("wind_mph", "Speed of the wind.", "Wind", 0, highest=150),
        optional_number(
            "wind_from_deg", "Direction the wind came from.", "Wind from", 0, highest=360
        ),
        optional_text("result", "What came of it, in the user's words.", "Result"),
        optional_text("product", "Product that was sprayed.", "Product"),
        optional_text("epa_reg_no", "EPA registration number on its label.", "EPA registration"),
        optional_text("target", "Pest, weed or brush that was treated.", "Against"),
        optional_text("amount_used", "Amount and concentration, as written down.", "Amount used"),
        optional_text("applicator", "Who sprayed.", "Applicator"),
        optional_text(
            "license_no", "License of the applicator.", "License", aliases=("licence_no",)
        ),
        optional_text("mix", "Mix that was sown.", "Mix"),
        optional_text("strip", "Strip or part of the unit.", "Strip"),
        optional_text("lot", "Lot of seed that was gathered or sown.", "Lot"),
        optional_text("species", "Species whose seed was gathered.", "Species"),
        optional_number("taken_lb", "Weight of hay or seed taken off.", "Taken off", 1),
        optional_count("bales", "Bales taken off.", "Bales", 0),
        optional_text("moved_from", "Unit or place that stock came from.", "Stock from"),
        optional_text("moved_to", "Unit or place that stock went to.", "Stock to"),
        optional_text("practice", "Practice of a contract that it was done under.", "Practice"),
        optional_date(
            "planned_start",
            "First day it was planned for. A row with it and without a first day is a plan: it "
            "counts as done only once its first day is filled in.",
            "Planned from",
        ),
        optional_date("planned_end", "Last day it was planned for.", "Planned to"),
        optional_text(
            "plan", "Planned work that the row is of, as the blank log names it.", "Plan"
        ),
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


OPEN_PLANS = replace(
    USABLE_LOG,
    name="open_plans",
    meaning="Rows of the treatments table with a planned day and no first day: nothing is done. "
    "Their days are the planned ones.",
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
    "row that is under way, the days that are left; of an open plan, those that are still to come.",
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
