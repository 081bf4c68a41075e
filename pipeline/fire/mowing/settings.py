"""Settings of what is made along the edges: strips, bare lines, blacklines."""

from typing import Literal, Self

from pydantic import model_validator

from pipeline.core.section import COMMON_PRACTICE, FROM_MEMORY, Section, setting

THE_USERS_LIMIT = "the user's own limit; none is built in"


Way = Literal["mown", "bare", "burned"]


class MowingSettings(Section):
    """[mowing]"""

    side: Literal["inside", "outside"] = setting(
        "inside",
        meaning="Whether the strip is mown inside the block or outside it; around a hole in the "
        "block always inside. Bare lines and blacklines lie inside.",
        source=COMMON_PRACTICE,
    )
    mow_width_ft: float = setting(
        20.0,
        ge=0,
        le=500,
        meaning="Least width of the strip mown along every edge to be prepared.",
        source="20 to 30 ft mown are named by an Iowa column, Daily Gate City, 28 September 2020",
    )
    order: tuple[Way, ...] = setting(
        ("mown", "bare", "burned"),
        meaning="Ways to make a line as wide as its rule asks, the cheapest first; each is used as "
        "far as the rule counts such ground. A way left out is not used beyond its least width.",
        source=COMMON_PRACTICE + "; a strip burned out lies between two bare lines (Florida NRCS, "
        "job sheet FL394JS, September 2003)",
    )
    most_mown_ft: float | None = setting(
        None,
        ge=0,
        le=500,
        meaning="Greatest width mown to meet a rule; without it there is no limit.",
        source=THE_USERS_LIMIT,
    )
    most_bare_ft: float | None = setting(
        None,
        ge=0,
        le=500,
        meaning="Greatest width of bare or wet line made to meet a rule; without it there is no "
        "limit.",
        source=THE_USERS_LIMIT + "; 4 to 10 ft is typical (eXtension Prescribed Fire)",
    )
    most_burned_ft: float | None = setting(
        None,
        ge=0,
        le=500,
        meaning="Greatest width burned out beforehand to meet a rule; without it there is no "
        "limit.",
        source=THE_USERS_LIMIT,
    )
    widen_existing: bool = setting(
        True,
        meaning="Whether a line is made beside an existing break that is narrower than its rule "
        "asks.",
        source="widen natural breaks that fall short of the required width: Missouri NRCS, "
        "Firebreak (394) Conservation Practice Guidance Document, February 2020, page 1",
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
    move_speed_mph: float = setting(
        6.0,
        ge=0.1,
        le=30,
        meaning="Speed of the mower between passes, lifted.",
        source=COMMON_PRACTICE,
    )
    turn_minutes: float = setting(
        0.25,
        ge=0,
        le=10,
        meaning="Time of a turn from one pass to the next.",
        source=COMMON_PRACTICE,
    )
    bare_tool_width_ft: float = setting(
        6.0,
        ge=1,
        le=60,
        meaning="Working width of the disk, tiller or blade that makes a bare line.",
        source=COMMON_PRACTICE,
    )
    bare_speed_mph: float = setting(
        3.0, ge=0.1, le=20, meaning="Speed of that tool.", source=COMMON_PRACTICE
    )
    bare_passes: int = setting(
        2,
        ge=1,
        le=20,
        dimensionless=True,
        meaning="Times that it goes over the same ground until nothing is left to burn.",
        source=COMMON_PRACTICE,
    )
    blackline_mph: float = setting(
        0.25,
        gt=0,
        le=5,
        meaning="Speed at which a crew burns out and cools down a blackline.",
        source=COMMON_PRACTICE,
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

    @model_validator(mode="after")
    def _each_way_once(self) -> Self:
        """A way stands once in the order."""
        if len(set(self.order)) < len(self.order):
            raise ValueError("order names a way twice: name each of mown, bare, burned once")
        return self
