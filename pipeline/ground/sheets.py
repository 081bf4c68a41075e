"""The tables of the ground that people read."""

from pipeline.core.table import Table
from pipeline.ground.layers import EXCLUDED_GROUND, GROUND_TOTALS, UNITS

TOTALS_TABLE = Table(
    GROUND_TOTALS,
    "Whole property",
    ("units", "units_ac", "overlap_ac", "ground_ac", "no_burn_ac", "burnable_ac"),
    about="Units summed less what is counted twice is the ground covered.",
)

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
    about="Acres and feet are measured on the ellipsoid from the boundaries given. Ground that "
    "two units cover counts in both.",
)

EXCLUDED_TABLE = Table(
    EXCLUDED_GROUND,
    "Ground left out",
    ("exclusion_id", "kind", "applies_to", "area_ac"),
    totals=("area_ac",),
)
