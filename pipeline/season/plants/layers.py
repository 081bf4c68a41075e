"""Layers and tables of what came up, how it changed, and of patches of weeds."""

from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_number,
    optional_text,
)
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.season.layers import DATE
from pipeline.season.plants.causes import CAUSES
from pipeline.season.plants.groups import GROUPS

GROUP = Column("group", "text", "Group of plants, or what is no plant.", "Group", choices=GROUPS)


FREQUENCY = (
    optional_number(
        "frequency_pct", "Share of the frames, or of the transects, it stands in.", "Frequency", 0
    ),
    Column(
        "frequency_of",
        "text",
        "What the frequency counts; figures of frames and of transects must not be compared.",
        "Counted in",
        choices=("frames", "transects"),
    ),
)


PLANT_COVER = Layer(
    "plant_cover",
    None,
    "What came up: each species on the transects of each unit and survey, with cover and "
    "frequency. A transect without it counts as none of it.",
    (
        UNIT_ID,
        DATE,
        GROUP,
        Column("species", "text", "Scientific name, or the name told where none fits.", "Species"),
        optional_text("common_name", "Common name.", "Common name"),
        optional_text("told_as", "Names that the records have for it.", "Recorded as"),
        Column("transects", "integer", "Transects read.", "Transects", 0),
        Column("transects_with", "integer", "Transects it stands on.", "Stands on", 0),
        Column("cover_pct", "number", "Mean of the transects read.", "Cover", 1, lowest=0),
        *FREQUENCY,
    ),
    key=("unit_id", "date", "group", "species"),
)


PLANT_GROUPS = Layer(
    "plant_groups",
    None,
    "Cover of each group of plants by unit and survey, with its interval over the transects; "
    "litter and bare ground apart.",
    (
        UNIT_ID,
        DATE,
        GROUP,
        Column("species", "integer", "Species of the group found.", "Species", 0),
        Column("transects", "integer", "Transects read.", "Transects", 0),
        Column("cover_pct", "number", "Mean of the transects read.", "Cover", 1, lowest=0),
        optional_number("cover_low_pct", "Low end of its interval, not below 0.", "Cover, from", 1),
        optional_number("cover_high_pct", "High end of its interval.", "Cover, to", 1),
        *FREQUENCY,
    ),
    key=("unit_id", "date", "group"),
)


def _change(name: str, meaning: str, heading: str) -> Column:
    """A change of cover in points."""
    return Column(name, "number", meaning, heading, 1, nullable=True, signed=True)


SEEN = ("both_times", "first_seen", "seen_again", "not_seen", "not_seen_again")
"""What two surveys tell of a species: on both; now and never before; not on the one held against
but on another earlier one; not now but on a later one; neither now nor later."""


PLANT_CHANGES = Layer(
    "plant_changes",
    None,
    "Change of cover between two surveys at one time of the year, transect by transect, on the "
    "transects that both have read; rows without a species are of a whole group.",
    (
        UNIT_ID,
        DATE,
        Column("before", "date", "Last day of the survey it is held against.", "Since"),
        GROUP,
        optional_text("species", "Species; empty: the whole group.", "Species"),
        Column("transects", "integer", "Transects that both surveys read.", "Transects", 0),
        Column("before_cover_pct", "number", "Mean cover then.", "Cover then", 1, lowest=0),
        Column("after_cover_pct", "number", "Mean cover now.", "Cover now", 1, lowest=0),
        _change("change_pct", "Now less then, in points of cover.", "Change"),
        _change("change_low_pct", "Low end of its interval; empty with one transect.", "From"),
        _change("change_high_pct", "High end of its interval.", "To"),
        optional_text(
            "seen", "Whether it was there before and is there now.", "Seen", choices=SEEN
        ),
        optional_text(
            "burned", "Days of burns in between, whatever share of the unit burned.", "Burned"
        ),
    ),
    key=("unit_id", "date", "group", "species"),
)


PATCHES = Layer(
    "patches",
    "Geometry",
    "Patches of weeds or brush as they were walked or marked: polygons, or points with a radius.",
    (
        optional_text("patch", "Name of the patch."),
        Column("kind", "text", "What grows there: thistle, cedar, spurge."),
        Column("date", "date", "Day it was seen."),
        optional_number("radius_ft", "Radius of a patch that is marked as a point."),
        optional_text("note", "Anything else."),
    ),
    internal=True,
)


NATIVES_TOLD = ("no_places", "none_recorded", "recorded")
"""Whether plant records tell of natives in a patch: they have no places there, none lies in it, or
some do."""


PATCH_GROUND = Layer(
    "patch_ground",
    "MultiPolygon",
    "Ground of the patches of each unit, kind and date, cut at the edges of the units; ground that "
    "several patches of a date cover is counted once.",
    (
        UNIT_ID,
        Column("kind", "text", "What grows there, in the user's words.", "Kind"),
        Column("date", "date", "Day it was seen.", "Seen on"),
        Column("patches", "integer", "Patches drawn that reach into the unit.", "Patches", 0),
        Column("area_ac", "number", "Their ground in the unit.", "Area", 2, lowest=0),
        Column("share_pct", "number", "Share of the unit.", "Of the unit", 1, lowest=0),
        Column("visit", "integer", "Which visit it is, from 1.", "Visit", 0),
        Column(
            "over_the_edge", "flag", "Whether a patch goes on outside the unit.", "Over the edge"
        ),
        Column("edge_ft", "number", "Distance to the edge of the unit.", "To the edge", 0),
        optional_number("water_ft", "Distance to the nearest water on the map.", "To water", 0),
        optional_text("water", "What that water is, in the user's words.", "Water"),
        Column(
            "natives_told",
            "text",
            "Whether plant records tell of natives within; transects have no place of their own.",
            "Natives within",
            choices=NATIVES_TOLD,
        ),
        optional_count("natives", "Native species recorded within; empty: not known.", "Count", 0),
        optional_text(
            "native_names", "Native species recorded within: what would be lost.", "Would be lost"
        ),
    ),
    key=("unit_id", "kind", "date"),
)


PATCH_YEARS = Layer(
    "patch_years",
    None,
    "Ground of the patches by unit, kind and year: all that was seen in the year, once. A year "
    "without a row was not looked at, or nothing was found: it is not zero.",
    (
        UNIT_ID,
        Column("kind", "text", "What grows there, in the user's words.", "Kind"),
        Column("year", "integer", "Calendar year.", "Year"),
        Column("visits", "integer", "Days of the year with a patch on record.", "Visits", 0),
        Column("area_ac", "number", "Ground in the unit.", "Area", 2, lowest=0),
        Column("share_pct", "number", "Share of the unit.", "Of the unit", 1, lowest=0),
        optional_count("before_year", "Last year on record before it.", "Since"),
        Column(
            "change_ac",
            "number",
            "Area less that of the year before on record.",
            "Change",
            2,
            nullable=True,
            signed=True,
        ),
        Column(
            "growth_pct",
            "number",
            "Change in percent of the area then.",
            "Growth",
            0,
            nullable=True,
            signed=True,
        ),
    ),
    key=("unit_id", "kind", "year"),
)


PLANT_FINDINGS = findings_layer("plant_findings", CAUSES)


PLANT_PLACE_FINDINGS = findings_layer("plant_place_findings", CAUSES)


PATCH_FINDINGS = findings_layer("patch_findings", CAUSES)
