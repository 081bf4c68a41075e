"""Burns that never were, and burns of a known effect, on made pasture: how often each is called.

Shares are of hundreds of draws; what is asked of them leaves three standard errors. The same on
real fields and with thousands of draws: ``python -m tests.benchmarks.placebo``.
"""

import numpy as np
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.greenness.change import compare_greenness
from tests.benchmarks import placebo
from tests.made_comparison import DEFAULTS, NO_TREATMENTS, comparison
from tests.made_pastures import (
    called,
    effect_in,
    grazed_pastures,
    judged_pastures,
    made_pastures,
)

FIELDS = [placebo.made_fields(np.random.default_rng([7, k])) for k in range(4)]
DRAWS = 400
FALSE_PCT = 6.0


def most(share, draws):
    """A share that as many draws stay below, but for chance of three standard errors."""
    return share + 3 * np.sqrt(share * (1 - share) / draws)


def test_a_burn_that_never_was_is_hardly_called_however_the_units_were_picked():
    told = placebo.cells(FIELDS, DRAWS, 3, effects=(0.0,))
    rates = placebo.rates(told).loc[0.0]
    assert len(rates.loc["new"]) == 45
    assert rates.loc["new"].max() <= most(FALSE_PCT / 100, DRAWS)
    assert rates.loc["new"].mean() <= FALSE_PCT / 100
    brownest = rates.loc["differences"].xs("brownest", level="way")
    assert brownest.mean() > 2 * rates.loc["new"].xs("brownest", level="way").mean()


@pytest.mark.parametrize("references", [3, 5, 8])
@pytest.mark.parametrize("years", [1, 3])
def test_grazed_references_on_record_make_no_effect(references, years):
    chance = np.random.default_rng([references, years])
    share = called(judged_pastures(*grazed_pastures(chance, 2000, references, years=years)))
    assert share <= FALSE_PCT / 100


def power(references, years, **more):
    made = made_pastures(np.random.default_rng(2), 4000, references, years=years, effect=0.06)
    return called(judged_pastures(made, **more))


def test_each_earlier_year_makes_a_true_effect_easier_to_see():
    of_start = [power(3, years, asked=("start_differs",)) for years in (1, 2, 3)]
    assert of_start[0] >= 0.20
    assert of_start[1] >= 0.35
    assert of_start[2] >= 0.50
    of_all = [power(3, years) for years in (1, 2, 3)]
    assert of_all[0] < of_all[1] < of_all[2]
    assert power(8, 1) > power(5, 1) > power(3, 1)


@pytest.mark.parametrize("burned", [1, 2, 4])
@pytest.mark.parametrize(("references", "years"), [(5, 1), (8, 1), (5, 3), (8, 3)])
def test_interval_of_several_burned_units_holds_as_often_as_it_says(burned, references, years):
    # Each draw has the truth at some place of its own distribution: 95 in 100 in the middle.
    chance = np.random.default_rng([burned, references, years])
    made = made_pastures(chance, 4000, references, years=years, burned=burned, effect=0.06)
    every = np.ones(made.unburned.after.shape, dtype=bool)
    below = effect_in(made, every, every).distribution.below(np.full(4000, 0.06))
    held = np.mean((below > 0.025) & (below < 0.975))
    assert 0.94 - 0.01 <= held <= 0.96 + 0.01


def as_comparison(fields, burns, case):
    """Frames of one case for the step itself."""
    own, places = fields.readings, fields.places
    units = [
        burns.burned[case],
        *np.flatnonzero(burns.references[case]),
        *np.flatnonzero(burns.alike[case] & ~burns.references[case]),
    ]
    named = 1 + burns.references[case].sum()
    pairs = np.column_stack([own.before[units, 0], own.after[units]])
    spread = np.sqrt(12.0 * own.pixel_variance[units[:named]])
    ground, comparisons, changes, scenes = comparison(
        burned=pairs[:1], references=pairs[1:named], others=pairs[named:], change_sd=spread
    )
    half, at = np.sqrt(places.size[units] * 10_000) / 2, places.at[units] * 1000
    shapes = shapely.box(*(at - half[:, None]).T, *(at + half[:, None]).T)
    names = [*comparisons["unit_id"], *(f"N{n}" for n in range(len(units) - named))]
    ground = ground.set_index("unit_id").loc[names].reset_index()
    return ground.set_geometry(shapes, crs=ground.crs), comparisons, changes, scenes


def test_cases_judged_together_are_judged_by_the_step_alike():
    fields, chance = FIELDS[0], np.random.default_rng(8)
    for others in (0, 8):
        burns = placebo.drawn_burns(chance, fields, "random", 5, others, 20)
        together = placebo.judged(fields, burns, 0.0)
        for case in range(20):
            frames = as_comparison(fields, burns, case)
            shares, areas = empty(LAYERS["burned_shares"]), empty(LAYERS["burned_areas"], 32614)
            told = compare_greenness(*frames, shares, areas, NO_TREATMENTS, DEFAULTS)
            row = told.set_index("unit_id").loc["U0"]
            assert row["verdict"] == together.codes[case]
            if together.p_values[case] < 1.0:
                assert row["p_value"] == pytest.approx(together.p_values[case], abs=1e-9)
