"""Settings of the mowing steps."""

from typing import Literal, Self

from pydantic import model_validator

from pipeline.settings.section import COMMON_PRACTICE, FROM_MEMORY, Section, setting


class MowingSettings(Section):
    """[mowing]"""

    side: Literal["inside", "outside"] = setting(
        "inside",
        meaning="Whether the strip is mown inside the block or outside it.",
        source=COMMON_PRACTICE,
    )
    mower_width_ft: float = setting(
        6.0, ge=1, le=60, meaning="Cutting width of the mower.", source=COMMON_PRACTICE
    )
    overlap_ft: float = setting(
        0.5,
        ge=0,
        le=20,
        meaning="Overlap of one pass on the next, at most half of the mower's width.",
        source=COMMON_PRACTICE,
    )
    speed_mph: float = setting(
        4.0, ge=0.1, le=20, meaning="Speed of the mower.", source=COMMON_PRACTICE
    )
    efficiency_pct: float = setting(
        80.0,
        ge=1,
        le=100,
        meaning="Share of the time in which the mower works at full width and speed.",
        source="ASABE D497.7 table 3, typical rotary mower, " + FROM_MEMORY,
    )

    @model_validator(mode="after")
    def _passes_advance(self) -> Self:
        """Each pass must cut more new grass than it cuts again: common practice, no source."""
        most_ft = self.mower_width_ft / 2
        if self.overlap_ft > most_ft:
            raise ValueError(
                f"overlap_ft of at most half of mower_width_ft ({most_ft:g} ft): with more, a pass "
                "cuts little or nothing new"
            )
        return self
