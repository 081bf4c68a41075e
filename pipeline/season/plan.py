"""Season plan: an option for each unit from the rule table, with reasons and what is missing."""

from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.log.days import day_of
from pipeline.season.facts import known_facts
from pipeline.season.plan_layers import PLAN_FACTS, SEASON_PLAN
from pipeline.season.rules import Facts, Rule, first_match, read_rules
from pipeline.season.settings import SeasonSettings


def plan_season(
    units: gpd.GeoDataFrame,
    season_facts: pd.DataFrame,
    season_rules: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
) -> gpd.GeoDataFrame:
    """Layer ``season_plan``: the first rule that holds for each unit, as an option."""
    rules, _ = read_rules(season_rules, known_facts())
    if not rules:
        return empty(SEASON_PLAN, units.crs)
    season = int(property["season"].iloc[0])
    plan = [
        {
            "unit_id": unit_id,
            **_option(*first_match(rules, facts)),
            "year": season,
            "stock_off_from": day_of(season, settings.deferral_from),
            "stock_off_until": stock_off_until(facts["years_since_burn"], season, settings),
        }
        for unit_id, facts in facts_by_unit(season_facts).items()
    ]
    rows = pd.DataFrame(plan, columns=SEASON_PLAN.column_names)
    return units[["unit_id", "geometry"]].merge(rows, on="unit_id")


def facts_by_unit(season_facts: pd.DataFrame) -> dict[str, Facts]:
    """Facts of each unit by their names, None for what is missing."""
    facts = season_facts.set_index("unit_id").astype(object)
    return facts.where(facts.notna(), None).to_dict("index")


def stock_off_until(
    years_since_burn: float | str | None, season: int, settings: SeasonSettings
) -> pd.Timestamp:
    """End of the midsummer deferral: later on ground burned this year or the year before."""
    burned = years_since_burn is not None and float(years_since_burn) <= 1
    return day_of(season, settings.burned_deferral_until if burned else settings.deferral_until)


def _option(rule: Rule | None, undecided: dict[int, list[str]]) -> dict[str, Any]:
    """Columns that the rule fills; where none holds, whether one might if more were known."""
    if rule is None:
        return {"outcome": "unknown" if undecided else "no_rule_holds", "rule": None}
    return {
        "outcome": "option",
        "rule": rule.number,
        "leads_to": rule.leads_to,
        "suggestion": f"option: {rule.suggestion}",
        "window": rule.window,
        "reason": rule.reason,
        "source": rule.source,
    }


def list_plan_facts(season_facts: pd.DataFrame, season_rules: pd.DataFrame) -> pd.DataFrame:
    """Table ``plan_facts``: what each option rests on, and what undecided rules before it need."""
    rules, _ = read_rules(season_rules, known_facts())
    rows = [
        {"unit_id": unit_id, "rule": number, "role": role, "fact": name}
        | _value(facts[name] if role == "rests_on" else None)
        for unit_id, facts in facts_by_unit(season_facts).items()
        for number, role, names in _facts_used(*first_match(rules, facts))
        for name in dict.fromkeys(names)
    ]
    return pd.DataFrame(rows, columns=PLAN_FACTS.column_names)


def _facts_used(
    rule: Rule | None, undecided: dict[int, list[str]]
) -> list[tuple[int, str, list[str]]]:
    """Number of each rule that counts for a unit, the role of its facts, and their names."""
    needed = [(number, "needs", names) for number, names in undecided.items()]
    if rule is None:
        return needed
    return [*needed, (rule.number, "rests_on", rule.facts)]


def _value(fact: float | str | None) -> dict[str, Any]:
    """A fact as a figure or as an answer."""
    if isinstance(fact, str):
        return {"figure": None, "answer": fact}
    return {"figure": None if fact is None else float(fact), "answer": None}
