"""The tables of plants and patches that people read."""

from dataclasses import replace

from pipeline.core.table import Table
from pipeline.season.plants.layers import (
    PATCH_GROUND,
    PATCH_YEARS,
    PLANT_CHANGES,
    PLANT_COVER,
    PLANT_GROUPS,
)
from pipeline.season.sheets import COMMUNITY_TABLE

GROUPS_TABLE = Table(
    PLANT_GROUPS,
    "What came up, by group",
    (
        "unit_id",
        "date",
        "group",
        "species",
        "transects",
        "cover_pct",
        "cover_low_pct",
        "cover_high_pct",
        "frequency_pct",
        "frequency_of",
    ),
    about="Cover is of the ground, mean of the transects; covers overlap and may add up to more "
    "than 100 %. The transects are the sample, not their frames.",
)


ALL_GROUPS_TABLE = replace(GROUPS_TABLE, title="What came up by group, all surveys")


ALL_SURVEYS_TABLE = replace(COMMUNITY_TABLE, title="Plants on the transects, all surveys")


COVER_TABLE = Table(
    PLANT_COVER,
    "What came up, by species",
    (
        "unit_id",
        "date",
        "group",
        "species",
        "common_name",
        "told_as",
        "transects_with",
        "cover_pct",
        "frequency_pct",
        "frequency_of",
    ),
    about="A species that no transect has is not known to be absent from the unit.",
)


CHANGES_TABLE = Table(
    PLANT_CHANGES,
    "How the plants changed",
    (
        "unit_id",
        "date",
        "before",
        "burned",
        "group",
        "species",
        "transects",
        "before_cover_pct",
        "after_cover_pct",
        "change_pct",
        "change_low_pct",
        "change_high_pct",
        "seen",
    ),
    about="Points of cover, on the transects that both surveys read. An interval that holds 0 "
    "shows no change, and of twenty others one misses by chance. Rain, grazing and observers "
    "change too: a change after a burn is not yet one by the burn.",
)


ALL_CHANGES_TABLE = replace(CHANGES_TABLE, title="How every species changed")


PATCH_YEARS_TABLE = Table(
    PATCH_YEARS,
    "Patches by year",
    (
        "unit_id",
        "kind",
        "year",
        "visits",
        "area_ac",
        "share_pct",
        "before_year",
        "change_ac",
        "growth_pct",
    ),
    about="A year without a row was not looked at, or nothing was found. More walking finds more: "
    "growth is of what was recorded.",
)


PATCHES_TABLE = Table(
    PATCH_GROUND,
    "Patches by visit",
    (
        "unit_id",
        "kind",
        "date",
        "visit",
        "patches",
        "area_ac",
        "share_pct",
        "edge_ft",
        "over_the_edge",
        "water_ft",
        "water",
        "natives_told",
        "natives",
    ),
    below=("native_names",),
    about="Nothing here suggests a treatment: the product's label, the applicator's license and "
    "the noxious-weed law of state and county decide, and water and natives nearby narrow what may "
    "be done.",
)
