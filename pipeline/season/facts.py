"""What the season rules may ask of a unit: one row of facts for each, gathered from the layers."""

import pandas as pd

from pipeline.core.units import half_up, unit_of
from pipeline.season.layers import COMMUNITY, FUEL, HISTORY

# Each fact with the words that a reader sees in its place.
HISTORY_FACTS = {
    "years_since_burn": "years since the last burn",
    "burns_in_5_years": "burns in five years",
    "burns_in_10_years": "burns in ten years",
    "mean_interval_years": "mean years between burns",
    "burned_share_pct": "share burned in the year of the last burn",
    "never_burned_pct": "share never burned",
    "last_burn_window": "time of year of the last burn",
    "days_grazed": "days grazed last year",
    "au_days": "animal-unit days last year",
    "days_grazed_early": "days grazed last year before midsummer",
    "days_grazed_midsummer": "days grazed last year in midsummer",
    "days_grazed_late": "days grazed last year after midsummer",
    "rested_seasons": "growing seasons rested in a row",
    "years_since_seeding": "years since the last seeding",
}


FUEL_FACTS = {
    "carries": "whether the fuel carries a fire",
    "spring_load_lb_ac": "dry load in spring",
    "continuity": "whether the fuel is even or broken",
    "bare_ground_pct": "bare ground",
}


COMMUNITY_FACTS = {
    "native_share_pct": "share of native plants",
    "cool_exotic_share_pct": "share of introduced cool-season grasses",
    "unknown_share_pct": "share of plants of unknown origin",
    "warm_grass_share_pct": "share of native warm-season grasses",
    "brome_part_pct": "brome among brome and bluegrass",
    "lead_invader": "leading invader",
}


GREENNESS_FACTS = {
    "change_vs_reference": "change in greenness against the reference units",
    "interval_low": "low end of the change in greenness",
    "interval_high": "high end of the change in greenness",
}


OWN_FACTS = {
    "cover": "cover",
    "recorded": "treatments on record",
    "in_burn_block": "in a burn block this season",
    "in_seeding": "in a seeding this season",
    "contract": "contract or easement without approval",
    "species_limit": "listed species without approval",
    "burnable_ac": "burnable acres",
}


FACT_WORDS = HISTORY_FACTS | FUEL_FACTS | COMMUNITY_FACTS | GREENNESS_FACTS | OWN_FACTS


UNIT_WORDS = {"percent": " %", "pound per acre": " lb/ac"}
"""Units that the words of a fact do not name themselves."""


YES_NO = ("yes", "no")


def known_facts() -> dict[str, tuple[str, ...] | None]:
    """Facts by name: their possible texts, an empty tuple for free text, None for a number."""
    known: dict[str, tuple[str, ...] | None] = dict.fromkeys(OWN_FACTS, YES_NO)
    known |= {"cover": (), "burnable_ac": None}
    known |= dict.fromkeys(GREENNESS_FACTS)
    for layer, names in (
        (HISTORY, HISTORY_FACTS),
        (FUEL, FUEL_FACTS),
        (COMMUNITY, COMMUNITY_FACTS),
    ):
        for name in names:
            column = layer.column(name)
            known[name] = column.choices if column.kind == "text" else None
    return known


def told_fact(name: str, value: float | str | None) -> str:
    """A fact in words with its value and unit, as a reader sees it."""
    if not isinstance(value, str):
        unit = UNIT_WORDS.get(unit_of(name) or "", "")
        value = f"{half_up(float(value or 0), 2).normalize():f}{unit}"
    return f"{FACT_WORDS[name]}: {value}"


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
    # A change that is not told as one must not move a rule.
    unclear = ~burned["verdict"].isin(("greener", "less_green"))
    low, high = burned["interval_low"], burned["interval_high"]
    burned = burned.assign(
        interval_low=low.mask(unclear, low.clip(upper=0.0)),
        interval_high=high.mask(unclear, high.clip(lower=0.0)),
    )
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
