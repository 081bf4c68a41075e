"""The codes in which the greenness steps answer, and the columns that their layers share.

The words for a code are made for display alone; no step reads them back.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.units import half_up
from pipeline.greenness.settings import GreennessSettings

ZONE_REASONS = ("too_narrow", "out_of_reach", "too_few_pixels", "too_little_usable")
"""Why a unit has no figure of one date: most of it is edge, the picture's reference system does
not show it, it has too few whole pixels, or too little of it is usable."""


PAIR_REASONS = (*ZONE_REASONS, "no_scene_before", "no_scene_after", "no_scenes")
"""Why a unit has no change between two dates."""


SHARE_VERDICTS = (
    "measured",
    "no_day",
    "no_picture_before",
    "no_picture_after",
    "no_pictures",
    "different_pixels",
    "no_near_infrared",
    "too_small",
    "no_unburned_ground",
    "too_little_usable",
)
"""Whether the burned share of a unit is measured, or what it cannot be told for."""


SHARE_CAUTIONS = ("wide_bounds", "other_cover", "other_work", "late_picture", "mask_unclear")
"""What to keep in mind beside a burned share."""


INDEX_REASONS = ("burned", "little_green_up")
"""Why a unit has no cool-season index of a year."""


SHOULDER_REASONS = ("burned", "no_late_picture", "burned_late", "little_midsummer")
"""Why a unit has no shoulder index of a year."""


INDEX_CHANGE_VERDICTS = (
    "more_cool_season",
    "more_warm_season",
    "within",
    "below_noise",
    "confounded",
    "no_interval",
    "cannot_judge",
    "seasonal",
)
"""What may be said of a change of the cool-season index against the reference units."""


INDEX_CHANGE_REASONS = (
    "no_year_before",
    "no_year_after",
    "no_index",
    "burned_between",
    "no_reference",
)
"""Why the change of a unit's cool-season index cannot be judged."""


INDEX_CHANGE_CAUTIONS = (
    "single_years",
    "season_gap",
    "dormant_differs",
    "several_burns",
    "other_work",
    "unlike_before",
    "restless_years",
)
"""What to keep in mind beside a change of the cool-season index."""


PROPOSAL_REASONS = (
    "burned",
    "like_the_burned",
    "treated_otherwise",
    "no_picture_before",
    "unlike_before",
)
"""Why a unit stands for what it stands for in a proposed comparison."""


def joined_codes(codes: list[str]) -> str | None:
    """Codes as one cell of a table, separated by commas; None for none."""
    return ", ".join(codes) or None


def parted_codes(cell: str | None) -> list[str]:
    """The codes of such a cell."""
    return cell.split(", ") if isinstance(cell, str) else []


def index_value(
    name: str,
    meaning: str,
    heading: str = "",
    *,
    nullable: bool = True,
    signed: bool = False,
) -> Column:
    """A column of an index such as NDVI (no unit), with three decimals."""
    return Column(
        name,
        "number",
        meaning,
        heading=heading,
        places=3,
        nullable=nullable,
        dimensionless=True,
        signed=signed,
    )


def share(name: str, meaning: str, heading: str = "", *, nullable: bool = True) -> Column:
    """A column of a share in percent, 0 to 100."""
    return Column(
        name, "number", meaning, heading, places=0, nullable=nullable, lowest=0, highest=100
    )


def count(name: str, meaning: str, heading: str = "", *, nullable: bool = False) -> Column:
    """A column of whole numbers that count something."""
    return Column(name, "integer", meaning, heading, places=0, nullable=nullable, lowest=0)


def day(name: str, meaning: str, heading: str = "", *, nullable: bool = False) -> Column:
    """A column of dates."""
    return Column(name, "date", meaning, heading, nullable=nullable)


def words(name: str, meaning: str, heading: str = "", *, nullable: bool = True) -> Column:
    """A column of text."""
    return Column(name, "text", meaning, heading, nullable=nullable)


def code(
    name: str, meaning: str, heading: str, choices: tuple[str, ...], *, nullable: bool = False
) -> Column:
    """A column of codes: one of the choices."""
    return Column(name, "text", meaning, heading, nullable=nullable, choices=choices)


def codes(name: str, meaning: str, heading: str, choices: tuple[str, ...]) -> Column:
    """A column of several codes a cell, separated by commas; empty where there is none."""
    listed = f"{meaning} Codes, separated by commas: {', '.join(choices)}."
    return Column(name, "text", listed, heading, nullable=True)


UNIT_ID = words("unit_id", "Unit.", "Unit", nullable=False)


COMPARISON = words("comparison", "Name of the comparison.", "Comparison", nullable=False)


ROLE = code("role", "What the unit stands for.", "Role", ("burned", "reference"))


BEFORE = day("before", "Date of the scene before the burn.", "Before")


AFTER = day("after", "Date of the scene after the burn.", "After")


VALID = share("valid_pct", "Share of the ground used that has usable pixels.", "Usable")


PIXELS = Column(
    "pixels",
    "number",
    "Usable pixels, each counted by the share of it inside; empty where nobody counted them.",
    "Usable",
    places=0,
    nullable=True,
    lowest=0,
)


FULL_PIXELS = count(
    "full_pixels", "Pixels wholly inside the ground used.", "Whole pixels", nullable=True
)


LOST = share("lost_pct", "Share of the unit lost to the left-out edge.", "Edge")


EFFECTIVE = Column(
    "effective_pixels",
    "number",
    "Independent pixels that the unit's pixels are worth, neighbors being alike: precision of the "
    "unit's own mean, not of the comparison.",
    "Worth independent",
    places=0,
    nullable=True,
    lowest=0,
)


RANGE = Column(
    "range_m",
    "number",
    "Distance beyond which pixels hardly change alike.",
    "Alike over",
    places=0,
    nullable=True,
)


ALIKE = share(
    "alike_pct",
    "Share of the spread of the changes that near pixels have in common; where it is small the "
    "range says little. Empty where no range was fitted.",
    "In common",
)


RANGE_FROM = code(
    "range_from",
    "Whether it was fitted to the change of all units between the two pictures, or is the setting "
    "fallback_range_m.",
    "Range from",
    ("pictures", "setting"),
    nullable=True,
)


AGAINST = index_value(
    "change_vs_reference",
    "Change beyond that of the reference units (a reference unit is held against the others).",
    "Beyond the unburned units",
    signed=True,
)


INTERVAL_LOW = index_value(
    "interval_low", "Lower end of the interval around it.", "Interval from", signed=True
)


INTERVAL_HIGH = index_value(
    "interval_high", "Upper end of the interval around it.", "Interval to", signed=True
)


YEARS_BEFORE = count(
    "years_before", "Years before the burn that the interval rests on.", "Years before"
)


SEASON_GAP = Column(
    "season_gap_days",
    "integer",
    "Days that the pictures before and after are apart in the course of the year.",
    "Apart in the year, days",
    places=0,
    nullable=True,
    lowest=0,
)


OTHER_WORK = words(
    "other_work",
    "What else the log has for the unit, which is in the figure too: kinds of work with their "
    "days.",
    "Other work",
)


def gate_reasons(stats: pd.DataFrame, settings: GreennessSettings) -> pd.Series:
    """Code of why each zone's figures are not to be used, None where they are.

    ``stats`` has ``lost_pct``, ``valid_pct`` and ``full_pixels`` for each zone.

    *Source*: size and edge: P. Vajsova et al., Remote Sensing 12 (2020) 2195.
    """
    gates = {
        "too_narrow": stats["lost_pct"] >= settings.most_lost_pct,
        "out_of_reach": stats["valid_pct"].isna(),
        "too_few_pixels": stats["full_pixels"] < settings.least_full_pixels,
        "too_little_usable": stats["valid_pct"] < settings.least_valid_pct,
    }
    first = np.select(list(gates.values()), list(gates), "")
    return pd.Series(first, index=stats.index, dtype=object).replace("", None)


def reason_words(row: Mapping[Any, Any], least_full_pixels: object) -> str:
    """The reason of a row of zone_scenes, zone_changes or greenness in words, with its figures.

    A row of changes has its ``before`` and ``after`` too. ``least_full_pixels`` is the setting.
    """
    reason = row["reason"]
    if reason == "too_narrow":
        lost = half_up(row["lost_pct"], 0)
        return (
            f"too small or too narrow: {lost} percent of it is edge, where pixels also show the "
            "ground outside"
        )
    if reason == "too_few_pixels":
        full = f"{int(row['full_pixels'])} whole pixels, {least_full_pixels} are needed"
        return f"too small for these pixels: {full}"
    if reason == "too_little_usable":
        return f"only {half_up(row['valid_pct'], 0)} percent of it has usable pixels"
    if reason == "reference_burned":
        return f"burned on {row['other_burn']:%Y-%m-%d}: it is no unburned ground"
    if reason in _MISSING_SIDES:
        days = " and ".join(f"{row[side]:%Y-%m-%d}" for side in _MISSING_SIDES[reason])
        return f"no scene of {days}"
    if reason in _COMPOSITE_SIDES:
        side = _COMPOSITE_SIDES[reason]
        days = f"{row[side]:%Y-%m-%d} to {row[f'{side}_last_day']:%Y-%m-%d}"
        return f"the picture {side}, of {days}, is made of days before and after the burn"
    if reason in _DAY_SIDES:
        side = _DAY_SIDES[reason]
        day = f"{row[side]:%Y-%m-%d}"
        return f"it burned on the day of the picture {side}, {day}: nobody knows which was first"
    if reason == "little_burned":
        return f"only {half_up(row['burned_pct'], 0)} percent of it burned"
    return _PLAIN_WORDS[reason]


_PLAIN_WORDS = {
    "out_of_reach": "it lies where the picture's reference system shows no ground",
    "no_reference": "no usable reference unit",
}


_MISSING_SIDES = {
    "no_scene_before": ("before",),
    "no_scene_after": ("after",),
    "no_scenes": ("before", "after"),
}


_COMPOSITE_SIDES = {
    "burn_in_composite_before": "before",
    "burn_in_composite_after": "after",
}


_DAY_SIDES = {"burn_on_day_before": "before", "burn_on_day_after": "after"}
