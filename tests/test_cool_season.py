"""Cool-season index: computed vectors and the years it must not be given for."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.compute.cool_season import cool_season_index, position_between, rate_cool_season
from pipeline.layers import LAYERS, conform, empty
from pipeline.settings.greenness import GreennessSettings


@pytest.mark.parametrize(
    ("early", "mid", "index"),
    [(0.55, 0.50, 0.048), (0.45, 0.55, -0.100), (0.30, 0.65, -0.368), (0.25, 0.70, -0.474)],
)
def test_index_of_greenness_above_nothing(early, mid, index):
    # Form of the two-date phenometric index (Dye et al. 2016), base 0.
    assert cool_season_index(early, mid, 0.0) == pytest.approx(index, abs=5e-4)


def test_too_little_green_up_gives_no_index():
    assert np.isnan(cool_season_index(0.18, 0.20, 0.15, 0.10))
    assert np.isnan(cool_season_index(0.1, 0.1, 0.15))


@given(st.floats(-0.2, 1), st.floats(-0.2, 1))
def test_index_lies_between_minus_one_and_one(early, mid):
    index = cool_season_index(early, mid, 0.15)
    assert np.isnan(index) or -1 <= index <= 1


def test_position_between_two_known_units():
    cool, warm = np.array([0.55, 0.50, 0.48]), np.array([0.25, 0.70, 0.35])
    assert position_between(0.3 * cool + 0.7 * warm, warm, cool) == pytest.approx(0.3)
    told = position_between(np.array([0.36, 0.62, 0.40]), warm, cool)
    assert told == pytest.approx(0.377808, abs=5e-7)
    assert position_between(3 * cool, warm, cool) == 1.25
    assert np.isnan(position_between(cool, cool, cool))


def scenes(*rows):
    frame = pd.DataFrame(rows, columns=["unit_id", "date", "mean"])
    frame = frame.assign(date=pd.to_datetime(frame["date"]), scene=range(len(frame)), kind="ndvi",
                         sd=0.0, pixels=99.0, valid_pct=100.0, full_pixels=90, lost_pct=0.0,
                         out_of_range_pct=0.0, pixel_m=10.0, treated_since_last=None,
                         reason=None)  # fmt: skip
    return conform(frame, LAYERS["zone_scenes"])


ROWS = [(unit, f"{year}-{day}", value)
        for unit, values in {"A": (0.55, 0.50), "B": (0.25, 0.70), "C": (0.40, 0.60)}.items()
        for year in (2025, 2026)
        for day, value in zip(("05-06", "07-20"), values, strict=True)]  # fmt: skip


NO_TREATMENTS = empty(LAYERS["treatments"])


def burns(*rows):
    """Layer ``treatments`` of burns: unit and day."""
    layer = LAYERS["treatments"]
    frame = pd.DataFrame(rows, columns=["unit_id", "start"]).assign(kind="burn")
    frame = frame.assign(start=pd.to_datetime(frame["start"]))
    return conform(frame.reindex(columns=layer.column_names), layer)


def rated(settings, comparisons=None, treatments=NO_TREATMENTS):
    burned = empty(LAYERS["comparisons"]) if comparisons is None else comparisons
    frame = rate_cool_season(scenes(*ROWS), burned, treatments, settings)
    return conform(frame, LAYERS["cool_season"]).set_index(["unit_id", "year"])


def test_units_stand_between_the_two_that_the_user_knows():
    told = rated(GreennessSettings(cool_unit="A", warm_unit="B"))
    assert told.loc[("A", 2025), "position"] == pytest.approx(1)
    assert told.loc[("B", 2025), "position"] == pytest.approx(0)
    assert told.loc[("C", 2026), "position"] == pytest.approx(0.5)
    assert (told["base_from"] == "setting").all()
    assert rated(GreennessSettings())["position"].isna().all()


def test_no_index_in_a_year_of_burning():
    burned = pd.DataFrame({"comparison": "fire", "before": [pd.Timestamp("2025-07-20")],
                           "after": [pd.Timestamp("2026-07-20")], "unit_id": ["C"],
                           "role": ["burned"]})  # fmt: skip
    told = rated(GreennessSettings(), conform(burned, LAYERS["comparisons"]))
    assert np.isnan(told.loc[("C", 2026), "cool_index"])
    assert "burned in this season" in told.loc[("C", 2026), "reason"]
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
    pair = pd.DataFrame({"comparison": "fire", "before": [pd.Timestamp("2025-04-20")],
                         "after": [pd.Timestamp("2026-09-20")], "unit_id": ["C"],
                         "role": ["burned"]})  # fmt: skip
    own = conform(pair, LAYERS["comparisons"])
    assert rated(GreennessSettings(), own).loc["C", "cool_index"].isna().all()
    known = rated(GreennessSettings(), own, burns(("C", "2026-04-10"))).loc["C", "cool_index"]
    assert known.index[known.isna()].tolist() == [2026]


def test_nothing_in_nothing_out():
    frame = rate_cool_season(
        empty(LAYERS["zone_scenes"]),
        empty(LAYERS["comparisons"]),
        NO_TREATMENTS,
        GreennessSettings(),
    )
    assert conform(frame, LAYERS["cool_season"]).empty
