"""The tables of burning and breaks that people read, in the report and in the crew packet."""

import pandas as pd

from pipeline.core.layer import Column, Layer
from pipeline.core.table import Table
from pipeline.core.units import FT_PER_MI
from pipeline.fire.breaks.layers import LINE_WORK
from pipeline.fire.layers import BURN_BLOCKS, FIREBREAKS, TIE_INS
from pipeline.fire.mowing.layers import MADE_LINES, MOW_ROUTES, MOW_STRIPS
from pipeline.fire.slope.layers import BREAK_SLOPES, UNIT_SLOPES
from pipeline.fire.smoke.layers import BURN_WEATHER, FROM_THE_MAP, SMOKE_PLACES
from pipeline.fire.smoke.winds import told_arcs
from pipeline.fire.words import arcs_words, place_words

BLOCKS_TABLE = Table(
    BURN_BLOCKS,
    "Burn blocks",
    (
        "block",
        "unit_ids",
        "units_ac",
        "overlap_ac",
        "sliver_ac",
        "gross_ac",
        "excluded_ac",
        "break_ac",
        "burnable_ac",
        "perimeter_ft",
        "existing_ft",
        "width_unknown_ft",
        "prepare_ft",
        "gap_ft",
        "kind_unknown_ft",
        "shared_ft",
        "lane_ft",
        "wind_from_deg",
    ),
    totals=(
        "units_ac",
        "overlap_ac",
        "sliver_ac",
        "gross_ac",
        "excluded_ac",
        "break_ac",
        "burnable_ac",
    ),
    about="Units summed less what is counted twice, with the slivers between them, is the ground "
    "covered; of that, what is excluded, mown and burnable. Feet of a side that two blocks share "
    "stand with both of them.",
)


BREAK_SUMS = Layer(
    "break_sums",
    None,
    "Lengths of break by block and status, summed for print.",
    (
        FIREBREAKS.column("block"),
        FIREBREAKS.column("status"),
        Column("stretches", "integer", "Stretches of that status.", "Stretches", 0),
        Column("length_ft", "number", "Their length.", "Length", 0),
        Column("length_mi", "number", "Their length.", "Length", 2),
        Column(
            "narrow_ft",
            "number",
            "Length of those narrower than their rule asks for.",
            "Of it too narrow",
            0,
        ),
        Column("most_short_ft", "number", "Most width missing.", "Short by up to", 1),
    ),
    key=("block", "status"),
)


BREAK_SUMS_TABLE = Table(
    BREAK_SUMS,
    "Breaks by block and status",
    tuple(BREAK_SUMS.column_names),
    totals=("length_ft", "length_mi", "narrow_ft"),
    about="A stretch between two blocks stands once, with the block that it is listed under. "
    "Widths are rules of thumb from the source named in the settings; slope, wind and volatile "
    "trees override them.",
)


def break_sums(firebreaks: pd.DataFrame) -> pd.DataFrame:
    """Length [foot, mile] of break by block and status, with what is too narrow of it.

    A stretch between two blocks is counted once, with the block that it is listed under. Where no
    width is asked for, what is too narrow is unknown.
    """
    short_ft = firebreaks["short_ft"]
    narrow_ft = firebreaks["length_ft"].where(short_ft > 0, 0.0).where(short_ft.notna())
    figures = pd.DataFrame(firebreaks[["block", "status", "length_ft"]]).assign(
        narrow_ft=narrow_ft, most_short_ft=short_ft
    )
    sums = figures.groupby(["block", "status"], sort=True, dropna=False).agg(
        stretches=("length_ft", "size"),
        length_ft=("length_ft", "sum"),
        narrow_ft=("narrow_ft", lambda feet: feet.sum(min_count=1)),
        most_short_ft=("most_short_ft", "max"),
    )
    return sums.reset_index().assign(length_mi=lambda f: f["length_ft"] / FT_PER_MI)


WORK_TABLE = Table(
    LINE_WORK,
    "To be made of the lines",
    tuple(LINE_WORK.column_names),
    totals=("area_ac", "hours"),
    about="So that each line meets its rules, by the order and limits under [mowing]. Acres are "
    "length times width; the strips as they are drawn stand below.",
)


BREAKS_TABLE = Table(
    FIREBREAKS,
    "Every stretch of break",
    (
        "break_id",
        "block",
        "neighbor_block",
        "adjoining",
        "ring",
        "status",
        "kind",
        "credited_as",
        "condition",
        "length_ft",
        "wind_side",
        "held_side",
        "make_bare_ft",
        "make_mown_ft",
        "make_black_ft",
        "bare_ft",
        "mown_ft",
        "blackline_ft",
        "required_ft",
        "planned_ft",
        "short_ft",
        "rule",
        "counted_ground",
    ),
)


PLACES = Layer(
    "places",
    None,
    TIE_INS.meaning,
    (
        *TIE_INS.columns,
        Column("what_to_do", "text", "What to do there, in words.", "What to do"),
    ),
    key=TIE_INS.key,
)


PLACES_TABLE = Table(
    PLACES, "Tie-ins and gaps", ("tie_in_id", "block", "kind", "distance_ft", "what_to_do")
)


def places(tie_ins: pd.DataFrame) -> pd.DataFrame:
    """Places along the breaks with what is to be done there, in words."""
    words = [place_words(place) for place in tie_ins.to_dict("records")]
    return tie_ins.assign(what_to_do=pd.Series(words, index=tie_ins.index, dtype=object))


SMOKE_NEAR = Layer(
    "smoke_near",
    None,
    SMOKE_PLACES.meaning,
    (
        *SMOKE_PLACES.columns,
        Column(
            "winds",
            "text",
            "Winds that carry smoke there, in words.",
            "Winds that reach it",
            nullable=True,
        ),
    ),
    key=SMOKE_PLACES.key,
)


ABOUT_SMOKE = (
    f"{FROM_THE_MAP} Arcs are as wide as the half angle set, to either side. A place that was not "
    "named is not in them."
)


SMOKE_TABLE = Table(
    SMOKE_NEAR,
    "Places near burn blocks that smoke must not drift onto",
    ("block", "place_id", "kind", "distance_mi", "bearing_deg", "planned_smoke", "winds"),
    about=ABOUT_SMOKE,
)


def smoke_near(smoke_places: pd.DataFrame, smoke_arcs: pd.DataFrame) -> pd.DataFrame:
    """Places near each block, nearest first, with the winds that carry its smoke there in words."""
    near = smoke_places[smoke_places["block"].notna()]
    arcs = dict(list(smoke_arcs.groupby(["block", "place_id"])))
    words = [
        f"winds from {arcs_words(told_arcs(arcs[key]))}" if key in arcs else None
        for key in zip(near["block"], near["place_id"], strict=True)
    ]
    told = near.assign(winds=pd.Series(words, index=near.index, dtype=object))
    return told.sort_values(["block", "distance_mi"], kind="stable")


def left_words(winds_left: pd.DataFrame, block: str) -> str:
    """What is left to a block of the winds within the weather limits, in words."""
    rows = winds_left[winds_left["block"] == block]
    if not len(rows):
        return "No places were named that smoke must not drift onto: none was looked for."
    arcs = told_arcs(rows)
    if not len(arcs):
        return (
            "No wind fits: every wind within the weather limits set carries smoke onto a place "
            "named."
        )
    return (
        f"Within the weather limits set, winds from {arcs_words(arcs, inward=True)} reach none of "
        "the places named."
    )


STRIPS_TABLE = Table(
    MOW_STRIPS,
    "Mow strips",
    (
        "strip_id",
        "block",
        "width_ft",
        "area_ac",
        "passes",
        "pass_length_ft",
        "hours",
        "narrow",
        "unmown_sqft",
    ),
    totals=("area_ac", "pass_length_ft", "hours"),
)


LINES_TABLE = Table(
    MADE_LINES,
    "Bare lines and blacklines to make",
    ("line_id", "block", "kind", "width_ft", "length_ft", "area_ac", "hours"),
    totals=("length_ft", "area_ac", "hours"),
    about="From the edge inward: bare line, mown strip, blackline. Burning out a blackline is "
    "burning: all that is said of burning holds for it.",
)


ROUTES_TABLE = Table(
    MOW_ROUTES,
    "The driver's way by block",
    (
        "block",
        "passes",
        "mown_ft",
        "moves_ft",
        "moves_pct",
        "least_moves_ft",
        "off_ground_ft",
        "least_hours",
        "most_hours",
        "line_hours",
        "made_ac",
        "planned_ac",
    ),
    totals=("mown_ft", "moves_ft", "least_hours", "most_hours", "line_hours", "made_ac"),
    about="Hours run from mowing at full speed all the way to mowing at the efficiency set, both "
    "with moves and turns. The layer mow_passes has the passes in the order and the direction in "
    "which they are driven.",
)


UNIT_SLOPES_TABLE = Table(
    UNIT_SLOPES,
    "Slope of the units",
    tuple(UNIT_SLOPES.column_names),
    about="By your own raster of heights. Limits of the machines are those of the settings.",
)


BREAK_SLOPES_TABLE = Table(
    BREAK_SLOPES,
    "Slope along every stretch of break",
    tuple(BREAK_SLOPES.column_names),
    totals=("length_ft", "surface_ft", "uphill_ft", "neighbor_uphill_ft", "over_mower_ft"),
    about="Widths are not changed by slope: no published rule says by how much.",
)


PACKET_SLOPE_SUMS = ("surface_ft", "uphill_ft", "over_mower_ft")
"""Lengths along the edges of a block that stand at the head of its page where heights are given."""


def slopes_around(break_slopes: pd.DataFrame, block: str) -> pd.DataFrame:
    """Slopes along all edges of a block as seen from it, shared ones too."""
    listed = break_slopes[break_slopes["block"] == block]
    other = break_slopes[break_slopes["neighbor_block"] == block]
    turned = other.assign(
        rise_pct=other["neighbor_rise_pct"], uphill_ft=other["neighbor_uphill_ft"]
    )
    parts = [part for part in (listed, turned) if len(part)]
    return pd.concat(parts) if parts else listed


WEATHER_TABLE = Table(
    BURN_WEATHER,
    "Past hours inside the weather limits set",
    tuple(BURN_WEATHER.column_names),
    about="Past weather, not a forecast.",
)


PACKET_FACTS = (
    "units_ac",
    "overlap_ac",
    "gross_ac",
    "excluded_ac",
    "break_ac",
    "burnable_ac",
    "perimeter_ft",
    "existing_ft",
    "width_unknown_ft",
    "gap_ft",
    "prepare_ft",
    "kind_unknown_ft",
    "shared_ft",
)
"""Figures of a block that stand at the head of its page, in their order."""


PACKET_FACTS_IF_ANY = ("width_unknown_ft", "kind_unknown_ft")
"""Those of them that stand there only where there is any."""


PACKET_STRETCHES = Table(
    FIREBREAKS,
    "Stretches, the block on their left hand",
    (
        "break_id",
        "status",
        "length_ft",
        "held_side",
        "adjoining",
        "make_bare_ft",
        "make_mown_ft",
        "make_black_ft",
        "short_ft",
    ),
)


PACKET_STRIPS = Table(
    MOW_STRIPS,
    "Mow strips",
    ("strip_id", "width_ft", "area_ac", "passes", "pass_length_ft", "hours"),
    totals=("area_ac", "pass_length_ft", "hours"),
)


PACKET_LINES = Table(
    MADE_LINES,
    "Bare lines and blacklines",
    ("line_id", "kind", "width_ft", "length_ft", "area_ac", "hours"),
    totals=("length_ft", "area_ac", "hours"),
)
