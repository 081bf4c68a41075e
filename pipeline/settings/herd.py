"""Settings of the herd steps."""

from typing import Literal

from pipeline.settings.section import Section, setting


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
    balance_pct: float = setting(
        10.0,
        ge=0,
        le=100,
        meaning="Supply and demand further apart than this, in percent of supply, are a finding.",
        source="North Dakota stocking-rate lesson",
    )
