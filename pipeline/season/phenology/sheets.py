"""The table of first green and bloom that people read."""

from pipeline.core.table import Table
from pipeline.season.phenology.layers import PHENOLOGY_DATES

PHENOLOGY_TABLE = Table(
    PHENOLOGY_DATES,
    "First green and bloom, by year",
    (
        "year",
        "unit_id",
        "event",
        "species",
        "common_name",
        "date",
        "expected",
        "expected_from",
        "differs_days",
        "agreement",
        "note",
    ),
    about="Green-up is the day from which the end of the burn window is reckoned: by the year's "
    "own temperatures where they are whole, else the region's date. First green of the stand, or "
    "of a cool-season grass, is held against it; nothing here moves a window.",
)
