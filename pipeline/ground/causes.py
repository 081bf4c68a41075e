"""Causes of findings in the outlines of the units: what each is called and what to do."""

from pipeline.core.causes import Cause

CAUSES = (
    Cause(
        "overlap",
        "ground",
        "piece[|s] of ground in two units at once",
        "mend the map where that is wrong: each piece counts in the acres of both",
        "ac",
    ),
    Cause(
        "no_edge",
        "ground",
        "unit[|s] that no edge is left of",
        "delete copies; else mend the outline, or lower slop_ft",
        "ac",
    ),
    Cause(
        "narrow_unit",
        "ground",
        "unit[|s] too narrow for slop_ft",
        "lower slop_ft of [acreage] as told there",
        "ac",
    ),
    Cause(
        "left_over_unit",
        "ground",
        "unit[|s] that look[s|] left over from drawing",
        "delete what is no unit; else lower slop_ft of [acreage] as told there",
        "ac",
    ),
    Cause(
        "stepped_outline",
        "ground",
        "outline[|s] in steps, as if traced from pixels",
        "set smoothing_ft of [firebreaks] as told there, or draw them anew",
        "ft",
    ),
    Cause(
        "enclosed_gap",
        "ground",
        "gap[|s] closed in by units",
        "close what is no ground of its own; its edges count as firebreaks",
        "ac",
    ),
    Cause(
        "near_miss",
        "ground",
        "gap[|s] between units that nearly meet",
        "where they should meet, mend the map or raise slop_ft",
        "ac",
    ),
    Cause(
        "slivers",
        "ground",
        "note[|s] of slivers within slop_ft",
        "nothing: one edge is drawn, acres stay as drawn",
        "ac",
    ),
    Cause(
        "tiny_part",
        "ground",
        "tiny separate piece[|s] of units",
        "delete what is left over from drawing",
        "ac",
    ),
)
