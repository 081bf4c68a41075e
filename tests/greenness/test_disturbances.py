"""What the log and the pictures say against a comparison: burns, other work, composites, cloud.

A unit burned in the year before still answers that fire, so it is no unburned ground: ordinary
practice of before-after-control-impact designs, common practice, no source. Composites: MOD13Q1
takes each pixel from one of 16 days (LP DAAC). Cloud: a fall of NDVI of more than 0.3 beyond every
other unit's, common practice, no source.
"""

import numpy as np
import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.greenness.disturbances import (
    burn_cautions,
    cloud_caution,
    cloudy_units,
    is_composite,
    last_days,
    with_disturbances,
)
from tests.made_scenes import treated
from tests.made_season import log_of

BEFORE, AFTER = pd.Timestamp("2025-07-20"), pd.Timestamp("2026-07-22")
ROWS = pd.DataFrame(
    {
        "unit_id": ["U0", "U1", "U2"],
        "role": ["burned", "reference", "reference"],
        "before": BEFORE,
        "after": AFTER,
        "reason": None,
    }
)
SINGLE = pd.DataFrame({"date": [BEFORE, AFTER], "kind": "ndvi"}).assign(
    last_day=lambda f: f["date"]
)
SIXTEEN = SINGLE.assign(last_day=SINGLE["date"] + pd.Timedelta(days=15))
NOTHING = treated()


def disturbed(*log, scenes=SINGLE, rows=ROWS):
    return with_disturbances(rows, scenes, treated(*log)).set_index("unit_id")


def cautions(*log):
    return burn_cautions(disturbed(*log).reset_index().loc[0], treated(*log))


@pytest.mark.parametrize(
    ("day", "counts"),
    [
        ("2024-07-19", False),
        ("2024-07-21", True),
        ("2025-04-10", True),
        ("2026-04-14", True),
        ("2026-07-22", True),
        ("2026-07-23", False),
    ],
)
def test_reference_that_burned_from_a_year_before_until_the_second_picture(day, counts):
    rows = disturbed(("U1", day, "burn"))
    assert rows.loc["U1", "reason"] == ("reference_burned" if counts else None)
    assert rows.loc["U1", "other_burn"] is pd.NaT or counts
    assert rows["other_burn"].dropna().tolist() == [pd.Timestamp(day)] * counts
    assert rows.loc[["U0", "U2"], "reason"].isna().all()


def test_burned_units_and_other_work_make_no_burned_reference():
    rows = disturbed(("U0", "2026-04-14", "burn"), ("U1", "2026-04-14", "graze"))
    assert rows["reason"].isna().all()


def test_reason_of_the_pixels_comes_first():
    rows = disturbed(("U1", "2026-04-14", "burn"), rows=ROWS.assign(reason="too_narrow"))
    assert set(rows["reason"]) == {"too_narrow"}


def test_burns_and_other_work_of_the_burned_unit():
    between = ("U0", "2026-04-14", "burn")
    assert cautions(between) == []
    assert cautions(between, ("U0", "2025-04-02", "burn")) == ["burned_before"]
    for day in ("2019-04-02", "2026-07-22", "2026-08-01"):
        assert cautions(("U0", day, "burn")) == ["no_burn_on_record"], day
    assert cautions(("U0", "2025-07-20", "burn"))[0] == "no_burn_on_record"
    assert cautions(between, ("U0", "2026-07-10", "mow")) == ["other_work"]
    rows = disturbed(between, ("U0", "2026-07-10", "mow"), ("U1", "2026-07-10", "hay"))
    assert rows.loc["U0", "other_work"] == "mow 2026-07-10"
    assert rows.loc[["U1", "U2"], "other_work"].isna().all(), "told of burned units alone"
    of_reference = disturbed(between).reset_index().loc[1]
    assert burn_cautions(of_reference, treated(between)) == []
    assert cautions() == [], "nobody keeps a log"


def test_work_between_the_pictures_explains_a_loss():
    assert disturbed(("U0", "2026-07-10", "mow"))["work_between"].tolist() == [True, False, False]
    assert disturbed(("U1", "2026-07-22", "burn"))["work_between"].tolist() == [False, True, False]
    for day in ("2025-07-20", "2026-07-23"):
        assert not disturbed(("U0", day, "mow"))["work_between"].any()


@pytest.mark.parametrize(
    ("day", "reason"),
    [
        ("2025-07-19", None),
        ("2025-07-20", "burn_in_composite_before"),
        ("2025-08-04", "burn_in_composite_before"),
        ("2025-08-05", None),
        ("2026-07-22", "burn_in_composite_after"),
        ("2026-08-06", "burn_in_composite_after"),
        ("2026-08-07", None),
    ],
)
def test_burn_among_the_days_of_a_composite(day, reason):
    rows = disturbed(("U0", day, "burn"), scenes=SIXTEEN)
    assert rows.loc["U0", "reason"] == reason
    assert rows.loc["U1", "reason"] is None, "a reference is not burned"
    assert rows.loc["U0", "before_last_day"] == pd.Timestamp("2025-08-04")
    assert is_composite(rows.loc["U0"])


@pytest.mark.parametrize(
    ("days", "reason"),
    [
        (("2025-07-20", "2025-07-20"), "burn_on_day_before"),
        (("2026-07-21", "2026-07-22"), "burn_on_day_after"),
        (("2025-07-21", "2026-07-21"), None),
    ],
)
def test_burn_on_the_day_of_a_picture(days, reason):
    # The picture may be from before the fire or from after it.
    log = log_of("unit_id start end kind", ("U0", *days, "burn"), ("U1", *days, "mow"))
    rows = with_disturbances(ROWS, SINGLE, log).set_index("unit_id")
    assert rows.loc["U0", "reason"] == reason
    assert rows.loc["U1", "reason"] is None
    assert not is_composite(rows.loc["U0"])


def test_pictures_that_are_not_there_are_no_composites():
    rows = disturbed(("U0", "2025-07-20", "burn"), scenes=empty(LAYERS["zone_scenes"]))
    assert rows["before_last_day"].isna().all()
    assert not is_composite(rows.loc["U0"])


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (-0.36, "cloud_after"),
        (-0.34, None),
        (0.0, None),
        (0.42, "cloud_before"),
        (0.39, None),
    ],
)
def test_cloud_is_suspected_on_the_picture_it_darkens(change, code):
    assert cloud_caution(change, np.array([-0.05, 0.02, 0.10]), 0.3) == code


def test_one_other_unit_is_not_enough_to_tell_which_is_odd():
    assert cloud_caution(-0.9, np.array([0.1]), 0.3) is None


def series(fall):
    """Three units on two days, of which U1 fell by so much."""
    level = {"U0": 0.5, "U1": 0.6, "U2": 0.4}
    rows = [(unit, day, mean) for unit, mean in level.items() for day in (BEFORE, AFTER)]
    frame = pd.DataFrame(rows, columns=["unit_id", "date", "mean"])
    fell = (frame["unit_id"] == "U1") & (frame["date"] == AFTER)
    frame["mean"] -= fell * fall
    return frame.assign(kind="ndvi", last_day=frame["date"])


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
    assert cloudy_units(composite, treated(("U1", "2026-07-30", "burn")), 0.3).empty


def test_days_of_the_kind_in_use_count():
    rows = pd.DataFrame(
        {
            "date": [BEFORE, BEFORE, AFTER],
            "kind": ["ndvi", "reflectance", "reflectance"],
            "last_day": [BEFORE, AFTER, AFTER],
        }
    )
    assert last_days(rows).to_dict() == {BEFORE: BEFORE, AFTER: AFTER}
