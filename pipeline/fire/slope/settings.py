"""Settings of the slope steps."""

from pipeline.core.section import COMMON_PRACTICE, FROM_MEMORY, Section, setting


class SlopeSettings(Section):
    """[slope]"""

    mower_limit_pct: float = setting(
        18.0,
        gt=0,
        le=100,
        meaning="Slope that the mower is not to be driven on; the manual of your machine has it.",
        source="10 degrees (18 %) while towing, 15 degrees (27 %) up and down in manuals of riding "
        f"mowers, {FROM_MEMORY}; no figure for farm tractors was found",
    )
    drill_limit_pct: float = setting(
        33.0,
        gt=0,
        le=100,
        meaning="Slope that a drill is not to be pulled on.",
        source="drill seeding on slopes of 3:1 or flatter, Colorado NRCS and Division of "
        f"Reclamation, Mining and Safety, {FROM_MEMORY}",
    )
    steep_pct: float = setting(
        18.0,
        gt=0,
        le=100,
        meaning="An edge that the ground rises toward by this much or more is told: fire runs "
        "faster uphill. Break widths are not changed by it.",
        source="10 degrees (17.6 %) double the spread of a grass fire by the rule of McArthur as "
        f"CSIRO gives it, {FROM_MEMORY}; no published multiplier of break widths was found",
    )
    run_ft: float = setting(
        100.0,
        ge=33,
        le=1000,
        meaning="Rise toward an edge is measured over this much ground before it.",
        source=COMMON_PRACTICE,
    )
