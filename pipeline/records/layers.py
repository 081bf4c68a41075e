"""The layers of the record book: records, burns, seed, plans against records, and a blank log."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer, optional_count, optional_number, optional_text
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.log.layers import KINDS, TREATMENTS
from pipeline.log.treatment_log import OBSTACLES
from pipeline.records.causes import CAUSES

ACRES_FROM = ("told", "drawn", "whole_unit", "unknown")
"""Where the acres of a record come from: its own row, a drawn burn, or all of its unit."""


OUTCOMES = ("done", "done_in_part", "not_done", "done_unplanned")
"""What came of planned work."""


STANDINGS = ("done", "planned")


LOG = tuple(
    replace(column, nullable=True, required=False)
    if column.name in ("unit_id", "start")
    else column
    for column in TREATMENTS.columns
)
"""Columns of the log, all of which but the kind may be empty."""


NUMBER = Column("number", "integer", "Row of the log, counted from 1.", "Row of the log")


UNIT = replace(UNIT_ID, nullable=True)


YEAR = optional_count("year", "Calendar year of the first day.", "Year")


KIND = TREATMENTS.column("kind")


ACRES = optional_number("record_ac", "Acres it concerns; empty where they are unknown.", "Area", 2)


ACRES_SOURCE = Column(
    "acres_from",
    "text",
    "Where the acres come from. told: the row itself. drawn: a burn that was drawn. whole_unit: no "
    "part is told, so all of the unit.",
    "Acres from",
    choices=ACRES_FROM,
)


OWNER = optional_text("owner", "Who owns the land.", "Owner")


RECORD_BOOK = Layer(
    "record_book",
    "Geometry",
    "Every row of the log that is not a plan, also one of a unit that is no longer on the map. Its "
    "shape is the drawn burn or else the whole unit, also where less of it was treated.",
    (
        NUMBER,
        YEAR,
        *LOG,
        ACRES,
        ACRES_SOURCE,
        optional_number("unit_pct", "Those acres in percent of the unit.", "Of the unit", 1),
        OWNER,
        optional_text(
            "left_out",
            "Why the row moves no figure.",
            "Left out",
            choices=OBSTACLES,
        ),
    ),
    key=("number",),
)


TOLD_OF_BURNS = (
    "permit",
    "led_by",
    "notified",
    "start_time",
    "end_time",
    "weather",
    "temperature_f",
    "humidity_pct",
    "wind_mph",
    "wind_from_deg",
    "objective",
    "result",
    "unburned_inside_pct",
    "recorded_by",
    "note",
)
"""What the report of a burn takes of the rows of the log."""


BURN_REPORTS = Layer(
    "burn_reports",
    "Geometry",
    "A row for each burn on record: rows of one first day and permit are one burn. What its rows "
    "tell alike is told once, a text that differs for each of them; a figure that differs is left "
    "to the record book.",
    (
        Column("burn", "text", "Its first day and permit.", "Burn"),
        LOG[1],
        LOG[2],
        Column("unit_ids", "text", "Units that it was on.", "Units"),
        optional_number("burned_ac", "Acres burned; empty where a part is unknown.", "Burned", 1),
        optional_number("units_ac", "All acres of these units.", "Units in all", 1),
        replace(
            ACRES_SOURCE, meaning="Where the acres come from; of several, the least sure stands."
        ),
        *(TREATMENTS.column(name) for name in TOLD_OF_BURNS),
    ),
    key=("burn",),
)


SEED_RECORDS = Layer(
    "seed_records",
    None,
    "Seed gathered and sown by strip and year: a row for each lot of each record, held against the "
    "tables of harvests, lots and seedings.",
    (
        NUMBER,
        Column("lot_number", "integer", "Place of the lot in its row, from 1.", "Lot of the row"),
        YEAR,
        Column("kind", "text", "Whether seed was gathered or sown.", "Done", choices=KINDS),
        UNIT,
        *(TREATMENTS.column(name) for name in ("strip", "start", "end", "lot")),
        optional_text(
            "seed_species", "Species told, or those that the tables have for it.", "Species"
        ),
        TREATMENTS.column("mix"),
        optional_text("areas", "Seeding areas of this unit and mix.", "Seeding areas"),
        ACRES,
        TREATMENTS.column("taken_lb"),
        optional_number("harvest_lb", "Pounds that the table of harvests has.", "In harvests", 1),
        optional_text("origin", "Where the table of lots says the seed grew.", "Grown"),
        optional_text("gathered_on", "Units and years the lot was gathered.", "Gathered on"),
        optional_text("sown_on", "Units and years the lot was sown.", "Sown on"),
    ),
    key=("number", "lot_number"),
)


PLAN_RECORDS = Layer(
    "plan_records",
    None,
    "Plans whose days are over, held against the log, and what was done in their years beside. "
    "Planned are burns and seedings of the property file and rows of the log with a planned day.",
    (
        Column("number", "integer", "Place in the list, from 1.", "Number"),
        YEAR,
        Column("kind", "text", "What it is.", "Work", choices=KINDS),
        UNIT_ID,
        optional_text("work_id", "Piece of planned work.", "Plan"),
        replace(TREATMENTS.column("planned_start"), meaning="First day planned."),
        replace(TREATMENTS.column("planned_end"), meaning="Last day planned."),
        replace(LOG[1], meaning="First day it was done."),
        replace(LOG[2], meaning="Last day it was done."),
        replace(ACRES, meaning="Acres on which it was done."),
        Column("outcome", "text", "What came of it.", "Outcome", choices=OUTCOMES),
    ),
    key=("number",),
)


WORK_RECORDS = Layer(
    "work_records",
    None,
    "What was done and what is planned, unit by unit, with owner and practice.",
    (
        Column("number", "integer", "Place in the list, from 1.", "Number"),
        Column("standing", "text", "Done or planned.", "Standing", choices=STANDINGS),
        YEAR,
        replace(KIND, heading="Work"),
        TREATMENTS.column("practice"),
        UNIT,
        OWNER,
        LOG[1],
        LOG[2],
        ACRES,
    ),
    key=("number",),
)


OWNER_UNITS = Layer(
    "owner_units",
    None,
    "Units by the owner of the land, where the units name one.",
    (
        Column("owner", "text", "Who owns the land.", "Owner"),
        UNIT_ID,
        optional_text("name", "What people call it.", "Name"),
        optional_number("gross_ac", "Whole area of the unit.", "Area", 1),
    ),
    key=("owner", "unit_id"),
)


CONTRACT_RECORDS = Layer(
    "contract_records",
    None,
    "Work on units under a contract or easement, for its office: practice, acres, days.",
    (
        Column("number", "integer", "Place in the list, from 1.", "Number"),
        optional_text("contract", "Number or name, where one is told.", "Contract"),
        replace(UNIT_ID, meaning="Unit under it."),
        optional_number("unit_ac", "All acres of the unit.", "Unit", 1),
        WORK_RECORDS.column("standing"),
        YEAR,
        replace(KIND, heading="Work"),
        TREATMENTS.column("practice"),
        LOG[1],
        LOG[2],
        ACRES,
        optional_text("approval", "Reference of a written approval.", "Approval"),
        optional_text("limit_note", "What it says, and whom to ask.", "It says"),
    ),
    key=("number",),
)


BLANK_LOG = Layer(
    "blank_log",
    None,
    "A log of the season to be filled in by hand: a row for each unit of each piece of planned "
    "work. Filled in, it is read as a log: a row without a first day stays a plan.",
    LOG,
)


RECORD_FINDINGS = findings_layer("record_findings", CAUSES)
