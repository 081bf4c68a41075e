"""Settings of the history and season steps."""

from pydantic import model_validator

from pipeline.settings.fuel import MonthDay
from pipeline.settings.section import COMMON_PRACTICE, Section, setting


class SeasonSettings(Section):
    """[season]"""

    growing_from: MonthDay = setting(
        "04-15",
        meaning="First day of the growing season; animals or a mower in it end a rest.",
        source=COMMON_PRACTICE,
    )
    growing_until: MonthDay = setting(
        "10-01",
        meaning="Last day of the growing season.",
        source=COMMON_PRACTICE,
    )
    deferral_from: MonthDay = setting(
        "07-01",
        meaning="Stock off from this day while natives set seed.",
        source=COMMON_PRACTICE,
    )
    deferral_until: MonthDay = setting(
        "08-15",
        meaning="Stock off until this day.",
        source=COMMON_PRACTICE,
    )
    burned_deferral_until: MonthDay = setting(
        "09-15",
        meaning="Stock off until this day on ground that burned in the season or the year before.",
        source=COMMON_PRACTICE + ": longer after a burn",
    )
    least_interval_years: int = setting(
        3,
        ge=1,
        le=50,
        meaning="Burns of the same ground closer than this are told.",
        source="prescribed-fire clauses of the U.S. Fish and Wildlife Service for butterfly "
        "habitat (Pacific Northwest): not again for at least three years",
    )

    @model_validator(mode="after")
    def _in_order(self) -> "SeasonSettings":
        days = (self.growing_from, self.deferral_from, self.deferral_until, self.growing_until)
        if list(days) != sorted(days):
            raise ValueError("the growing season must hold the deferral")
        if self.burned_deferral_until < self.deferral_until:
            raise ValueError("burned_deferral_until must not be before deferral_until")
        return self
