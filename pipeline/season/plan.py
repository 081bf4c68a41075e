"""Season plan: an option for each unit from the rule table, with reasons and what is missing."""

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.names import listed
from pipeline.log.days import day_of
from pipeline.season.facts import FACT_WORDS, known_facts, season_facts, told_fact
from pipeline.season.layers import SEASON_PLAN
from pipeline.season.limits import limit_words
from pipeline.season.rules import Facts, Rule, first_match, read_rules
from pipeline.season.settings import SeasonSettings


def plan_season(
    units: gpd.GeoDataFrame,
    history: gpd.GeoDataFrame,
    fuel: gpd.GeoDataFrame,
    greenness: gpd.GeoDataFrame,
    community: gpd.GeoDataFrame,
    unit_limits: pd.DataFrame,
    burns: pd.DataFrame,
    seedings: pd.DataFrame,
    season_rules: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
) -> gpd.GeoDataFrame:
    """Layer ``season_plan``: the first rule that holds for each unit, as an option."""
    rules, _ = read_rules(season_rules, known_facts())
    if not rules:
        return empty(SEASON_PLAN, units.crs)
    season = int(property["season"].iloc[0])
    facts = season_facts(
        units, history, fuel, greenness, community, unit_limits, burns, seedings
    )  # fmt: skip
    since = history.set_index("unit_id")["years_since_burn"]
    rows = [
        _option(rules, facts.loc[unit_id].to_dict())
        | {
            "year": season,
            "stock_off_from": day_of(season, settings.deferral_from),
            "stock_off_until": stock_off_until(since[unit_id], season, settings),
            "conflicts": limits_of(unit_id, unit_limits),
        }
        for unit_id in units["unit_id"]
    ]
    return units[["unit_id", "geometry"]].join(pd.DataFrame(rows, index=units.index))


def limits_of(unit_id: str, unit_limits: pd.DataFrame) -> str | None:
    """Limits of a unit in words, None without any."""
    own = unit_limits[unit_limits["unit_id"] == unit_id]
    words = [
        word
        for row in own.itertuples(index=False)
        for word in limit_words(row.kind, row.first_day, row.last_day, row.approval, row.note)
    ]
    return "; ".join(words) or None


def stock_off_until(
    years_since_burn: float | None, season: int, settings: SeasonSettings
) -> pd.Timestamp:
    """End of the midsummer deferral: later on ground burned this year or the year before."""
    burned = (
        years_since_burn is not None and not pd.isna(years_since_burn) and years_since_burn <= 1
    )
    return day_of(season, settings.burned_deferral_until if burned else settings.deferral_until)


def _option(rules: list[Rule], facts: Facts) -> dict[str, object]:
    """The option of one unit with its reason, and the rules that could not be decided."""
    rule, undecided = first_match(rules, facts)
    missing = _missing(undecided)
    if rule is None:
        needs = dict.fromkeys(FACT_WORDS[name] for names in undecided.values() for name in names)
        reason = f"unknown: needs {listed(needs, 20)}" if needs else "no rule holds for this unit"
        return {
            "rule": None, "suggestion": "no suggestion", "window": None, "reason": reason,
            "missing": missing, "source": None,
        }  # fmt: skip
    figures = [told_fact(c.name, facts.get(c.name)) for c in rule.clauses if c.operator != "is"]
    reason = rule.reason + (f" ({listed(dict.fromkeys(figures), 20)})" if figures else "")
    return {
        "rule": rule.number, "suggestion": f"option: {rule.suggestion}", "window": rule.window,
        "reason": reason, "missing": missing, "source": rule.source,
    }  # fmt: skip


def _missing(undecided: dict[int, list[str]]) -> str | None:
    """What undecided rules need, rules that need the same named together; None without any."""
    rules: dict[str, list[int]] = {}
    for number, names in undecided.items():
        needs = listed(dict.fromkeys(FACT_WORDS[name] for name in names), 20)
        rules.setdefault(needs, []).append(number)
    told = [
        f"rule{'s' * (len(numbers) > 1)} {listed(numbers, 20)} need{'s' * (len(numbers) == 1)} "
        f"{needs}" for needs, numbers in rules.items()
    ]  # fmt: skip
    return "; ".join(told) or None
