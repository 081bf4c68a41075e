"""Sentences on fuel and on the season plan, made of codes and figures."""

from collections.abc import Mapping
from operator import itemgetter
from typing import Any

import pandas as pd

from pipeline.core.names import listed
from pipeline.core.units import half_up, unit_symbol
from pipeline.pages.words import code_words, date_words, number_words
from pipeline.pages.work_words import WORK_WORDS
from pipeline.season.limits import limit_words

Frames = Mapping[str, pd.DataFrame]


WORDS_BY_FACT = {
    "cover": "cover",
    "burnable_ac": "burnable acres",
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
    "carries": "whether the fuel carries a fire",
    "spring_load_lb_ac": "dry load in spring",
    "continuity": "whether the fuel is even or broken",
    "bare_ground_pct": "bare ground",
    "native_share_pct": "share of native plants",
    "cool_exotic_share_pct": "share of introduced cool-season grasses",
    "unknown_share_pct": "share of plants of unknown origin",
    "warm_grass_share_pct": "share of native warm-season grasses",
    "brome_part_pct": "brome among brome and bluegrass",
    "lead_invader": "leading invader",
    "change_vs_reference": "change in greenness against the reference units",
    "interval_low": "low end of the change in greenness",
    "interval_high": "high end of the change in greenness",
    "recorded": "treatments on record",
    "in_burn_block": "in a burn block this season",
    "in_seeding": "in a seeding this season",
    "contract": "contract or easement without approval",
    "species_limit": "listed species without approval",
    "years_since_overseeding": "years since seed was put into the sward",
    "done_last_year": "work of last year",
    "woody_pct": "share of trees and shrubs",
    "noxious_pct": "share of noxious plants",
    "road_state": "place on the road of recovery",
    "fire_possible": "fire possible",
    "herd_must_be_fed": "herd must be fed",
    "hay_wanted": "hay wanted",
    "seed_wanted": "seed wanted",
    "refuge_wanted": "refuge wanted",
}
"""Words that a reader sees in the place of a fact that a season rule asks for."""


SYMBOL_ENDS = ("_pct", "_lb_ac")
"""Facts whose words do not name their unit themselves."""


NEEDS = {
    "needs_measurement": "a clip plot, pole reading or stated load of the fall before the "
    "season (fall_from of [fuel]) or later",
    "needs_new_measurement": "a new measurement after the {removed_by} of {removed_on}",
    "needs_animals": "head and animal_unit_equivalent (or weight_lb) of the grazing",
}
"""What is needed to tell the fuel of a unit, by the code of its reason."""


def fuel_rows(frames: Frames) -> pd.DataFrame:
    """Layer ``fuel`` with its sentences: why, and the limits that the window meets."""
    limits = frames["season_limits"]
    limits = limits[limits["meets_window"].astype("boolean").fillna(True)]
    return frames["fuel"].assign(
        limits=_limits_by_unit(frames["fuel"], limits),
        why=[fuel_words(row) for row in frames["fuel"].to_dict("records")],
    )


WINDOW_BY = {
    "needs_dates": "; the window needs daily_temperatures or dates in green_up",
    "own_temperatures": "; window by degree-days of your temperatures of {temperature_years}",
    "dates_of_the_region": "; window by dates of the region",
    "dates_of_the_latitude": "; window by dates of spring at {latitude_deg:.1f} N",
}
"""What the end of a window rests on, by the code of its reason."""


SWARD_FROM = {
    "survey": "of the newest survey",
    "pictures": "by the greenness of its own pictures in spring",
    "survey_and_pictures": "between {survey_share_pct} of the newest survey and "
    "{pictures_share_pct} by the greenness of its own pictures in spring",
    "setting": "by your setting",
    "ordinary_for_the_place": "as is ordinary at its latitude, for nobody has looked",
    "nothing": "for nobody has looked",
}
"""Where the share of cool-season exotics is from, by its code."""


def fuel_words(fuel: Mapping[Any, Any]) -> str:
    """How the fuel of a unit was found and what its window rests on, or what is needed."""
    if needs := NEEDS.get(fuel["reason"]):
        on = date_words(fuel["removed_on"])
        by = WORK_WORDS.get(fuel["removed_by"])
        return "unknown: needs " + needs.format(removed_by=by, removed_on=on)
    return f"{_balance(fuel)}{_window(fuel)}. A planning aid, no permission to light anything"


def _balance(fuel: Mapping[Any, Any]) -> str:
    """From the measurement to the load on a day of spring, with all that was taken off."""
    told = [
        f"{_figure(fuel, 'measured_load_lb_ac')} lb/ac {code_words(fuel['load_method'])} on "
        f"{date_words(fuel['load_date'])}"
    ]
    if pd.notna(fuel["override_reason"]):
        told.append(f"put before the measurements because: {fuel['override_reason']}")
    if fuel["disappeared_lb_ac"] > 0:
        told.append(f"less {_figure(fuel, 'disappeared_lb_ac')} for animals")
    if fuel["winter_loss_high_pct"] > 0:
        low, likely, high = (_figure(fuel, f"winter_loss{e}_pct") for e in ("_low", "", "_high"))
        told.append(f"less {likely} % ({low} to {high}) for the winter")
    if fuel["spring_disappeared_lb_ac"] > 0:
        told.append(f"less {_figure(fuel, 'spring_disappeared_lb_ac')} for animals from April on")
    low, likely, high = (_figure(fuel, f"spring_load{e}_lb_ac") for e in ("_low", "", "_high"))
    left = f"{likely} lb/ac ({low} to {high}) on {date_words(fuel['spring_load_date'])}"
    part = ""
    if pd.notna(fuel["treated_ac"]):
        part = f", but for {number_words(fuel['treated_ac'], 1)} ac of "
        part += f"{WORK_WORDS.get(fuel['removed_by'])} on {date_words(fuel['removed_on'])}"
    return f"{', '.join(told)}: {left}{part}"


def _window(fuel: Mapping[Any, Any]) -> str:
    """What the end of the window rests on, and how far load, sward and years may move it."""
    words = WINDOW_BY.get(fuel["reason"], "").format_map(fuel)
    if pd.isna(fuel["burn_until"]):
        return words
    shares = {name: _figure(fuel, name) for name in ("survey_share_pct", "pictures_share_pct")}
    share = f"{_figure(fuel, 'cool_exotic_share_pct')} % cool-season exotics"
    words += f" and {share} {SWARD_FROM[fuel['sward_from']].format_map(shares)}: "
    low, likely, high, early, late = (
        "none" if pd.isna(day := fuel[f"burn_until{end}"]) else date_words(day)
        for end in ("_low", "", "_high", "_early", "_late")
    )
    words += f"{likely} (with less fuel and more exotics {low}, with more and fewer {high})"
    if pd.notna(fuel["burn_until_early"]):
        days = (fuel["burn_until_late"] - fuel["burn_until_early"]).days / 2
        words += f", {early} in an early spring to {late} in a late one (± {days:.0f} days)"
    if pd.notna(fuel["animals_untold_from"]):
        words += f"; animals that are not told graze from {date_words(fuel['animals_untold_from'])}"
    return words


def _figure(row: Mapping[Any, Any], name: str) -> str:
    """A figure of a row in whole numbers."""
    return number_words(row[name], 0)


def plan_rows(frames: Frames) -> pd.DataFrame:
    """Layer ``season_plan`` with its sentences: why, what could not be decided, and the limits."""
    plan, facts, limits = (frames[n] for n in ("season_plan", "plan_facts", "season_limits"))
    by_unit = dict(list(facts.groupby("unit_id")))
    rows = [(row, by_unit.get(row["unit_id"], facts.iloc[:0])) for row in plan.to_dict("records")]
    return plan.assign(
        why=[why_words(row, of_unit) for row, of_unit in rows],
        missing=[missing_words(of_unit) for _, of_unit in rows],
        limits=_limits_by_unit(plan, limits[limits["limit"] != "nesting"]),
    )


NEEDED = {
    "needs_fuel": "fuel that carries",
    "needs_stock": "stock",
    "needs_seed": "seed",
    "needs_machine": "a machine",
    "needs_hands": "people on foot",
}
"""What an option needs beside an approval, by the flag that tells it."""


KEEPS_STOCK_OFF = ("burn", "rest", "seed", "establish", "harvest")
"""What an option comes to that keeps stock off its unit and gives it no other feed, as hay does."""


NO_REFUGE = "no unburned unit along an edge would be left: leave a part unburned"


def option_rows(frames: Frames) -> pd.DataFrame:
    """Layer ``season_options`` with its sentences: needs, whom to ask first, feed it takes."""
    options = frames["season_options"]
    told = options.to_dict("records")
    planned = dict(list(frames["option_conflicts"].groupby(["unit_id", "rank"])))
    return options.assign(
        needs=[listed([w for name, w in NEEDED.items() if row[name]], 9) or None for row in told],
        against=[_against_words(row) for row in told],
        planned=[_planned_words(planned.get((row["unit_id"], row["rank"]))) for row in told],
        feed=_feed_words(told, frames["forage"]),
    )


def _feed_words(options: list[dict[Any, Any]], forage: pd.DataFrame) -> list[str | None]:
    """Feed of the unit, as far as it is known, that the herd goes without for each option."""
    supply = dict(zip(forage["unit_id"], forage["supply_aum"], strict=True))
    return [
        f"up to {number_words(supply[row['unit_id']], 1)} AUM of feed"
        if row["leads_to"] in KEEPS_STOCK_OFF and supply.get(row["unit_id"], 0) > 0
        else None
        for row in options
    ]


def _against_words(option: Mapping[Any, Any]) -> str | None:
    """Limits without an approval, and the refuge that a burn would not leave."""
    limits = [] if pd.isna(option["limits"]) else [f"{option['limits']}: no approval on record"]
    if option["needs_approval"] and not limits:
        limits = ["an approval"]
    return "; ".join(limits + [NO_REFUGE] * bool(option["leaves_no_refuge"])) or None


def _planned_words(rows: pd.DataFrame | None) -> str | None:
    """That an option is planned, and the numbers of the conflicts that stand against it."""
    if rows is None:
        return None
    numbers = [str(int(number)) for number in sorted(rows["number"].dropna().unique())]
    if not numbers:
        return "planned"
    return f"planned; against it: conflict{'s' * (len(numbers) > 1)} {listed(numbers, 30)}"


def option_lines(options: pd.DataFrame) -> list[str]:
    """Options of one unit in short: place, suggestion, and when."""
    lines = []
    for row in sorted(options.to_dict("records"), key=itemgetter("rank")):
        when = "" if pd.isna(row["window"]) else f" ({row['window']})"
        lines.append(f"{row['rank']}. {row['suggestion']}{when}")
    return lines


def _limits_by_unit(units: pd.DataFrame, limits: pd.DataFrame) -> list[str | None]:
    """Limits of each unit in words, None where it has none."""
    by_unit: dict[str, list[str]] = {}
    for row in limits.to_dict("records"):
        by_unit.setdefault(row["unit_id"], []).append(limit_words(row))
    return ["; ".join(by_unit[u]) if u in by_unit else None for u in units["unit_id"]]


def why_words(plan: Mapping[Any, Any], facts: pd.DataFrame) -> str:
    """Why an option is given, with the figures it rests on, or what is needed to find one."""
    if plan["outcome"] == "no_rule_holds":
        return "no rule holds for this unit"
    if plan["outcome"] == "unknown":
        return f"unknown: needs {_named(facts)}"
    rests = [fact_words(row) for row in facts.to_dict("records") if row["role"] == "rests_on"]
    return plan["reason"] + (f" ({listed(rests, 20)})" if rests else "")


def fact_words(fact: Mapping[Any, Any]) -> str:
    """A fact with its value and unit, as a reader sees it."""
    name, value = fact["fact"], fact["answer"]
    if pd.isna(value):
        value = f"{half_up(fact['figure'], 1).normalize():f}"
        value += f" {unit_symbol(name)}" if name.endswith(SYMBOL_ENDS) else ""
    return f"{WORDS_BY_FACT[name]}: {code_words(value) if name != 'cover' else value}"


def missing_words(facts: pd.DataFrame) -> str | None:
    """What undecided rules need, rules that need the same named together; None without any."""
    rules_by_need: dict[str, list[int]] = {}
    needs = facts[facts["role"] == "needs"]
    for number, of_rule in needs.groupby("rule"):
        rules_by_need.setdefault(_named(of_rule), []).append(int(str(number)))
    words = [
        f"rule{'s' * (len(rules) > 1)} {listed(rules, 20)} need{'s' * (len(rules) == 1)} {need}"
        for need, rules in rules_by_need.items()
    ]
    return "; ".join(words) or None


def _named(facts: pd.DataFrame) -> str:
    """Names of facts in words, each one once."""
    return listed(dict.fromkeys(WORDS_BY_FACT[name] for name in facts["fact"]), 20)
