"""What the season rules may ask of a unit: one row of facts for each, gathered from the layers."""

import pandas as pd

from pipeline.layers import LAYERS

HISTORY_FACTS = (
    "years_since_burn", "burns_in_5_years", "burns_in_10_years", "mean_interval_years",
    "burned_share_pct", "never_burned_pct", "last_burn_window", "days_grazed", "au_days",
    "days_grazed_early", "days_grazed_midsummer", "days_grazed_late", "rested_seasons",
    "years_since_seeding",
)  # fmt: skip
FUEL_FACTS = ("carries", "spring_load_lb_ac", "continuity", "bare_ground_pct")
COMMUNITY_FACTS = (
    "native_share_pct", "cool_exotic_share_pct", "unknown_share_pct", "warm_grass_share_pct",
    "brome_part_pct", "lead_invader",
)  # fmt: skip
GREENNESS_FACTS = ("change_vs_reference", "interval_low", "interval_high")
YES_NO = ("yes", "no")
OWN_FACTS: dict[str, tuple[str, ...] | None] = {
    "cover": (),
    "recorded": YES_NO,
    "in_burn_block": YES_NO,
    "in_seeding": YES_NO,
    "contract": YES_NO,
    "species_limit": YES_NO,
    "burnable_ac": None,
}


def known_facts() -> dict[str, tuple[str, ...] | None]:
    """Facts by name: their possible texts, an empty tuple for free text, None for a number."""
    known: dict[str, tuple[str, ...] | None] = dict(OWN_FACTS)
    for layer, names in (
        ("history", HISTORY_FACTS), ("fuel", FUEL_FACTS), ("community", COMMUNITY_FACTS),
        ("greenness", GREENNESS_FACTS),
    ):  # fmt: skip
        for name in names:
            column = LAYERS[layer].column(name)
            known[name] = column.choices if column.kind == "text" else None
    return known


def season_facts(
    units: pd.DataFrame,
    history: pd.DataFrame,
    fuel: pd.DataFrame,
    greenness: pd.DataFrame,
    community: pd.DataFrame,
    unit_limits: pd.DataFrame,
    burns: pd.DataFrame,
    seedings: pd.DataFrame,
) -> pd.DataFrame:
    """Facts of each unit by its name, missing where a layer does not tell them.

    The newest survey and the newest comparison in which the unit was burned count. A fuel that is
    unknown is missing here, so that a rule on it says what it needs.
    """
    facts = units.set_index("unit_id")[["cover", "burnable_ac"]]
    facts = facts.join(history.set_index("unit_id")[list(HISTORY_FACTS)])
    facts = facts.join(fuel.set_index("unit_id")[list(FUEL_FACTS)])
    newest = community.sort_values("date").groupby("unit_id").tail(1).set_index("unit_id")
    facts = facts.join(newest[list(COMMUNITY_FACTS)])
    burned = greenness[greenness["role"] == "burned"].sort_values("after")
    burned = burned.groupby("unit_id").tail(1).set_index("unit_id")
    facts = facts.join(burned[list(GREENNESS_FACTS)])
    facts["carries"] = facts["carries"].where(facts["carries"] != "unknown", None)
    facts["continuity"] = facts["continuity"].where(facts["continuity"] != "unknown", None)
    limits = unit_limits[unit_limits["approval"].isna()]
    named = {
        "recorded": history.loc[history["record"] != "none on record", "unit_id"],
        "in_burn_block": burns["unit_id"],
        "in_seeding": seedings["unit_id"],
        "contract": limits.loc[limits["kind"].isin(["contract", "easement"]), "unit_id"],
        "species_limit": limits.loc[limits["kind"] == "species", "unit_id"],
    }
    for name, units_named in named.items():
        facts[name] = facts.index.isin(units_named)
        facts[name] = facts[name].map({True: "yes", False: "no"})
    return facts.astype(object).where(facts.notna(), None)
