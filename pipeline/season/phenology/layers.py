"""Layers of the days on which plants green and bloom."""

from dataclasses import replace

from pipeline.core.causes import Cause
from pipeline.core.layer import Column, Layer, optional_date, optional_text
from pipeline.core.layers import UNIT_ID, findings_layer

CAUSES = (
    Cause(
        "green_up_differs",
        "season",
        "year[|s] with first green far from reckoned green-up",
        "look at the fuel in the field, and at your own row in green_up",
    ),
    Cause(
        "phenology_ahead",
        "reading",
        "set[|s] of days of plants to come",
        "mend the day, or as_of of [property]",
    ),
)


EVENTS = ("first_green", "bloom")


_UNIT = replace(
    UNIT_ID,
    meaning="Unit it was seen on; empty: the property as a whole.",
    nullable=True,
    required=False,
)


SEEN_ON = Column("date", "date", "Day it was first seen.", "Seen on")


EVENT = Column("event", "text", "What was seen.", "Event", choices=EVENTS)


PHENOLOGY = Layer(
    "phenology",
    None,
    "First green and bloom as somebody saw them: one row for each event, place and year.",
    (
        _UNIT,
        SEEN_ON,
        EVENT,
        optional_text("species", "Scientific or common name; empty: the stand as a whole."),
        optional_text("note", "Anything else."),
    ),
    internal=True,
)


AGREEMENTS = ("agrees", "earlier", "later", "not_held", "ahead")
"""First green against the green-up of the year: within the days allowed, or before or after them;
not held against it, as it is a bloom, of no cool-season grass, or no green-up is known; or told
for a day to come."""


PHENOLOGY_DATES = Layer(
    "phenology_dates",
    None,
    "First green and bloom by year and place, with the green-up that burn windows reckon with.",
    (
        Column("number", "integer", "Place in the list, from 1: by day and place.", "Number"),
        Column("year", "integer", "Calendar year.", "Year"),
        _UNIT,
        EVENT,
        optional_text("species", "Species; empty: the stand as a whole.", "Species"),
        optional_text("common_name", "Common name.", "Common name"),
        SEEN_ON,
        optional_date("expected", "Green-up of the year that is reckoned with.", "Green-up"),
        optional_text(
            "expected_from",
            "What that rests on: temperatures of the year, or the dates of the region.",
            "By",
            choices=("temperatures", "region_dates"),
        ),
        Column(
            "differs_days",
            "number",
            "Seen less reckoned.",
            "Differs",
            0,
            nullable=True,
            signed=True,
        ),
        Column("agreement", "text", "Whether both agree.", "Agreement", choices=AGREEMENTS),
        optional_text("note", "Anything else.", "Note"),
    ),
    key=("number",),
)


PHENOLOGY_FINDINGS = findings_layer("phenology_findings", CAUSES)
