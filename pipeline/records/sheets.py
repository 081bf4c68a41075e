"""The tables of the record book that people read: one for each who may ask."""

from pipeline.core.table import Table
from pipeline.records.layers import (
    BURN_REPORTS,
    CONTRACT_RECORDS,
    PLAN_RECORDS,
    RECORD_BOOK,
    SEED_RECORDS,
    WORK_RECORDS,
)

BURNS_TABLE = Table(
    BURN_REPORTS,
    "Burn reports",
    (
        "burn",
        "start",
        "end",
        "unit_ids",
        "burned_ac",
        "units_ac",
        "acres_from",
        "unburned_inside_pct",
        "permit",
        "led_by",
        "start_time",
        "end_time",
        "temperature_f",
        "humidity_pct",
        "wind_mph",
        "wind_from_deg",
        "recorded_by",
    ),
    totals=("burned_ac",),
    below=("weather", "notified", "objective", "result", "note"),
    about="What was done, as it was logged; no permission to light anything. Rows of the log with "
    "one first day and one permit are one burn. Where its acres come from in several ways, the "
    "least sure one is told.",
)


SPRAY_TABLE = Table(
    RECORD_BOOK,
    "Spray records",
    (
        "number",
        "unit_id",
        "start",
        "end",
        "start_time",
        "end_time",
        "product",
        "epa_reg_no",
        "amount_used",
        "target",
        "record_ac",
        "acres_from",
        "applicator",
        "license_no",
        "temperature_f",
        "wind_mph",
        "wind_from_deg",
        "owner",
        "recorded_by",
    ),
    totals=("record_ac",),
    below=("weather", "result", "note"),
    about="In the words of the log; nothing is recommended. Label and state law say what must be "
    "kept, how long, and who gets a copy.",
)


STOCK_TABLE = Table(
    RECORD_BOOK,
    "Grazing and moves of stock",
    (
        "number",
        "unit_id",
        "kind",
        "start",
        "end",
        "livestock",
        "head",
        "animal_unit_equivalent",
        "weight_lb",
        "moved_from",
        "moved_to",
        "record_ac",
        "residual_height_in",
        "recorded_by",
    ),
    below=("objective", "note"),
)


CUT_TABLE = Table(
    RECORD_BOOK,
    "Hay, mowing, cutting and dragging",
    (
        "number",
        "unit_id",
        "strip",
        "kind",
        "start",
        "end",
        "record_ac",
        "acres_from",
        "taken_lb",
        "bales",
        "residual_height_in",
        "recorded_by",
    ),
    totals=("record_ac",),
    below=("objective", "note"),
)


SEED_TABLE = Table(
    SEED_RECORDS,
    "Seed gathered and sown",
    (
        "number",
        "year",
        "kind",
        "unit_id",
        "strip",
        "start",
        "end",
        "lot",
        "mix",
        "areas",
        "record_ac",
        "taken_lb",
        "harvest_lb",
    ),
    below=("seed_species", "origin", "gathered_on", "sown_on"),
)


PLAN_TABLE = Table(
    PLAN_RECORDS,
    "Planned against done",
    (
        "number",
        "year",
        "outcome",
        "kind",
        "unit_id",
        "work_id",
        "planned_start",
        "planned_end",
        "start",
        "end",
        "record_ac",
    ),
    about="Planned are burns and seedings of the property file and rows of the log with a planned "
    "day; a plan was no permission to light anything.",
)


CONTRACT_TABLE = Table(
    CONTRACT_RECORDS,
    "Work under contracts and easements",
    (
        "contract",
        "unit_id",
        "unit_ac",
        "standing",
        "year",
        "practice",
        "kind",
        "start",
        "end",
        "record_ac",
        "approval",
    ),
    below=("limit_note",),
    about="For the contract's office. What is planned is not thereby approved: ask it in writing.",
)


OWNER_TABLE = Table(
    WORK_RECORDS,
    "Work by owner",
    ("owner", "standing", "year", "kind", "unit_id", "start", "end", "record_ac", "practice"),
    about="What is planned is planning arithmetic and no permission to light anything.",
)


ALL_TABLE = Table(
    RECORD_BOOK,
    "Every record",
    (
        "number",
        "year",
        "kind",
        "unit_id",
        "strip",
        "start",
        "end",
        "record_ac",
        "acres_from",
        "unit_pct",
        "owner",
        "left_out",
        "recorded_by",
    ),
    below=("objective", "result", "note"),
    about="Every row of the log that is not a plan; one that is left out moves no figure.",
)
