"""The layers of mowing: strips and lines to be made, passes, and the driver's way."""

from pipeline.core.layer import Column, Layer
from pipeline.fire.source_layers import BLOCK


def _figure(
    name: str, heading: str, meaning: str, places: int, *, nullable: bool = False
) -> Column:
    return Column(name, "number", meaning, heading, places, nullable=nullable, lowest=0)


def _feet(name: str, heading: str, meaning: str) -> Column:
    return _figure(name, heading, meaning, 0)


def _count(name: str, heading: str, meaning: str) -> Column:
    return Column(name, "integer", meaning, heading, 0, lowest=0)


def _name(name: str, heading: str, meaning: str) -> Column:
    return Column(name, "text", meaning, heading)


WIDTH = _figure("width_ft", "Width", "Width planned.", 1)


LINE_KINDS = ("bare_line", "blackline")


STRIP_SHAPES = Layer(
    "strip_shapes",
    "Geometry",
    "Outlines of the ground to be made, before it is measured.",
    (
        _name("strip_id", "Strip", "Name of the strip or line."),
        BLOCK,
        Column("kind", "text", "What is to be made.", "Kind", choices=("mown", *LINE_KINDS)),
        WIDTH,
    ),
    key=("strip_id",),
    internal=True,
)


MOW_STRIPS = Layer(
    "mow_strips",
    "MultiPolygon",
    "Strips to be mown along edges to be prepared; each connected piece once.",
    (
        _name("strip_id", "Strip", "Name of the strip."),
        BLOCK,
        WIDTH,
        _figure("area_ac", "Area", "Ground mown.", 2),
        _count("passes", "Passes", "Passes side by side."),
        _feet("pass_length_ft", "All passes", "Length of all passes together."),
        _figure("hours", "Time", "Mowing time, from the length of the passes.", 2),
        Column(
            "narrow",
            "flag",
            "Whether the strip has room for fewer passes than its width asks for.",
            "Narrower than planned",
        ),
        _figure("unmown_sqft", "Not reached", "Ground of the strip that no pass reaches.", 0),
    ),
    key=("strip_id",),
)


MADE_LINES = Layer(
    "made_lines",
    "MultiPolygon",
    "Lines to be made beside the mow strips, from the edge inward: bare line, strip, blackline. "
    "Each connected piece once; they are ground, not an order to burn.",
    (
        _name("line_id", "Line", "Name of the line."),
        BLOCK,
        Column(
            "kind",
            "text",
            "bare_line: worked or wetted down to where nothing burns. blackline: burned out "
            "beforehand under the burn boss.",
            "Kind",
            choices=LINE_KINDS,
        ),
        WIDTH,
        _feet("length_ft", "Length", "Its ground over its width."),
        _figure("area_ac", "Area", "Ground of the line.", 2),
        _figure("hours", "Time", "Time to make it: by area for a bare line, else by length.", 2),
    ),
    key=("line_id",),
)


MOW_PASSES = Layer(
    "mow_passes",
    "LineString",
    "Center lines of the mower, pass by pass, in the order and the direction in which they are "
    "driven.",
    (
        BLOCK,
        _count("drive_order", "Order", "Place in the driver's way through the block, from 1."),
        _name("strip_id", "Strip", "Strip that is mown."),
        Column(
            "pass_number",
            "integer",
            "Pass, counted from the edge; the one after the last leads through a neck.",
            "Pass",
        ),
        Column("part", "integer", "Part of the pass where it is in several.", "Part"),
        _feet("length_ft", "Length", "Length of the part."),
    ),
    key=("block", "drive_order"),
)


MOW_MOVES = Layer(
    "mow_moves",
    "LineString",
    "Ways of the mower without mowing: from a gate that is near to the first pass, and from each "
    "pass to the next.",
    (
        BLOCK,
        _count("to_order", "To", "Place in the driver's way of the pass that it leads to."),
        _feet("length_ft", "Length", "Length of the way."),
        Column(
            "on_ground",
            "flag",
            "Whether it stays on the block, its strips and the roads along it. Where there is no "
            "such way it is drawn straight.",
            "On the block",
        ),
    ),
    key=("block", "to_order"),
)


MOW_ROUTES = Layer(
    "mow_routes",
    None,
    "The driver's way through each block: feet with and without mowing, and hours.",
    (
        BLOCK,
        _count("passes", "Passes", "Passes driven, parts counted singly."),
        _feet("mown_ft", "Mowing", "Length of all passes."),
        _feet("moves_ft", "Moving", "Length of all ways without mowing."),
        _figure("moves_pct", "Moving for 100 of mowing", "Moving over mowing.", 1, nullable=True),
        _feet(
            "least_moves_ft",
            "Moving, at least",
            "Smallest tree between the passes: no order has less.",
        ),
        _feet("off_ground_ft", "Moving off the block", "Moves that leave the block's ground."),
        _figure(
            "least_hours", "At least", "Mowing at full speed, with the moves and the turns.", 1
        ),
        _figure(
            "most_hours",
            "At most",
            "Mowing at the efficiency set, with the moves and the turns.",
            1,
        ),
        _figure("line_hours", "Lines", "Time for bare lines and blacklines.", 1),
        _figure("made_ac", "Ground drawn", "Ground of all strips and lines as drawn.", 2),
        _figure(
            "planned_ac",
            "By length",
            "The same by length, width and corners alone, whatever room there is.",
            2,
        ),
    ),
    key=("block",),
)
