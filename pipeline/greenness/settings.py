"""Settings of the greenness steps."""

from typing import Any

from pydantic import model_validator

from pipeline.core.section import COMMON_PRACTICE, Day, Name, Section, UnitNames, setting

PARCELS = (
    "P. Vajsova et al., Remote Sensing 12 (2020) 2195 (Joint Research Centre): smallest parcel "
    "that Sentinel-2 can monitor"
)


GREEN_UP = (
    "computed: with a green-up of 0.011 NDVI a day, 8 days are 0.09 and 16 days 0.18, far above "
    "the effect of a burn"
)


SENSOR_LINES = (
    "the published routes from one Landsat sensor to the next differ by 0.018 NDVI (D. P. Roy et "
    "al., Remote Sensing of Environment 185 (2016) 57-70)"
)


def _days(default: int, *, meaning: str, source: str) -> Any:
    """A setting that is a day of the year or a number of days, 1 to 366."""
    return setting(default, ge=1, le=366, meaning=meaning, source=source)


class GreennessSettings(Section):
    """[greenness]"""

    buffer_pixels: float = setting(
        0.5,
        ge=0,
        le=3,
        meaning="Edge of each unit left out, in pixels, when both pictures are from one sensor.",
        source=PARCELS,
    )
    mixed_buffer_pixels: float = setting(
        1.0,
        ge=0,
        le=3,
        meaning="Edge left out, in pixels of the coarser picture, when the two differ in sensor, "
        "kind or grid.",
        source="misregistration between Landsat and Sentinel-2 of 38 m (J. Storey et al., Remote "
        "Sensing of Environment, 2016; volume and pages from memory, to be checked: 186, 121-122)",
    )
    least_full_pixels: int = setting(
        8,
        ge=1,
        meaning="Units with fewer pixels wholly inside the ground used are not judged.",
        source=PARCELS,
    )
    most_lost_pct: float = setting(
        60.0,
        gt=0,
        le=100,
        meaning="Units that lose this share of their ground to the left-out edge are not judged.",
        source=PARCELS,
    )
    least_valid_pct: float = setting(
        50.0,
        ge=0,
        le=100,
        meaning="Units with a smaller share of usable pixels are not judged.",
        source=COMMON_PRACTICE,
    )
    sure_valid_pct: float = setting(
        80.0,
        ge=0,
        le=100,
        meaning="Reference units need at least this share of usable pixels; burned units with less "
        "are judged with a caution.",
        source=COMMON_PRACTICE,
    )
    least_references: int = setting(
        3,
        ge=3,
        meaning="With fewer reference units the change is given without an interval.",
        source="two references would need a multiplier of 15.6 (Student's t with one degree of "
        "freedom)",
    )
    confidence_pct: float = setting(
        95.0,
        ge=80,
        le=99.9,
        meaning="Confidence of the interval around the change against the reference units.",
        source=COMMON_PRACTICE,
    )
    noise_floor: float = setting(
        0.02,
        ge=0,
        dimensionless=True,
        meaning="Smaller changes of NDVI against the references are not told as a difference.",
        source=SENSOR_LINES,
    )
    mixed_noise_floor: float = setting(
        0.03,
        ge=0,
        dimensionless=True,
        meaning="The same where the two pictures differ in sensor, kind or grid.",
        source=SENSOR_LINES,
    )
    date_gap_days: int = setting(
        8,
        ge=0,
        meaning="Pictures further apart than this in the day of the year are a finding.",
        source=GREEN_UP,
    )
    most_date_gap_days: int = setting(
        16,
        ge=0,
        meaning="Pictures further apart than this in the day of the year show the season, not the "
        "burn: no verdict. Those of earlier years count up to this far from the day of the year.",
        source=GREEN_UP,
    )
    similar_before: float = setting(
        0.05,
        gt=0,
        dimensionless=True,
        meaning="Reference units whose NDVI before the burn was further than this from the burned "
        "unit's are not proposed. Of a unit that began further than this off its usual place among "
        "its references a change is not called the fire's, unless it stands out whatever became of "
        "its start.",
        source=COMMON_PRACTICE,
    )
    cloud_drop: float = setting(
        0.3,
        gt=0,
        dimensionless=True,
        meaning="A unit whose NDVI fell by so much more than that of every other unit is suspected "
        "of cloud or haze.",
        source=COMMON_PRACTICE,
    )
    least_years_before: int = setting(
        3,
        ge=3,
        meaning="Earlier years with a cool-season index needed for the second interval around its "
        "change.",
        source="fewer give no usable spread",
    )
    most_out_of_range_pct: float = setting(
        1.0,
        ge=0,
        le=100,
        meaning="More pixels than this outside the valid range are a finding.",
        source=COMMON_PRACTICE,
    )
    fallback_range_m: float = setting(
        200.0,
        ge=1,
        meaning="Distance over which pixels change alike, taken where the pictures cannot tell it.",
        source="F. W. Davis et al. (1989), NTRS 19910031117: 180 to 210 m on tallgrass prairie, "
        "one site and one year",
    )
    early_first_day: int = _days(
        100,
        meaning="First day of the year of the early window: cool-season plants green, others not.",
        source="central plains, 10 April to 15 May; " + COMMON_PRACTICE,
    )
    early_last_day: int = _days(
        145,
        meaning="Last day of the year of the early window.",
        source="northern plains, to 25 May; " + COMMON_PRACTICE,
    )
    midsummer_first_day: int = _days(
        182,
        meaning="First day of the year of the midsummer window: warm-season plants at their peak.",
        source="central plains, 1 July to 10 August; " + COMMON_PRACTICE,
    )
    midsummer_last_day: int = _days(
        232,
        meaning="Last day of the year of the midsummer window.",
        source="northern plains, to 20 August; " + COMMON_PRACTICE,
    )
    late_first_day: int = _days(
        258,
        meaning="First day of the year of the late window: cool-season plants green again, others "
        "cured.",
        source="northern plains, from 15 September; " + COMMON_PRACTICE,
    )
    late_last_day: int = _days(
        304,
        meaning="Last day of the year of the late window.",
        source="central plains, to 31 October; " + COMMON_PRACTICE,
    )
    dormant_last_day: int = _days(
        90,
        meaning="Last day of the year of the dormant window (from day 60), whose picture is the "
        "base that green-up counts from.",
        source="1 to 31 March, snow-free; " + COMMON_PRACTICE,
    )
    dormant_greenness: float = setting(
        0.15,
        dimensionless=True,
        meaning="NDVI of dormant ground, taken where no dormant picture is given.",
        source=COMMON_PRACTICE,
    )
    least_green_up: float = setting(
        0.10,
        gt=0,
        dimensionless=True,
        meaning="With less green-up, early and midsummer together, there is no cool-season index.",
        source=COMMON_PRACTICE,
    )
    cool_unit: str | None = setting(
        None,
        meaning="Unit known to be a cool-season stand; with warm_unit, others are placed between.",
        source="the user's knowledge of the ground",
    )
    warm_unit: str | None = setting(
        None,
        meaning="Unit known to be a warm-season stand.",
        source="the user's knowledge of the ground",
    )
    picture_before_days: int = _days(
        30,
        meaning="A picture from before a burn may be this old to tell the burned share.",
        source=COMMON_PRACTICE,
    )
    fresh_picture_days: int = _days(
        10,
        meaning="A picture from after a burn that is later than this is used with a caution.",
        source=COMMON_PRACTICE,
    )
    picture_after_days: int = _days(
        30,
        meaning="A picture from after a burn may be this much later to tell the burned share.",
        source="near-infrared keeps the difference for weeks (R. L. Mohler and D. G. Goodin, "
        "International Journal of Remote Sensing 34 (2013) 7199-7217)",
    )
    change_map: bool = setting(
        False,
        meaning="Whether the change of every pixel is written as a raster (greenness_change.tif).",
        source="the user's choice",
    )

    @model_validator(mode="after")
    def _windows_in_order(self) -> "GreennessSettings":
        days = (
            self.dormant_last_day,
            self.early_first_day,
            self.early_last_day,
            self.midsummer_first_day,
            self.midsummer_last_day,
            self.late_first_day,
            self.late_last_day,
        )
        if list(days) != sorted(days):
            raise ValueError("the dormant, early, midsummer, late windows must follow one another")
        if self.least_valid_pct > self.sure_valid_pct:
            raise ValueError("least_valid_pct must not be above sure_valid_pct")
        if self.fresh_picture_days > self.picture_after_days:
            raise ValueError("fresh_picture_days must not be above picture_after_days")
        return self


class Comparison(Section):
    """[[comparisons]]: two dates, the units burned between them and unburned ones beside them."""

    name: Name
    before: Day
    after: Day
    burned: UnitNames
    reference: tuple[Name, ...] = ()

    @model_validator(mode="after")
    def _in_order(self) -> "Comparison":
        if self.before >= self.after:
            raise ValueError("before must be an earlier date than after")
        both = sorted(set(self.burned) & set(self.reference))
        if both:
            raise ValueError(f"burned and reference both name {', '.join(both)}")
        return self
