"""Causes of findings on lines, smoke and slope: what each is called and what to do."""

from pipeline.core.causes import Cause

LINES = (
    Cause(
        "block_refused",
        "fire",
        "block[|s] without lines, strips or acres to burn",
        "redraw the outline named there, or lower slop_ft where it is no leftover",
        "ac",
    ),
    Cause(
        "unit_ground_lost",
        "fire",
        "unit[|s] that lose[s|] ground between [its|their] edges",
        "redraw the outline named there, or lower slop_ft where it is no leftover",
        "ac",
    ),
    Cause(
        "break_too_narrow",
        "fire",
        "block side[|s] with breaks too narrow",
        "widen the break, allow more ways under [mowing], or plan another wind",
        "ft",
    ),
    Cause(
        "required_width_unknown",
        "fire",
        "block[|s] whose required width is unknown",
        "fill in the figures named there",
    ),
    Cause("gap", "fire", "hole[|s] in a break", "close it, or lead the line around", "ft"),
    Cause(
        "hand_over",
        "fire",
        "hand-over[|s] between breaks that do not meet",
        "close the way between them",
        "ft",
    ),
    Cause(
        "break_width_unknown",
        "fire",
        "break[|s] of unknown width",
        "measure it and give width_ft",
        "ft",
    ),
    Cause(
        "break_drawn_narrower",
        "fire",
        "break[|s] drawn narrower than stated",
        "measure it; the width drawn counts",
        "ft",
    ),
    Cause(
        "break_kind_unknown",
        "fire",
        "kind[|s] of break that nothing is known of",
        "say what it is in kind, or add it to the table break_kinds",
        "ft",
    ),
    Cause(
        "fence_along_break",
        "fire",
        "kind[|s] of fence along the line",
        "mind it on the day; it stops no fire",
        "ft",
    ),
    Cause(
        "hazard_along_break",
        "fire",
        "hazard[|s] along the line",
        "mind it on the day; it stops no fire",
        "ft",
    ),
    Cause(
        "strip_outside_units",
        "fire",
        "strip[|s] outside your units",
        "ask the neighbor, or mow inside",
        "ac",
    ),
    Cause(
        "strip_area_off",
        "fire",
        "block[|s] whose strips cover too much or too little",
        "look at the map: the ground is narrow or crooked there",
        "ac",
    ),
    Cause(
        "road_not_credited",
        "fire",
        "kind[|s] of road not credited",
        "set roads_as_breaks if they may count",
        "ft",
    ),
    Cause(
        "break_not_credited",
        "fire",
        "kind[|s] of line that stop[s|] no fire",
        "nothing, unless its kind is wrong",
        "ft",
    ),
    Cause(
        "break_beside",
        "fire",
        "break[|s] beside the line, out of reach",
        "lead the line along it, or raise along_ft",
        "ft",
    ),
    Cause(
        "break_condition",
        "fire",
        "break[|s] to check on the day",
        "see that it is as told there",
        "ft",
    ),
    Cause(
        "away",
        "fire",
        "place[|s] where the edge leaves its break",
        "make the line along the edge and tie both ends",
        "ft",
    ),
    Cause("tie_in", "fire", "tie-in[|s]", "lead the line to the break", "ft"),
    Cause("side_change", "fire", "change[|s] of side of a break", "close the way across it"),
    Cause("sharp_corner", "fire", "sharp corner[|s]", "bend the line around it"),
    Cause(
        "slivers_closed",
        "fire",
        "block[|s] with slivers between units closed",
        "nothing, unless a unit is missing there: then draw it",
        "ac",
    ),
    Cause(
        "lane_inside",
        "fire",
        "block[|s] with lanes inside",
        "set lane_ft lower if both sides are to be held",
        "ft",
    ),
    Cause(
        "strip_narrow",
        "fire",
        "strip[|s] on all the ground there is",
        "nothing: its last passes find no room",
        "ac",
    ),
    Cause("strip_unmown", "fire", "strip[|s] with ground no pass reaches", "mow it by hand", "ac"),
    Cause(
        "move_off_block", "fire", "block[|s] that the mower leaves", "see where it can drive", "ft"
    ),
    Cause(
        "units_overlap",
        "ground",
        "block[|s] of units drawn over each other",
        "mend the map where that is wrong",
        "ac",
    ),
    Cause(
        "winds_planned",
        "reading",
        "block[|s] whose widths hold for an arc of winds",
        "hold to those winds",
    ),
)


SMOKE = (
    Cause(
        "no_wind_fits",
        "fire",
        "block[|s] that no wind fits",
        "change the block or the limits, and ask the burn boss",
        "ac",
    ),
    Cause(
        "smoke_on_place",
        "fire",
        "block[|s] whose smoke reaches a place",
        "plan another wind, or ask the burn boss",
        "ac",
    ),
    Cause(
        "prescription_incomplete",
        "reading",
        "prescription[|s] not complete",
        "fill in what is named there",
    ),
)


SLOPE = (
    Cause(
        "head_of_slope",
        "fire",
        "block[|s] with edges at the head of a slope",
        "ask the burn boss how much wider they must be",
        "ft",
    ),
    Cause(
        "too_steep_to_mow",
        "fire",
        "block[|s] with edges too steep to mow",
        "prepare them another way, or move the line",
        "ft",
    ),
    Cause(
        "too_steep_to_drill",
        "supply",
        "unit[|s] with ground too steep to drill",
        "broadcast there",
        "ac",
    ),
    Cause(
        "heights_unknown",
        "evidence",
        "raster[|s] of heights that do[es|] not cover all",
        "give one that covers all units",
    ),
)


CAUSES = (*LINES, *SMOKE, *SLOPE)
