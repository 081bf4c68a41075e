"""Layers of the road of recovery: its rules, the moves of each unit, where it stands, its years."""

from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_date,
    optional_number,
    optional_text,
)
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.season.fuel.layers import CARRIES
from pipeline.season.road.causes import CAUSES

STATES = (
    "cropped",
    "inherited",
    "resting",
    "waiting",
    "answered",
    "not_answered",
    "recovering",
    "recovered",
    "establishing",
    "established",
)
"""Where a unit may stand. cropped: no sward. inherited: as it was taken over. resting: growing fuel
for a first burn. waiting: burned once, to see what is there. answered and not_answered: what it
showed. recovering: two burns, natives on the way. recovered: natives lead; kept by fire and
shoulder grazing. establishing: seeded into bare ground. established: what was seeded stands."""


PART_EVENTS = ("part_burn", "part_seed", "part_till")


EVENTS = (
    "start",
    "till",
    "part_till",
    "burn",
    "part_burn",
    "seed",
    "part_seed",
    "spray",
    "graze",
    "part_graze",
    "hay",
    "part_hay",
    "mow",
    "part_mow",
    "rest",
    "survey",
    "greenness",
    "year_end",
)
"""What may move a unit, in the order in which events of one day count. A burn, seeding or tillage
is a part of one until it has taken the greater part of the unit within its year; a grazing, haying
or mowing where its own acres are fewer."""


NATIVES = ("up", "down", "mixed", "same")


STATE = Column("state", "text", "Where it stands on the road.", "State", choices=STATES)


EVENT = Column("event", "text", "Kind of record.", "Record", choices=EVENTS)


ROAD_RULES = Layer(
    "road_rules",
    None,
    "Rules of the road of recovery: of those for an event and a state, the first whose condition "
    "holds moves the unit.",
    (
        Column("rule", "integer", "Place in the order; the lowest is tried first.", lowest=1),
        Column("event", "text", "Kind of record that it is tried on.", choices=EVENTS),
        optional_text("from_states", "States it moves from, with semicolons between; empty: any."),
        Column(
            "when",
            "text",
            "Clauses joined by and, such as: native_share_pct >= 50. Empty: always.",
            nullable=True,
        ),
        optional_text("to_state", "State it moves to; empty: it stays.", choices=STATES),
        optional_text("needs", "What a person would have to do or find for it, in a few words."),
        Column("reason", "text", "Why."),
        Column("source", "text", "Published source, or its standing."),
    ),
    key=("rule",),
    internal=True,
)


ROAD_RECORDS = Layer(
    "road_records",
    None,
    "All that may move a unit on the road, by its day: rows of the log, surveys, readings of "
    "greenness, ends of years.",
    (
        UNIT_ID,
        Column("day", "date", "Day of it.", nullable=True),
        EVENT,
        optional_number("share_pct", "Share of the unit, with what else it took in its year."),
        optional_number("native_share_pct", "Native plants in the cover, by a survey."),
        optional_number("cool_exotic_share_pct", "Exotic cool-season grasses in the cover."),
        optional_date("before", "Survey that the natives are held against."),
        optional_text("natives", "How the native groups changed since.", choices=NATIVES),
        optional_count("new_natives", "Native species first seen.", "", 0),
        optional_text("verdict", "Verdict on the greenness of a burned unit."),
    ),
    internal=True,
)


ROAD_MOVES = Layer(
    "road_moves",
    None,
    "Each step of each unit on the road of recovery, and the record that moved it.",
    (
        UNIT_ID,
        Column("number", "integer", "Number of the move, from 1: where it began.", "Move", 0),
        optional_date("day", "Day of the record that moved it; empty: where it began.", "Day"),
        EVENT,
        optional_text("from_state", "Where it stood.", "From", choices=STATES),
        Column("to_state", "text", "Where it stands since.", "To", choices=STATES),
        Column("moved_by", "text", "The record, with its figures.", "Moved by"),
        Column("rule", "integer", "Rule of the table that moved it.", "Rule"),
        Column("reason", "text", "Why, in the words of the rule.", "Why"),
        Column("source", "text", "Where the rule comes from.", "Source"),
    ),
    key=("unit_id", "number"),
)


RESTS_ON = ("survey", "greenness", "log", "time", "cover", "nothing")
"""What the newest move rests on: the surer ones first."""


MISSING = ("record", "survey", "survey_before_burn", "fuel")
"""What may not be known of a unit: any record, a survey since it moved there, one from before the
burn, its fuel."""


ROAD = Layer(
    "road",
    "MultiPolygon",
    "Where each unit stands on the road of recovery, since when and by which record, and what "
    "would move it on. Of a unit that was treated in part it is the state of the greater part.",
    (
        UNIT_ID,
        STATE,
        optional_date("since", "Day of the record that moved it there.", "Since"),
        Column("moved_by", "text", "That record, with its figures.", "Moved by"),
        Column("rule", "integer", "Rule of the table that moved it.", "Rule"),
        Column("reason", "text", "Why, in the words of the rule.", "Why"),
        optional_text("moves_on", "What would move it on.", "What would move it on"),
        Column(
            "rests_on",
            "text",
            "What the state rests on; a survey is the surest.",
            "Rests on",
            choices=RESTS_ON,
        ),
        optional_text("missing", "What is not known, as codes with commas between.", "Not known"),
        optional_count("whole_burns", "Burns of the greater part in ten years.", "Burns", 0),
        optional_date("overseeded", "Last seeding into a standing sward.", "Overseeded"),
        optional_date("part_on", "Last work on a part of it that moved nothing.", "Part on"),
        optional_text("part_done", "What that was.", "Part", choices=PART_EVENTS),
        optional_number("part_pct", "Share of the unit that it took.", "Share of it", 0),
        optional_date("surveyed", "Newest survey.", "Surveyed"),
        optional_number("native_share_pct", "Native plants in it.", "Native", 0),
        Column("carries", "text", "Whether the fuel carries a fire.", "Carries", choices=CARRIES),
        Column("source", "text", "Where the rule comes from.", "Source"),
    ),
    key=("unit_id",),
)


ROAD_YEARS = Layer(
    "road_years",
    None,
    "Each unit at the end of each year on record, or on the day the plan is looked at from: state, "
    "what was done, greenness against unburned units, plants, fuel, grazing.",
    (
        UNIT_ID,
        Column("year", "integer", "Calendar year.", "Year"),
        STATE,
        optional_text("treatments", "What the log has of the year.", "Done"),
        optional_number("burned_pct", "Share that burned in the year.", "Burned", 0),
        optional_number("seeded_pct", "Share that was seeded in the year.", "Seeded", 0),
        optional_date("pictured", "Day of the midsummer picture.", "Picture"),
        Column(
            "greenness",
            "number",
            "Mean NDVI in midsummer.",
            "Greenness",
            2,
            nullable=True,
            dimensionless=True,
        ),
        Column(
            "greenness_gap",
            "number",
            "Mean NDVI less that of the units without a burn in this year or the one before.",
            "Beyond unburned units",
            2,
            nullable=True,
            dimensionless=True,
            signed=True,
        ),
        optional_count("references", "Unburned units that it is held against.", "Unburned", 0),
        optional_date("surveyed", "Newest survey of the year.", "Surveyed"),
        optional_number("native_share_pct", "Native plants in the cover.", "Native", 0),
        optional_number("cool_exotic_share_pct", "Exotic cool-season grasses.", "Exotic", 0),
        optional_date("fuel_on", "Day of the newest load of the year.", "Fuel on"),
        optional_number("fuel_lb_ac", "Dry load on that day.", "Fuel", 0),
        optional_count("grazed_days", "Days with animals.", "Grazed", 0),
        optional_number("grazed_aum", "Animal-unit months; empty where not told.", "Grazed", 1),
    ),
    key=("unit_id", "year"),
)


ROAD_FINDINGS = findings_layer("road_findings", CAUSES)
