"""What the season rules may ask of a unit: one row of facts for each, gathered from the layers."""

import numpy as np
import pandas as pd

from pipeline.season.options.settings import AimsSettings
from pipeline.season.plan_layers import (
    COMMUNITY_FACTS,
    FUEL_FACTS,
    GREENNESS_FACTS,
    HISTORY_FACTS,
    PAST_FACTS,
    SEASON_FACTS,
    UNWANTED_FACTS,
)

CLEAR_CHANGES = ("greener", "less_green")
"""Verdicts of the layer ``greenness`` that tell a change against the unburned units."""


def known_facts() -> dict[str, tuple[str, ...] | None]:
    """Facts by name: their possible texts, an empty tuple for free text, None for a number."""
    return {
        column.name: column.choices if column.kind == "text" else None
        for column in SEASON_FACTS.columns
        if column.name != "unit_id"
    }


def gather_facts(
    units: pd.DataFrame,
    history: pd.DataFrame,
    past_work: pd.DataFrame,
    unwanted: pd.DataFrame,
    road: pd.DataFrame,
    fuel: pd.DataFrame,
    greenness: pd.DataFrame,
    community: pd.DataFrame,
    held_limits: pd.DataFrame,
    burns: pd.DataFrame,
    seedings: pd.DataFrame,
    aims: AimsSettings,
) -> pd.DataFrame:
    """Table ``season_facts``: facts of each unit, missing where a layer does not tell them.

    The newest survey and the newest comparison in which the unit was burned count. What a layer
    calls unknown is missing here, so that a rule on it says what it needs.
    """
    facts = units.set_index("unit_id")[["cover", "burnable_ac"]]
    facts = facts.join(past_work.set_index("unit_id")[list(PAST_FACTS)])
    facts = facts.join(history.set_index("unit_id")[list(HISTORY_FACTS)])
    facts["road_state"] = road.set_index("unit_id")["state"]
    facts = facts.join(unwanted.set_index("unit_id")[list(UNWANTED_FACTS)])
    of_fuel = fuel.set_index("unit_id")[list(FUEL_FACTS)]
    facts = facts.join(of_fuel.where(of_fuel != "unknown"))
    facts = facts.join(_newest(community, "date")[list(COMMUNITY_FACTS)])
    facts = facts.join(_clear_changes(greenness))
    limits = held_limits[held_limits["approval"].isna()]
    named = {
        "recorded": history.loc[history["record"] == "on_record", "unit_id"],
        "in_burn_block": burns["unit_id"],
        "in_seeding": seedings["unit_id"],
        "contract": limits.loc[limits["kind"].isin(["contract", "easement"]), "unit_id"],
        "species_limit": limits.loc[limits["kind"] == "species", "unit_id"],
        "fire_possible": set(facts.index if aims.fire_possible else ()) - set(aims.no_fire_units),
        "herd_must_be_fed": facts.index if aims.herd_must_be_fed else (),
        "hay_wanted": aims.hay_units,
        "seed_wanted": aims.seed_units,
        "refuge_wanted": facts.index if aims.keep_refuge else (),
    }
    for name, unit_ids in named.items():
        facts[name] = np.where(facts.index.isin(list(unit_ids)), "yes", "no")
    return facts.reset_index()


def _newest(frame: pd.DataFrame, day: str) -> pd.DataFrame:
    """The row of each unit with the newest day."""
    return frame.sort_values(day, kind="stable").groupby("unit_id").tail(1).set_index("unit_id")


def _clear_changes(greenness: pd.DataFrame) -> pd.DataFrame:
    """Newest change of each burned unit; one that is not clear must not move a rule.

    The interval of an unclear change is widened to hold zero.
    """
    burned = _newest(greenness[greenness["role"] == "burned"], "after")
    unclear = ~burned["verdict"].isin(CLEAR_CHANGES)
    low, high = burned["interval_low"], burned["interval_high"]
    widened = burned.assign(
        interval_low=low.mask(unclear, low.clip(upper=0.0)),
        interval_high=high.mask(unclear, high.clip(lower=0.0)),
    )
    return widened[list(GREENNESS_FACTS)]
