"""The layers of smoke and wind: which winds carry smoke to which place, and which are left."""

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.fire.causes import SMOKE
from pipeline.fire.source_layers import BLOCK

PLANNED_SMOKE = ("reached", "not_reached", "no_wind_planned")
"""Whether smoke of the planned wind reaches a place."""


FROM_THE_MAP = "Drawn from the map alone; terrain, inversions and shifts are not in it."


def _direction(name: str, heading: str, meaning: str, *, nullable: bool = True) -> Column:
    return Column(name, "number", meaning, heading, 0, nullable=nullable, lowest=0, highest=360)


def _text(name: str, heading: str, meaning: str) -> Column:
    return Column(name, "text", meaning, heading, nullable=True)


PLACE_ID = Column("place_id", "integer", "Place, counted from 1 as the source lists them.", "Place")


KIND = _text("kind", "What it is", "What it is, in the user's words.")


DISTANCE = Column(
    "distance_mi",
    "number",
    "Shortest way from the unit or block to the place; 0 where they touch.",
    "Distance",
    2,
    nullable=True,
    lowest=0,
)


BEARING = _direction("bearing_deg", "Lies to the", "Direction of that way; none where they touch.")


ARC = Column("arc", "integer", "Arc, counted clockwise from north.", "Arc")


SMOKE_ARCS = Layer(
    "smoke_arcs",
    None,
    "Arcs of winds from which smoke of a unit or of a burn block reaches a place within the "
    f"distance set; a place without a row is farther off. {FROM_THE_MAP}",
    (
        Column("unit_id", "text", UNIT_ID.meaning, UNIT_ID.heading, nullable=True),
        Column("block", "text", BLOCK.meaning, BLOCK.heading, nullable=True),
        PLACE_ID,
        KIND,
        ARC,
        _direction(
            "from_deg", "Winds from", "First direction the wind comes from.", nullable=False
        ),
        _direction(
            "to_deg",
            "Clockwise to",
            "Last direction, clockwise; 0 to 360 is every wind.",
            nullable=False,
        ),
        DISTANCE,
        BEARING,
    ),
    key=("unit_id", "block", "place_id", "arc"),
)


WINDS = Layer(
    "winds",
    None,
    "Which winds keep smoke off the places named, by unit and direction, out of the arcs. "
    f"{FROM_THE_MAP}",
    (
        UNIT_ID,
        _direction("wind_from_deg", "Wind from", "Direction the wind comes from.", nullable=False),
        Column(
            "allowed",
            "flag",
            "Whether no place lies in the smoke of this wind within the distance set.",
            "No place downwind",
        ),
        Column("places", "integer", "Places downwind.", "Places downwind", 0, lowest=0),
        Column(
            "nearest_mi",
            "number",
            "Distance to the nearest of them.",
            "Nearest",
            2,
            nullable=True,
            lowest=0,
        ),
        _text("kinds", "What they are", "What they are, in the user's words."),
    ),
    key=("unit_id", "wind_from_deg"),
)


SMOKE_PLACES = Layer(
    "smoke_places",
    "Geometry",
    "Places that smoke must not drift onto, once for each burn block within the distance set; one "
    "that is near no block stands once, without a block.",
    (
        PLACE_ID,
        KIND,
        Column("block", "text", BLOCK.meaning, BLOCK.heading, nullable=True),
        DISTANCE,
        BEARING,
        Column(
            "planned_smoke",
            "text",
            "Whether smoke of the planned wind reaches the place, as far as the half angle goes to "
            "either side.",
            "In the planned wind",
            nullable=True,
            choices=PLANNED_SMOKE,
        ),
    ),
    key=("place_id", "block"),
)


WINDS_LEFT = Layer(
    "winds_left",
    None,
    "Winds of the weather limits set from which smoke of a burn block reaches no place named; one "
    f"row without directions where none is left. No permission to ignite. {FROM_THE_MAP}",
    (
        BLOCK,
        ARC,
        _direction("from_deg", "Winds from", "First direction the wind comes from."),
        _direction("to_deg", "Clockwise to", "Last direction, clockwise; 0 to 360 is every wind."),
    ),
    key=("block", "arc"),
)


SMOKE_FINDINGS = findings_layer("smoke_findings", SMOKE)


BURN_WEATHER = Layer(
    "burn_weather",
    None,
    "Hours and days of past weather inside the prescription and the unit's window. A count of what "
    "was, not a forecast.",
    (
        UNIT_ID,
        Column("year", "integer", "Year of the weather.", "Year"),
        Column("month", "integer", "Month of the year.", "Month"),
        Column(
            "hours_read",
            "integer",
            "Hours of the window with a complete record.",
            "Hours read",
            0,
            lowest=0,
        ),
        Column("hours_in", "integer", "Hours in prescription.", "Hours inside", 0, lowest=0),
        Column(
            "days_in", "integer", "Days with enough such hours on end.", "Days inside", 0, lowest=0
        ),
        Column(
            "hours_in_and_wind",
            "integer",
            "Hours in prescription with a wind the layout allows.",
            "Hours, wind too",
            0,
            nullable=True,
            lowest=0,
        ),
        Column(
            "days_in_and_wind",
            "integer",
            "Days with enough of these on end.",
            "Days, wind too",
            0,
            nullable=True,
            lowest=0,
        ),
    ),
    key=("unit_id", "year", "month"),
)


WEATHER_FINDINGS = findings_layer("weather_findings", SMOKE)
