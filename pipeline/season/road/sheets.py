"""The tables of the road of recovery that people read."""

from pipeline.core.table import Table
from pipeline.season.road.layers import ROAD, ROAD_MOVES, ROAD_YEARS

ROAD_TABLE = Table(
    ROAD,
    "Where each unit stands on the road of recovery",
    (
        "unit_id",
        "state",
        "since",
        "moved_by",
        "rests_on",
        "whole_burns",
        "native_share_pct",
        "carries",
        "part_done",
        "part_on",
        "part_pct",
        "overseeded",
    ),
    below=("reason", "moves_on", "missing"),
    about="A state is what the record tells, by rules that you can change (road_rules). Of a unit "
    "treated in part it is that of the greater part. Recovered and established ground is kept by "
    "fire and by grazing the shoulders of the season. What would move it on is no advice to do it, "
    "and no permission to light anything.",
)


ROAD_YEARS_TABLE = Table(
    ROAD_YEARS,
    "The years of each unit in figures",
    (
        "unit_id",
        "year",
        "state",
        "treatments",
        "burned_pct",
        "seeded_pct",
        "grazed_days",
        "grazed_aum",
        "native_share_pct",
        "cool_exotic_share_pct",
        "greenness",
        "greenness_gap",
        "references",
        "fuel_lb_ac",
    ),
    about="Greenness is the midsummer mean of NDVI; beyond unburned units: less the mean of those "
    "without a burn in that year or the one before. Empty: not on record, not zero.",
)


ROAD_MOVES_TABLE = Table(
    ROAD_MOVES,
    "Every step on the road, and the record that moved it",
    ("unit_id", "number", "day", "from_state", "to_state", "moved_by", "rule"),
    below=("reason", "source"),
)
