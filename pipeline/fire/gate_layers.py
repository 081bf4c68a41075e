"""The layers of the gates of blocks: what they refuse, and the units that burn without it."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer
from pipeline.fire.source_layers import BLOCK, BURNS

GROUND_REFUSALS = Layer(
    "ground_refusals",
    None,
    "Units whose ground in the edge graph is not that drawn, and blocks that are not their sum.",
    (
        replace(BLOCK, nullable=True),
        Column(
            "gate",
            "text",
            "unit_ground: a unit does not keep its ground. block_ground: the block is not the sum "
            "of its units and the lanes between them.",
            choices=("unit_ground", "block_ground"),
        ),
        Column("unit_id", "text", "Unit that does not keep its ground.", nullable=True),
        Column("found_ac", "number", "Ground in the edge graph.", lowest=0),
        Column("expected_ac", "number", "Ground that there should be.", lowest=0),
    ),
    internal=True,
)


TRACED_BURNS = replace(
    BURNS,
    name="traced_burns",
    meaning="Units that burn together, without the blocks whose ground a gate refused.",
)


CHECKED_BURNS = replace(
    BURNS,
    name="checked_burns",
    meaning="Units that burn together, without the blocks that a gate refused.",
)


EDGE_REFUSALS = Layer(
    "edge_refusals",
    None,
    "Blocks whose stretches do not add up to the rings around them.",
    (
        BLOCK,
        Column("found_ft", "number", "Stretches, summed.", lowest=0),
        Column("expected_ft", "number", "Rings around the block and its holes.", lowest=0),
    ),
    key=("block",),
    internal=True,
)
