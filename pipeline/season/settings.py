"""Settings of the plant, herd, fuel, history and season steps."""

from typing import Annotated, Literal

from pydantic import StringConstraints, model_validator

from pipeline.core.section import COMMON_PRACTICE, Section, setting

MonthDay = Annotated[
    str,
    StringConstraints(pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$", strip_whitespace=True),
]


class CommunitySettings(Section):
    """[community]"""

    confidence_pct: float = setting(
        95.0,
        gt=50,
        le=99.9,
        meaning="Confidence of the interval of the native share.",
        source=COMMON_PRACTICE,
    )
    brome_leads_pct: float = setting(
        60.0,
        gt=50,
        le=100,
        meaning="Brome leads from this share of brome and bluegrass on; bluegrass below what is "
        "left to 100.",
        source=COMMON_PRACTICE,
    )
    most_unknown_pct: float = setting(
        10.0,
        ge=0,
        le=100,
        meaning="A larger share of plants of unknown nativity is noted beside the shares.",
        source=COMMON_PRACTICE,
    )
    least_invader_pct: float = setting(
        5.0,
        ge=0,
        le=100,
        meaning="With a smaller share of both together, neither leads.",
        source=COMMON_PRACTICE,
    )
    survey_days: int = setting(
        0,
        ge=0,
        le=31,
        meaning="Days of a unit that lie so far apart or less are one survey, as long as no "
        "transect is read twice; 0: each day is a survey of its own.",
        source="judgment of this program, no source",
    )
    same_time_days: int = setting(
        31,
        ge=1,
        le=183,
        meaning="Surveys of two years are compared where they lie at most so far apart within the "
        "year: what stands in June is not held against August.",
        source="judgment of this program, no source",
    )


class HerdSettings(Section):
    """[herd]"""

    head: int | None = setting(
        None,
        ge=0,
        meaning="Animals of the herd that the forage is held against.",
        source="the user's herd",
    )
    weight_lb: float | None = setting(
        None,
        ge=1,
        le=3000,
        meaning="Mean weight of one of them, turned into animal units by the setting equivalence.",
        source="the user's herd",
    )
    animal_unit_equivalent: float | None = setting(
        None,
        ge=0.01,
        le=5,
        dimensionless=True,
        meaning="Animal units that one animal counts for; takes the place of the weight.",
        source="the user's herd",
    )
    season_from: MonthDay = setting(
        "05-01",
        meaning="First day that the herd is on the property in a season.",
        source="May 1 to October 1 in a stocking-rate lesson, North Dakota",
    )
    season_months: float = setting(
        5.0,
        gt=0,
        le=12,
        meaning="Months that the herd is on the property in a season.",
        source="May 1 to October 1 in a stocking-rate lesson, North Dakota",
    )
    equivalence: Literal["linear", "metabolic"] = setting(
        "linear",
        meaning="Animal units of an animal by weight: linear, weight ÷ 1,000 lb; metabolic, that "
        "to the power of 0.75.",
        source="linear: Agproud (Universities of Idaho and Nebraska); metabolic: Manske, NDSU "
        "Dickinson Research Extension Center, 1998",
    )
    intake_lb_au_day: float = setting(
        26.0,
        ge=1,
        le=60,
        meaning="Dry forage that one animal unit eats a day.",
        source="Manske, NDSU, 1998; Rangelands Gateway glossary",
    )
    month_lb_aum: float = setting(
        780.0,
        ge=1,
        le=1500,
        meaning="Dry forage that one animal-unit month stands for; 750 to 1,000 are in print.",
        source="26 lb × 30 days, North Dakota stocking-rate lesson",
    )
    harvest_efficiency_pct: float = setting(
        25.0,
        ge=1,
        le=100,
        meaning="Share of the forage grown that goes into animals under moderate use.",
        source="Stephenson, University of Nebraska: half is left, half of the rest is eaten",
    )
    grazing_efficiency_pct: float = setting(
        49.0,
        ge=1,
        le=100,
        meaning="Of the forage that disappears under grazing, the share that animals eat.",
        source="Smart et al., Rangeland Ecology and Management, 2010 (abstract): 49 % at moderate, "
        "61 % at heavy, 39 % at light stocking",
    )
    native_ready: MonthDay = setting(
        "05-20",
        meaning="Native range is ready for grazing from this day on; proposed moves use "
        "cool-season ground before it.",
        source="NDSU R1061, 2023: introduced grass late April to early May, native range mid to "
        "late May",
    )
    native_dormant: MonthDay = setting(
        "09-15",
        meaning="Native warm-season grass is dormant from this day on; proposed moves use "
        "cool-season ground after it.",
        source=COMMON_PRACTICE,
    )
    cool_ground_pct: float = setting(
        50.0,
        ge=0,
        le=100,
        meaning="Ground with this share of cool-season exotics or more is cool-season ground.",
        source=COMMON_PRACTICE,
    )
    least_stay_days: int = setting(
        3,
        ge=1,
        le=60,
        meaning="Proposed moves leave out a unit that would feed the herd for fewer days.",
        source=COMMON_PRACTICE,
    )
    balance_pct: float = setting(
        10.0,
        ge=0,
        le=100,
        meaning="Supply and demand further apart than this, in percent of supply, are a finding.",
        source="North Dakota stocking-rate lesson",
    )


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
    establishment_years: int = setting(
        3,
        ge=1,
        le=10,
        meaning="Growing seasons in which newly seeded ground is closed to stock, that of the "
        "sowing counted; overseeded ground is not.",
        source=COMMON_PRACTICE,
    )
    whole_unit_pct: float = setting(
        50.0,
        gt=0,
        le=100,
        meaning="From this share of a unit on, what a burn, seeding or tillage took of it within a "
        "year moves the unit on the road of recovery; less is told as a part.",
        source=COMMON_PRACTICE + ": the state is that of the greater part",
    )
    most_treated_pct: float = setting(
        50.0,
        ge=0,
        le=100,
        meaning="Animals, hay or a mower on no more of a unit than this do not end its rest.",
        source=COMMON_PRACTICE + ": a mown firebreak does not end the rest of a pasture",
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
