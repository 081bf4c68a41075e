"""The layers of the acreage steps."""

from pipeline.core.layer import Column, Layer, optional_text
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.ground.causes import CAUSES

PURPOSES = ("burn", "seed", "both")
"""What ground can be left out of."""


UNITS = Layer(
    "units",
    "MultiPolygon",
    "The units as drawn (repaired where needed), with their acres.",
    (
        Column("unit_id", "text", "Name of the unit in all layers and tables.", heading="Unit"),
        Column("name", "text", "What people call it.", heading="Name", nullable=True),
        Column(
            "cover", "text", "Kind of ground, in the user's words.", heading="Ground", nullable=True
        ),
        Column(
            "gross_ac", "number", "Whole area of the unit.", heading="Gross", places=1, lowest=0
        ),
        Column(
            "no_burn_ac",
            "number",
            "Part left out of burning.",
            heading="Not to burn",
            places=1,
            lowest=0,
        ),
        Column(
            "no_seed_ac",
            "number",
            "Part left out of seeding.",
            heading="Not to seed",
            places=1,
            lowest=0,
        ),
        Column(
            "burnable_ac",
            "number",
            "Gross less what is left out of burning.",
            heading="Burnable",
            places=1,
            lowest=0,
        ),
        Column(
            "seedable_ac",
            "number",
            "Gross less what is left out of seeding.",
            heading="Seedable",
            places=1,
            lowest=0,
        ),
        Column(
            "perimeter_ft",
            "number",
            "Length of all outlines, holes included.",
            heading="Around",
            places=0,
            lowest=0,
        ),
    ),
    key=("unit_id",),
    always=True,
)


def _acres(name: str, heading: str, meaning: str) -> Column:
    return Column(name, "number", meaning, heading, 1, lowest=0)


GROUND_TOTALS = Layer(
    "ground_totals",
    None,
    "Acres of the whole property in one row: units summed, the ground they cover, counted twice.",
    (
        Column("units", "integer", "Units of the property.", "Units", 0),
        _acres("units_ac", "Units summed", "Units as drawn, summed: overlaps count twice."),
        _acres("overlap_ac", "Counted twice", "Part of that sum that two units or more cover."),
        _acres("ground_ac", "Ground covered", "Ground of all units, each piece once."),
        _acres("no_burn_ac", "Not to burn", "Part of that ground left out of burning."),
        _acres("burnable_ac", "Burnable", "Ground less what is left out of burning."),
    ),
    key=("units",),
    always=True,
)


EXCLUDED_GROUND = Layer(
    "excluded_ground",
    "MultiPolygon",
    "Ground left out of burning or seeding, as drawn; parts outside the units are in its acres.",
    (
        Column(
            "exclusion_id",
            "integer",
            "Row of the source, counted from 1.",
            heading="Row of the source",
        ),
        Column(
            "kind", "text", "What it is, in the user's words.", heading="What it is", nullable=True
        ),
        Column(
            "applies_to",
            "text",
            "What it is left out of.",
            heading="Left out of",
            choices=PURPOSES,
        ),
        Column("area_ac", "number", "Its whole area.", heading="Area", places=2, lowest=0),
    ),
    key=("exclusion_id",),
)


DRAWN_UNITS = Layer(
    "drawn_units",
    "MultiPolygon",
    "The units as the user drew them, repaired where a ring was invalid.",
    (
        UNIT_ID,
        optional_text("name", "What people call it."),
        optional_text("cover", "Kind of ground."),
        optional_text("owner", "Who owns the land."),
        Column(
            "stated_ac",
            "number",
            "Acres that the file itself states.",
            nullable=True,
            required=False,
        ),
    ),
    key=("unit_id",),
    internal=True,
)


EXCLUSIONS = Layer(
    "exclusions",
    "MultiPolygon",
    "Ground left out of a unit.",
    (
        Column("exclusion_id", "integer", "Row of the source, counted from 1."),
        optional_text("kind", "What it is, in the user's words."),
        Column(
            "applies_to",
            "text",
            "What it is left out of.",
            required=False,
            choices=PURPOSES,
        ),
    ),
    key=("exclusion_id",),
    internal=True,
)


EDGES = Layer(
    "edges",
    "LineString",
    "Edge graph of the property: each line between two pieces of ground, once.",
    (
        Column("edge_id", "integer", "Number of the edge."),
        Column("left_unit", "text", "Unit on the left hand.", nullable=True),
        Column("right_unit", "text", "Unit on the right hand.", nullable=True),
        Column("left_kind", "text", "Exclusion on the left hand.", nullable=True),
        Column("right_kind", "text", "Exclusion on the right hand.", nullable=True),
        Column("left_lane", "flag", "Whether a lane between two units is on the left hand."),
        Column("right_lane", "flag", "Whether a lane between two units is on the right hand."),
    ),
    key=("edge_id",),
    internal=True,
)


ACREAGE_FINDINGS = findings_layer("acreage_findings", CAUSES)
