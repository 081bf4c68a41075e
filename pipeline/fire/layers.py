"""Frames and layers of the firebreak and mowing steps."""

from pipeline.core.layer import Column, Layer, optional_text
from pipeline.core.layers import UNIT_ID, findings_layer

BREAKS = Layer(
    "breaks",
    "LineOrPolygon",
    "What already stops a fire: lines and polygons of all break sources.",
    (
        Column("source_id", "integer", "Number of the [[sources.breaks]] entry, from 1."),
        Column("source_row", "integer", "Row of that source, from 1."),
        Column("kind", "text", "Road, creek, tilled field and so on, in the user's words."),
        Column(
            "width_ft",
            "number",
            "Width that will not burn.",
            nullable=True,
            required=False,
            lowest=0,
        ),
    ),
    key=("source_id", "source_row"),
)


BURNS = Layer(
    "burns",
    None,
    "Units that burn together this season: one row for each unit of each block.",
    (
        Column("block", "text", "Name of the block."),
        UNIT_ID,
        Column(
            "wind_from_deg",
            "number",
            "Direction the planned wind comes from.",
            nullable=True,
            lowest=0,
            highest=360,
        ),
        Column("fuel_height_ft", "number", "Height of the standing fuel.", nullable=True, lowest=0),
        Column(
            "flame_length_ft",
            "number",
            "Flame length that the burn boss expects.",
            nullable=True,
            lowest=0,
        ),
    ),
    key=("block", "unit_id"),
    internal=True,
)


GATES = Layer(
    "gates",
    "Point",
    "Gates and other ways onto the ground, for the crew and the receiver.",
    (
        Column("gate_id", "integer", "Row of the source, counted from 1."),
        Column("name", "text", "What people call it.", nullable=True, required=False),
    ),
    key=("gate_id",),
)


BLOCK = Column("block", "text", "Block that is burned as a whole.")


def _ft(name: str, meaning: str, *, nullable: bool = False) -> Column:
    return Column(name, "number", meaning, nullable=nullable, lowest=0)


def _side(name: str, meaning: str) -> Column:
    return Column(name, "text", meaning, nullable=True, choices=("downwind", "flank", "upwind"))


STRETCHES = Layer(
    "stretches",
    "LineString",
    "Block edges cut where the status, the break or the wind side changes.",
    (
        Column("stretch", "integer", "Number of the stretch."),
        Column("chain", "integer", "Number of the unbroken line it is part of."),
        BLOCK,
        Column("neighbor_block", "text", "Block on the other side.", nullable=True),
        Column("beyond", "text", "Ground on the other side."),
        Column("ring", "text", "Whether it bounds the block or a hole in it."),
        Column("status", "text", "Whether it runs along an existing break."),
        Column("break_row", "integer", "Row of the layer breaks, from 0.", nullable=True),
        _ft("length_ft", "Length on the ellipsoid."),
        Column(
            "bearing_deg",
            "number",
            "Direction that it faces: square to it, outward.",
            nullable=True,
        ),
        _side("wind_side", "Side of the block."),
        _side("neighbor_wind_side", "Side of the neighbor block."),
    ),
    key=("stretch",),
    internal=True,
)


FIREBREAKS = Layer(
    "firebreaks",
    "LineString",
    "Stretches of the edges of this season's blocks, each once, the block on the left hand. They "
    "tell what is there and what is to be made; they are no permission to light anything.",
    (
        Column("break_id", "text", "Name of the stretch."),
        BLOCK,
        Column("neighbor_block", "text", "Block on the other side.", nullable=True),
        Column("beyond", "text", "Ground on the other side: units, exclusions, outside."),
        Column(
            "ring",
            "text",
            "Whether it bounds the block or a hole in it.",
            choices=("outer", "inner"),
        ),
        Column(
            "status",
            "text",
            "existing: along a break. gap: hole in one. prepare: to be made.",
            choices=("existing", "gap", "prepare"),
        ),
        Column("kind", "text", "Kind of the existing break.", nullable=True),
        _ft("length_ft", "Length on the ellipsoid, horizontal."),
        Column(
            "bearing_deg",
            "number",
            "Direction that the stretch faces as a whole, square to "
            "it and away from the block on its left hand (not along it); wind sides are taken "
            "from this outward direction, span by span. None for one that closes on itself.",
            nullable=True,
            lowest=0,
            highest=360,
        ),
        _side("wind_side", "Side of the block in the planned wind."),
        _side("neighbor_wind_side", "Side of the neighbor block in its planned wind."),
        _ft(
            "bare_ft",
            "Bare or wet ground: the line planned, or the width of the existing break.",
            nullable=True,
        ),
        _ft("mown_ft", "Mown strip planned."),
        _ft("blackline_ft", "Strip to be burned out beforehand."),
        _ft("required_ft", "Width by the rules of the sides it may come to lie on.", nullable=True),
        Column("rule", "text", "Rule that asks for most.", nullable=True),
        Column("counts", "text", "Ground that counts for this rule.", nullable=True),
        _ft(
            "planned_ft",
            "Width planned or there of the ground that counts for this rule.",
            nullable=True,
        ),
        _ft("short_ft", "Width of such ground that is missing.", nullable=True),
    ),
    key=("break_id",),
)


TIE_INS = Layer(
    "tie_ins",
    "Point",
    "Places along the breaks that need a look on the ground.",
    (
        Column("tie_in_id", "text", "Name of the place."),
        BLOCK,
        Column(
            "kind",
            "text",
            "gap: hole in a break. tie-in: where a line must be led to a break, "
            "or changes from one side of it to the other. "
            "hand-over: from one break to another. sharp corner: bend the line around it.",
            choices=("gap", "tie-in", "hand-over", "sharp corner"),
        ),
        _ft("distance_ft", "Length of the gap, or way to the break.", nullable=True),
        Column("message", "text", "What to look for."),
    ),
    key=("tie_in_id",),
)


STRIP_SHAPES = Layer(
    "strip_shapes",
    "Geometry",
    "Outlines of the mow strips, before they are measured.",
    (
        Column("strip_id", "text", "Name of the strip."),
        BLOCK,
        _ft("width_ft", "Width planned."),
    ),
    key=("strip_id",),
    internal=True,
)


MOW_STRIPS = Layer(
    "mow_strips",
    "MultiPolygon",
    "Strips to be mown along edges to be prepared; each connected piece once.",
    (
        Column("strip_id", "text", "Name of the strip."),
        BLOCK,
        _ft("width_ft", "Width planned."),
        Column("area_ac", "number", "Ground mown.", lowest=0),
        Column("passes", "integer", "Passes side by side.", lowest=0),
        _ft("pass_length_ft", "Length of all passes."),
        Column("hours", "number", "Mowing time, from the length of the passes.", lowest=0),
        Column("narrow", "flag", "Whether the last pass finds no room somewhere in the strip."),
    ),
    key=("strip_id",),
)


MOW_PASSES = Layer(
    "mow_passes",
    "LineString",
    "Center lines of the mower, pass by pass.",
    (
        Column("strip_id", "text", "Strip."),
        Column("pass_number", "integer", "Pass, counted from the edge."),
        Column("part", "integer", "Part of the pass where it is in several."),
        _ft("length_ft", "Length of the part."),
    ),
    key=("strip_id", "pass_number", "part"),
)


BURN_BLOCKS = Layer(
    "burn_blocks",
    "MultiPolygon",
    "Units that burn together this season, dissolved, with their acres and edges.",
    (
        BLOCK,
        Column("unit_ids", "text", "Units of the block."),
        Column("gross_ac", "number", "Units as drawn, summed.", lowest=0),
        Column("covered_ac", "number", "Ground covered, overlaps counted once.", lowest=0),
        Column("excluded_ac", "number", "Left out of burning.", lowest=0),
        Column("break_ac", "number", "Taken by mow strips inside the block.", lowest=0),
        Column("burnable_ac", "number", "What is left to burn.", lowest=0),
        _ft("perimeter_ft", "All edges, inner ones too, as in the layer firebreaks."),
        _ft("existing_ft", "Edges along an existing break."),
        _ft("gap_ft", "Holes in existing breaks."),
        _ft("prepare_ft", "Edges to be prepared."),
        _ft("shared_ft", "Edges shared with another block, counted in both."),
        Column(
            "wind_from_deg",
            "number",
            "Direction the planned wind comes from.",
            nullable=True,
            lowest=0,
            highest=360,
        ),
    ),
    key=("block",),
)


WINDS = Layer(
    "winds",
    None,
    "Which winds keep smoke off the places named, by unit and direction. Drawn from the map alone; "
    "terrain, inversions and shifts are not in it.",
    (
        UNIT_ID,
        Column("wind_from_deg", "number", "Direction the wind comes from.", lowest=0, highest=360),
        Column("allowed", "flag", "Whether no place lies downwind within the distance set."),
        Column("places", "integer", "Places downwind."),
        Column("nearest_mi", "number", "Distance to the nearest of them.", nullable=True, lowest=0),
        Column("kinds", "text", "What they are.", nullable=True),
    ),
    key=("unit_id", "wind_from_deg"),
)


BURN_WEATHER = Layer(
    "burn_weather",
    None,
    "Hours and days of past weather inside the prescription and the unit's window. A count of what "
    "was, not a forecast.",
    (
        UNIT_ID,
        Column("year", "integer", "Year of the weather."),
        Column("month", "integer", "Month."),
        Column("hours_read", "integer", "Hours of the window with a complete record."),
        Column("hours_in", "integer", "Hours in prescription."),
        Column("days_in", "integer", "Days with enough such hours on end."),
        Column(
            "hours_in_and_wind",
            "integer",
            "Hours in prescription with a wind the layout allows.",
            nullable=True,
        ),
        Column("days_in_and_wind", "integer", "Days with enough of these on end.", nullable=True),
    ),
    key=("unit_id", "year", "month"),
)


HOURLY_WEATHER = Layer(
    "hourly_weather",
    None,
    "Weather of each hour near the property, in local time.",
    (
        Column("time", "text", "Day and hour, written 2026-04-14T13:00."),
        Column("temperature_f", "number", "Temperature.", nullable=True, lowest=-80, highest=140),
        Column(
            "humidity_pct", "number", "Relative humidity.", nullable=True, lowest=0, highest=100
        ),
        Column(
            "wind_mph",
            "number",
            "Wind speed, at the height the settings state.",
            nullable=True,
            lowest=0,
            highest=200,
        ),
        Column(
            "wind_from_deg",
            "number",
            "Direction the wind comes from.",
            nullable=True,
            lowest=0,
            highest=360,
        ),
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


FIREBREAK_FINDINGS = findings_layer("firebreak_findings")

WEATHER_FINDINGS = findings_layer("weather_findings")
