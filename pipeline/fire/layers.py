"""The layers of the fire steps: breaks, blocks, mowing, winds and burn weather."""

from typing import get_args

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.fire.settings import RuleName
from pipeline.fire.source_layers import BLOCK
from pipeline.fire.width_rules import COUNTED_GROUND

PLACE_KINDS = ("gap", "away", "tie_in", "side_change", "hand_over", "sharp_corner")


def _text(name: str, heading: str, meaning: str, *, nullable: bool = False) -> Column:
    return Column(name, "text", meaning, heading, nullable=nullable)


def _code(
    name: str, heading: str, meaning: str, choices: tuple[str, ...], *, nullable: bool = False
) -> Column:
    return Column(name, "text", meaning, heading, nullable=nullable, choices=choices)


def _count(name: str, heading: str, meaning: str, *, nullable: bool = False) -> Column:
    return Column(name, "integer", meaning, heading, 0, nullable=nullable, lowest=0)


def _number(
    name: str, heading: str, meaning: str, places: int, *, nullable: bool = False
) -> Column:
    return Column(name, "number", meaning, heading, places, nullable=nullable, lowest=0)


def _length(name: str, heading: str, meaning: str) -> Column:
    return _number(name, heading, meaning, 0)


def _width(name: str, heading: str, meaning: str, *, nullable: bool = False) -> Column:
    return _number(name, heading, meaning, 1, nullable=nullable)


def _acres(name: str, heading: str, meaning: str, places: int = 1) -> Column:
    return _number(name, heading, meaning, places)


def _direction(name: str, heading: str, meaning: str, *, nullable: bool = False) -> Column:
    return Column(name, "number", meaning, heading, 0, nullable=nullable, lowest=0, highest=360)


def _wind_side(name: str, heading: str, meaning: str) -> Column:
    return _code(name, heading, meaning, ("downwind", "flank", "upwind"), nullable=True)


NEIGHBOR_BLOCK = _text("neighbor_block", "Neighbor block", "Block beyond the edge.", nullable=True)

ADJOINING = _text(
    "adjoining", "Adjoins", "Ground on the other side: units, exclusions by their kind, outside."
)

RING = _code(
    "ring", "Ring", "Whether it bounds the block or a hole in the block.", ("outer", "inner")
)

STATUS = _code(
    "status",
    "Status",
    "existing: along a break that is there. gap: hole in one. prepare: to be made.",
    ("existing", "gap", "prepare"),
)

WIND_SIDE = _wind_side("wind_side", "Side", "Side of the block in the planned wind.")

NEIGHBOR_WIND_SIDE = _wind_side(
    "neighbor_wind_side", "Neighbor's side", "Side of the neighbor block in its planned wind."
)

BEARING = _direction(
    "bearing_deg",
    "Faces",
    "Direction that the stretch faces as a whole, square to it and away from the block on its left "
    "hand (not along it); wind sides are taken from this outward direction, span by span. None for "
    "one that closes on itself.",
    nullable=True,
)


STRETCHES = Layer(
    "stretches",
    "LineString",
    "Block edges cut where the status, the break or the wind side changes.",
    (
        Column("stretch", "integer", "Number of the stretch."),
        Column("chain", "integer", "Number of the unbroken line it is part of."),
        BLOCK,
        NEIGHBOR_BLOCK,
        ADJOINING,
        RING,
        STATUS,
        Column("break_row", "integer", "Row of the layer breaks, from 0.", nullable=True),
        _width("drawn_ft", "Drawn", "Width of a break drawn as a polygon.", nullable=True),
        _width(
            "hand_over_ft",
            "Hand-over",
            "Way to the break of the next stretch of the chain, where the two do not meet.",
            nullable=True,
        ),
        _code(
            "near",
            "Break nearby",
            "Why a break nearby is not credited. gap: it is cut there. away: it is whole, the edge "
            "leaves it and comes back. beside: it runs out of reach.",
            ("gap", "away", "beside"),
            nullable=True,
        ),
        Column("near_row", "integer", "Row of that break, from 0.", nullable=True),
        _width(
            "near_ft",
            "Way to it",
            "Way between the ends of the gap, or the farthest way to the break.",
            nullable=True,
        ),
        _length("length_ft", "Length", "Length on the ellipsoid."),
        BEARING,
        WIND_SIDE,
        NEIGHBOR_WIND_SIDE,
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
        _text("break_id", "Stretch", "Name of the stretch."),
        BLOCK,
        NEIGHBOR_BLOCK,
        ADJOINING,
        RING,
        STATUS,
        _text("kind", "Kind", "Kind of the existing break, in the user's words.", nullable=True),
        _length("length_ft", "Length", "Length on the ellipsoid, horizontal."),
        BEARING,
        WIND_SIDE,
        NEIGHBOR_WIND_SIDE,
        _width(
            "bare_ft",
            "Bare or wet",
            "Bare or wet ground: the line planned, or the width of the existing break.",
            nullable=True,
        ),
        _width("mown_ft", "Mown", "Mown strip planned."),
        _width("blackline_ft", "Black line", "Strip to be burned out beforehand."),
        _width(
            "required_ft",
            "Rule asks",
            "Width by the rules of the sides it may come to lie on.",
            nullable=True,
        ),
        _code(
            "rule",
            "Rule",
            "Width rule that leaves most missing, by its name in the settings.",
            get_args(RuleName),
            nullable=True,
        ),
        _code(
            "counted_ground",
            "Ground counted",
            "Ground that counts for this rule. bare_or_burned: bare, wet or burned-out line. "
            "bare_mown_or_burned: mown strip too.",
            COUNTED_GROUND,
            nullable=True,
        ),
        _width(
            "planned_ft",
            "Counted",
            "Width planned or there of the ground that counts for this rule.",
            nullable=True,
        ),
        _width("short_ft", "Short by", "Width of such ground that is missing.", nullable=True),
    ),
    key=("break_id",),
)


TIE_INS = Layer(
    "tie_ins",
    "Point",
    "Places along the breaks that need a look on the ground.",
    (
        _text("tie_in_id", "Place", "Name of the place."),
        BLOCK,
        _code(
            "kind",
            "Kind",
            "gap: hole in a break. away: where the edge leaves a whole break and comes back. "
            "tie_in: where a line must be led to a break. side_change: where a line goes over to "
            "the other side of the break it runs along. hand_over: from one break to another that "
            "it does not meet. sharp_corner: bend the line around it.",
            PLACE_KINDS,
        ),
        _number(
            "distance_ft",
            "Distance",
            "Way between the ends of the gap, way to the break, the farthest one where the edge is "
            "away from it, or way from break to break.",
            0,
            nullable=True,
        ),
        _text("break_kind", "Break", "Kind of the break that is met there.", nullable=True),
        _text("next_break_kind", "Next break", "Kind of the break that takes over.", nullable=True),
        _number("corner_angle_deg", "Corner", "Angle of the block's corner.", 0, nullable=True),
    ),
    key=("tie_in_id",),
)


STRIP_SHAPES = Layer(
    "strip_shapes",
    "Geometry",
    "Outlines of the mow strips, before they are measured.",
    (
        _text("strip_id", "Strip", "Name of the strip."),
        BLOCK,
        _width("width_ft", "Width", "Width planned."),
    ),
    key=("strip_id",),
    internal=True,
)


MOW_STRIPS = Layer(
    "mow_strips",
    "MultiPolygon",
    "Strips to be mown along edges to be prepared; each connected piece once.",
    (
        *STRIP_SHAPES.columns,
        _acres("area_ac", "Area", "Ground mown.", 2),
        _count("passes", "Passes", "Passes side by side."),
        _length("pass_length_ft", "All passes", "Length of all passes together."),
        _number("hours", "Time", "Mowing time, from the length of the passes.", 2),
        Column(
            "narrow",
            "flag",
            "Whether the strip has room for fewer passes than its width asks for.",
            "Narrower than planned",
        ),
    ),
    key=("strip_id",),
)


MOW_PASSES = Layer(
    "mow_passes",
    "LineString",
    "Center lines of the mower, pass by pass.",
    (
        _text("strip_id", "Strip", "Strip that is mown."),
        Column("pass_number", "integer", "Pass, counted from the edge.", "Pass"),
        Column("part", "integer", "Part of the pass where it is in several.", "Part"),
        _length("length_ft", "Length", "Length of the part."),
    ),
    key=("strip_id", "pass_number", "part"),
)


BURN_BLOCKS = Layer(
    "burn_blocks",
    "MultiPolygon",
    "Units that burn together this season, dissolved, with their acres and edges.",
    (
        BLOCK,
        _text("unit_ids", "Units", "Units of the block."),
        _acres("gross_ac", "Gross", "Units as drawn, summed."),
        _acres("covered_ac", "Covered", "Ground covered, overlaps counted once."),
        _acres("excluded_ac", "Excluded", "Left out of burning."),
        _acres("break_ac", "Mow strips inside", "Taken by mow strips inside the block."),
        _acres("burnable_ac", "Burnable", "What is left to burn."),
        _length("perimeter_ft", "Around", "All edges, inner ones too, as in the layer firebreaks."),
        _length("existing_ft", "Existing breaks", "Edges along an existing break."),
        _length("gap_ft", "Gaps", "Holes in existing breaks."),
        _length("prepare_ft", "To prepare", "Edges to be prepared."),
        _length(
            "shared_ft",
            "Shared with a neighbor block",
            "Edges shared with another block, counted in both.",
        ),
        _direction(
            "wind_from_deg", "Wind from", "Direction the planned wind comes from.", nullable=True
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
        _direction("wind_from_deg", "Wind from", "Direction the wind comes from."),
        Column(
            "allowed",
            "flag",
            "Whether no place lies downwind within the distance set.",
            "No place downwind",
        ),
        _count("places", "Places downwind", "Places downwind."),
        _number("nearest_mi", "Nearest", "Distance to the nearest of them.", 2, nullable=True),
        _text("kinds", "What they are", "What they are, in the user's words.", nullable=True),
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
        Column("year", "integer", "Year of the weather.", "Year"),
        Column("month", "integer", "Month of the year.", "Month"),
        _count("hours_read", "Hours read", "Hours of the window with a complete record."),
        _count("hours_in", "Hours inside", "Hours in prescription."),
        _count("days_in", "Days inside", "Days with enough such hours on end."),
        _count(
            "hours_in_and_wind",
            "Hours, wind too",
            "Hours in prescription with a wind the layout allows.",
            nullable=True,
        ),
        _count(
            "days_in_and_wind",
            "Days, wind too",
            "Days with enough of these on end.",
            nullable=True,
        ),
    ),
    key=("unit_id", "year", "month"),
)


FIREBREAK_FINDINGS = findings_layer("firebreak_findings")

WEATHER_FINDINGS = findings_layer("weather_findings")
