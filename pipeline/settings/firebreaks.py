"""Settings of the firebreak steps."""

from typing import Literal, Self

from pydantic import model_validator

from pipeline.settings.section import COMMON_PRACTICE, Section, setting

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
        source=JUDGMENT,
    )
    along_ft: float = setting(
        33.0,
        gt=0,
        le=330,
        meaning="An edge runs along an existing break when it is no farther from it than this.",
        source=COMMON_PRACTICE,
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
        meaning="A stretch along an existing break shorter than this is a crossing and not "
        "credited.",
        source=COMMON_PRACTICE,
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
        meaning="An edge whose outward direction is within this of where the wind goes is "
        "downwind; within this of where it comes from, upwind.",
        source=JUDGMENT + "; at 45 a wind on the diagonal would stand on the limit",
    )
    wind_arc_deg: float = setting(
        0.0,
        ge=0,
        le=180,
        meaning="Widths hold for winds this far to either side of the planned one.",
        source=JUDGMENT + "; contingencies for wind shifts are asked for by Higgins, Kruse and "
        "Piehl, USFWS, 1989",
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
        meaning="Width rule for downwind edges.",
        source="Extension (eXtension Prescribed Fire), Fire prescriptions, rule 4",
    )
    flank_rule: RuleName = setting(
        "2 x fuel height, 4 ft",
        meaning="Width rule for flank edges.",
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
        meaning="Bare or wet line planned along every edge to be prepared.",
        source=JUDGMENT,
    )
    mow_width_ft: float = setting(
        20.0,
        gt=0,
        le=500,
        meaning="Width of the strip mown along every edge to be prepared.",
        source="20 to 30 ft mown are named by an Iowa column, Daily Gate City, 28 September 2020",
    )
    blackline_ft: float = setting(
        0.0,
        ge=0,
        meaning="Strip to be burned out beforehand along downwind edges, beside line and mown "
        "strip.",
        source=JUDGMENT,
    )
    roads_as_breaks: Literal["all", "private", "none"] = setting(
        "all",
        meaning="Roads that may serve as a break: all, only private ones (kinds that say private, "
        "lane, trail, track or path), or none.",
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
        if not (self.own_rule_height_factor or self.own_rule_flame_factor
                or self.own_rule_at_least_ft):  # fmt: skip
            raise ValueError(
                'rule "own" is used: tell own_rule_height_factor, own_rule_flame_factor or '
                "own_rule_at_least_ft"
            )
        return self
