"""Did a burn turn a stand? Cool-season index of the years around it, against unburned units.

A cold spring or a dry summer shifts the index of every unit; what is left against the units that
were not burned is the burn, plus whatever made single units differ. It says how a stand greens
up, not what grows there.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pipeline.core.units import half_up
from pipeline.greenness.change import change_against, half_width
from pipeline.greenness.comparisons import season_gap_days
from pipeline.greenness.cool_season import LIMITS, burn_between
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import HistoryEffect, effect_of_years
from pipeline.log.treatment_log import event_words, treatments_of

_COLUMNS = [
    "comparison", "unit_id", "role", "before_year", "after_year", "before_index", "after_index",
    "change", "change_vs_reference", "interval_low", "interval_high", "references", "noise_floor",
    "years_before", "verdict", "caution", "limits",
]  # fmt: skip


_PICTURES = [
    f"{column}_{time}"
    for column in ("pictures", "early_date", "mid_date", "base_from")
    for time in ("before", "after")
]  # fmt: skip


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
        by_unit={unit: own.set_index("year") for unit, own in ready.groupby("unit_id")},
        index=ready.pivot(index="year", columns="unit_id", values="cool_index"),
        comparisons=comparisons,
        events=treatments_of(treatment_log),
        settings=settings,
    )


def index_noise_floor(years: pd.DataFrame, noise_floor: float) -> float:
    """Change of the index between two years that may be noise of the pictures.

    ``years`` has a row for each year with ``early`` E, ``mid`` M, ``base`` B and ``base_from``.
    With e = E − B, m = M − B and s = e + m, errors u of each picture move the index
    (e − m) / s by 2·m·u/s², by 2·e·u/s² and, where the base is a picture too, by 2·(e − m)·u/s².
    The floor is the root of the sum of their squares over both years, with u = ``noise_floor``/√2
    since that is a floor for the difference of two pictures.

    *Source*: computed, by first-order propagation of independent errors.
    """
    base = years["base"].to_numpy()
    e = np.maximum(years["early"].to_numpy() - base, 0.0)
    m = np.maximum(years["mid"].to_numpy() - base, 0.0)
    of_base = (e - m) * (years["base_from"] == "scene").to_numpy()
    squares = 4.0 * (m**2 + e**2 + of_base**2) / (e + m) ** 4
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
        for _, own in (chosen_comparisons.groupby("comparison") if len(cool_season) else ())
        for row in _judged_comparison(own, records)
    ]
    return pd.DataFrame(rows, columns=_COLUMNS).assign(limits=LIMITS)


def years_around_burn(pair: pd.Series, records: Records) -> Span:
    """Last year with an index before the burn of a unit, first year after it; None for none.

    ``pair`` is the unit's row of a comparison. Where the log has no burn between its two
    pictures, the burn may be as late as the picture after it.
    """
    own, burns = records.years(pair["unit_id"]), records.burns()
    burns = burns[burns["unit_id"] == pair["unit_id"]]
    known = burns[(burns["start"] > pair["before"]) & (burns["end"] < pair["after"])]
    burned = known["end"].max() if len(known) else pair["after"]
    before = own.index[own["mid_date"] <= pair["before"]].to_list()
    after = own.index[own["early_date"] > burned].to_list()
    return max(before, default=None), min(after, default=None)


def _judged_comparison(own: pd.DataFrame, records: Records) -> list[dict[str, object]]:
    """Rows of a comparison: burned units, then the reference units over the same two years."""
    burned, references = own[own["role"] == "burned"], own[own["role"] == "reference"]
    spans = [years_around_burn(pair, records) for _, pair in burned.iterrows()]
    judged = list(zip(burned.iterrows(), spans, strict=True))
    usual = Counter(span for span in spans if None not in span).most_common(1)
    for span, _ in usual:
        judged += [(row, span) for row in references.iterrows()]
    over = {span: _units_over(span, own["unit_id"], records) for span in set(spans)}
    return [
        _judged(pair, span, over[span], set(references["unit_id"]), records)
        for (_, pair), span in judged
    ]


def _units_over(span: Span, names: pd.Series, records: Records) -> pd.DataFrame:
    """Units that have an index in both years, and how they ``burned`` between them."""
    ready = records.ready[records.ready["unit_id"].isin(names)]
    first, last = (ready[ready["year"].isin([year])] for year in span)
    both = first.merge(last, on="unit_id", suffixes=("_before", "_after")).set_index("unit_id")
    burns, pairs = records.burns(), records.comparisons
    burned = [
        burn_between(unit.Index, unit.mid_date_before, unit.mid_date_after, pairs, burns)
        for unit in both.itertuples()
    ]
    return both.assign(burned=pd.Series(burned, index=both.index, dtype=object))


def _judged(
    pair: pd.Series, span: Span, over: pd.DataFrame, names: set[str], records: Records
) -> dict[str, object]:
    """One unit over two years against the reference units (a reference unit against the others)."""
    unit_id, years = pair["unit_id"], records.years(pair["unit_id"])
    row: dict[str, object] = {
        "comparison": pair["comparison"], "unit_id": unit_id, "role": pair["role"],
        "before_year": span[0], "after_year": span[1],
        "before_index": years["cool_index"].get(span[0]),
        "after_index": years["cool_index"].get(span[1]), "references": 0, "years_before": 0,
    }  # fmt: skip
    obstacle = _obstacle(pair, span, over, records)
    if obstacle is not None:
        return row | {"verdict": f"cannot be judged: {obstacle}"}
    both = years.loc[list(span)]
    same = (over[_PICTURES] == over.loc[unit_id, _PICTURES]).all(axis=1)
    usable = over.index.isin(names - {unit_id}) & over["burned"].isna()
    references = over[same & usable]
    floor = index_noise_floor(both, records.settings.noise_floor)
    change = both["cool_index"].iloc[1] - both["cool_index"].iloc[0]
    row |= {"change": change, "references": len(references), "noise_floor": floor}
    if references.empty:
        words = "cannot be judged: no reference unit with pictures of the same days"
        return row | {"verdict": words}
    return row | _effect(pair, both, references, floor, records)


def _effect(
    pair: pd.Series,
    both: pd.DataFrame,
    references: pd.DataFrame,
    floor: float,
    records: Records,
) -> dict[str, object]:
    """Change of one unit against its references: figures, verdict and caution."""
    settings, index = records.settings, both["cool_index"].to_numpy()
    changes = (references["cool_index_after"] - references["cool_index_before"]).to_numpy()
    against = float(change_against(index[1] - index[0], changes))
    half = half_width(changes, settings.confidence_pct, settings.least_references)
    past = _history(pair["unit_id"], both, references.index, records)
    if past is not None and np.isfinite(half):
        half = max(half, past.half)
    words = change_verdict(against, half, floor, settings)
    gap = _widest_gap_days(both)
    if gap > settings.most_date_gap_days:
        words = (
            "seasonal difference, not a change after the burn: pictures of the two years are "
            f"{gap} days apart in the course of the year"
        )
    return {
        "change_vs_reference": against,
        "interval_low": against - half,
        "interval_high": against + half,
        "years_before": past.years if past else 0,
        "verdict": f"reference unit: {words}" if pair["role"] == "reference" else words,
        "caution": _caution(pair, both, references, floor, past, records),
    }


def change_verdict(against: float, half: float, floor: float, settings: GreennessSettings) -> str:
    """What may be said of a change of the index; no more than the spread of references allows."""
    if np.isnan(half):
        return f"no interval: fewer than {settings.least_references} usable reference units"
    if abs(against) <= half:
        return "within what unburned units did"
    if abs(against) < floor:
        return f"no clear difference: smaller than the noise of the pictures ({floor:.3f})"
    kind = "cool" if against > 0 else "warm"
    return f"against unburned units, greens up more like a {kind}-season stand than before"


def _obstacle(pair: pd.Series, span: Span, over: pd.DataFrame, records: Records) -> str | None:
    """Why a unit cannot be judged over two years, with what spoiled the pictures at hand."""
    unit_id = pair["unit_id"]
    if unit_id in over.index:
        return over.loc[unit_id, "burned"] if pair["role"] == "reference" else None
    rows = records.spoiled[records.spoiled["unit_id"] == unit_id]
    if pair["role"] == "reference":
        years = records.years(unit_id)
        lost = [year for year in span if year not in years.index]
        words = f"no index of {' and '.join(map(str, lost))}"
        rows = rows[rows["year"].isin(lost)]
    else:
        side = "before" if span[0] is None else "after"
        words = f"no usable early and midsummer picture of a year {side} the burn"
        rows = rows[(rows["mid_date"] <= pair["before"]) == (side == "before")]
    why = "; ".join(f"{row.year}: {row.reason}" for row in rows.itertuples())
    return f"{words} ({why})" if why else words


def _history(
    unit_id: str, both: pd.DataFrame, references: pd.Index, records: Records
) -> HistoryEffect | None:
    """Gap to the references after the burn against the gaps of earlier years, None for too few."""
    # A year counts where no reference is missing: their mean must be of the same units.
    gaps = records.index[unit_id] - records.index[references].mean(axis=1, skipna=False)
    past = gaps[gaps.index <= both.index[0]].dropna()
    if len(past) < records.settings.least_years_before:
        return None
    return effect_of_years(
        past.to_list(), float(gaps[both.index[1]]), records.settings.confidence_pct
    )


def _widest_gap_days(both: pd.DataFrame) -> int:
    """Days between the early, or between the midsummer pictures, in the course of the year."""
    return max(season_gap_days(*both["early_date"]), season_gap_days(*both["mid_date"]))


def _caution(
    pair: pd.Series,
    both: pd.DataFrame,
    references: pd.DataFrame,
    floor: float,
    past: HistoryEffect | None,
    records: Records,
) -> str | None:
    """What to keep in mind beside the verdict, None where there is nothing."""
    first, last = both["mid_date"]
    gap = _widest_gap_days(both)
    events = records.events[records.events["unit_id"] == pair["unit_id"]]
    burns = events[(events["kind"] == "burn") & (events["start"] > first) & (events["end"] < last)]
    in_season = [
        (events["start"] <= day) & (events["end"] >= pd.Timestamp(year=day.year, month=1, day=1))
        for day in (first, last)
    ]
    worked = event_words(events[(in_season[0] | in_season[1]) & (events["kind"] != "burn")])
    index, before = both["cool_index"].iloc[0], references["cool_index_before"]
    apart = index - before.mean()
    beyond = abs(apart) > floor and not before.min() <= index <= before.max()
    notes = {
        "rests on one year before and one after, and springs differ by weeks": past is None,
        f"pictures of the two years are {gap} days apart in the course of the year":
            gap > records.settings.date_gap_days,
        "the base is a picture in one year and the setting in the other":
            both["base_from"].nunique() > 1,
        f"the change is that of all its burns: {event_words(burns)}": len(burns) > 1,
        f"grazed, cut or otherwise treated in the seasons of its pictures: {worked}":
            worked is not None,
        f"its index before was {half_up(abs(apart), 3)} {'above' if apart > 0 else 'below'} the "
        "references' and outside their range: a high one tends to fall, a low one to rise, "
        "without any burn": len(references) > 1 and beyond,
        "in earlier years it already strayed from the references by more than this":
            past is not None and past.reach > abs(past.effect),
    }  # fmt: skip
    return "; ".join(text for text, holds in notes.items() if holds) or None
