"""Animals and forage: animal units, what they eat, how long a herd can stay."""

import functools
import math
from typing import TypeVar

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.log.days import day_of, days_within
from pipeline.log.treatment_log import treated_share
from pipeline.season.layers import GRAZING, HERD_BALANCE
from pipeline.season.settings import HerdSettings, SeasonSettings

DAY = pd.Timedelta(days=1)


WINDOWS = ("early", "midsummer", "late", "dormant")


def window_spans(
    year: int, settings: SeasonSettings
) -> list[tuple[str, pd.Timestamp, pd.Timestamp]]:
    """Parts of a calendar year, each with its first day and the day after its last."""
    cuts = [
        pd.Timestamp(year, 1, 1),
        day_of(year, settings.growing_from),
        day_of(year, settings.deferral_from),
        day_of(year, settings.deferral_until),
        day_of(year, settings.growing_until),
        pd.Timestamp(year + 1, 1, 1),
    ]
    names = ("dormant", *WINDOWS)
    return list(zip(names, cuts[:-1], cuts[1:], strict=True))


Quantity = TypeVar("Quantity", float, pd.Series)


def equivalent_of_weight(weight_lb: float, equivalence: str) -> float:
    """Animal units that an animal of a weight [lb] counts for.

    *Source*: linear, one for each 1,000 lb (Agproud, Universities of Idaho and Nebraska);
    metabolic, (weight ÷ 1,000)^0.75 (Manske, NDSU Dickinson Research Extension Center, 1998).
    """
    return (weight_lb / 1000.0) ** (1.0 if equivalence == "linear" else 0.75)


def animal_unit_months(head: float, equivalent: float, months: float) -> float:
    """Animal-unit months of a herd: animals, times animal units of each, times months."""
    return head * equivalent * months


def eaten_lb(au_days: Quantity, intake_lb_au_day: float) -> Quantity:
    """Dry forage [lb] that animals eat in so many animal-unit days."""
    return au_days * intake_lb_au_day


def stay_days(supply_lb: float, herd_au: float, intake_lb_au_day: float) -> float:
    """Days that a herd can live on a supply [lb] of dry forage."""
    return supply_lb / (herd_au * intake_lb_au_day)


def event_equivalents(events: pd.DataFrame, equivalence: str) -> pd.Series:
    """Animal units of one animal of each event: as told, else from its weight, else missing."""
    by_weight = events["weight_lb"].map(
        lambda w: equivalent_of_weight(w, equivalence), na_action="ignore"
    )
    return events["animal_unit_equivalent"].fillna(by_weight).astype("float64")


def rate_grazing(
    units: gpd.GeoDataFrame, treatment_log: pd.DataFrame, settings: HerdSettings
) -> pd.DataFrame:
    """Table ``grazing_rates``: what the animals of each grazing take in a day.

    What disappears is what is eaten divided by the grazing efficiency, spread over the acres
    grazed. Missing where the animals are not told.
    """
    events = treatment_log[treatment_log["kind"] == "graze"]
    acres = units.set_index("unit_id")["gross_ac"]
    grazed_ac = events["acres_treated_ac"].fillna(events["unit_id"].map(acres)).astype("float64")
    au = events["head"].astype("float64") * event_equivalents(events, settings.equivalence)
    eaten = eaten_lb(au, settings.intake_lb_au_day)
    return events[["unit_id", "start", "head"]].assign(
        last=events["end"],
        au=au,
        aum_day=eaten / settings.month_lb_aum,
        eaten_lb_ac_day=eaten / grazed_ac,
        disappeared_lb_ac_day=eaten / grazed_ac / (settings.grazing_efficiency_pct / 100.0),
        grazed_share=treated_share(events, units),
    )


RATES = {
    "head_days": "head",
    "au_days": "au",
    "aum": "aum_day",
    "eaten_lb_ac": "eaten_lb_ac_day",
    "disappeared_lb_ac": "disappeared_lb_ac_day",
}
"""Column of ``grazing`` and the daily rate that it sums up over the days."""


def count_grazing(grazing_rates: pd.DataFrame, settings: SeasonSettings) -> pd.DataFrame:
    """Table ``grazing``: days and animal-unit days by unit, year and part of the season.

    A day with two herds at once is one day, and what both take counts.
    """
    parts = []
    for year in _years(grazing_rates):
        for window, start, after in window_spans(year, settings):
            days = days_within(grazing_rates["start"], grazing_rates["last"], start, after)
            part = grazing_rates[["unit_id"]].assign(
                year=year,
                window=window,
                first=grazing_rates["start"].clip(lower=start),
                last=grazing_rates["last"].clip(upper=after - DAY),
            )
            part = part.assign(**{n: grazing_rates[rate] * days for n, rate in RATES.items()})
            parts.append(part[days > 0])
    if not parts:
        return empty(GRAZING)
    # One grazing without its head makes the sum unknown: missing must not count as nothing.
    groups = pd.concat(parts).groupby(["unit_id", "year", "window"])
    sums = groups[list(RATES)].agg(lambda values: values.sum(skipna=False))
    days = groups[["first", "last"]].apply(_distinct_days)
    return sums.assign(days=days).reset_index()


def _distinct_days(spans: pd.DataFrame) -> int:
    """Days on which at least one of the stretches of days goes on."""
    days = [
        pd.date_range(first, last)
        for first, last in zip(spans["first"], spans["last"], strict=True)
    ]
    return len(functools.reduce(pd.DatetimeIndex.union, days))


def _years(events: pd.DataFrame) -> range:
    """Calendar years that the events touch."""
    if events.empty:
        return range(0)
    return range(events["start"].dt.year.min(), events["last"].dt.year.max() + 1)


def herd_animal_units(settings: HerdSettings) -> float:
    """Animal units of the herd, NaN where the settings do not tell."""
    each = settings.animal_unit_equivalent
    if each is None and settings.weight_lb is not None:
        each = equivalent_of_weight(settings.weight_lb, settings.equivalence)
    if each is None or settings.head is None:
        return math.nan
    return settings.head * each


def balance_forage(
    units: gpd.GeoDataFrame,
    standing: pd.DataFrame,
    grazing_rates: pd.DataFrame,
    grazing: pd.DataFrame,
    treatment_log: pd.DataFrame,
    planned_log: pd.DataFrame,
    burns: pd.DataFrame,
    held_limits: pd.DataFrame,
    property: pd.DataFrame,
    settings: HerdSettings,
    season_settings: SeasonSettings,
) -> pd.DataFrame:
    """Table ``forage``: supply of each unit and the days the herd can stay on it."""
    season = int(property["season"].iloc[0])
    grown = measure_growth(standing, grazing_rates, treatment_log, season, season_settings)
    herd_au = herd_animal_units(settings)
    resting = planned_log.loc[planned_log["kind"] == "rest"]
    closed = [
        burns["unit_id"],
        resting.loc[resting["end"].dt.year >= season, "unit_id"],
        contracts_unapproved(held_limits)["unit_id"],
    ]
    forage = pd.DataFrame({"unit_id": units["unit_id"]})
    forage["open"] = ~forage["unit_id"].isin(pd.concat(closed))
    forage = forage.merge(grown, on="unit_id", how="left")
    forage["harvest_efficiency_pct"] = settings.harvest_efficiency_pct
    share = settings.harvest_efficiency_pct / 100.0
    forage["supply_lb"] = forage["production_lb_ac"] * units["gross_ac"].to_numpy() * share
    forage["supply_aum"] = forage["supply_lb"] / settings.month_lb_aum
    forage["open_aum"] = forage["supply_aum"].where(forage["open"], 0.0)
    stay = stay_days(1.0, herd_au, settings.intake_lb_au_day) if herd_au else math.nan
    forage["stay_days"] = forage["supply_lb"] * stay
    last = grazing[grazing["year"] == season - 1].groupby("unit_id")["aum"]
    used = last.agg(lambda v: v.sum(skipna=False))
    forage["used_aum"] = forage["unit_id"].map(used).astype("float64")
    forage["reason"] = (
        forage["production_lb_ac"]
        .isna()
        .map(
            {False: "measured", True: "needs_load"}
            if herd_au > 0
            else {False: "needs_herd", True: "needs_load_and_herd"}
        )
    )
    return forage


def contracts_unapproved(held_limits: pd.DataFrame) -> pd.DataFrame:
    """Contracts and easements that no approval on record lets work on."""
    bound = held_limits["kind"].isin(["contract", "easement"])
    return held_limits[bound & held_limits["approval"].isna()]


def measure_growth(
    standing: pd.DataFrame,
    grazing_rates: pd.DataFrame,
    treatment_log: pd.DataFrame,
    season: int,
    settings: SeasonSettings,
) -> pd.DataFrame:
    """Dry forage that each unit grew [lb/ac], by the newest figure of the two years before.

    A production figure goes before a standing one. To what stood on ground that animals had
    grazed since growth began that year, what they made disappear is added. Where that is not
    told, or hay was taken, what was left is the least that grew.
    """
    recent = standing[standing["date"].dt.year.isin([season - 2, season - 1])]
    ordered = recent.assign(caged=recent["measure"] == "production").sort_values(["caged", "date"])
    rows = []
    for row in ordered.groupby("unit_id").tail(1).itertuples(index=False):
        since = day_of(row.date.year, settings.growing_from)
        hay = treatment_log[
            treatment_log["unit_id"].eq(row.unit_id) & (treatment_log["kind"] == "hay")
        ]
        cut = bool(hay["start"].between(since, row.date).any())
        of_unit = grazing_rates[grazing_rates["unit_id"] == row.unit_id]
        taken = 0.0 if row.caged else _taken_lb_ac(of_unit, since, row.date)
        known = 0.0 if math.isnan(taken) else taken
        rows.append((row.unit_id, row.mean_lb_ac + known, taken, _growth(row.caged, taken, cut)))
    names = ["unit_id", "production_lb_ac", "disappeared_lb_ac", "growth"]
    return pd.DataFrame(rows, columns=names).astype(dict.fromkeys(names[1:3], "float64"))


def _growth(caged: bool, taken_lb_ac: float, cut: bool) -> str:
    """Code of what a figure of growth rests on."""
    if caged:
        return "grown"
    if cut or math.isnan(taken_lb_ac):
        return "left_over"
    return "left_and_grazed" if taken_lb_ac > 0 else "stood"


def _taken_lb_ac(rates: pd.DataFrame, since: pd.Timestamp, until: pd.Timestamp) -> float:
    """Forage [lb/ac of the unit] that grazing made disappear from a day until a measurement."""
    days = days_within(rates["start"], rates["last"], since, until)
    each = rates["disappeared_lb_ac_day"] * rates["grazed_share"] * days
    return float(each[days > 0].sum(skipna=False))


def balance_herd(
    property: pd.DataFrame, forage: pd.DataFrame, settings: HerdSettings
) -> pd.DataFrame:
    """Table ``herd_balance``: supply of the open units against the herd's demand, one row.

    *Source*: intake and month from the settings; stocking is to be changed where the difference
    is more than a tenth of supply (North Dakota stocking-rate lesson).
    """
    known = forage["supply_aum"].notna()
    if not known.any():
        return empty(HERD_BALANCE)
    herd_au = herd_animal_units(settings)
    demand = animal_unit_months(1.0, herd_au, settings.season_months)
    supply = float(forage["open_aum"].sum())
    unknown = int((forage["open"] & ~known).sum())
    difference_pct = 100.0 * (supply - demand) / supply if supply else math.nan
    return pd.DataFrame(
        {
            "season": property["season"].iloc[:1],
            "herd_au": herd_au,
            "animal_unit_lb_au_day": settings.intake_lb_au_day,
            "month_lb_aum": settings.month_lb_aum,
            "demand_aum": demand,
            "supply_aum": supply,
            "units_unknown": unknown,
            "difference_pct": difference_pct,
            "verdict": "demand_above_supply"
            if supply == 0 < demand
            else balance_verdict(difference_pct, settings.balance_pct),
        }
    )


def balance_verdict(difference_pct: float, balance_pct: float) -> str:
    """Code of what supply less demand [percent of supply] says."""
    if math.isnan(difference_pct):
        return "needs_herd"
    if abs(difference_pct) <= balance_pct:
        return "supply_and_demand_match"
    return "demand_above_supply" if difference_pct < 0 else "supply_above_demand"
