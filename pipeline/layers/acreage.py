"""The layers of the acreage steps."""

from pipeline.layers.common import findings_layer
from pipeline.layers.schema import Column, Layer

UNITS = Layer(
    "units",
    "MultiPolygon",
    "The units as drawn (repaired where needed), with their acres.",
    (
        Column("unit_id", "text", "Name of the unit in all layers and tables."),
        Column("name", "text", "What people call it.", nullable=True),
        Column("cover", "text", "Kind of ground, in the user's words.", nullable=True),
        Column("gross_ac", "number", "Whole area of the unit.", lowest=0),
        Column("no_burn_ac", "number", "Part left out of burning.", lowest=0),
        Column("no_seed_ac", "number", "Part left out of seeding.", lowest=0),
        Column("burnable_ac", "number", "Gross less what is left out of burning.", lowest=0),
        Column("seedable_ac", "number", "Gross less what is left out of seeding.", lowest=0),
        Column("perimeter_ft", "number", "Length of all outlines, holes included.", lowest=0),
    ),
    key=("unit_id",),
    always=True,
)

EXCLUDED_GROUND = Layer(
    "excluded_ground",
    "MultiPolygon",
    "Ground left out of burning or seeding, as drawn; parts outside the units are in its acres.",
    (
        Column("exclusion_id", "integer", "Row of the source, counted from 1."),
        Column("kind", "text", "What it is, in the user's words.", nullable=True),
        Column("applies_to", "text", "What it is left out of.", choices=("burn", "seed", "both")),
        Column("area_ac", "number", "Its whole area.", lowest=0),
    ),
    key=("exclusion_id",),
)

ACREAGE_LAYERS = (UNITS, EXCLUDED_GROUND, findings_layer("acreage_findings"))
