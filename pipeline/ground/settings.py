"""Settings of the ground: outlines, the edges between them, and acres."""

from pipeline.core.section import COMMON_PRACTICE, Section, setting


class AcreageSettings(Section):
    """[acreage]"""

    tiny_part_ac: float = setting(
        0.05,
        ge=0,
        meaning="Separate pieces of a unit smaller than this are listed as a finding.",
        source=COMMON_PRACTICE,
    )
    slop_ft: float = setting(
        16.0,
        gt=0,
        le=65,
        meaning="Neighboring outlines that miss each other by no more than this become one edge.",
        source=COMMON_PRACTICE,
    )
    near_miss_ft: float = setting(
        50.0,
        ge=0,
        le=330,
        meaning="Gaps between units that are wider than slop_ft and no wider than this are told.",
        source="judgment of this program, no source",
    )
    lane_ft: float = setting(
        40.0,
        ge=0,
        le=200,
        meaning="Nobody's ground between two units, no wider than this, is a lane: it lies inside "
        "a block that burns both units. 0 for no lanes.",
        source="judgment of this program, no source",
    )
