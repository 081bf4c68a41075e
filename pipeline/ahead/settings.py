"""Settings of the plan of years."""

from typing import Literal, Self

from pydantic import Field, model_validator

from pipeline.core.names import listed
from pipeline.core.section import COMMON_PRACTICE, Name, Section, setting

CLAUSES = "prescribed-fire clauses of the U.S. Fish and Wildlife Service for butterfly habitat"


STAND_IN = "a stand-in so that wishes can be weighed in dollars; yours"


OWN_LIMIT = "your own limit; none is built in"


BurnTime = Literal["dormant", "early_spring", "late_spring"]


Years = tuple[int, int]


PLANNED_CASE = "the plan"
"""Name of the plan itself among the cases that are held beside it."""


class WhatIf(Section):
    """[[plan.what_if]]: the same years with other limits or another herd."""

    name: Name
    most_burned_pct: float | None = Field(None, gt=0, le=100)
    herd_pct: float = Field(100.0, ge=0, le=1000)
    crew_days: float | None = Field(None, gt=0, le=366)
    refuge: Literal["neighbor", "apart", "none"] | None = None

    def __str__(self) -> str:
        """The name, and what differs from the plan."""
        told = self.model_dump(exclude={"name"}, exclude_defaults=True)
        return f"{self.name} ({listed([f'{name} {value}' for name, value in told.items()])})"


class PlanSettings(Section):
    """[plan]"""

    years: int = setting(
        0,
        ge=0,
        le=30,
        meaning="Years to plan, the season counted; 0 makes no plan.",
        source="your own choice",
    )
    burn_times: tuple[BurnTime, ...] = setting(
        ("early_spring", "late_spring"),
        min_length=1,
        meaning="Times of the year in which burns may be planned; those of summer and fall are not "
        "planned ahead.",
        source=COMMON_PRACTICE,
    )
    most_burned_pct: float = setting(
        33.0,
        gt=0,
        le=100,
        meaning="Most of the burnable ground to be burned in a year, cropland without a sward left "
        "out.",
        source=CLAUSES + ": one third of the occupied habitat a year",
    )
    most_cover_burned_pct: dict[str, float] = setting(
        {},
        meaning='The same of single kinds of ground: { "native pasture" = 33 }.',
        source=CLAUSES + ": by kind of habitat as well",
    )
    margin_pct: float = setting(
        5.0,
        ge=0,
        lt=100,
        meaning="Planned burns stay this many percent of the cap below it: a third becomes 31.4 %.",
        source=CLAUSES + ": plan for about five percent less",
    )
    return_years: Years = setting(
        (3, 6),
        meaning="Fewest and most years from one burn to the next.",
        source=CLAUSES + ": not again for at least three years; burned every three to seven years "
        "in a wetland district of western Minnesota (U.S. Fish and Wildlife Service)",
    )
    returns: dict[str, Years] = setting(
        {},
        meaning="The same of kinds of ground or of states on the road; the kind of ground goes "
        'first: { "native hay meadow" = [4, 6], recovering = [2, 4] }.',
        source="your own choice",
    )
    vary_burn_time: bool = setting(
        True,
        meaning="Whether a burn must be at another time of the year than the last one of the unit.",
        source=COMMON_PRACTICE,
    )
    rest_years: int = setting(
        1,
        ge=0,
        le=5,
        meaning="Fewest growing seasons of rest before a burn, so that fuel grows; more where the "
        "growth on record needs more.",
        source="South Dakota State University Extension, Fall is the time to plan for fire, 2021",
    )
    burned_rest_years: int = setting(
        1,
        ge=0,
        le=5,
        meaning="Years after a burn without animals, hay or mower; in the year of the burn itself "
        "there are none.",
        source="two growing seasons in federal advice; no loss was measured without it (Gates et "
        "al., Agriculture, Ecosystems and Environment 237, 2017)",
    )
    refuge: Literal["neighbor", "apart", "none"] = setting(
        "neighbor",
        meaning="neighbor: each unit that burns keeps an unburned one along its edge. apart: "
        "no two units along one edge burn in one year. A unit without a neighbor is held to "
        "neither.",
        source=CLAUSES + "; the rule by neighbors is judgment of this program, no source",
    )
    crew_days: float | None = setting(
        None, gt=0, le=366, meaning="Days a year that the crew has for burns.", source=OWN_LIMIT
    )
    burn_day_ac: float = setting(
        160.0,
        gt=0,
        meaning="Acres of a unit that the crew burns in a day; a started day counts as one.",
        source=COMMON_PRACTICE,
    )
    money_usd: float | None = setting(
        None,
        ge=0,
        meaning="Dollars a year for burns, their lines and seeding.",
        source=OWN_LIMIT,
    )
    early_supply_pct: float = setting(
        50.0,
        ge=0,
        le=100,
        meaning="Share of a unit's yearly forage that an early grazing has.",
        source=COMMON_PRACTICE,
    )
    late_supply_pct: float = setting(
        100.0,
        ge=0,
        le=100,
        meaning="Share of a unit's yearly forage that a late grazing has.",
        source=COMMON_PRACTICE,
    )
    own_seed_ac: float | None = setting(
        None,
        ge=0,
        meaning="Acres a year that seed of your own strips sows; what is not sown is kept for the "
        "next year. Not given: what your harvests cover at the low estimate of own_harvest, by the "
        "scarcest species. 0: the plan sows no field of its own.",
        source="your own harvest",
    )
    burn_worth_usd_ac: float = setting(
        40.0,
        ge=0,
        meaning="What a burn of an acre within its return is worth to you.",
        source=STAND_IN,
    )
    recovery_worth_usd_ac: float = setting(
        60.0,
        ge=0,
        meaning="The same on ground that is on its way back and not there yet.",
        source=STAND_IN,
    )
    hay_worth_usd_ac: float = setting(
        30.0,
        ge=0,
        meaning="What hay of an acre is worth to you, its cost taken off.",
        source=STAND_IN,
    )
    seed_worth_usd_ac: float = setting(
        200.0,
        ge=0,
        meaning="What an acre of field sown this season is worth to you; a twentieth less by each "
        "year that it comes later.",
        source=STAND_IN,
    )
    late_usd_ac: float = setting(
        15.0,
        ge=0,
        meaning="What each acre and year without a burn past the longest return costs you.",
        source=STAND_IN,
    )
    long_rest_usd_ac: float = setting(
        5.0,
        ge=0,
        meaning="What each acre and year of rest beyond most_rested_seasons of [season] costs you.",
        source=STAND_IN,
    )
    short_usd_aum: float = setting(
        45.0,
        ge=0,
        meaning="What an animal-unit month costs that the plan leaves the herd short of.",
        source=STAND_IN,
    )
    herd_met: bool = setting(
        False,
        meaning="Whether the herd goes before every other wish: shortage then counts a hundred "
        "times as much.",
        source="your own choice",
    )
    crew_usd_day: float = setting(
        1000.0,
        ge=0,
        meaning="A day of the burn crew where [costs] has no price: small burns cost more by the "
        "acre.",
        source=STAND_IN,
    )
    line_usd_mi: float = setting(
        150.0,
        ge=0,
        meaning="A mile of mown line where [costs] has no price of the mower's hour.",
        source=STAND_IN,
    )
    smoke_usd: float = setting(
        1000.0,
        ge=0,
        meaning="What is counted against a burn on which the smoke of past burn days would have "
        "met a place each time.",
        source=STAND_IN,
    )
    keep_usd_ac: float = setting(
        2.0,
        ge=0,
        meaning="How much better by the acre a change of the former plan must be to be made.",
        source=STAND_IN,
    )
    proof_seconds: int = setting(
        0,
        ge=0,
        le=3600,
        meaning="Seconds that a solver may look for a better plan and a closer bound; needs the "
        "extra plan (highspy). 0: none is asked.",
        source="your own choice",
    )

    what_if: tuple[WhatIf, ...] = setting(
        (),
        max_length=6,
        meaning="The same years under another cap, crew or herd (herd_pct of its needs today), or "
        "another rule of refuge, each with a name: held beside the plan, never taken for it.",
        source="your own choice",
    )

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        spans = {"return_years": self.return_years} | {
            f'returns "{name}"': years for name, years in self.returns.items()
        }
        for name, (least, most) in spans.items():
            if not 1 <= least <= most <= 50:
                raise ValueError(f"{name} must be fewest and most years, in this order, 1 to 50")
        names = [case.name for case in self.what_if]
        if len(set(names)) < len(names) or PLANNED_CASE in names:
            raise ValueError(f'what_if needs a name for each, none twice and none "{PLANNED_CASE}"')
        if len(set(self.burn_times)) < len(self.burn_times):
            raise ValueError("burn_times names a time twice")
        if not all(0 < pct <= 100 for pct in self.most_cover_burned_pct.values()):
            raise ValueError("most_cover_burned_pct must be above 0 and no more than 100")
        return self
