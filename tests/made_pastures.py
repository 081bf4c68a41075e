"""Made pastures on which the truth is known, many at once, judged by the shipped functions."""

from dataclasses import dataclass

import numpy as np

from pipeline.greenness.effect.carry_over import Effect, Readings, estimate_effect
from pipeline.greenness.effect.other_causes import Places, causes_beside_fire, plain_verdicts

FLOOR, CONFIDENCE_PCT, SIMILAR = 0.02, 95.0, 0.05
CALLED = ("greener", "less_green")


@dataclass(frozen=True, slots=True)
class Verdicts:
    """Code of each case, and its p value, 1 where something else may have made the change."""

    codes: np.ndarray
    p_values: np.ndarray


def effect_in(pastures: "Pastures", references: np.ndarray, alike: np.ndarray) -> Effect:
    """Effect of the burn of each case."""
    dose = np.ones(pastures.burned.after.shape)
    return estimate_effect(pastures.burned, dose, pastures.unburned, references, alike)


def verdicts(
    found: Effect, burned: Places, unburned: Places, asked: tuple[str, ...] | None = None
) -> tuple[np.ndarray, np.ndarray]:
    """Codes and p values by the shipped functions; of the other causes those ``asked``, or all."""
    causes = causes_beside_fire(found, burned, unburned, CONFIDENCE_PCT, SIMILAR)
    confounded = np.any([causes[code] for code in asked or causes], axis=0)
    floor = np.asarray(FLOOR)
    plain = plain_verdicts(found, CONFIDENCE_PCT, floor, greater="greener", less="less_green")
    small = np.abs(found.mean) < np.maximum(floor, found.noise)
    return (
        np.where(np.isin(plain, CALLED) & confounded, "confounded", plain),
        np.where(confounded | small, 1.0, found.p_value),
    )


@dataclass(frozen=True, slots=True)
class Pastures:
    """Made properties: burned units and unburned ones of each, cases on the first axis."""

    burned: Readings
    unburned: Readings
    places: tuple[Places, Places]


def made_pastures(
    chance: np.random.Generator,
    cases: int,
    unburned: int,
    *,
    years: int = 1,
    burned: int = 1,
    effect: float = 0.0,
) -> Pastures:
    """Made native pasture of units as large as each other, in years like each other.

    Spread of the levels of units .03, of what each year adds to each .012 to .024 by year; made up.
    """
    shape = (cases, burned + unburned)
    level = chance.normal(0.5, 0.03, (*shape, 1))
    spread = chance.uniform(0.012, 0.024, (cases, 1, years + 1))
    ndvi = level + spread * chance.normal(0.0, 1.0, (*shape, years + 1))
    ndvi[:, :burned, 0] += effect
    at, size = chance.uniform(0, 2000, (*shape, 2)), np.full(shape, 40.0)
    parts = np.s_[:, :burned], np.s_[:, burned:]
    readings = [Readings(n[..., 1:], n[..., 0], 0.0 * n[..., 0]) for n in (ndvi[k] for k in parts)]
    return Pastures(*readings, tuple(Places(size[k], at[k]) for k in parts))


def judged_pastures(
    pastures: Pastures,
    alike: np.ndarray | None = None,
    *,
    others: int = 0,
    asked: tuple[str, ...] | None = None,
) -> Verdicts:
    """Verdicts on made properties; of the unburned units the last are not named.

    ``alike`` marks those handled like the burned ones; with fewer than three references there is no
    verdict.
    """
    shape = pastures.unburned.after.shape
    alike = np.ones(shape, dtype=bool) if alike is None else alike
    references = alike & (np.arange(shape[1]) < shape[1] - others)
    few = references.sum(axis=1) < 3
    every = few[:, None]
    found = effect_in(pastures, references | every, alike | every)
    told = Verdicts(*verdicts(found, *pastures.places, asked))
    return Verdicts(np.where(few, "confounded", told.codes), np.where(few, 1.0, told.p_values))


def grazed_pastures(
    chance: np.random.Generator, cases: int, references: int, *, years: int = 1
) -> tuple[Pastures, np.ndarray]:
    """Properties without any effect, half of whose references were grazed, and which those are.

    Cattle took .05 or .08 of NDVI, before the first picture or after it; made up.
    """
    plain = made_pastures(chance, cases, references, years=years)
    grazed = chance.random((cases, references)) < 0.5
    hard = chance.random((cases, 1)) < 0.5
    loss = np.where(
        hard, chance.normal(0.08, 0.03, grazed.shape), chance.normal(0.05, 0.02, grazed.shape)
    )
    loss = np.where(grazed, loss, 0.0)
    late = chance.random((cases, 1)) < 0.5
    before = plain.unburned.before.copy()
    before[..., 0] -= np.where(late, 0.0, loss)
    after = plain.unburned.after - np.where(late, loss, 0.0)
    unburned = Readings(before, after, plain.unburned.pixel_variance)
    return Pastures(plain.burned, unburned, plain.places), ~grazed


def called(verdicts: Verdicts) -> float:
    """Share of cases that are called greener or less green."""
    return float(np.isin(verdicts.codes, CALLED).mean())
