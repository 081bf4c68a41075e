"""Frames that the property file and its map files arrive as."""

from pipeline.layers.common import findings_layer
from pipeline.layers.schema import Column, Layer

UNIT_ID = Column("unit_id", "text", "Name of the unit in all layers and tables.")

PROPERTY = Layer(
    "property",
    None,
    "The property and the season being prepared: one row.",
    (
        Column("name", "text", "Name of the property."),
        Column("season", "integer", "Calendar year of the season being prepared."),
    ),
    key=("name",),
    always=True,
)

DRAWN_UNITS = Layer(
    "drawn_units",
    "MultiPolygon",
    "The units as the user drew them, repaired where a ring was invalid.",
    (
        UNIT_ID,
        Column("name", "text", "What people call it.", nullable=True, required=False),
        Column("cover", "text", "Kind of ground.", nullable=True, required=False),
        Column(
            "stated_ac", "number", "Acres that the file itself states.", nullable=True,
            required=False,
        ),
    ),
    key=("unit_id",),
    internal=True,
)  # fmt: skip

EXCLUSIONS = Layer(
    "exclusions",
    "MultiPolygon",
    "Ground left out of a unit.",
    (
        Column("exclusion_id", "integer", "Row of the source, counted from 1."),
        Column("kind", "text", "What it is, in the user's words.", nullable=True, required=False),
        Column(
            "applies_to", "text", "What it is left out of.", required=False,
            choices=("burn", "seed", "both"),
        ),
    ),
    key=("exclusion_id",),
    internal=True,
)  # fmt: skip

BREAKS = Layer(
    "breaks",
    "LineOrPolygon",
    "What already stops a fire: lines and polygons of all break sources.",
    (
        Column("source_id", "integer", "Number of the [[sources.breaks]] entry, from 1."),
        Column("source_row", "integer", "Row of that source, from 1."),
        Column("kind", "text", "Road, creek, tilled field and so on, in the user's words."),
        Column(
            "width_ft", "number", "Width that will not burn.", nullable=True, required=False,
            lowest=0,
        ),
    ),
    key=("source_id", "source_row"),
)  # fmt: skip

BURNS = Layer(
    "burns",
    None,
    "Units that burn together this season: one row for each unit of each block.",
    (
        Column("block", "text", "Name of the block."),
        UNIT_ID,
        Column("wind_from_deg", "number", "Direction the planned wind comes from.", nullable=True,
               lowest=0, highest=360),
        Column("fuel_height_ft", "number", "Height of the standing fuel.", nullable=True, lowest=0),
        Column("flame_length_ft", "number", "Flame length that the burn boss expects.",
               nullable=True, lowest=0),
    ),
    key=("block", "unit_id"),
    internal=True,
)  # fmt: skip

GATES = Layer(
    "gates",
    "Point",
    "Gates and other ways onto the ground, for the crew and the receiver.",
    (
        Column("gate_id", "integer", "Row of the source, counted from 1."),
        Column("name", "text", "What people call it.", nullable=True, required=False),
    ),
    key=("gate_id",),
)

INTAKE_LAYERS = (
    PROPERTY,
    DRAWN_UNITS,
    EXCLUSIONS,
    BREAKS,
    BURNS,
    GATES,
    findings_layer("intake_findings"),
)
