"""The layers of the fire steps: breaks, blocks, mowing and burn weather."""

from dataclasses import replace
from typing import get_args

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import findings_layer
from pipeline.fire.breaks.layers import CREDITED_AS
from pipeline.fire.causes import LINES
from pipeline.fire.settings import RuleName
from pipeline.fire.source_layers import BLOCK
from pipeline.fire.width_rules import COUNTED_GROUND
from pipeline.fire.wind_sides import SIDES

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


def _length(name: str, heading: str, meaning: str, *, nullable: bool = False) -> Column:
    return _number(name, heading, meaning, 0, nullable=nullable)


def _width(name: str, heading: str, meaning: str, *, nullable: bool = False) -> Column:
    return _number(name, heading, meaning, 1, nullable=nullable)


def _acres(
    name: str, heading: str, meaning: str, places: int = 1, *, nullable: bool = False
) -> Column:
    return _number(name, heading, meaning, places, nullable=nullable)


def _direction(name: str, heading: str, meaning: str, *, nullable: bool = False) -> Column:
    return Column(name, "number", meaning, heading, 0, nullable=nullable, lowest=0, highest=360)


def _wind_side(name: str, heading: str, meaning: str) -> Column:
    return _code(name, heading, meaning, SIDES, nullable=True)


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

HELD_SIDE = _wind_side(
    "held_side",
    "Taken as",
    "Most exposed side that it comes to lie on in the winds planned for, up to wind_arc_deg to "
    "either side of the planned one. It meets the rule of that side and of all less exposed ones.",
)

NEIGHBOR_HELD_SIDE = _wind_side(
    "neighbor_held_side",
    "Held for neighbor as",
    "The same of the neighbor block in the winds planned for that.",
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
        Column("start_m", "number", "Length along the chain where it begins."),
        Column("end_m", "number", "Length along the chain where it ends."),
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
        HELD_SIDE,
        NEIGHBOR_HELD_SIDE,
    ),
    key=("stretch",),
    internal=True,
)


TRACED_STRETCHES = replace(
    STRETCHES,
    name="traced_stretches",
    meaning="The same before the gate of the stretches, of the blocks whose ground passed.",
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
        _code(
            "credited_as",
            "Counts as",
            "Ground that the existing break counts as.",
            CREDITED_AS,
            nullable=True,
        ),
        _text(
            "condition",
            "Check on the day",
            "When the existing break counts: to be checked on the day.",
            nullable=True,
        ),
        _length("length_ft", "Length", "Length on the ellipsoid, horizontal."),
        _length(
            "kind_unknown_ft",
            "Beside what is not known",
            "Part of it along breaks of a kind that is not known, which are not credited.",
        ),
        BEARING,
        WIND_SIDE,
        NEIGHBOR_WIND_SIDE,
        HELD_SIDE,
        NEIGHBOR_HELD_SIDE,
        _width(
            "bare_ft",
            "Bare or wet",
            "Bare or wet ground that counts: what is to be made, and the width of an existing "
            "break that counts as bare, wet or green.",
            nullable=True,
        ),
        _width(
            "mown_ft",
            "Mown",
            "Mown ground that counts: what is to be made, and the width of an existing break that "
            "counts as mown.",
            nullable=True,
        ),
        _width(
            "blackline_ft",
            "Blackline",
            "Burned-out ground that counts: what is to be burned out beforehand, and the width of "
            "an existing break that counts as burned.",
            nullable=True,
        ),
        _width(
            "make_bare_ft",
            "Make bare",
            "Bare or wet line to be made this season, from the edge inward.",
        ),
        _width("make_mown_ft", "Mow", "Strip to be mown, inward of the bare line."),
        _width("make_black_ft", "Burn out", "Strip to be burned out, inward of the mown one."),
        _width(
            "required_ft",
            "Rule asks",
            "Width by the rules that it is to meet: of the one that leaves most missing, or else "
            "asks for most.",
            nullable=True,
        ),
        _text("rule_block", "Held for", "Block whose fire the rule is to hold.", nullable=True),
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


BURN_BLOCKS = Layer(
    "burn_blocks",
    "MultiPolygon",
    "Units that burn together this season, dissolved, with their acres and edges. Acres to burn "
    "and lengths are empty where a gate refused the block.",
    (
        BLOCK,
        _text("unit_ids", "Units", "Units of the block."),
        _acres("units_ac", "Units summed", "Units as drawn, summed: overlaps count twice."),
        _acres(
            "overlap_ac",
            "Counted twice",
            "Part of that sum that is no ground of the block: covered by two of its units, or held "
            "by a smaller unit that does not burn with it.",
        ),
        _count(
            "slivers",
            "Slivers closed",
            "Gaps inside the edges of the block that are narrower than slop_ft of [acreage].",
            nullable=True,
        ),
        _acres(
            "sliver_ac",
            "Ground of slivers",
            "Ground of these gaps: no unit has it, and the block burns across it.",
            2,
            nullable=True,
        ),
        _acres(
            "gross_ac",
            "Ground covered",
            "Ground of the block, each piece once: units summed, less what is counted twice, and "
            "slivers between them.",
        ),
        _acres("excluded_ac", "Excluded", "Part of that ground left out of burning."),
        _acres(
            "break_ac",
            "Strips and lines inside",
            "Part taken by mow strips, bare lines and blacklines inside the block.",
            nullable=True,
        ),
        _acres("burnable_ac", "Burnable", "What is left of the ground to burn.", nullable=True),
        _length(
            "perimeter_ft",
            "Around",
            "All edges, inner ones too, as in the layer firebreaks.",
            nullable=True,
        ),
        _length("existing_ft", "Existing breaks", "Edges along an existing break.", nullable=True),
        _length(
            "width_unknown_ft",
            "Of them, width unknown",
            "Part of the edges along an existing break whose width is not known.",
            nullable=True,
        ),
        _length(
            "kind_unknown_ft",
            "Beside what is not known",
            "Edges along breaks of a kind that is not known; they are not credited and stand under "
            "gaps and edges to be prepared.",
            nullable=True,
        ),
        _length("gap_ft", "Gaps", "Holes in existing breaks.", nullable=True),
        _length("prepare_ft", "To prepare", "Edges to be prepared.", nullable=True),
        _length(
            "shared_ft",
            "Shared with a neighbor block",
            "Edges shared with another block, counted in both.",
            nullable=True,
        ),
        _length(
            "lane_ft",
            "Along lanes inside",
            "Sides of lanes between two units of the block (lane_ft in [acreage]), which are not "
            "held and not in its edges.",
            nullable=True,
        ),
        _direction(
            "wind_from_deg", "Wind from", "Direction the planned wind comes from.", nullable=True
        ),
    ),
    key=("block",),
)


FIREBREAK_FINDINGS = findings_layer("firebreak_findings", LINES)
