"""The tables of the ground that people read."""

from pipeline.core.table import Table
from pipeline.ground.layers import EXCLUDED_GROUND, UNITS

UNITS_TABLE = Table(
    UNITS,
    "Units",
    (
        "unit_id",
        "name",
        "cover",
        "gross_ac",
        "no_burn_ac",
        "burnable_ac",
        "no_seed_ac",
        "seedable_ac",
        "perimeter_ft",
    ),
    totals=("gross_ac", "no_burn_ac", "burnable_ac", "no_seed_ac", "seedable_ac"),
    about="Acres and feet are measured on the ellipsoid from the boundaries given.",
)

EXCLUDED_TABLE = Table(
    EXCLUDED_GROUND,
    "Ground left out",
    ("exclusion_id", "kind", "applies_to", "area_ac"),
    totals=("area_ac",),
)
