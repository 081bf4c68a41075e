"""Did a burn turn a stand? Cool-season index of the years around it, against unburned units.

A cold spring or a dry summer shifts the index of every unit; what is left against the units that
were not burned is the burn, plus whatever made single units differ. It says how a stand greens
up, not what grows there.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from pipeline.greenness.columns import joined_codes
from pipeline.greenness.comparisons import season_gap_days
from pipeline.greenness.cool_season import LIMITS, burns_between
from pipeline.greenness.cool_season_layers import COOL_SEASON_CHANGES
from pipeline.greenness.differences import (
    HistoryEffect,
    change_against,
    effect_of_years,
    half_width,
    verdict,
)
from pipeline.greenness.settings import GreennessSettings
from pipeline.log.treatment_log import event_words, treatments_of

PICTURES = [
    f"{column}_{time}"
    for column in ("pictures", "early_date", "midsummer_date", "dormant_from")
    for time in ("before", "after")
]
"""What the rows of two units over two years must share for them to be held against each other."""


Row = dict[str, Any]


Span = tuple[int | None, int | None]


@dataclass(frozen=True, slots=True)
class Records:
    """What units are judged by: rows with and without an index, and what was done to the units."""

    ready: pd.DataFrame
    spoiled: pd.DataFrame
    by_unit: Mapping[str, pd.DataFrame]
    index: pd.DataFrame
    comparisons: pd.DataFrame
    events: pd.DataFrame
    settings: GreennessSettings

    def years(self, unit_id: str) -> pd.DataFrame:
        """Years of a unit that have an index."""
        return self.by_unit.get(unit_id, self.ready.iloc[:0].set_index("year"))

    def burns(self) -> pd.DataFrame:
        """Burns of the log."""
        return self.events[self.events["kind"] == "burn"]


def _records(
    cool_season: pd.DataFrame,
    comparisons: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> Records:
    """What units are judged by; ``index`` has a row for each year and a column for each unit."""
    has_index = cool_season["cool_index"].notna()
    ready = cool_season[has_index]
    return Records(
        ready=ready,
        spoiled=cool_season[~has_index],
        by_unit={unit: rows.set_index("year") for unit, rows in ready.groupby("unit_id")},
        index=ready.pivot(index="year", columns="unit_id", values="cool_index"),
        comparisons=comparisons,
        events=treatments_of(treatment_log),
        settings=settings,
    )


def index_noise_floor(years: pd.DataFrame, noise_floor: float) -> float:
    """Change of the index between two years that may be noise of the pictures.

    ``years`` has a row for each year with ``early`` E, ``midsummer`` M, ``dormant`` D and
    ``dormant_from``. With e = E − D, m = M − D and s = e + m, errors u of each picture move the
    index (e − m) / s by 2·m·u/s², by 2·e·u/s² and, where dormant ground is a picture too, by
    2·(e − m)·u/s². The floor is the root of the sum of their squares over both years, with
    u = ``noise_floor``/√2 since that is a floor for the difference of two pictures.

    *Source*: computed, by first-order propagation of independent errors.
    """
    dormant = years["dormant"].to_numpy()
    e = np.maximum(years["early"].to_numpy() - dormant, 0.0)
    m = np.maximum(years["midsummer"].to_numpy() - dormant, 0.0)
    of_dormant = (e - m) * (years["dormant_from"] == "scene").to_numpy()
    squares = 4.0 * (m**2 + e**2 + of_dormant**2) / (e + m) ** 4
    return noise_floor / np.sqrt(2.0) * float(np.sqrt(squares.sum()))


def judge_cool_season_changes(
    cool_season: pd.DataFrame,
    chosen_comparisons: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Table ``cool_season_changes``: index of each unit before and after a burn, what it means."""
    records = _records(cool_season, chosen_comparisons, treatment_log, settings)
    rows = [
        row
        for _, units in (chosen_comparisons.groupby("comparison") if len(cool_season) else ())
        for row in _judged_comparison(units, records)
    ]
    return pd.DataFrame(rows, columns=COOL_SEASON_CHANGES.column_names).assign(limits=LIMITS)


def years_around_burn(pair: pd.Series, records: Records) -> Span:
    """Last year with an index before the burn of a unit, first year after it; None for none.

    ``pair`` is the unit's row of a comparison. Where the log has no burn between its two
    pictures, the burn may be as late as the picture after it.
    """
    years, burns = records.years(pair["unit_id"]), records.burns()
    burns = burns[burns["unit_id"] == pair["unit_id"]]
    known = burns[(burns["start"] > pair["before"]) & (burns["end"] < pair["after"])]
    burned = known["end"].max() if len(known) else pair["after"]
    before = years.index[years["midsummer_date"] <= pair["before"]].to_list()
    after = years.index[years["early_date"] > burned].to_list()
    return max(before, default=None), min(after, default=None)


def _judged_comparison(units: pd.DataFrame, records: Records) -> list[Row]:
    """Rows of a comparison: burned units, then the reference units over the same two years."""
    burned, references = units[units["role"] == "burned"], units[units["role"] == "reference"]
    spans = [years_around_burn(pair, records) for _, pair in burned.iterrows()]
    judged = list(zip(burned.iterrows(), spans, strict=True))
    usual = Counter(span for span in spans if None not in span).most_common(1)
    for span, _ in usual:
        judged += [(row, span) for row in references.iterrows()]
    over = {span: _units_over(span, units["unit_id"], records) for span in set(spans)}
    return [
        _judged(pair, span, over[span], set(references["unit_id"]), records)
        for (_, pair), span in judged
    ]


def _units_over(span: Span, names: pd.Series, records: Records) -> pd.DataFrame:
    """Units that have an index in both years, and the days of a burn between them."""
    ready = records.ready[records.ready["unit_id"].isin(names)]
    first, last = (ready[ready["year"].isin([year])] for year in span)
    both = first.merge(last, on="unit_id", suffixes=("_before", "_after")).set_index("unit_id")
    spans = pd.DataFrame(
        {
            "unit_id": both.index,
            "after": both["midsummer_date_before"],
            "until": both["midsummer_date_after"],
        },
        index=both.index,
    )
    spans = spans.reset_index(drop=True)
    burned = burns_between(spans, records.comparisons, records.burns())
    return both.join(burned.set_index(both.index))


def _judged(
    pair: pd.Series, span: Span, over: pd.DataFrame, names: set[str], records: Records
) -> Row:
    """One unit over two years against the reference units (a reference unit against the others)."""
    unit_id, years = pair["unit_id"], records.years(pair["unit_id"])
    row: Row = {
        "comparison": pair["comparison"],
        "unit_id": unit_id,
        "role": pair["role"],
        "before_year": span[0],
        "after_year": span[1],
        "before_index": years["cool_index"].get(span[0]),
        "after_index": years["cool_index"].get(span[1]),
        "references": 0,
        "years_before": 0,
        "verdict": "cannot_judge",
    }
    obstacle = _obstacle(pair, span, over, records)
    if obstacle is not None:
        return row | obstacle
    both = years.loc[list(span)]
    same = (over[PICTURES] == over.loc[unit_id, PICTURES]).all(axis=1)
    usable = over.index.isin(names - {unit_id}) & over["burned_from"].isna()
    references = over[same & usable]
    row |= {
        "change": both["cool_index"].iloc[1] - both["cool_index"].iloc[0],
        "references": len(references),
        "noise_floor": index_noise_floor(both, records.settings.noise_floor),
    }
    if references.empty:
        return row | {"reason": "no_reference"}
    return row | _effect(pair, both, references, row["noise_floor"], records)


def _effect(
    pair: pd.Series, both: pd.DataFrame, references: pd.DataFrame, floor: float, records: Records
) -> Row:
    """Change of one unit against its references: figures, verdict and cautions."""
    settings, index = records.settings, both["cool_index"].to_numpy()
    changes = (references["cool_index_after"] - references["cool_index_before"]).to_numpy()
    against = float(change_against(index[1] - index[0], changes))
    half = half_width(changes, settings.confidence_pct, settings.least_references)
    past = _history(pair["unit_id"], both, references.index, records)
    if past is not None and np.isfinite(half):
        half = max(half, past.half)
    code = verdict(against, half, floor, greater="more_cool_season", less="more_warm_season")
    gap = _widest_gap_days(both)
    row: Row = {
        "change_vs_reference": against,
        "interval_low": against - half,
        "interval_high": against + half,
        "years_before": past.years if past else 0,
        "season_gap_days": gap,
        "before_gap": index[0] - references["cool_index_before"].mean(),
        "verdict": "seasonal" if gap > settings.most_date_gap_days else code,
    } | _works(pair, both, records)
    cautions = _cautions(row, both, references["cool_index_before"], floor, past, settings)
    return row | {"caution": joined_codes(cautions)}


def _obstacle(pair: pd.Series, span: Span, over: pd.DataFrame, records: Records) -> Row | None:
    """Why a unit cannot be judged over two years, with the years that have no index; else None."""
    unit_id, is_reference = pair["unit_id"], pair["role"] == "reference"
    if unit_id in over.index:
        days = over.loc[unit_id, ["burned_from", "burned_until"]]
        burned = is_reference and days.notna().all()
        return {"reason": "burned_between", **days.to_dict()} if burned else None
    spoiled = records.spoiled[records.spoiled["unit_id"] == unit_id]
    if is_reference:
        lost = [year for year in span if year not in records.years(unit_id).index]
        return {"reason": "no_index", "years_without_index": _listed_years(lost)}
    early = spoiled["midsummer_date"] <= pair["before"]
    reason = "no_year_before" if span[0] is None else "no_year_after"
    years = spoiled.loc[early == (span[0] is None), "year"]
    return {"reason": reason, "years_without_index": _listed_years(years)}


def _listed_years(years: Iterable[int | None]) -> str | None:
    """Years as one cell, separated by commas; None for none."""
    return ", ".join(map(str, years)) or None


def _history(
    unit_id: str, both: pd.DataFrame, references: pd.Index, records: Records
) -> HistoryEffect | None:
    """Gap to the references after the burn against the gaps of earlier years, None for too few."""
    # A year counts where no reference is missing: their mean must be of the same units.
    gaps = records.index[unit_id] - records.index[references].mean(axis=1, skipna=False)
    past = gaps[gaps.index <= both.index[0]].dropna()
    if len(past) < records.settings.least_years_before:
        return None
    gap_after = float(gaps[both.index[1]])
    return effect_of_years(past.to_list(), gap_after, records.settings.confidence_pct)


def _widest_gap_days(both: pd.DataFrame) -> int:
    """Days between the early, or between the midsummer pictures, in the course of the year."""
    gaps = (season_gap_days(*both[f"{window}_date"]) for window in ("early", "midsummer"))
    return max(gaps)


def _works(pair: pd.Series, both: pd.DataFrame, records: Records) -> Row:
    """Several burns of a unit between its pictures, and other work in their seasons."""
    first, last = both["midsummer_date"]
    events = records.events[records.events["unit_id"] == pair["unit_id"]]
    is_burn = events["kind"] == "burn"
    burns = events[is_burn & (events["start"] > first) & (events["end"] < last)]
    in_season = [
        (events["start"] <= day) & (events["end"] >= pd.Timestamp(year=day.year, month=1, day=1))
        for day in (first, last)
    ]
    others = events[(in_season[0] | in_season[1]) & ~is_burn]
    several = event_words(burns) if len(burns) > 1 else None
    return {"burns": several, "other_work": event_words(others)}


def _cautions(
    row: Row,
    both: pd.DataFrame,
    before: pd.Series,
    floor: float,
    past: HistoryEffect | None,
    settings: GreennessSettings,
) -> list[str]:
    """Codes of what to keep in mind; ``before`` is the index of the references before the burn."""
    index = both["cool_index"].iloc[0]
    apart_before = abs(row["before_gap"]) > floor and not before.min() <= index <= before.max()
    cautions = {
        "single_years": past is None,
        "season_gap": row["season_gap_days"] > settings.date_gap_days,
        "dormant_differs": both["dormant_from"].nunique() > 1,
        "several_burns": row["burns"],
        "other_work": row["other_work"],
        "unlike_before": len(before) > 1 and apart_before,
        "restless_years": past is not None and past.reach > abs(past.effect),
    }
    return [code for code, holds in cautions.items() if holds]
