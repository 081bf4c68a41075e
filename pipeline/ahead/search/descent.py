"""Prices are moved to where the bound is least: first by ever smaller steps, then to a level.

The slope of the bound jumps from one plan of a unit to another; it is smoothed over the last steps
(Camerini, Fratta and Maffioli, Mathematical Programming Study 3, 1975, from memory).
"""

from dataclasses import dataclass

import numpy as np

from pipeline.ahead.search.prices import Prices, bound_usd, each, priced, slopes
from pipeline.ahead.search.problem import Array, Problem
from pipeline.ahead.unit_years import best_years

FIRST_STEPS = 0.6
"""Share of the rounds with steps that grow smaller by themselves. Judgment of this program, as all
four figures here: found by trial on made properties."""


SMOOTH = 0.8
"""Weight of the slopes before in the smoothed one."""


AIM = 0.2
"""How far below the least bound is aimed at first, in what the bound has fallen so far."""


PATIENCE = 10
"""Steps without a lower bound, after which half as far is aimed at."""


@dataclass(frozen=True)
class Least:
    """The least bound found [$], and its prices."""

    bound_usd: float
    prices: Prices


def least_bound(problem: Problem, rounds: int) -> Least:
    """Prices whose bound is low, after so many plannings of all units.

    At first steps are parted among prices by how far each has swung (adaptive subgradients: Duchi,
    Hazan and Singer, Journal of Machine Learning Research 12, 2011), so that acres, feet and head
    need no common scale; then they are as long as would reach a level below the least bound, were
    the slope to last (Goffin and Kiwiel, Mathematical Programming 85, 1999, from memory).
    """
    descent = Descent(problem)
    for turn in range(rounds):
        descent.look()
        if turn < FIRST_STEPS * rounds:
            descent.go(1.0)
        elif descent.misses < PATIENCE:
            descent.go(descent.length_to_level())
        else:
            descent.turn_back()
    return descent.least


class Descent:
    """Prices on their way down."""

    def __init__(self, problem: Problem) -> None:
        self.problem, self.prices = problem, Prices.none(problem)
        self.scale, self.most = _scales(problem), _most(problem)
        self.smoothed = self.swung = each(np.zeros_like, self.prices)
        self.least = Least(np.inf, self.prices)
        self.first_usd = self.now_usd = -np.inf
        self.misses, self.halvings, self.weight = 0, 0, 0.0

    def look(self) -> None:
        """Plan all units at the prices as they are: the bound there, and how it falls."""
        worth, plan = best_years(self.problem, priced(self.problem, self.prices))
        self.now_usd = bound_usd(self.problem, self.prices, worth)
        if not np.isfinite(self.first_usd):
            self.first_usd = self.now_usd
        self.misses += 1
        if self.now_usd < self.least.bound_usd:
            self.least, self.misses = Least(self.now_usd, self.prices), 0
        slope = slopes(self.problem, self.prices, plan)
        self.smoothed = each(self._smooth, self.smoothed, slope)
        self.swung = each(lambda swung, step: swung + step**2, self.swung, self.smoothed)
        self.weight = SMOOTH

    def _smooth(self, before: Array, slope: Array) -> Array:
        return self.weight * before + (1.0 - self.weight) * slope

    def heading(self) -> Prices:
        """The step of length one."""
        return each(
            lambda scale, swung, slope: scale * slope / np.sqrt(np.maximum(swung, 1e-12)),
            self.scale,
            self.swung,
            self.smoothed,
        )

    def length_to_level(self) -> float:
        """Length of the step that would reach the level aimed at, were the slope to last."""
        fallen_usd = self.first_usd - self.least.bound_usd
        level_usd = self.least.bound_usd - AIM * fallen_usd / 2**self.halvings
        falls = each(np.multiply, self.smoothed, self.heading())
        return (self.now_usd - level_usd) / max(1e-12, sum(float(f.sum()) for f in falls.parts))

    def go(self, length: float) -> None:
        """Take a step; no price leaves what it may be."""
        self.prices = each(
            lambda price, step, low, most: np.clip(price + length * step, low, most),
            self.prices,
            self.heading(),
            *self.most,
        )

    def turn_back(self) -> None:
        """Go on from the least bound, with a nearer aim and no thought of the slopes before."""
        self.prices, self.weight = self.least.prices, 0.0
        self.halvings, self.misses = self.halvings + 1, 0


def _scales(problem: Problem) -> Prices:
    """First step of each price: what is typical of it in dollars.

    Where no burn is worth anything the herd is all that is weighed.
    """
    typical = max(1.0, float(problem.burn_usd.sum()))
    use = np.array([limit.use.max(axis=1).sum() for limit in problem.limits]).reshape(-1, 1)
    fed_aum = float(problem.supply_aum.max(axis=1).sum())
    herd_usd_aum = typical / max(1e-9, fed_aum) if problem.burn_usd.any() else np.inf
    return Prices(
        limits=0.5 * typical / np.maximum(use, 1e-9),
        groups=np.full((len(problem.groups), 1), 0.5 * typical / max(problem.units, 1)),
        herd=np.array(min(problem.short_usd_aum, herd_usd_aum)),
        sides=np.array(0.5),
    )


def _most(problem: Problem) -> tuple[Prices, Prices]:
    """What each price may be, from and to."""
    nothing, all_of_it = np.zeros(1), np.full(1, np.inf)
    half = np.full(1, 0.5)
    return (
        Prices(nothing, nothing, nothing, -half),
        Prices(all_of_it, all_of_it, np.full(1, problem.short_usd_aum), half),
    )
