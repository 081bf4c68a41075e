"""How often a burn that never was is called one, and how often a true effect is seen.

    python -m tests.benchmarks.placebo 6000 --fields FIELDS.csv

``FIELDS.csv`` holds the mean NDVI of real fields by date: columns ``field``, ``acres``, ``x_km``,
``y_km``, ``date``, ``mean``, ``sd`` and ``pixels``. Nothing burned there, so every verdict of
change is a false one. Without it, made pasture stands for them. A cell is a number of references, a
way in which the burned unit and its references are picked, and a number of further unburned units;
all pairs of dates are pooled. Beside it stands the difference of differences with its t interval.
What is judged is judged by the shipped functions.
"""

import argparse
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import stats

from pipeline.greenness.effect.carry_over import Readings, estimate_effect
from pipeline.greenness.effect.other_causes import Places
from pipeline.pictures.autocorrelation import Range, effective_pixels
from tests.made_pastures import (
    FLOOR,
    Pastures,
    Verdicts,
    called,
    grazed_pastures,
    judged_pastures,
    made_pastures,
    verdicts,
)

PAIRS = (
    ("2017-02-15", "2018-02-07"),
    ("2017-03-27", "2018-03-19"),
    ("2017-05-06", "2018-05-06"),
    ("2017-05-27", "2018-05-21"),
)
"""Pairs of dates of the real fields, a year apart."""


WAYS = ("random", "small", "large", "brownest", "block")
REFERENCES = (3, 5, 8)
OTHERS = (0, 8, None)
"""Further unburned units besides the references: none, eight, or all there are."""


ALIKE = Range(195.0)
AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Fields:
    """Fields of a place: NDVI in the years before (newest first) and after, and where they are."""

    readings: Readings
    places: Places

    def __len__(self) -> int:
        return len(self.places.size)


@dataclass(frozen=True, slots=True)
class Burns:
    """Burned field of each case, and masks of its references and of all units for the spread."""

    burned: np.ndarray
    references: np.ndarray
    alike: np.ndarray


def fields_of(table: pd.DataFrame, before: str, after: str) -> Fields:
    """Real fields that are seen on both dates; noise of their pixels from the spread within."""
    two = [table[table["date"] == date].set_index("field") for date in (before, after)]
    old, new = two[0].align(two[1], join="inner", axis=0)
    worth = np.array([effective_pixels(n, 10.0, ALIKE) for n in new["pixels"]])
    variance = (old["sd"] ** 2 + new["sd"] ** 2).to_numpy() / 2.0 / worth
    readings = Readings(old[["mean"]].to_numpy(), new["mean"].to_numpy(), variance)
    return Fields(readings, Places(old["acres"].to_numpy(), old[["x_km", "y_km"]].to_numpy()))


def made_fields(chance: np.random.Generator, count: int = 60, years: int = 1) -> Fields:
    """Made native pasture: levels that last, answers to each year that do not, no burn at all.

    Spread of the levels .03, of the answers .02 on average and another one each year.
    """
    level = chance.normal(0.55, 0.03, count)
    answers = chance.uniform(0.01, 0.03, years + 1) * chance.normal(0, 1, (count, years + 1))
    weather = chance.normal(0, 0.02, years + 1)
    ndvi = level[:, None] + answers + weather
    size = np.exp(chance.normal(np.log(16.0), 0.8, count))
    variance = np.full(count, 0.04**2 / 12.0) * 16.0 / size
    readings = Readings(ndvi[:, 1:], ndvi[:, 0], variance)
    return Fields(readings, Places(size, chance.uniform(0, 5, (count, 2))))


def drawn_burns(
    chance: np.random.Generator, fields: Fields, way: str, m: int, others: int | None, count: int
) -> Burns:
    """Fields picked at random, or by size, or the brownest of some, or neighbors of one another."""
    units, size, at = len(fields), fields.places.size, fields.places.at
    order = chance.random((count, units)).argsort(axis=1)
    if way in ("small", "large"):
        by_size = size.argsort() if way == "small" else (-size).argsort()
        least = max(m + 1, min(25, units // 3))
        end, other_end = by_size[:least], by_size[-least:]
        burned = chance.choice(end, count)
        is_other_end = np.isin(np.arange(units), other_end)
        order = _first(order, is_other_end[order] & (order != burned[:, None]))
    elif way == "block":
        burned = order[:, 0]
        distance = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
        order = distance[burned].argsort(axis=1)[:, 1:]
    else:
        burned, order = order[:, 0], order[:, 1:]
    if way == "brownest":
        start = fields.readings.start
        picked = np.column_stack([burned, order[:, :m]])
        lowest = start[picked].argmin(axis=1)
        burned = picked[np.arange(count), lowest]
        rest = picked[np.arange(m + 1) != lowest[:, None]].reshape(count, m)
        order = np.column_stack([rest, order[:, m:]])
    order = _first(order, order != burned[:, None])
    references = _mask(order[:, :m], units)
    rest = order[:, m : units - 1]
    if others is not None:
        rest = np.take_along_axis(rest, chance.random(rest.shape).argsort(axis=1), axis=1)
        rest = rest[:, :others]
    return Burns(burned, references, references | _mask(rest, units))


def _first(order: np.ndarray, chosen: np.ndarray) -> np.ndarray:
    """The chosen ones in front, in their order."""
    return np.take_along_axis(order, (~chosen).argsort(axis=1, kind="stable"), axis=1)


def _mask(numbers: np.ndarray, units: int) -> np.ndarray:
    """Which of the units each row names."""
    mask = np.zeros((len(numbers), units), dtype=bool)
    np.put_along_axis(mask, numbers, values=True, axis=1)
    return mask


def judged(fields: Fields, burns: Burns, effect: float = 0.0) -> Verdicts:
    """Verdicts on burns that did so much to the burned fields."""
    told = []
    for first in range(0, len(burns.burned), AT_ONCE):
        number, references, alike = (
            cases[first : first + AT_ONCE]
            for cases in (burns.burned[:, None], burns.references, burns.alike)
        )
        own, places = fields.readings, fields.places
        noise = own.pixel_variance
        burned = Readings(own.before[number], own.after[number] + effect, noise[number])
        # Of units that a comparison does not name the noise is not known.
        rest = Readings(own.before, own.after, np.where(references, noise, np.nan))
        here = Places(places.size[number], places.at[number])
        found = estimate_effect(burned, np.ones(number.shape), rest, references, alike)
        told.append(verdicts(found, here, places))
    return Verdicts(*(np.concatenate(parts) for parts in zip(*told, strict=True)))


def by_differences(fields: Fields, burns: Burns, effect: float = 0.0) -> np.ndarray:
    """P value of the difference of differences, 1 below the noise of the pictures."""
    change = fields.readings.after - fields.readings.start
    m = burns.references.sum(axis=1)
    mean = (burns.references * change).sum(axis=1) / m
    off = np.where(burns.references, change - mean[:, None], 0.0)
    spread = np.sqrt((off**2).sum(axis=1) / (m - 1) * (1 + 1 / m))
    against = change[burns.burned] + effect - mean
    p = 2 * stats.t.sf(np.abs(against) / spread, m - 1)
    return np.where(np.abs(against) < FLOOR, 1.0, p)


def cells(
    places: list[Fields],
    count: int,
    seed: int,
    *,
    others: tuple[int | None, ...] = OTHERS,
    effects: tuple[float, ...] = (0.0, 0.06, 0.10),
) -> pd.DataFrame:
    """P values by way, number of references, further units, effect and method."""
    rows = []
    for way in WAYS:
        for m in REFERENCES:
            for more in others:
                for place, fields in enumerate(places):
                    chance = np.random.default_rng([seed, place, m, WAYS.index(way), more or 99])
                    burns = drawn_burns(chance, fields, way, m, more, count // len(places))
                    for effect in effects:
                        cell = {"way": way, "m": m, "others": "all" if more is None else more}
                        cell |= {"effect": effect}
                        new = judged(fields, burns, effect).p_values
                        today = by_differences(fields, burns, effect)
                        rows += [cell | {"method": "new", "p": new}]
                        rows += [cell | {"method": "differences", "p": today}]
    return pd.DataFrame(rows)


def rates(table: pd.DataFrame, level: float = 0.05) -> pd.Series:
    """Share of the burns of each cell that are called, pairs of dates pooled."""
    called = table.assign(called=[float((p < level).mean()) for p in table["p"]])
    return called.groupby(["effect", "method", "others", "way", "m"], sort=False)["called"].mean()


def level_of_error(table: pd.DataFrame, worst: float) -> float:
    """Level of p at which the worst cell without any effect is called no more often than that."""
    none = table[table["effect"] == 0.0]
    low, high = 0.0, 0.05
    for _ in range(30):
        middle = (low + high) / 2
        too_often = rates(none, middle).max() > worst
        low, high = (low, middle) if too_often else (middle, high)
    return low


def main() -> None:
    """Draw burns, and print the rates of each cell and the power at equal error."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("count", type=int, help="burns a cell, all pairs of dates together")
    parser.add_argument("--fields", type=Path, help="mean NDVI of real fields by date")
    parser.add_argument("--seed", type=int, default=17)
    told = parser.parse_args()
    if told.fields:
        table = pd.read_csv(told.fields)
        places = [fields_of(table, *pair) for pair in PAIRS]
    else:
        places = [made_fields(np.random.default_rng([told.seed, k])) for k in range(4)]
    drawn = cells(places, told.count, told.seed)
    print("share called at p < .05, by effect")
    print(rates(drawn).unstack("m").unstack("way").round(3).to_string())
    for more, some in drawn.groupby("others", sort=False):
        by_method = dict(list(some.groupby("method")))
        worst = rates(by_method["new"]).loc[0.0].max()
        for method, rows in by_method.items():
            level = 0.05 if method == "new" else level_of_error(rows, worst)
            power = rates(rows, level).groupby("effect").mean().round(3).to_dict()
            print(f"others {more}, worst cell {worst:.3f}: {method} at p < {level:.4f}: {power}")
    for m in REFERENCES:
        chance = np.random.default_rng([told.seed, m])
        share = called(judged_pastures(*grazed_pastures(chance, told.count, m)))
        print(f"half of {m} references grazed, on record: {share:.3f}")
    for m in REFERENCES:
        for asked in (("start_differs",), None):
            powers = [
                called(judged_pastures(pastures_of(told, m, years, 0.06), asked=asked))
                for years in (1, 2, 3)
            ]
            words = "of the start alone" if asked else "of all"
            print(f"power for +.06, {m} references, 1 to 3 years, asked {words}: {powers}")


def pastures_of(told: argparse.Namespace, m: int, years: int, effect: float) -> Pastures:
    """Made pastures of so many references and years."""
    chance = np.random.default_rng([told.seed, m, years])
    return made_pastures(chance, told.count, m, years=years, effect=effect)


if __name__ == "__main__":
    main()
