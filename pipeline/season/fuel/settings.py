"""Settings of the fuel steps: loads, winter loss, green growth and the burn window."""

from pydantic import model_validator

from pipeline.core.section import COMMON_PRACTICE, Section, setting
from pipeline.season.settings import MonthDay

NOBLE = "Noble Research Institute, News and Views, July 2012"


WILLMS = "Willms, Adams and Dormaar, Journal of Range Management (abstract)"


FITTED = (
    "judgment of this program, fitted to the trade's rule: at 47 N a sward of exotics rested to "
    "about 4,500 lb/ac in fall burns to the end of May or early June, one grazed in spring (1,200 "
    "lb/ac) to April or early May; in the central plains native ground rested to 3,300 to 4,200 "
    "lb/ac to the end of May"
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
    green_load_lb_ac: float = setting(
        2300.0,
        gt=0,
        meaning="Dry weight of green growth at the end of the spring flush, in a sward of "
        "introduced cool-season grasses alone.",
        source=FITTED,
    )
    native_green_load_lb_ac: float = setting(
        650.0,
        gt=0,
        meaning="The same in a sward of natives alone.",
        source=FITTED,
    )
    most_green_pct: float = setting(
        40.0,
        gt=0,
        lt=100,
        meaning="Largest share of green in the fuel; binds with heavy loads only, since before it "
        "the dead grass less the green must still carry.",
        source=COMMON_PRACTICE + "; no threshold is published for prairie",
    )
    green_degree_days: float = setting(
        150.0,
        ge=0,
        meaning="Degree-days above 32 °F at which introduced cool-season grasses begin to add "
        "load.",
        source="judgment: the middle of April at 47.5 N, when bluegrass begins (NDSU, 2011)",
    )
    native_degree_days: float = setting(
        600.0,
        ge=0,
        meaning="Degree-days above 32 °F at which natives begin to add load.",
        source="derived: natives stand half an inch to two inches high in mid to late April in the "
        "Flint Hills, early May in northwest Kansas (K-State eUpdate 446, 2014): 600 to 700",
    )
    full_degree_days: float = setting(
        1900.0,
        gt=0,
        meaning="Degree-days above 32 °F at which the spring flush has reached its full load.",
        source="judgment: mid-June at 40 to 42 N, when three quarters and more of cool-season "
        "growth is done (University of Nebraska Extension)",
    )
    last_degree_days: float = setting(
        1700.0,
        gt=0,
        meaning="Degree-days above 32 °F past which no window is open, whatever the load.",
        source=COMMON_PRACTICE + "; burns at heading took 35 % of the ground at Oak Lake, South "
        "Dakota, and 83 % at emergence (Proceedings of the South Dakota Academy of Science)",
    )
    year_scatter_days: int = setting(
        10,
        ge=0,
        le=40,
        meaning="Days by which one spring in ten comes earlier, and one later, than an ordinary "
        "one; told where the window rests on dates.",
        source="derived from daily weather of Carrington, North Dakota, 1991 to 2016: 8 to 11 days "
        "at 1,256 degree-days",
    )
    cool_exotic_share_pct: float | None = setting(
        None,
        ge=0,
        le=100,
        meaning="Share of introduced cool-season grasses where neither survey nor pictures of a "
        "unit tell it; takes the place of what is ordinary at its latitude.",
        source="the user's knowledge of the ground",
    )
    most_treated_pct: float = setting(
        50.0,
        ge=0,
        le=100,
        meaning="With no more of a unit burned, hayed, mown or tilled after the measurement, the "
        "measurement stands for the acres that were left; with more, a new one is needed.",
        source=COMMON_PRACTICE,
    )

    green_up_days: int = setting(
        10,
        ge=1,
        le=60,
        meaning="First green that was seen further from the green-up reckoned with than this is "
        "told.",
        source="Kansas State University, eUpdate 446, 2014, and North Dakota State University, "
        "2011: springs differ by 5 to 10 days either way",
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
        if self.native_degree_days >= self.full_degree_days:
            raise ValueError("native_degree_days must be below full_degree_days")
        return self
