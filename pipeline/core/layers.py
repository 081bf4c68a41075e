"""Layers that every run has: findings, settings, sources."""

from pipeline.core.layer import Column, Layer

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
            choices=("note", "warning"),
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
            "Kind of finding, for programs that sort them.",
            heading="Code",
            nullable=True,
        ),
    ),
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


def findings_layer(name: str) -> Layer:
    """Internal layer for the findings of one group of steps, gathered at the end of the run."""
    return Layer(name, FINDINGS.geometry, FINDINGS.meaning, FINDINGS.columns, internal=True)


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
