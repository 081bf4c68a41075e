"""Cool-season index: computed vectors and the years it must not be given for."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness.cool_season import (
    burns_between,
    cool_season_index,
    early_to_midsummer_ratio,
    positions_between,
    rate_cool_season,
    shoulder_index,
)
from pipeline.greenness.settings import GreennessSettings
from tests.made_scenes import readings
from tests.made_season import log_of


@pytest.mark.parametrize(
    ("early", "midsummer", "index"),
    [(0.55, 0.50, 0.048), (0.45, 0.55, -0.100), (0.30, 0.65, -0.368), (0.25, 0.70, -0.474)],
)
def test_index_of_greenness_above_nothing(early, midsummer, index):
    # Form of the two-date phenometric index (Dye et al. 2016), dormant ground 0.
    assert cool_season_index(early, midsummer, 0.0) == pytest.approx(index, abs=5e-4)


def test_too_little_green_up_gives_no_index():
    assert np.isnan(cool_season_index(0.18, 0.20, 0.15, 0.10))
    assert np.isnan(cool_season_index(0.1, 0.1, 0.15))


@pytest.mark.parametrize(
    ("early", "midsummer", "ratio"),
    [(0.55, 0.50, 1.10), (0.45, 0.55, 0.82), (0.30, 0.65, 0.46), (0.25, 0.70, 0.36)],
)
def test_early_greenness_by_midsummer_greenness(early, midsummer, ratio):
    # Computed by hand for the four stands above.
    assert early_to_midsummer_ratio(early, midsummer) == pytest.approx(ratio, abs=5e-3)
    assert np.isnan(early_to_midsummer_ratio(early, 0.0))


def test_shoulder_index_takes_the_greener_shoulder():
    # By hand: (0.45 − 0.15) / (0.65 − 0.15), then (0.35 − 0.15) / (0.65 − 0.15).
    assert shoulder_index(0.35, 0.65, 0.45, 0.15, 0.1) == pytest.approx(0.6)
    assert shoulder_index(0.35, 0.65, 0.20, 0.15, 0.1) == pytest.approx(0.4)
    assert np.isnan(shoulder_index(0.35, 0.65, np.nan, 0.15, 0.1))
    assert np.isnan(shoulder_index(0.35, 0.24, 0.45, 0.15, 0.1))


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1), st.floats(-0.1, 0.3))
def test_shoulder_index_is_at_least_that_of_the_early_picture(early, midsummer, late, dormant):
    told = shoulder_index(early, midsummer, late, dormant, 0.1)
    assert np.isnan(told) == (not midsummer - dormant >= 0.1)
    if not np.isnan(told):
        assert told >= (early - dormant) / (midsummer - dormant)
        assert told == shoulder_index(late, midsummer, early, dormant, 0.1)


@given(st.floats(-0.2, 1), st.floats(-0.2, 1))
def test_index_lies_between_minus_one_and_one(early, midsummer):
    index = cool_season_index(early, midsummer, 0.15)
    assert np.isnan(index) or -1 <= index <= 1


def test_positions_between_two_known_units():
    cool, warm = np.array([0.55, 0.50, 0.48]), np.array([0.25, 0.70, 0.35])
    assert positions_between(0.3 * cool + 0.7 * warm, warm, cool) == pytest.approx(0.3)
    told = positions_between(np.array([0.36, 0.62, 0.40]), warm, cool)
    assert told == pytest.approx(0.377808, abs=5e-7)
    assert positions_between(3 * cool, warm, cool) == 1.25
    assert np.isnan(positions_between(cool, cool, cool))


ROWS = [
    (unit, f"{year}-{day}", value)
    for unit, values in {"A": (0.55, 0.50), "B": (0.25, 0.70), "C": (0.40, 0.60)}.items()
    for year in (2025, 2026)
    for day, value in zip(("05-06", "07-20"), values, strict=True)
]


NO_TREATMENTS = empty(LAYERS["treatment_log"])


def burns(*rows):
    """Layer ``treatment_log`` of burns: unit and day."""
    return log_of("unit_id start kind", *((*row, "burn") for row in rows))


def comparison(before, after):
    """Layer ``comparisons``: unit C burned at some time between two pictures."""
    frame = pd.DataFrame(
        {
            "comparison": "fire",
            "before": [pd.Timestamp(before)],
            "after": [pd.Timestamp(after)],
            "unit_id": ["C"],
            "role": ["burned"],
        }
    )
    return conform(frame, LAYERS["comparisons"])


NO_COMPARISONS = empty(LAYERS["comparisons"])


def rated(settings, comparisons=NO_COMPARISONS, treatments=NO_TREATMENTS, rows=ROWS):
    frame = rate_cool_season(readings(*rows), comparisons, treatments, settings)
    return conform(frame, LAYERS["cool_season"]).set_index(["unit_id", "year"])


def test_units_stand_between_the_two_that_the_user_knows():
    told = rated(GreennessSettings(cool_unit="A", warm_unit="B"))
    assert told.loc[("A", 2025), "position"] == pytest.approx(1)
    assert told.loc[("B", 2025), "position"] == pytest.approx(0)
    assert told.loc[("C", 2026), "position"] == pytest.approx(0.5)
    assert (told["dormant_from"] == "setting").all()
    assert rated(GreennessSettings())["position"].isna().all()


def test_no_index_in_a_year_of_burning():
    told = rated(GreennessSettings(), comparison("2025-07-20", "2026-07-22"))
    assert np.isnan(told.loc[("C", 2026), "cool_index"])
    burned = told.loc[("C", 2026), ["reason", "shoulder_reason", "burned_from", "burned_until"]]
    days = pd.Timestamp("2025-07-20"), pd.Timestamp("2026-07-22")
    assert burned.tolist() == ["burned", "burned", *days]
    assert told.loc[("C", 2025), "cool_index"] == pytest.approx((0.25 - 0.45) / 0.70)
    assert told["limits"].str.contains("Native cool-season grasses").all()


@pytest.mark.parametrize(
    ("day", "spoiled"),
    [("2025-08-01", []), ("2025-10-15", [2026]), ("2026-04-10", [2026]), ("2026-08-01", [])],
)
def test_no_index_after_a_burn_of_the_log(day, spoiled):
    told = rated(GreennessSettings(), treatments=burns(("C", day))).loc["C"]
    assert told.index[told["cool_index"].isna()].tolist() == spoiled


def test_log_tells_which_year_of_a_comparison_is_the_year_of_burning():
    own = comparison("2025-04-20", "2026-09-20")
    assert rated(GreennessSettings(), own).loc["C", "cool_index"].isna().all()
    known = rated(GreennessSettings(), own, burns(("C", "2026-04-10"))).loc["C", "cool_index"]
    assert known.index[known.isna()].tolist() == [2026]


LATE = [
    *ROWS,
    ("C", "2025-10-05", 0.55),
    ("C", "2025-09-20", 0.35),
    ("C", "2026-10-31", 0.25),
    ("C", "2025-09-10", 0.9),
    ("C", "2025-11-05", 0.9),
]


def test_late_window_gives_the_shoulder_index():
    told = rated(GreennessSettings(), rows=LATE)
    row = told.loc[("C", 2025)]
    assert (row["late"], row["late_date"]) == (pytest.approx(0.45), pd.Timestamp("2025-09-20"))
    assert row["shoulder_index"] == pytest.approx((0.45 - 0.15) / 0.45)
    assert row["early_to_midsummer"] == pytest.approx(0.40 / 0.60)
    assert told.loc[("C", 2026), "shoulder_index"] == pytest.approx((0.40 - 0.15) / 0.45)
    assert told.loc[("A", 2025), "shoulder_reason"] == "no_late_picture"
    assert pd.isna(told.loc[("A", 2025), "late_date"])
    assert told["shoulder_reason"].isna().equals(told["shoulder_index"].notna())


@pytest.mark.parametrize(
    ("day", "index", "shoulder"),
    [
        ("2025-04-10", [2026], [2026]),  # spring burn: the whole season goes
        ("2025-09-01", [2025], []),  # late summer: the late picture, and the next season
        ("2025-09-25", [2025], []),  # between two late pictures
        ("2025-10-20", [2025], [2025]),  # after the late pictures: the next season alone
        ("2026-11-10", [2025, 2026], [2025, 2026]),
    ],
)
def test_burn_of_fall_spoils_the_late_picture_and_the_next_season(day, index, shoulder):
    told = rated(GreennessSettings(), treatments=burns(("C", day)), rows=LATE).loc["C"]
    assert told.index[told["cool_index"].notna()].tolist() == index
    assert told.index[told["early_to_midsummer"].notna()].tolist() == index
    assert told.index[told["shoulder_index"].notna()].tolist() == shoulder


def test_burn_between_two_pictures_of_midsummer_spoils_the_season():
    rows = [*ROWS, ("C", "2025-08-15", 0.30)]
    told = rated(GreennessSettings(), treatments=burns(("C", "2025-08-01")), rows=rows).loc["C"]
    assert told.index[told["cool_index"].isna()].tolist() == [2025]


def test_late_picture_is_not_trusted_where_the_day_of_the_burn_is_unknown():
    told = rated(GreennessSettings(), comparison("2025-07-20", "2026-07-22"), rows=LATE).loc["C"]
    assert told["cool_index"].notna().tolist() == [True, False]
    assert told["shoulder_index"].isna().all()
    assert told["shoulder_reason"].tolist() == ["burned_late", "burned"]
    assert told["burned_from"].tolist() == [pd.Timestamp("2025-07-20")] * 2


def test_burn_of_the_log_counts_before_that_of_a_comparison():
    own, log = comparison("2025-07-20", "2026-07-22"), burns(("C", "2026-04-14"))
    days = ("2025-07-20", "2026-04-13", "2026-04-14", "2026-07-22", "2027-07-22")
    old, eve, fire, later, last = map(pd.Timestamp, days)

    def told(after, until, treatments):
        spans = pd.DataFrame({"unit_id": ["X", "C"], "after": after, "until": until}, index=[7, 3])
        found = burns_between(spans, own, treatments)
        assert found.index.tolist() == [7, 3]
        assert found.loc[7].isna().all(), "another unit"
        return None if found.loc[3].isna().all() else tuple(found.loc[3])

    assert told(old, eve, log) is None
    assert told(eve, fire, log) == (fire, fire)
    assert told(fire, fire, log) is None
    assert told(old, eve, log.iloc[:0]) == (old, later)
    assert told(later, last, log.iloc[:0]) is None


def test_windows_follow_one_another():
    with pytest.raises(ValueError, match="windows must follow one another"):
        GreennessSettings(late_first_day=200)
    with pytest.raises(ValueError, match="windows must follow one another"):
        GreennessSettings(late_last_day=250)


def test_nothing_in_nothing_out():
    frame = rate_cool_season(
        empty(LAYERS["zone_scenes"]),
        NO_COMPARISONS,
        NO_TREATMENTS,
        GreennessSettings(),
    )
    assert conform(frame, LAYERS["cool_season"]).empty
