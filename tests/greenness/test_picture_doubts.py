"""Composites that a burn falls into, and units whose loss is likely cloud.

Composites: MOD13Q1 takes each pixel from one of 16 days (LP DAAC). Cloud: a fall of NDVI of more
than 0.3 beyond every other unit's, common practice, no source.
"""

import numpy as np
import pandas as pd
import pytest

from pipeline.greenness.picture_doubts import (
    burned_within,
    cloud_suspicion,
    cloudy_units,
    composite_words,
    last_days,
)
from tests.made_scenes import treated
from tests.made_season import log_of

BEFORE, AFTER = pd.Timestamp("2026-04-07"), pd.Timestamp("2026-07-12")
SIXTEEN = pd.Series({day: day + pd.Timedelta(days=15) for day in (BEFORE, AFTER)})
PAIR = pd.DataFrame({"unit_id": ["U0", "U1"], "role": ["burned", "reference"], "before": BEFORE,
                     "after": AFTER})  # fmt: skip


def burned(*days):
    return log_of("unit_id start kind", *(("U0", day, "burn") for day in days))


@pytest.mark.parametrize(
    ("day", "side"),
    [("2026-04-06", None), ("2026-04-07", "before"), ("2026-04-22", "before"),
     ("2026-04-23", None), ("2026-07-12", "after"), ("2026-07-27", "after"), ("2026-07-28", None)],
)  # fmt: skip
def test_burn_among_the_days_of_a_composite(day, side):
    told = burned_within(PAIR, SIXTEEN, burned(day))
    assert told[1] is None, "a reference is not burned"
    if side is None:
        assert told[0] is None
    else:
        assert told[0].startswith(f"the picture {side}, of ")
        assert told[0].endswith("is made of days before and after the burn")


def test_pictures_of_a_single_day_are_never_composites():
    single = pd.Series({BEFORE: BEFORE, AFTER: AFTER})
    assert burned_within(PAIR, single, burned("2026-04-07")).isna().all()
    assert composite_words(PAIR.loc[0], single) is None
    assert composite_words(PAIR.loc[0], SIXTEEN) == (
        "made of the best pixels of 2026-04-07 to 2026-04-22 and of 2026-07-12 to 2026-07-27: the "
        "burn must not lie among them"
    )


@pytest.mark.parametrize(
    ("change", "date"), [(-0.36, AFTER), (-0.34, None), (0.0, None), (0.42, BEFORE), (0.39, None)]
)
def test_cloud_is_suspected_on_the_picture_it_darkens(change, date):
    told = cloud_suspicion(change, np.array([-0.05, 0.02, 0.10]), BEFORE, AFTER, 0.3)
    assert told is None if date is None else f"cloud or haze on {date:%Y-%m-%d}?" in told


def test_one_other_unit_is_not_enough_to_tell_which_is_odd():
    assert cloud_suspicion(-0.9, np.array([0.1]), BEFORE, AFTER, 0.3) is None


def series(fall, days=(BEFORE, AFTER), cloudy=()):
    rows = [(unit, day, level - (fall if unit == "U1" and day == days[-1] else 0.0))
            for unit, level in (("U0", 0.5), ("U1", 0.6), ("U2", 0.4))
            for day in days if (unit, day) not in cloudy]  # fmt: skip
    frame = pd.DataFrame(rows, columns=["unit_id", "date", "mean"])
    return frame.assign(kind="ndvi", last_day=frame["date"])


NOTHING = treated()


def test_unit_that_fell_alone_is_told_unless_something_was_done_to_it():
    (row,) = cloudy_units(series(0.35), NOTHING, 0.3).itertuples(index=False)
    assert (row.unit_id, row.date) == ("U1", AFTER)
    assert row.drop == pytest.approx(0.35)
    assert cloudy_units(series(0.25), NOTHING, 0.3).empty
    assert cloudy_units(series(0.35), treated(("U1", "2026-05-01", "burn")), 0.3).empty
    assert len(cloudy_units(series(0.35), treated(("U0", "2026-05-01", "burn")), 0.3)) == 1
    assert cloudy_units(series(0.35).iloc[:0], NOTHING, 0.3).empty


def test_burn_among_the_days_of_a_composite_explains_its_loss():
    composite = series(0.35).assign(last_day=lambda f: f["date"] + pd.Timedelta(days=15))
    assert cloudy_units(composite, treated(("U1", "2026-07-20", "burn")), 0.3).empty


def test_days_of_the_kind_in_use_count():
    rows = pd.DataFrame({"date": [BEFORE, BEFORE, AFTER], "kind": ["ndvi", "reflectance"] * 1
                         + ["reflectance"], "last_day": [BEFORE, AFTER, AFTER]})  # fmt: skip
    assert last_days(rows).to_dict() == {BEFORE: BEFORE, AFTER: AFTER}
