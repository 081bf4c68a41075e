"""Layers that every run has: findings, settings, sources."""

from collections.abc import Iterable
from dataclasses import replace

from pipeline.core.causes import SEVERITIES, STAKES, UNITS, Cause
from pipeline.core.layer import Column, Layer

UNIT_OF_AMOUNT = Column(
    "unit",
    "text",
    "Unit of the amount: acres, feet, pounds, animal-unit months or pixels.",
    heading="Unit of it",
    nullable=True,
    choices=UNITS,
)


FINDINGS = Layer(
    "findings",
    "Geometry",
    "What a person should look at before using the figures, each with its place where it has one.",
    (
        Column(
            "severity",
            "text",
            "note: good to know. warning: look.",
            heading="Kind",
            choices=SEVERITIES,
        ),
        Column("source", "text", "Source or step that the finding speaks of.", heading="Source"),
        Column(
            "row",
            "integer",
            "Row of the source, counted from 1.",
            heading="Row of the source",
            nullable=True,
        ),
        Column(
            "subject",
            "text",
            "Unit, block, lot or other thing concerned.",
            heading="About",
            nullable=True,
        ),
        Column(
            "message",
            "text",
            "What was found, and what was or should be done.",
            heading="What was found, and what to do",
        ),
        Column(
            "code",
            "text",
            "Cause of the finding: those of one cause belong together.",
            heading="Code",
        ),
        Column(
            "amount",
            "number",
            "What is at stake here, in the unit beside it; empty where nothing is counted.",
            heading="How much",
            places=2,
            nullable=True,
            dimensionless=True,
            lowest=0,
        ),
        UNIT_OF_AMOUNT,
    ),
    always=True,
)


FINDINGS_BY_CAUSE = Layer(
    "findings_by_cause",
    None,
    "Findings summed by cause, in the order in which to look at them; each finding is in one row.",
    (
        Column("rank", "integer", "Place in the order.", heading="Place", places=0, lowest=1),
        FINDINGS.column("severity"),
        FINDINGS.column("code"),
        Column(
            "stake",
            "text",
            "What is at stake. fire: lines, smoke, blocks without figures. season: burn windows, "
            "fuel, history. ground: acres and outlines. supply: seed, feed, money. evidence: how "
            "far a verdict can be trusted. reading: how a source was read.",
            heading="At stake",
            choices=STAKES,
        ),
        Column("cause", "text", "What was found, behind a count.", heading="What was found"),
        Column(
            "findings", "integer", "Findings of the cause.", heading="Findings", places=0, lowest=1
        ),
        replace(
            FINDINGS.column("amount"),
            meaning="Sum of the amounts that are known, in the unit beside it.",
        ),
        UNIT_OF_AMOUNT,
        Column(
            "share_pct",
            "number",
            "That sum against the property's total in the same unit; ground that is counted twice "
            "may make it more than all.",
            heading="Of the property",
            places=1,
            nullable=True,
            lowest=0,
        ),
        Column(
            "worst",
            "text",
            "Names of at most three things concerned, the largest amounts first, and how many "
            "more there are.",
            heading="Worst",
        ),
        Column("do", "text", "What to do about it.", heading="What to do"),
    ),
    key=("rank",),
    always=True,
)


SETTINGS = Layer(
    "settings",
    None,
    "Every setting used in this run.",
    (
        Column("section", "text", "Section of the property file.", heading="Section"),
        Column(
            "setting",
            "text",
            "Name of the setting; its unit is the end of the name.",
            heading="Setting",
        ),
        Column("value", "text", "Value used.", heading="Value"),
        Column("unit", "text", "Unit in words.", heading="Unit of it", nullable=True),
        Column(
            "origin",
            "text",
            "Where the value comes from.",
            heading="From",
            choices=("property_file", "default"),
        ),
        Column("meaning", "text", "What the setting does.", heading="What it does"),
        Column(
            "reference",
            "text",
            "Published source of the default, or its standing.",
            heading="Source of the default",
        ),
    ),
    key=("section", "setting"),
    always=True,
)


SOURCES = Layer(
    "sources",
    None,
    "Every file read in this run.",
    (
        Column("source", "text", "Role of the file in the property file.", heading="Role"),
        Column(
            "path",
            "text",
            "Path as written in the property file, or of a table that comes with the program.",
            heading="File",
        ),
        Column(
            "origin",
            "text",
            "Whether the property file names it, or it comes with the program.",
            heading="From",
            choices=("property_file", "program"),
        ),
        Column(
            "sha256",
            "text",
            "Checksum of the file (of all its parts, for a shapefile).",
            heading="SHA-256",
        ),
        Column("driver", "text", "Format it was read as.", heading="Read as"),
        Column(
            "crs",
            "text",
            "Coordinate reference system of the file.",
            heading="CRS",
            nullable=True,
        ),
        Column(
            "rows_read",
            "integer",
            "Rows or bands in the file.",
            heading="Rows read",
            places=0,
        ),
        Column(
            "rows_used",
            "integer",
            "Rows or bands that went into the run.",
            heading="Rows used",
            places=0,
        ),
    ),
    key=("source", "path"),
    always=True,
)


def findings_layer(name: str, causes: Iterable[Cause]) -> Layer:
    """Internal layer for the findings of one group of steps, gathered at the end of the run.

    The unit of an amount is that of its cause, and is set when they are gathered.
    """
    told = with_codes(FINDINGS, causes)
    columns = tuple(column for column in told.columns if column is not UNIT_OF_AMOUNT)
    return replace(told, name=name, columns=columns, internal=True, always=False)


def with_codes(layer: Layer, causes: Iterable[Cause]) -> Layer:
    """The layer with the codes of some causes as the choices of its column ``code``."""
    codes = tuple(cause.code for cause in causes)
    columns = (replace(c, choices=codes) if c.name == "code" else c for c in layer.columns)
    return replace(layer, columns=tuple(columns))


UNIT_ID = Column("unit_id", "text", "Name of the unit in all layers and tables.", heading="Unit")


PROPERTY = Layer(
    "property",
    None,
    "The property and the season being prepared: one row.",
    (
        Column("name", "text", "Name of the property.", heading="Property"),
        Column(
            "season",
            "integer",
            "Calendar year of the season being prepared.",
            heading="Season",
        ),
        Column(
            "state",
            "text",
            "State it lies in, for seed law and nesting dates.",
            heading="State",
            nullable=True,
        ),
        Column(
            "region",
            "text",
            "Region whose dates and rules are used.",
            heading="Region",
            nullable=True,
        ),
        Column(
            "as_of",
            "date",
            "Day the plan is looked at from: what the log tells of later days is planned.",
            heading="As of",
            nullable=True,
            required=False,
        ),
    ),
    key=("name",),
    always=True,
)
