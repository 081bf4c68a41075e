"""Settings of the firebreak steps."""

from typing import Literal, Self

from pydantic import Field, model_validator

from pipeline.core.section import COMMON_PRACTICE, Day, Name, Section, UnitNames, setting

JUDGMENT = "judgment of this program, no source"


RuleName = Literal[
    "2 x fuel height, 4 ft",
    "2 x flame length, 6 ft",
    "10 x fuel height",
    "8 ft + 1 ft per mph",
    "100 ft",
    "200 ft",
    "own",
]


class FirebreakSettings(Section):
    """[firebreaks]"""

    along_ft: float = setting(
        36.0,
        gt=0,
        le=330,
        meaning="An edge runs along an existing break where it is no farther from it than this for "
        "shortest_run_ft in all.",
        source=JUDGMENT + "; half of a right of way of 66 ft is 33 ft, and a reach of just that "
        "would turn on how exactly the road was drawn",
    )
    follow_ft: float = setting(
        54.0,
        gt=0,
        le=500,
        meaning="An edge that runs along an existing break does so as long as it is no farther "
        "from it than this, or than along_ft where that is more. One that is within this for long, "
        "and not within along_ft, is told and not credited.",
        source=JUDGMENT + "; half as far again as along_ft",
    )
    angle_deg: float = setting(
        30.0,
        gt=0,
        lt=90,
        meaning="An edge that turns away from an existing break by more than this does not run "
        "along it.",
        source=COMMON_PRACTICE,
    )
    smoothing_ft: float = setting(
        16.0,
        ge=0,
        le=330,
        meaning="Directions are taken from lines smoothed by this much, so that a wiggly edge has "
        "one direction; raise it to the cell size for outlines traced from pixels.",
        source=COMMON_PRACTICE,
    )
    shortest_run_ft: float = setting(
        100.0,
        ge=0,
        meaning="A run along an existing break that lies within along_ft for less than this, its "
        "holes not counted, is a crossing and not credited.",
        source=COMMON_PRACTICE,
    )
    away_ft: float = setting(
        300.0,
        ge=0,
        meaning="A stretch of up to this length where the break is whole and the edge leaves it "
        "and comes back is listed as a place to look at. It is to prepare, not credited.",
        source=JUDGMENT,
    )
    gap_ft: float = setting(
        100.0,
        ge=0,
        meaning="A hole in an existing break of up to this length is listed as a gap; a longer one "
        "is a stretch to prepare. Neither is credited.",
        source=COMMON_PRACTICE,
    )
    downwind_half_angle_deg: float = setting(
        60.0,
        gt=0,
        lt=90,
        meaning="In one wind, an edge whose outward direction is within this of where the wind "
        "goes is downwind; within this of where it comes from, upwind. Winds planned for reach "
        "wind_arc_deg farther: an edge is held as a downwind one if it is one in any of them, so "
        "up to the sum of both (60 + 45 = 105) from where the planned wind goes.",
        source=JUDGMENT + "; at 45 a wind on the diagonal would stand on the limit, and with an "
        "arc of 45 one along an edge",
    )
    wind_arc_deg: float = setting(
        45.0,
        ge=0,
        le=180,
        meaning="Widths hold for every wind this far to either side of the planned one; 0 plans "
        "for that one wind. A stretch meets the rule of the most exposed side that it comes to "
        "lie on in these winds (see downwind_half_angle_deg), and of all less exposed sides.",
        source="Higgins, Kruse and Piehl, USFWS, 1989: look 45 degrees to either side of the "
        "starting wind, and have a plan for winds that shift by 90, 180, 270 and 360 degrees",
    )
    wind_mph: float | None = setting(
        None,
        ge=0,
        le=60,
        meaning="Wind expected, for a width rule that depends on it.",
        source="the burn boss's plan; none is built in",
    )
    downwind_rule: RuleName = setting(
        "10 x fuel height",
        meaning="Width rule for downwind edges; they meet those for flanks and upwind too.",
        source="Extension (eXtension Prescribed Fire), Fire prescriptions, rule 4",
    )
    flank_rule: RuleName = setting(
        "2 x fuel height, 4 ft",
        meaning="Width rule for flank edges; they meet the one for upwind edges too.",
        source="Missouri NRCS, Firebreak (394) Conservation Practice Guidance Document, February "
        "2020, page 1",
    )
    upwind_rule: RuleName = setting(
        "2 x fuel height, 4 ft",
        meaning="Width rule for upwind edges.",
        source="Missouri NRCS, Firebreak (394) Conservation Practice Guidance Document, February "
        "2020, page 1",
    )
    own_rule_source: str | None = setting(
        None,
        min_length=1,
        meaning='Where the width rule "own" comes from; it must be told when the rule is used.',
        source="the user's own rule; none is built in",
    )
    own_rule_height_factor: float = setting(
        0.0,
        ge=0,
        le=50,
        dimensionless=True,
        meaning='Rule "own": this many times the height of the fuel.',
        source="the user's own rule; none is built in",
    )
    own_rule_flame_factor: float = setting(
        0.0,
        ge=0,
        le=50,
        dimensionless=True,
        meaning='Rule "own": this many times the flame length the burn boss expects.',
        source="the user's own rule; none is built in",
    )
    own_rule_at_least_ft: float = setting(
        0.0,
        ge=0,
        le=1000,
        meaning='Rule "own": at least this width.',
        source="the user's own rule; none is built in",
    )
    own_rule_counts: Literal["bare", "all"] = setting(
        "bare",
        meaning='Ground that counts for the rule "own". bare: bare, wet or burned out. all: mown '
        "strip too.",
        source="the user's own rule; none is built in",
    )
    bare_line_ft: float = setting(
        0.0,
        ge=0,
        meaning="Least width of bare or wet line planned along every edge to be prepared.",
        source=JUDGMENT,
    )
    blackline_ft: float = setting(
        0.0,
        ge=0,
        meaning="Least width of the strip to be burned out beforehand along edges to be prepared "
        "that may come to lie downwind, beside line and mown strip.",
        source=JUDGMENT,
    )
    roads_as_breaks: Literal["all", "private", "none"] = setting(
        "all",
        meaning="Roads that may serve as a break: all, only private ones (their class in "
        "the table break_kinds), or none.",
        source="practice differs: burners in the prairie pothole region mostly used roads and "
        "trails (Higgins, Kruse and Piehl, USFWS, 1989); public roads are not to be primary "
        "firebreaks (Missouri NRCS, Firebreak (394) Guidance, February 2020)",
    )
    sharp_corner_deg: float = setting(
        60.0,
        ge=0,
        lt=180,
        meaning="A corner of a block narrower than this is a finding: lines should be bent around "
        "corners.",
        source=JUDGMENT + "; the hazard is named by Higgins, Kruse and Piehl, USFWS, 1989",
    )

    @model_validator(mode="after")
    def _own_rule_is_whole(self) -> Self:
        """A rule of one's own needs its source and a width."""
        if "own" not in (self.downwind_rule, self.flank_rule, self.upwind_rule):
            return self
        if not (self.own_rule_source or "").strip():
            raise ValueError('rule "own" is used: tell own_rule_source, where it comes from')
        terms = (
            self.own_rule_height_factor,
            self.own_rule_flame_factor,
            self.own_rule_at_least_ft,
        )
        if not any(terms):
            raise ValueError(
                'rule "own" is used: tell own_rule_height_factor, own_rule_flame_factor or '
                "own_rule_at_least_ft"
            )
        return self


class Burn(Section):
    """[[burns]]: units that burn together this season."""

    block: Name
    units: UnitNames
    wind_from_deg: float | None = Field(None, ge=0, le=360)
    fuel_height_ft: float | None = Field(None, gt=0, le=20)
    flame_length_ft: float | None = Field(None, gt=0, le=60)
    first_day: Day | None = None
    last_day: Day | None = None

    @model_validator(mode="after")
    def _days_in_order(self) -> Self:
        if (self.first_day is None) != (self.last_day is None):
            raise ValueError("give first_day and last_day, or neither")
        if self.first_day and self.last_day and self.last_day < self.first_day:
            raise ValueError("last_day lies before first_day")
        return self
