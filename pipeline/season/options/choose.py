"""Season options: the rules that hold for each unit, weighed against last year and the aims."""

from collections.abc import Iterable
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.season.facts import known_facts
from pipeline.season.options.layers import SEASON_OPTIONS
from pipeline.season.rules import Facts, Rule, held, read_rules
from pipeline.season.settings import SeasonSettings
from pipeline.season.source_layers import NEEDS

MOST = 3
"""Options that are told of a unit at most."""


WORK_BY_LEADS_TO = {
    "burn": "burn",
    "graze": "graze",
    "defer": "graze",
    "rest_or_graze": "graze",
    "hay": "hay",
    "harvest": "harvest",
    "cut": "cut",
}
"""Kind of work in the log of options that are not given twice running at one time of the year."""


ONCE_A_SEASON = ("burn", "hay")
"""What is one option of a unit, whatever the time of the year."""


def list_season_options(
    units: gpd.GeoDataFrame,
    season_facts: pd.DataFrame,
    season_rules: pd.DataFrame,
    held_limits: pd.DataFrame,
    patch_ground: pd.DataFrame,
    neighbors: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
) -> gpd.GeoDataFrame:
    """Layer ``season_options``: up to three options for each unit, best first.

    Limits without an approval are told beside an option, they hide none.
    """
    rules, _ = read_rules(season_rules, known_facts())
    season = int(property["season"].iloc[0])
    facts_of = facts_by_unit(season_facts)
    chosen = {unit: open_options(rules, facts, settings) for unit, facts in facts_of.items()}
    refuge = Refuge(neighbors, {unit for unit, facts in facts_of.items() if _burns(facts)})
    limits = _open_limits(held_limits)
    lost = natives_in_patches(patch_ground)
    rows = [
        {"unit_id": unit_id, "rank": rank, "year": season}
        | _cells(rule, limits.get(unit_id), lost.get(unit_id))
        | {"leaves_no_refuge": alone}
        for unit_id, options in chosen.items()
        for rank, (rule, alone) in enumerate(refuge.ranked(unit_id, options, facts_of[unit_id]), 1)
    ]
    if not rows:
        return empty(SEASON_OPTIONS, units.crs)
    frame = pd.DataFrame(rows).reindex(columns=SEASON_OPTIONS.column_names)
    return units[["unit_id", "geometry"]].merge(frame, on="unit_id")


def facts_by_unit(season_facts: pd.DataFrame) -> dict[str, Facts]:
    """Facts of each unit by their names, None for what is missing."""
    facts = season_facts.set_index("unit_id").astype(object)
    return facts.where(facts.notna(), None).to_dict("index")


def open_options(rules: list[Rule], facts: Facts, settings: SeasonSettings) -> list[Rule]:
    """Rules that hold and are open, each thing at each time once, in the order of the aims.

    Not open are burns where fire is not possible, what was done at the same time of last year,
    and a rest after so many rests that it would do harm. Where only such rules hold, what the
    table has for units without an option is left.
    """
    last = [rule for rule in rules if not rule.clauses][:1]
    found = [rule for rule in held(rules, facts)[0] if rule.clauses]
    unlike = {_thing(rule): rule for rule in reversed(found) if _is_open(rule, facts, settings)}
    options = [rule for rule in found if rule in unlike.values()] or last
    if facts.get("herd_must_be_fed") == "yes":
        options = sorted(options, key=lambda rule: rule.leads_to == "rest")
    return options


def _thing(rule: Rule) -> tuple[object, ...]:
    """What an option is, so that no unit is told of it twice."""
    work = WORK_BY_LEADS_TO.get(rule.leads_to or "", rule.leads_to)
    if work is None:
        return (rule.number,)
    return (work,) if work in ONCE_A_SEASON else (work, rule.time)


def _is_open(rule: Rule, facts: Facts, settings: SeasonSettings) -> bool:
    """Whether nothing known of the unit closes an option of its kind."""
    work = WORK_BY_LEADS_TO.get(rule.leads_to or "")
    if work == "burn" and facts.get("fire_possible") == "no":
        return False
    done = str(facts.get("done_last_year") or "").split("; ")
    if work and rule.time and f"{work} {rule.time}" in done:
        return False
    rested = facts.get("rested_seasons")
    too_long = rested is not None and float(rested) >= settings.most_rested_seasons
    return not (too_long and rule.leads_to == "rest")


def _burns(facts: Facts) -> bool:
    """Whether a unit is in a burn block of this season."""
    return facts.get("in_burn_block") == "yes"


class Refuge:
    """Units that burn this season, by plan or by their first option, and what lies along them."""

    def __init__(self, neighbors: pd.DataFrame, burning: Iterable[str]) -> None:
        """Note each unit's neighbors; a point where two units touch is no edge."""
        self.beside = neighbors.groupby("unit_id")["neighbor"].agg(set).to_dict()
        self.burning = set(burning)

    def ranked(self, unit_id: str, options: list[Rule], facts: Facts) -> list[tuple[Rule, bool]]:
        """The best options of a unit, each with whether it would leave no refuge.

        Where a refuge is wanted, a burn that leaves none comes after all else.
        """
        alone = facts.get("refuge_wanted") == "yes" and self._leaves_none(unit_id)
        marked = [(rule, alone and rule.leads_to == "burn") for rule in options]
        best = sorted(marked, key=lambda option: option[1])[:MOST]
        if best and best[0][0].leads_to == "burn":
            self.burning.add(unit_id)
        return best

    def _leaves_none(self, unit_id: str) -> bool:
        """Whether this unit, burned, or one along its edge that burns would have no refuge."""
        burning = {*self.burning, unit_id}
        touched = {unit_id, *(self.beside.get(unit_id, set()) & burning)}
        return any(not self.beside.get(unit, set()) - burning for unit in touched)


def _open_limits(held_limits: pd.DataFrame) -> dict[str, str]:
    """Kinds of the limits without an approval on record, by unit."""
    unapproved = held_limits[held_limits["approval"].isna()]
    return unapproved.groupby("unit_id")["kind"].agg(lambda kinds: ", ".join(sorted(set(kinds))))


def natives_in_patches(patch_ground: pd.DataFrame) -> dict[str, str]:
    """Native species on record within the newest patches of each unit, kind by kind."""
    latest = patch_ground.groupby(["unit_id", "kind"])["date"].transform("max")
    newest = patch_ground[(patch_ground["date"] == latest) & patch_ground["native_names"].notna()]
    named = newest["kind"] + ": " + newest["native_names"]
    return named.groupby(newest["unit_id"]).agg("; ".join).to_dict()


def _cells(rule: Rule, limits: str | None, lost: str | None) -> dict[str, Any]:
    """What an option takes from its rule, and what its unit adds to it."""
    needs = {f"needs_{need}": need in rule.needs for need in NEEDS}
    return {
        "rule": rule.number,
        "leads_to": rule.leads_to,
        "time": rule.time,
        "suggestion": rule.suggestion,
        "window": rule.window,
        "reason": rule.reason,
        **needs,
        "needs_approval": needs["needs_approval"] or limits is not None,
        "rules_out": rule.rules_out,
        "limits": limits,
        "would_lose": lost if rule.leads_to == "weeds" else None,
        "source": rule.source,
    }
