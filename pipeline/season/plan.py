"""Season plan: the first of each unit's options, with reasons and what is missing."""

from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.log.days import day_of
from pipeline.season.facts import known_facts
from pipeline.season.options.choose import facts_by_unit
from pipeline.season.plan_layers import PLAN_FACTS, SEASON_PLAN
from pipeline.season.rules import Facts, Rule, held, read_rules
from pipeline.season.settings import SeasonSettings

OF_OPTION = ("rule", "leads_to", "suggestion", "window", "reason", "source")


def plan_season(
    units: gpd.GeoDataFrame,
    season_facts: pd.DataFrame,
    season_rules: pd.DataFrame,
    season_options: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
) -> gpd.GeoDataFrame:
    """Layer ``season_plan``: the first option of each unit, or whether one might be found."""
    rules, _ = read_rules(season_rules, known_facts())
    if not rules:
        return empty(SEASON_PLAN, units.crs)
    season = int(property["season"].iloc[0])
    first = season_options[season_options["rank"] == 1].set_index("unit_id")[list(OF_OPTION)]
    options = first.to_dict("index")
    plan = [
        {
            "unit_id": unit_id,
            **_planned(options.get(unit_id), held(rules, facts)[1]),
            "year": season,
            "stock_off_from": day_of(season, settings.deferral_from),
            "stock_off_until": stock_off_until(facts["years_since_burn"], season, settings),
        }
        for unit_id, facts in facts_by_unit(season_facts).items()
    ]
    rows = pd.DataFrame(plan, columns=SEASON_PLAN.column_names)
    return units[["unit_id", "geometry"]].merge(rows, on="unit_id")


def stock_off_until(
    years_since_burn: float | str | None, season: int, settings: SeasonSettings
) -> pd.Timestamp:
    """End of the midsummer deferral: later on ground burned this year or the year before."""
    burned = years_since_burn is not None and float(years_since_burn) <= 1
    return day_of(season, settings.burned_deferral_until if burned else settings.deferral_until)


def _planned(option: dict[Any, Any] | None, undecided: dict[int, list[str]]) -> dict[str, Any]:
    """Columns that the option fills; without one, whether one might be if more were known."""
    if option is None:
        return {"outcome": "unknown" if undecided else "no_rule_holds", "rule": None}
    return {"outcome": "option", **option, "suggestion": f"option: {option['suggestion']}"}


def list_plan_facts(
    season_facts: pd.DataFrame, season_rules: pd.DataFrame, season_options: pd.DataFrame
) -> pd.DataFrame:
    """Table ``plan_facts``: what each option rests on, and what undecided rules before it need."""
    rules, _ = read_rules(season_rules, known_facts())
    first = season_options[season_options["rank"] == 1].set_index("unit_id")["rule"].to_dict()
    rows = [
        {"unit_id": unit_id, "rule": number, "role": role, "fact": name}
        | _value(facts[name] if role == "rests_on" else None)
        for unit_id, facts in facts_by_unit(season_facts).items()
        for number, role, names in _facts_used(rules, facts, first.get(unit_id))
        for name in dict.fromkeys(names)
    ]
    return pd.DataFrame(rows, columns=PLAN_FACTS.column_names)


def _facts_used(
    rules: list[Rule], facts: Facts, chosen: int | None
) -> list[tuple[int, str, list[str]]]:
    """Number of each rule that counts for a unit, the role of its facts, and their names."""
    needed = [
        (number, "needs", names)
        for number, names in held(rules, facts)[1].items()
        if chosen is None or number < chosen
    ]
    return needed + [(r.number, "rests_on", r.facts) for r in rules if r.number == chosen]


def _value(fact: float | str | None) -> dict[str, Any]:
    """A fact as a figure or as an answer."""
    if isinstance(fact, str):
        return {"figure": None, "answer": fact}
    return {"figure": None if fact is None else float(fact), "answer": None}
