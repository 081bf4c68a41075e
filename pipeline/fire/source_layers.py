"""The layers that the sources of the fire steps are read into."""

from pipeline.core.layer import Column, Layer, optional_date, optional_text
from pipeline.core.layers import UNIT_ID

BLOCK = Column("block", "text", "Block that is burned as a whole.", "Block")


def _reading(name: str, meaning: str, lowest: float, highest: float | None = None) -> Column:
    return Column(name, "number", meaning, nullable=True, lowest=lowest, highest=highest)


BREAK_COLUMNS = (
    Column("source_id", "integer", "Number of the [[sources.breaks]] entry, from 1.", "Source"),
    Column("source_row", "integer", "Row of that source, from 1.", "Row of the source"),
    Column("kind", "text", "Road, creek, tilled field and so on, in the user's words.", "Kind"),
    Column(
        "width_ft",
        "number",
        "Width that will not burn.",
        "Width",
        1,
        nullable=True,
        required=False,
        lowest=0,
    ),
)


BREAK_KEY = ("source_id", "source_row")


BREAKS = Layer(
    "breaks",
    "LineOrPolygon",
    "What already stops a fire: lines and polygons of all break sources.",
    BREAK_COLUMNS,
    key=BREAK_KEY,
    internal=True,
)


BREAK_LINES = Layer(
    "break_lines",
    "MultiLineString",
    "Breaks that were given as lines: roads, creeks, fences. Whether a block can use one stands in "
    "firebreaks.",
    BREAK_COLUMNS,
    key=BREAK_KEY,
)


BREAK_AREAS = Layer(
    "break_areas",
    "MultiPolygon",
    "Breaks that were given as ground: tilled fields, ponds, lots. Whether a block can use one "
    "stands in firebreaks.",
    BREAK_COLUMNS,
    key=BREAK_KEY,
)


BURNS = Layer(
    "burns",
    None,
    "Units that burn together this season: one row for each unit of each block.",
    (
        BLOCK,
        UNIT_ID,
        _reading("wind_from_deg", "Direction the planned wind comes from.", 0, 360),
        _reading("fuel_height_ft", "Height of the standing fuel.", 0),
        _reading("flame_length_ft", "Flame length that the burn boss expects.", 0),
        optional_date("first_day", "First day that the burn is planned for."),
        optional_date("last_day", "Last day that it is planned for."),
    ),
    key=("block", "unit_id"),
    internal=True,
)


GATES = Layer(
    "gates",
    "Point",
    "Gates and other ways onto the ground, for the crew and the receiver.",
    (
        Column("gate_id", "integer", "Row of the source, counted from 1.", "Row of the source"),
        Column("name", "text", "What people call it.", "Name", nullable=True, required=False),
    ),
    key=("gate_id",),
)


WATER_PLACES = Layer(
    "water_places",
    "Point",
    "Where the crew may fill its engines and tanks, as the user says: hydrants, tanks, ponds. What "
    "they hold on the day is not known.",
    (
        Column("water_id", "integer", "Row of the source, counted from 1.", "Row of the source"),
        optional_text("kind", "Hydrant, tank, pond and so on, in the user's words.", "Kind"),
        optional_text("name", "What people call it.", "Name"),
    ),
    key=("water_id",),
)


HOURLY_WEATHER = Layer(
    "hourly_weather",
    None,
    "Weather of each hour near the property, in local time.",
    (
        Column("time", "text", "Day and hour, written 2026-04-14T13:00."),
        _reading("temperature_f", "Temperature.", -80, 140),
        _reading("humidity_pct", "Relative humidity.", 0, 100),
        _reading("wind_mph", "Wind speed, at the height the settings state.", 0, 200),
        _reading("wind_from_deg", "Direction the wind comes from.", 0, 360),
    ),
    key=("time",),
    internal=True,
)


SMOKE_POINTS = Layer(
    "smoke_points",
    "Geometry",
    "Houses, roads and other places that smoke must not drift onto.",
    (optional_text("kind", "What it is, in the user's words."),),
    internal=True,
)
