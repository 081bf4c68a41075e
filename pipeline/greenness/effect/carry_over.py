"""Effect of a burn: burned units against unburned ones, whatever of their start carries over.

Ground that starts browner than its neighbors tends to catch up without any fire, and how much of
a head start carries over into the next year nobody knows beforehand. So *after* is regressed on
the start (analysis of covariance), and the carry-over is not assumed but gone through on a grid:
each value counts by how well it tells the unburned units. Carry-over 1 alone would be the
difference of differences, carry-over 0 the comparison of the pictures after the burn.

Every array has a unit on its last axis (``before`` a year behind it); axes in front are separate
cases that are answered at once.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.greenness.effect.t_mixture import TMixture

LIKENESS = np.linspace(0.0, 1.0, 101)
"""Likeness (correlation) of one year to another, gone through from none to all; all count alike."""


LEAST_ALIKE = 6
"""Unburned units from which their own spread tells the carry-over; judgment, no source."""


LEAST_REFERENCES = 3
"""References of a like start that are needed to leave the others out; judgment, no source."""


START_REACH = 0.08
"""NDVI that starts may differ by and still be alike; judgment on unburned fields, no source."""


MOST_LENT = 4.0
"""Degrees of freedom that earlier years may lend, however many; judgment, no source."""


ORDINARY_SHIFT = 0.03
"""Shift of NDVI from the years before that is ordinary in any case; judgment, no source."""


LEAST_SQUARES = 1e-12
"""Sum of squares of NDVI below which a carry-over fits no better; rounding of the figures."""


MOST_FREEDOM = 300
"""Degrees of freedom from which Student's t is as good as normal."""


@dataclass(frozen=True, slots=True)
class Readings:
    """NDVI of some units: K years ``before`` (newest first), the year ``after``, noise of pixels.

    ``pixel_variance`` is the variance of a unit's mean change from its pixels alone, the square of
    their spread by their effective number; NaN where it is not known.
    """

    before: np.ndarray
    after: np.ndarray
    pixel_variance: np.ndarray

    @property
    def start(self) -> np.ndarray:
        """Mean of the years before."""
        return np.asarray(self.before.mean(axis=-1))


@dataclass(frozen=True, slots=True)
class Effect:
    """Change of NDVI by a burn per fully burned ground, and what it rests on.

    ``distribution`` is what is known of it, ``p_value`` two-sided against no effect, ``hull_p``
    the greatest one of any single carry-over. ``difference`` is the difference of differences,
    ``carry_over`` the mean one used. ``noise`` is the change that pixels alone may make,
    ``start_gap`` how far the start was off what is usual for the unit, ``drift`` what the change of
    the references would be in an effect. ``references`` and ``alike`` mark the units used for the
    mean and for the spread, ``matched`` whether they are those of a like start.
    """

    distribution: TMixture
    p_value: np.ndarray
    hull_p: np.ndarray
    difference: np.ndarray
    carry_over: np.ndarray
    noise: np.ndarray
    start_gap: np.ndarray
    drift: np.ndarray
    references: np.ndarray
    alike: np.ndarray
    matched: np.ndarray

    @property
    def mean(self) -> np.ndarray:
        """The effect itself."""
        return self.distribution.mean


def carry_over_of(likeness: np.ndarray, years: int) -> np.ndarray:
    """Share of the start, a mean of K years, that carries over: K·ρ / (1 + (K − 1)·ρ).

    ρ is the likeness of one year to another; the slope of one year on the mean of K others that are
    as like each other.
    """
    return years * likeness / (1.0 + (years - 1) * likeness)


def estimate_effect(
    burned: Readings,
    dose: np.ndarray,
    unburned: Readings,
    references: np.ndarray,
    alike: np.ndarray,
    *,
    likeness: np.ndarray = LIKENESS,
    most_lent: float = MOST_LENT,
) -> Effect:
    """Effect of a burn on one or several units, held against unburned ones.

    With x the start, a after, f the ``dose`` (burned share, 0 to 1) and c = f/Σf², so that the
    effect is per fully burned ground:

    - d(β) = Σc·[(a − ā) − β·(x − x̄)], the means being those of the m ``references``;
    - Q(β) = Syy − 2β·Sxy + β²·Sxx over the n units that are ``alike`` (the references among them),
      with ν = n − 1 degrees of freedom, and what earlier years lend;
    - V(β) = Q/ν·(Σc² + (Σc)²/m) + Σc²·max(0, v − v̄), v being the variance from pixels alone;
    - each β counts by Q(β)^(−ν/2), and the effect is the mixture of t(d, √V).

    *Source*: analysis of covariance; the spread is integrated out as for a regression with a flat
    prior (A. Gelman et al., Bayesian Data Analysis: from memory), the degrees of freedom of V are
    F. E. Satterthwaite's, Biometrics Bulletin 2 (1946) 110-114 (from memory).

    *Assumes*: unburned units spread alike around one line, and burned ones would too, but for the
    fire and for what their own pixels add.
    """
    references, alike, matched = _of_like_start(burned, unburned, references, alike)
    years, c = burned.before.shape[-1], dose / (dose**2).sum(axis=-1, keepdims=True)
    squares, freedom, beta = _spread(unburned, references, alike, years, likeness, most_lent)
    of_after = _off(burned.after, unburned.after, references, c)
    of_start = _off(burned.start, unburned.start, references, c)
    centers = of_after[..., None] - beta * of_start[..., None]

    ones, count = c.sum(axis=-1), references.sum(axis=-1)
    own = (c**2).sum(axis=-1) + ones**2 / count
    shared = squares / freedom[..., None] * own[..., None]
    more = np.nan_to_num(burned.pixel_variance - _mean(unburned.pixel_variance, alike)[..., None])
    variance = shared + ((c**2) * np.maximum(more, 0.0)).sum(axis=-1)[..., None]
    worth = np.divide(variance, shared, out=np.ones_like(shared), where=shared > 0.0) ** 2
    distribution = TMixture(
        weights=_weights(squares, freedom),
        centers=centers,
        scales=np.sqrt(variance),
        freedom=np.floor(np.clip(freedom[..., None] * worth, 1, MOST_FREEDOM) + 1e-9).astype(int),
    )
    parts = distribution.parts_below(np.zeros(of_after.shape))
    lost = (distribution.weights * parts).sum(axis=-1)
    pixels = (c**2 * np.nan_to_num(burned.pixel_variance)).sum(axis=-1)
    of_references = np.nan_to_num(_mean(unburned.pixel_variance, references)) * ones**2 / count
    return Effect(
        distribution=distribution,
        p_value=_two_sided(lost, lost),
        hull_p=_two_sided(parts.max(axis=-1), parts.min(axis=-1)),
        difference=of_after - of_start,
        carry_over=(distribution.weights * beta).sum(axis=-1),
        noise=1.959964 * np.sqrt(pixels + of_references),
        start_gap=_start_gap(burned, unburned, references, c),
        drift=_mean(unburned.after - unburned.start, references) * ones,
        references=references,
        alike=alike,
        matched=matched,
    )


def _two_sided(most: np.ndarray, least: np.ndarray) -> np.ndarray:
    """Two-sided p value of probabilities to be below zero, as far as the figures tell them."""
    return np.clip(2.0 * np.minimum(most, 1.0 - least), 0.0, 1.0)


def carrying_reference(effect: Effect, unburned: Readings) -> np.ndarray:
    """Number of the reference without which the references spread less than half; −1 for none.

    The spread is the standard deviation of after less the carried-over start; of fewer than five
    references none is told. *Source*: one half is judgment; leaving out one at a time is the
    jackknife.
    """
    count = effect.references.sum(axis=-1)[..., None]
    rest = unburned.after - effect.carry_over[..., None] * unburned.start
    off = np.where(effect.references, rest - _mean(rest, effect.references)[..., None], 0.0)
    total = (off**2).sum(axis=-1, keepdims=True)
    left = np.maximum(total - off**2 * count / np.maximum(count - 1, 1), 0.0)
    quarter = left * (count - 1) < 0.25 * total * (count - 2)
    carries = quarter & effect.references & (count >= 5)
    return np.where(carries.any(axis=-1), np.argmin(np.where(carries, left, np.inf), axis=-1), -1)


def _mean(values: np.ndarray, chosen: np.ndarray) -> np.ndarray:
    """Mean over the chosen units that have a value; NaN where none has."""
    counted = chosen & np.isfinite(values)
    count = counted.sum(axis=-1)
    total = np.where(counted, values, 0.0).sum(axis=-1)
    return np.asarray(np.divide(total, count, out=np.full(count.shape, np.nan), where=count > 0))


def _off(
    of_burned: np.ndarray, of_unburned: np.ndarray, references: np.ndarray, c: np.ndarray
) -> np.ndarray:
    """Weighted sum of how far the burned units lie off the references' mean."""
    off = of_burned - _mean(of_unburned, references)[..., None]
    return np.asarray((c * off).sum(axis=-1))


def _of_like_start(
    burned: Readings, unburned: Readings, references: np.ndarray, alike: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """References and alike units narrowed to those of a like start, where there are enough."""
    apart = np.abs(unburned.start[..., :, None] - burned.start[..., None, :]).min(axis=-1)
    near = apart <= START_REACH + 1e-12
    enough = ((alike & near).sum(axis=-1) >= LEAST_ALIKE) & (
        (references & near).sum(axis=-1) >= LEAST_REFERENCES
    )
    kept = near | ~enough[..., None]
    return references & kept, alike & kept, enough


def _spread(
    unburned: Readings,
    references: np.ndarray,
    alike: np.ndarray,
    years: int,
    likeness: np.ndarray,
    most_lent: float,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Sum of squares Q at each carry-over, its degrees of freedom, and the carry-overs."""

    def off_mean(values: np.ndarray) -> np.ndarray:
        return np.where(alike, values - _mean(values, alike)[..., None], 0.0)

    x, y = off_mean(unburned.start), off_mean(unburned.after)
    sxx, sxy, syy = _products(x, y)
    count = alike.sum(axis=-1)[..., None]
    # Where the units spread more after than before, more than all of the start carries over.
    wider = np.sqrt(np.divide(syy, sxx, out=np.ones_like(syy), where=sxx > 0.0))
    stretch = np.where(count >= LEAST_ALIKE, np.maximum(wider, 1.0), 1.0)
    beta = carry_over_of(likeness, years) * stretch
    squares = _residual_squares(sxx, sxy, syy, beta)
    freedom = np.maximum(count - 1.0, 1.0)
    if years > 1 and most_lent > 0.0:
        lent = np.minimum(most_lent, freedom * (years - 1)) * _ordinary(unburned, references)
        squares = squares + lent * _earlier_squares(unburned, off_mean, likeness) / freedom
        freedom = freedom + lent
    return squares, freedom[..., 0], beta


def _products(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Sums of squares and products of two centered variables: Sxx, Sxy, Syy."""
    sxx, sxy, syy = (np.asarray((a * b).sum(axis=-1)) for a, b in ((x, x), (x, y), (y, y)))
    return sxx[..., None], sxy[..., None], syy[..., None]


def _residual_squares(
    sxx: np.ndarray, sxy: np.ndarray, syy: np.ndarray, beta: np.ndarray
) -> np.ndarray:
    """Sum of squares that is left of y after β·x: Syy − 2β·Sxy + β²·Sxx."""
    return np.maximum(syy - 2.0 * beta * sxy + beta**2 * sxx, 0.0)


def _others_mean(before: np.ndarray, year: int) -> np.ndarray:
    """Mean of the other years before."""
    return np.asarray(np.delete(before, year, axis=-1).mean(axis=-1))


def _earlier_squares(unburned: Readings, off_mean, likeness: np.ndarray) -> np.ndarray:  # type: ignore[no-untyped-def]
    """Sum of squares of one earlier year against the others at each likeness, mean of all years.

    A year against K − 1 others is a little less certain than one against K; the last factor makes
    up for that.
    """
    before = unburned.before
    years = before.shape[-1]
    beta = carry_over_of(likeness, years - 1)
    total = np.zeros(())
    for year in range(years):
        y, x = off_mean(before[..., year]), off_mean(_others_mean(before, year))
        total = total + _residual_squares(*_products(x, y), beta)
    of_k, of_less = (1.0 + likeness / (1.0 + (k - 1) * likeness) for k in (years, years - 1))
    return total / years * of_k / of_less


def _ordinary(unburned: Readings, references: np.ndarray) -> np.ndarray:
    """Whether the year after was no further off the years before than those were off each other."""
    years = unburned.before.shape[-1]
    means = np.stack([_mean(unburned.before[..., k], references) for k in range(years)], axis=-1)
    usual = np.max([np.abs(means[..., k] - _others_mean(means, k)) for k in range(years)], axis=0)
    shift = np.abs(_mean(unburned.after, references) - means.mean(axis=-1))
    return np.asarray(shift <= np.maximum(2.0 * usual, ORDINARY_SHIFT))[..., None]


def _start_gap(
    burned: Readings, unburned: Readings, references: np.ndarray, c: np.ndarray
) -> np.ndarray:
    """How far the newest year was off the references, less what it was off in the years before."""
    years = burned.before.shape[-1]
    each = [
        _off(burned.before[..., k], unburned.before[..., k], references, c) for k in range(years)
    ]
    gaps = np.stack(each, axis=-1) / c.sum(axis=-1)[..., None]
    usual = gaps[..., 1:].mean(axis=-1) if years > 1 else 0.0
    return np.asarray(gaps[..., 0] - usual)


def _weights(squares: np.ndarray, freedom: np.ndarray) -> np.ndarray:
    """Weight of each carry-over: Q to the power of −ν/2, adding up to 1."""
    log = np.log(np.maximum(squares, LEAST_SQUARES))
    weights = np.exp(-freedom[..., None] / 2.0 * (log - log.min(axis=-1, keepdims=True)))
    return np.asarray(weights / weights.sum(axis=-1, keepdims=True))
