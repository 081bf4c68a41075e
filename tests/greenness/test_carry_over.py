"""Effect of a burn from one estimator: closed forms, a general statistics library, simulation.

Where the carry-over is fixed, or does not matter since all starts are the same, the effect is a
contrast of means with a t interval, which is worked by hand. Quantiles of t: scipy.
"""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from pipeline.greenness.effect.carry_over import (
    LIKENESS,
    Readings,
    carry_over_of,
    carrying_reference,
    estimate_effect,
)
from tests.made_panel import AFTER, BEFORE, effect_of, readings

ONE, NONE = np.array([1.0]), np.array([0.0])
SAME_START = np.full((6, 1), 0.42)
SAME_CHANGES = 0.42 + AFTER - BEFORE
T4 = stats.t.ppf(0.975, 4)


def told(effect):
    """Effect and the ends of its interval."""
    return [float(value) for value in (effect.mean, *effect.distribution.interval(95))]


def assert_is(effect, center, half):
    assert told(effect) == pytest.approx([center, center - half, center + half], abs=5e-7)


def test_same_starts_give_the_difference_of_differences_whatever_carries_over():
    # Worked by hand: five changes of standard deviation .01, t(4)·.01·√(1 + 1/5) = .030414.
    effect = effect_of(SAME_START, SAME_CHANGES)
    assert_is(effect, 0.07, T4 * 0.01 * np.sqrt(1.2))
    assert told(effect) == pytest.approx([0.07, 0.039586, 0.100414], abs=5e-7)
    assert effect.difference == pytest.approx(0.07)


def test_two_dates_and_three_references_of_one_start_give_the_closed_form():
    changes = np.array([0.11, 0.05, 0.07, 0.06])
    effect = effect_of(np.full((4, 1), 0.5), 0.5 + changes)
    spread = np.std(changes[1:], ddof=1)
    half = stats.t.ppf(0.975, 2) * spread * np.sqrt(1 + 1 / 3)
    assert told(effect) == pytest.approx([0.05, 0.05 - half, 0.05 + half], abs=1e-12)


@pytest.mark.parametrize(
    ("grid", "closed"),
    [(ONE, (0.07, 0.039586, 0.100414)), (NONE, (0.062, -0.003937, 0.127937))],
)
def test_one_carry_over_is_least_squares_with_an_offset(grid, closed):
    # Ordinary least squares of after − β·start on a dummy of the burned unit (statsmodels).
    effect = effect_of(BEFORE[:, None], AFTER, likeness=grid)
    dummy = sm.add_constant(np.eye(6)[0])
    fitted = sm.OLS(AFTER - grid[0] * BEFORE, dummy).fit()
    outside = [fitted.params[1], *fitted.conf_int()[1]]
    assert told(effect) == pytest.approx(outside, abs=1e-9)
    assert told(effect) == pytest.approx(closed, abs=5e-7)
    assert float(effect.p_value) == pytest.approx(fitted.pvalues[1], abs=1e-9)


def test_whole_grid_by_simulation():
    effect = effect_of(BEFORE[:, None], AFTER)
    assert told(effect) == pytest.approx([0.067764, 0.034961, 0.099372], abs=5e-7)
    assert float(effect.p_value) == pytest.approx(0.005102, abs=5e-7)
    assert float(effect.carry_over) == pytest.approx(0.720560, abs=5e-7)
    # A carry-over drawn by its weight, then a spread, then an effect.
    chance = np.random.default_rng(0)
    x, y = BEFORE[1:] - BEFORE[1:].mean(), AFTER[1:] - AFTER[1:].mean()
    squares = ((y[:, None] - LIKENESS * x[:, None]) ** 2).sum(axis=0)
    weights = squares**-2.0 / (squares**-2.0).sum()
    drawn = chance.choice(len(LIKENESS), 400_000, p=weights)
    spread = np.sqrt(squares[drawn] / chance.chisquare(4, len(drawn)))
    gap_after, gap_start = AFTER[0] - AFTER[1:].mean(), BEFORE[0] - BEFORE[1:].mean()
    center = gap_after - LIKENESS[drawn] * gap_start
    effects = center + spread * np.sqrt(1.2) * chance.normal(size=len(drawn))
    ends = np.quantile(effects, [0.025, 0.975])
    assert told(effect) == pytest.approx([effects.mean(), *ends], abs=4e-4)


def test_pixels_of_a_small_unit_widen_its_interval():
    # By hand: V = .0001·1.2 + .0004 − .0001, by Satterthwaite df = V²/(A²/4) = 49.
    variance = np.array([4e-4, *[1e-4] * 5])
    effect = effect_of(SAME_START, SAME_CHANGES, variance=variance)
    assert (effect.distribution.freedom == 49).all()
    assert_is(effect, 0.07, stats.t.ppf(0.975, 49) * np.sqrt(4.2e-4))
    assert told(effect) == pytest.approx([0.07, 0.028816, 0.111184], abs=5e-7)
    assert float(effect.noise) == pytest.approx(1.959964 * np.sqrt(4e-4 + 1e-4 / 5))
    large = effect_of(SAME_START, SAME_CHANGES, variance=np.array([1e-5, *[1e-4] * 5]))
    assert_is(large, 0.07, T4 * 0.01 * np.sqrt(1.2))


def test_half_burned_unit_tells_of_fully_burned_ground():
    effect = effect_of(SAME_START, SAME_CHANGES, dose=[0.5])
    assert told(effect) == pytest.approx([0.14, 0.079171, 0.200829], abs=5e-7)


@pytest.mark.parametrize(
    ("dose", "closed"),
    [((1, 1), (0.06, 0.036771, 0.083229)), ((1, 0.5), (0.076, 0.047040, 0.104960))],
)
def test_two_units_of_one_burn_are_pooled(dose, closed):
    changes = np.array([0.14, 0.12, 0.07, 0.08, 0.06, 0.06, 0.08])
    effect = effect_of(np.full((7, 1), 0.42), 0.42 + changes, burned=2, dose=dose)
    c = np.array(dose) / np.square(dose).sum()
    half = T4 * 0.01 * np.sqrt(c @ c + c.sum() ** 2 / 5)
    assert_is(effect, c @ (changes[:2] - 0.07), half)
    assert told(effect) == pytest.approx(closed, abs=5e-7)


YEARS = [(0.42, 0.42), (0.43, 0.41), (0.41, 0.43), (0.42, 0.42), (0.44, 0.40), (0.40, 0.44)]


@pytest.mark.parametrize(
    ("more", "half"),
    [
        ({}, 0.038690),
        ({"likeness": ONE}, stats.t.ppf(0.975, 8) * np.sqrt(0.0034 / 8 * 1.2)),
        ({"likeness": NONE}, 0.033417),
        ({"most_lent": 0.0}, T4 * 0.01 * np.sqrt(1.2)),
    ],
)
def test_earlier_years_lend_spread_and_four_degrees_of_freedom(more, half):
    # By hand at likeness 1: the years' differences have a sum of squares of .004, three quarters
    # of which count as of one year against the mean of two.
    effect = effect_of(YEARS, 0.36 + AFTER - BEFORE, **more)
    assert_is(effect, 0.07, half)
    assert (effect.distribution.freedom == (4 if "most_lent" in more else 8)).all()


def test_more_years_lend_no_more_degrees_of_freedom():
    three = np.column_stack([YEARS, np.full(6, 0.42)])
    effect = effect_of(three, 0.36 + AFTER - BEFORE)
    assert (effect.distribution.freedom == 8).all()


def test_odd_year_lends_nothing():
    wet = effect_of(YEARS, 0.56 + AFTER - BEFORE)
    assert (wet.distribution.freedom == 4).all()


def test_start_far_off_must_hold_whatever_carries_over():
    before = np.array([0.30, *BEFORE[1:]])[:, None]
    off = effect_of(before, AFTER)
    assert told(off) == pytest.approx([0.147026, 0.079334, 0.191810], abs=5e-7)
    assert off.p_value < 0.05 < off.hull_p
    assert float(off.start_gap) == pytest.approx(-0.118)
    clear = effect_of(before, [0.58, *AFTER[1:]])
    assert float(clear.mean) == pytest.approx(0.177026, abs=5e-7)
    assert clear.hull_p < 0.05


def test_start_off_as_in_every_year_is_no_gap():
    years = np.full((6, 3), 0.42) + np.array([-0.10, 0, 0, 0, 0, 0])[:, None]
    effect = effect_of(years, SAME_CHANGES)
    assert float(effect.start_gap) == pytest.approx(0.0)
    years[0, 0] += 0.06
    assert float(effect_of(years, SAME_CHANGES).start_gap) == pytest.approx(0.06)


def test_carry_over_of_a_mean_of_years_is_the_slope_on_it():
    # The slope of a value on the mean of K others, all correlated alike: covariance by variance.
    for years, rho in ((1, 0.4), (3, 0.4), (4, 0.9)):
        common = np.full((years + 1, years + 1), rho) + (1 - rho) * np.eye(years + 1)
        mean = np.array([0.0, *[1 / years] * years])
        slope = (common @ mean)[0] / (mean @ common @ mean)
        assert carry_over_of(np.array(rho), years) == pytest.approx(slope)


def test_enough_units_of_a_like_start_stand_alone():
    before = np.array([0.30, *[0.28, 0.30, 0.33], *[0.27, 0.31, 0.34], *[0.60, 0.62]])
    effect = effect_of(before[:, None], before + 0.05, others=5)
    assert effect.matched
    assert effect.references.tolist() == [True] * 3 + [False] * 5
    assert effect.alike.tolist() == [True] * 6 + [False] * 2
    fewer = effect_of(before[[0, 1, 2, 3, 4, 5, 7, 8], None], np.arange(8) / 10, others=4)
    assert not fewer.matched
    assert fewer.alike.all()


def test_more_than_all_of_the_start_carries_over_where_the_units_spread():
    before = np.linspace(0.3, 0.38, 7)
    effect = effect_of(before[:, None], 0.2 + 1.5 * before)
    assert float(effect.carry_over) == pytest.approx(1.5, abs=0.02)
    assert float(effect.mean) == pytest.approx(0.0, abs=1e-3)


def test_cases_answered_at_once_are_those_answered_alone():
    chance = np.random.default_rng(5)
    before, after = chance.normal(0.5, 0.05, (40, 9, 2)), chance.normal(0.5, 0.05, (40, 9))
    variance = chance.uniform(0, 1e-3, (40, 9))
    dose = chance.uniform(0.4, 1.0, (40, 2))
    references = np.arange(7) < chance.integers(3, 6, 40)[:, None]
    alike = references | (chance.random((40, 7)) < 0.5)

    def cases(chosen):
        sides = (np.s_[chosen, :2], np.s_[chosen, 2:])
        burned, rest = (Readings(before[s], after[s], variance[s]) for s in sides)
        return estimate_effect(burned, dose[chosen], rest, references[chosen], alike[chosen])

    together = cases(slice(None))
    ends = np.array(together.distribution.interval(90))
    for k in range(40):
        alone = cases(k)
        assert together.mean[k] == pytest.approx(float(alone.mean), abs=1e-12)
        assert together.p_value[k] == pytest.approx(float(alone.p_value), abs=1e-12)
        assert ends[:, k] == pytest.approx(np.array(alone.distribution.interval(90)), abs=1e-11)


def test_figures_move_with_the_data():
    effect, higher = (
        effect_of(BEFORE[:, None], AFTER),
        effect_of(BEFORE[:, None] + 0.1, AFTER + 0.2),
    )
    assert told(higher) == pytest.approx(told(effect), abs=1e-9)
    turned = effect_of(-BEFORE[:, None], -AFTER)
    assert told(turned) == pytest.approx([-told(effect)[0], *(-np.array(told(effect)[:0:-1]))])
    assert float(turned.p_value) == pytest.approx(float(effect.p_value))


def test_units_without_any_spread_are_certain():
    alike = effect_of(np.full((6, 1), 0.4), [0.47, *[0.45] * 5])
    assert told(alike) == pytest.approx([0.02] * 3, abs=1e-12)
    assert float(alike.p_value) == 0.0
    nothing = effect_of(BEFORE[:, None], BEFORE)
    assert told(nothing) == pytest.approx([0.0] * 3, abs=1e-9)
    assert float(nothing.p_value) == pytest.approx(1.0)


def test_reference_that_carries_the_spread_is_named():
    hayed = AFTER.copy()
    hayed[5] = 0.38
    rest = readings(BEFORE[1:, None], hayed[1:])
    assert int(carrying_reference(effect_of(BEFORE[:, None], hayed), rest)) == 4
    clean = readings(BEFORE[1:, None], AFTER[1:])
    assert int(carrying_reference(effect_of(BEFORE[:, None], AFTER), clean)) == -1
    four = readings(BEFORE[1:5, None], [0.50, 0.47, 0.51, 0.20])
    few = effect_of(BEFORE[:5, None], [0.55, 0.50, 0.47, 0.51, 0.20])
    assert int(carrying_reference(few, four)) == -1, "of four none can be told"


def test_spread_without_the_one_that_carries_it_by_hand():
    chance = np.random.default_rng(3)
    for _ in range(200):
        after = np.append(0.5, chance.standard_t(2, 6) * 0.02 + 0.5)
        effect = effect_of(np.full((7, 1), 0.5), after)
        rest = after[1:]
        less = [np.std(np.delete(rest, k), ddof=1) / np.std(rest, ddof=1) for k in range(6)]
        expected = int(np.argmin(less)) if min(less) < 0.5 else -1
        told = carrying_reference(effect, readings(np.full((6, 1), 0.5), rest))
        assert int(told) == expected
