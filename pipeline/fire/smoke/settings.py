"""Settings of smoke and burn weather."""

from pydantic import model_validator

from pipeline.core.section import COMMON_PRACTICE, Section, setting
from pipeline.fire.settings import JUDGMENT

BURN_BOSS = "the burn boss's prescription; ranges in print disagree, none is built in"


class WeatherSettings(Section):
    """[weather]"""

    lowest_temperature_f: float | None = setting(
        None, meaning="Lowest temperature of the prescription.", source=BURN_BOSS
    )
    highest_temperature_f: float | None = setting(
        None, meaning="Highest temperature of the prescription.", source=BURN_BOSS
    )
    lowest_humidity_pct: float | None = setting(
        None,
        ge=0,
        le=100,
        meaning="Lowest relative humidity of the prescription.",
        source=BURN_BOSS,
    )
    highest_humidity_pct: float | None = setting(
        None,
        ge=0,
        le=100,
        meaning="Highest relative humidity of the prescription.",
        source=BURN_BOSS,
    )
    lowest_wind_mph: float | None = setting(
        None, ge=0, meaning="Lowest wind speed of the prescription.", source=BURN_BOSS
    )
    highest_wind_mph: float | None = setting(
        None, ge=0, meaning="Highest wind speed of the prescription.", source=BURN_BOSS
    )
    first_wind_from_deg: float | None = setting(
        None,
        ge=0,
        le=360,
        meaning="Winds from this direction clockwise to the last one are in prescription; without "
        "both, every direction is.",
        source=BURN_BOSS,
    )
    last_wind_from_deg: float | None = setting(
        None,
        ge=0,
        le=360,
        meaning="Last direction of the prescription, clockwise.",
        source=BURN_BOSS,
    )
    wind_height_ft: float | None = setting(
        None,
        gt=0,
        le=100,
        meaning="Height that wind speeds of the prescription and of the weather table are for; "
        "without it nothing is counted.",
        source="6 ft at eye level, 20 ft in forecasts, 33 ft at research stations",
    )
    first_hour: int = setting(
        9,
        ge=0,
        le=23,
        meaning="First hour of the day that counts.",
        source="Texas air rule, as listed by the Texas Ranching Conservancy: start after 9 a.m.",
    )
    last_hour: int = setting(
        16,
        ge=0,
        le=23,
        meaning="Last hour of the day that counts.",
        source="the same: done by 5 p.m.",
    )
    least_run: int = setting(
        4,
        ge=1,
        le=24,
        meaning="Hours on end in prescription that make a day.",
        source=COMMON_PRACTICE,
    )
    smoke_distance_mi: float = setting(
        1.0,
        gt=0,
        le=50,
        meaning="Places within this distance of a unit or block count.",
        source=JUDGMENT + "; smoke of an 80-acre fire was seen 40 miles off (Higgins, Kruse and "
        "Piehl, USFWS, 1989)",
    )
    smoke_half_angle_deg: float = setting(
        45.0,
        gt=0,
        lt=90,
        meaning="A place within this of where the wind goes, seen from any point of the unit or "
        "block, lies in its smoke.",
        source="Higgins, Kruse and Piehl, USFWS, 1989, on smoke: look 45 degrees to either side of "
        "the way the starting wind goes",
    )

    @property
    def wind_range_deg(self) -> tuple[float, float]:
        """First and last wind [degree] of the prescription, clockwise; all where none is set."""
        first, last = self.first_wind_from_deg, self.last_wind_from_deg
        return (0.0, 360.0) if first is None or last is None else (first, last)

    @model_validator(mode="after")
    def _in_order(self) -> "WeatherSettings":
        for what in ("temperature_f", "humidity_pct", "wind_mph"):
            low, high = getattr(self, f"lowest_{what}"), getattr(self, f"highest_{what}")
            if low is not None and high is not None and low > high:
                raise ValueError(f"lowest_{what} is above highest_{what}")
        if (self.first_wind_from_deg is None) != (self.last_wind_from_deg is None):
            raise ValueError("give first_wind_from_deg and last_wind_from_deg, or neither")
        if self.first_hour > self.last_hour:
            raise ValueError("first_hour must not be after last_hour")
        return self
