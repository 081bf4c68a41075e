"""The layers of the slope steps: the ground under each unit and along each stretch of break."""

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.fire.causes import SLOPE
from pipeline.fire.layers import FIREBREAKS


def _slope(name: str, heading: str, meaning: str, *, uphill: bool = False) -> Column:
    """A slope [percent]; one that is counted uphill has a sign."""
    lowest = None if uphill else 0
    return Column(name, "number", meaning, heading, 0, True, signed=uphill, lowest=lowest)


def _share(name: str, heading: str, meaning: str, *, nullable: bool = True) -> Column:
    return Column(
        name, "number", meaning, heading, 0, nullable=nullable, lowest=0, highest=100.000001
    )


def _feet(name: str, heading: str, meaning: str) -> Column:
    return Column(name, "number", meaning, heading, 0, nullable=True, lowest=0)


def _height(name: str, heading: str, meaning: str) -> Column:
    return Column(name, "number", meaning, heading, 0, nullable=True)


UNIT_SLOPES = Layer(
    "unit_slopes",
    None,
    "Heights and slopes of each unit, by the property's own raster of heights. Slopes are those "
    "between heights as far apart as told; a bank or ditch narrower than that is not seen.",
    (
        UNIT_ID,
        _height("lowest_ft", "Lowest ground", "Lowest height read inside."),
        _height("highest_ft", "Highest ground", "Highest height read inside."),
        _slope("least_pct", "Flattest", "Least slope inside."),
        _slope("median_pct", "Half is steeper than", "Slope that half of the unit is above."),
        _slope("most_pct", "Steepest", "Greatest slope inside."),
        Column(
            "aspect_deg",
            "number",
            "Direction that the ground falls to as a whole; none where it falls several ways or is "
            "nearly flat.",
            "Falls to",
            0,
            nullable=True,
            lowest=0,
            highest=360,
        ),
        _share("over_mower_pct", "Too steep to mow", "Share steeper than the mower's limit."),
        _share("over_drill_pct", "Too steep to drill", "Share steeper than the drill's limit."),
        _share(
            "known_pct", "Heights known", "Share of the unit with heights around.", nullable=False
        ),
        _feet("spacing_ft", "Read each", "How far apart the places lie that were read."),
    ),
    key=("unit_id",),
)


BREAK_SLOPES = Layer(
    "break_slopes",
    "LineString",
    "Stretches of break with the slope of their ground, by the property's own raster of heights. "
    "No published rule makes breaks wider on slopes, so the widths of the layer firebreaks are the "
    "same with it and without it; a line at the head of a slope is to be looked at on the ground.",
    (
        FIREBREAKS.column("break_id"),
        FIREBREAKS.column("block"),
        FIREBREAKS.column("neighbor_block"),
        FIREBREAKS.column("status"),
        FIREBREAKS.column("length_ft"),
        _feet("surface_ft", "Over the ground", "Length up and down over the ground."),
        _slope("along_mean_pct", "Along, mean", "Mean slope along the stretch, up or down."),
        _slope("along_most_pct", "Along, steepest", "Steepest slope along the stretch."),
        _slope(
            "across_pct",
            "Across, rising outward",
            "Mean slope square to the stretch; above 0 the ground rises away from the block.",
            uphill=True,
        ),
        _slope("across_most_pct", "Across, steepest", "Steepest slope square to the stretch."),
        _slope(
            "rise_pct",
            "Rise to the edge",
            "Steepest rise toward the edge over the last ground of the block before it; below 0 "
            "the ground falls toward the edge everywhere.",
            uphill=True,
        ),
        _feet("uphill_ft", "Head of a slope", "Length at the head of a slope to be told."),
        _slope(
            "neighbor_rise_pct",
            "Rise from the neighbor",
            "The same, seen from the neighbor block; none where there is none.",
            uphill=True,
        ),
        _feet(
            "neighbor_uphill_ft",
            "Head of the neighbor's slope",
            "The same, seen from the neighbor block.",
        ),
        _feet("over_mower_ft", "Too steep to mow", "Length on ground above the mower's limit."),
        _share("known_pct", "Heights known", "Share of the length with heights.", nullable=False),
    ),
    key=("break_id",),
)


SLOPE_FINDINGS = findings_layer("slope_findings", SLOPE)
