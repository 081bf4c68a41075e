"""Settings of the fuel steps."""

from typing import Annotated

from pydantic import StringConstraints, model_validator

from pipeline.settings.section import COMMON_PRACTICE, Section, setting

MonthDay = Annotated[
    str,
    StringConstraints(pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$", strip_whitespace=True),
]
NOBLE = "Noble Research Institute, News and Views, July 2012"
WILLMS = "Willms, Adams and Dormaar, Journal of Range Management (abstract)"
FITTED = (
    "judgment of this program, set so that the trade's rule comes out: a pasture rested a full "
    "season burns to the end of May, one grazed in spring only in April or early May"
)


class FuelSettings(Section):
    """[fuel]"""

    carries_lb_ac: float = setting(
        1500.0,
        gt=0,
        meaning="Least dry load that carries a fire.",
        source="Stevens, Rangelands 27(5), 2005, pages 20 to 21 (Noble): usually the least",
    )
    patchy_lb_ac: float = setting(
        1000.0,
        gt=0,
        meaning="Below this dry load a fire does not carry; between, it burns patchy.",
        source=NOBLE + ": low end of adequate loads",
    )
    brush_lb_ac: float = setting(
        2000.0,
        gt=0,
        meaning="Dry load above which brush is usually reached.",
        source=NOBLE,
    )
    heavy_lb_ac: float = setting(
        3000.0,
        gt=0,
        meaning="Dry load from which the widths of the breaks should be looked at again.",
        source="Texas Ranching Conservancy, Burn standards: optimum from 3,000 lb/ac; the call to "
        "check widths is " + COMMON_PRACTICE,
    )
    most_bare_pct: float | None = setting(
        None,
        ge=0,
        le=100,
        meaning="Bare ground above which fuel counts as broken up; not told, continuity is "
        "unknown.",
        source="the user's knowledge of the ground; no published threshold found",
    )
    winter_loss_low_pct: float = setting(
        24.0,
        ge=0,
        le=100,
        meaning="Least share of the standing load that is gone by spring.",
        source=WILLMS + ": rough fescue",
    )
    winter_loss_pct: float = setting(
        50.0,
        ge=0,
        le=100,
        meaning="Share of the standing load that is gone by spring, to reckon with.",
        source="South Dakota State University Extension, Fall is the time to plan for fire, 2021: "
        "about half",
    )
    winter_loss_high_pct: float = setting(
        56.0,
        ge=0,
        le=100,
        meaning="Largest share of the standing load that is gone by spring.",
        source=WILLMS + ": Kentucky bluegrass and sedge",
    )
    fall_from: MonthDay = setting(
        "08-15",
        meaning="Measurements from this day on, of the year before the season, count as the load "
        "going into winter.",
        source=COMMON_PRACTICE + "; warm-season grasses of the Southern Plains have made three "
        "quarters of their growth by mid-July (" + NOBLE + ")",
    )
    confidence_pct: float = setting(
        95.0,
        gt=50,
        le=99.9,
        meaning="Confidence of the interval of the mean of clip plots and pole readings.",
        source=COMMON_PRACTICE,
    )
    pole_slope_lb_in: float | None = setting(
        None,
        gt=0,
        meaning="Dry load for each inch of visual obstruction: slope of the user's regression.",
        source="the user's regression, with its citation; none is built in",
    )
    pole_intercept_lb_ac: float | None = setting(
        None,
        meaning="Dry load at no obstruction: intercept of the user's regression.",
        source="the user's regression, with its citation; none is built in",
    )
    pole_citation: str | None = setting(
        None,
        meaning="Where the regression was published.",
        source="the user's regression; none is built in",
    )
    region: str = setting(
        "central plains",
        meaning="Row of the table green_up whose dates are used.",
        source=COMMON_PRACTICE,
    )
    green_load_lb_ac: float = setting(
        1500.0,
        gt=0,
        meaning="Dry weight of green growth at the end of the spring flush.",
        source=FITTED,
    )
    most_green_pct: float = setting(
        40.0,
        gt=0,
        lt=100,
        meaning="Share of green in the fuel at which the burn window closes.",
        source=FITTED + "; no threshold is published for prairie",
    )
    green_degree_days: float = setting(
        300.0,
        ge=0,
        meaning="Degree-days above 32 °F at which green-up begins to add load.",
        source="judgment of this program, below the 443 at which crested wheatgrass is ready for "
        "grazing (NDSU, degree-days from the first five mild days after 15 March)",
    )
    full_degree_days: float = setting(
        1900.0,
        gt=0,
        meaning="Degree-days above 32 °F at which the spring flush has reached its full load.",
        source=FITTED,
    )
    state: str | None = setting(
        None,
        meaning="State whose nesting season is held against the burn window.",
        source="the user's address",
    )

    @model_validator(mode="after")
    def _in_order(self) -> "FuelSettings":
        losses = (self.winter_loss_low_pct, self.winter_loss_pct, self.winter_loss_high_pct)
        loads = (self.patchy_lb_ac, self.carries_lb_ac, self.brush_lb_ac, self.heavy_lb_ac)
        if list(losses) != sorted(losses):
            raise ValueError("winter_loss_low_pct, winter_loss_pct, winter_loss_high_pct must rise")
        if list(loads) != sorted(loads):
            raise ValueError("patchy, carries, brush and heavy loads must rise")
        if self.green_degree_days >= self.full_degree_days:
            raise ValueError("green_degree_days must be below full_degree_days")
        return self
