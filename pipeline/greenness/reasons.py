"""Why a unit has no figure: the code of the reason, and the words that findings tell it in."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from pipeline.core.units import half_up
from pipeline.greenness.settings import GreennessSettings


def gate_reasons(stats: pd.DataFrame, settings: GreennessSettings) -> pd.Series:
    """Code of why each zone's figures are not to be used, None where they are.

    ``stats`` has ``lost_pct``, ``valid_pct`` and ``full_pixels`` for each zone.

    *Source*: size and edge: P. Vajsova et al., Remote Sensing 12 (2020) 2195.
    """
    reasons = [_gate_reason(row, settings) for row in stats.to_dict("records")]
    return pd.Series(reasons, index=stats.index, dtype=object)


def _gate_reason(row: Mapping[Any, Any], settings: GreennessSettings) -> str | None:
    """The first reason that holds for one zone."""
    if row["lost_pct"] >= settings.most_lost_pct:
        return "too_narrow"
    if np.isnan(row["valid_pct"]):
        return "out_of_reach"
    if row["full_pixels"] < settings.least_full_pixels:
        return "too_few_pixels"
    if not row["valid_pct"] >= settings.least_valid_pct:
        return "too_little_usable"
    return None


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
