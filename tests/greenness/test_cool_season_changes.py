"""Change of the cool-season index: computed vectors, which years count, what may be said."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness.cool_season_changes import (
    index_noise_floor,
    judge_cool_season_changes,
)
from pipeline.greenness.settings import GreennessSettings
from tests.made_season import log_of

DEFAULTS = GreennessSettings()
# Index before and after; B burned, the others not. Worked example of difference in differences,
# computed by hand: change 0.14, references 0.07 0.08 0.06 0.06 0.08.
EXAMPLE = {
    "B": (0.41, 0.55),
    "R1": (0.43, 0.50),
    "R2": (0.39, 0.47),
    "R3": (0.45, 0.51),
    "R4": (0.40, 0.46),
    "R5": (0.42, 0.50),
}


def index_table(values, years=(2025, 2027), **changed):
    """Table ``cool_season``: index of each unit in each of the years, NaN for a spoiled one."""
    rows = [
        {
            "unit_id": unit,
            "year": year,
            "pictures": "the same",
            "early_date": pd.Timestamp(year, 5, 6),
            "midsummer_date": pd.Timestamp(year, 7, 20),
            "early": 0.5,
            "midsummer": 0.5,
            "dormant": 0.15,
            "dormant_from": "setting",
            "cool_index": index,
            "limits": "x",
            "reason": "burned" if np.isnan(index) else None,
        }
        for unit, own in values.items()
        for year, index in zip(years, own, strict=True)
    ]
    layer = LAYERS["cool_season"]
    return conform(pd.DataFrame(rows).assign(**changed).reindex(columns=layer.column_names), layer)


def compared(units, before="2025-07-20", after="2026-07-22"):
    """Layer ``comparisons``: one fire; units whose name begins with B burned."""
    rows = [
        {
            "comparison": "fire",
            "before": pd.Timestamp(before),
            "after": pd.Timestamp(after),
            "unit_id": unit,
            "role": "burned" if unit.startswith("B") else "reference",
        }
        for unit in units
    ]
    return conform(pd.DataFrame(rows), LAYERS["comparisons"])


def log(*rows):
    """Layer ``treatment_log``: unit, kind, first and last day."""
    return log_of("unit_id kind start end", *rows)


BURN = log(("B", "burn", "2026-04-14", "2026-04-14"))


def judged(table, treatments=BURN, comparisons=None, own=DEFAULTS):
    pairs = compared(table["unit_id"].unique()) if comparisons is None else comparisons
    frame = judge_cool_season_changes(table, pairs, treatments, own)
    return conform(frame, LAYERS["cool_season_changes"]).set_index("unit_id")


def test_worked_example():
    # Computed by hand, and with scipy's t for 4 degrees of freedom (2.776445): half width
    # 2.776445 · 0.01 · √1.2 = 0.030414.
    told = judged(index_table(EXAMPLE))
    row = told.loc["B"]
    assert row["change"] == pytest.approx(0.14)
    assert row["change_vs_reference"] == pytest.approx(0.07)
    assert (row["interval_low"], row["interval_high"]) == (
        pytest.approx(0.0395857, abs=1e-6),
        pytest.approx(0.1004143, abs=1e-6),
    )
    assert (row["before_year"], row["after_year"], row["references"]) == (2025, 2027, 5)
    assert row["verdict"] == "more_cool_season"
    # Each reference unit against the others.
    against = told.loc[["R1", "R2", "R3", "R4", "R5"], "change_vs_reference"]
    assert against.to_list() == pytest.approx([0, 0.0125, -0.0125, -0.0125, 0.0125])
    assert told.loc["R1", "verdict"] == "within"
    assert told["limits"].str.contains("Not a share of brome").all()


def test_several_years_before_widen_the_interval():
    # Gaps of the years before −.012 .004 −.009 .010 −.003, after .052, computed by hand: effect
    # .0540 ± .0276. The spread of the references, all alike here, gives no width of its own.
    gaps = [-0.012, 0.004, -0.009, 0.010, -0.003, 0.052]
    values = {"B": [0.1 + g for g in gaps], "R1": [0.1] * 6, "R2": [0.1] * 6, "R3": [0.1] * 6}
    table = index_table(values, (2021, 2022, 2023, 2024, 2025, 2027))
    row = judged(table).loc["B"]
    assert row["years_before"] == 5
    assert row["change_vs_reference"] == pytest.approx(0.055)
    half = (row["interval_high"] - row["interval_low"]) / 2
    assert half == pytest.approx(0.0276, abs=5e-5)
    assert pd.isna(row["caution"])
    # A year in which a reference is missing does not count; a small effect is told as such.
    values |= {"B": [0.1 + g for g in [*gaps[:5], 0.015]], "R3": [np.nan, *[0.1] * 5]}
    row = judged(index_table(values, (2021, 2022, 2023, 2024, 2025, 2027))).loc["B"]
    assert row["years_before"] == 4
    assert row["caution"] == "restless_years"


def test_noise_floor_by_finite_differences():
    # The derivatives of (e − m) / (e + m), taken numerically.
    def index(x):
        early, midsummer, dormant = x
        return (early - midsummer) / (early + midsummer - 2 * dormant)

    both = np.array([[0.45, 0.60, 0.12], [0.52, 0.48, 0.18]])
    for dormant_from, moved in (("setting", 2), ("scene", 3)):
        squares = 0.0
        for point in both:
            for place in range(moved):
                step = np.zeros(3)
                step[place] = 1e-6
                squares += ((index(point + step) - index(point - step)) / 2e-6) ** 2
        years = pd.DataFrame(both, columns=["early", "midsummer", "dormant"]).assign(
            dormant_from=dormant_from
        )
        assert index_noise_floor(years, 0.02) == pytest.approx(
            0.02 / np.sqrt(2) * np.sqrt(squares), rel=1e-6
        )


@pytest.mark.parametrize(
    ("after", "code"),
    [
        (0.55, "more_cool_season"),
        (0.27, "more_warm_season"),
        (0.49, "within"),
    ],
)
def test_verdict_says_no_more_than_the_spread_allows(after, code):
    # The references changed by 0.06 to 0.08, an interval of 0.07 ± 0.0304.
    row = judged(index_table(EXAMPLE | {"B": (0.41, after)})).loc["B"]
    assert row["verdict"] == code


def test_change_below_the_noise_of_the_pictures_is_no_difference():
    alike = dict.fromkeys(EXAMPLE, (0.42, 0.49)) | {"B": (0.41, 0.50)}
    row = judged(index_table(alike)).loc["B"]
    assert row["interval_low"] > 0
    assert row["verdict"] == "below_noise"
    assert row["change_vs_reference"] < row["noise_floor"]


def test_two_references_give_a_number_and_no_interval():
    row = judged(index_table({u: EXAMPLE[u] for u in ("B", "R1", "R2")})).loc["B"]
    assert row["change_vs_reference"] == pytest.approx(0.14 - 0.075)
    assert pd.isna(row["interval_low"])
    assert row["verdict"] == "no_interval"
    alone = judged(index_table({"B": EXAMPLE["B"]})).loc["B"]
    assert (alone["verdict"], alone["reason"]) == ("cannot_judge", "no_reference")
    assert alone["change"] == pytest.approx(0.14)


def test_year_of_burning_is_never_the_year_after():
    values = {u: (before, -0.5, after) for u, (before, after) in EXAMPLE.items()}
    values["B"] = (0.41, np.nan, 0.55)
    told = judged(index_table(values, (2025, 2026, 2027)))
    assert told["after_year"].eq(2027).all()
    assert told.loc["B", "change_vs_reference"] == pytest.approx(0.07)


def test_without_a_year_after_the_burn_nothing_is_said():
    values = {u: (before, after) for u, (before, after) in EXAMPLE.items()}
    values["B"] = (0.41, np.nan)
    told = judged(index_table(values, (2025, 2026)))
    assert told.index.tolist() == ["B"]
    row = told.loc["B"]
    assert (row["verdict"], row["reason"]) == ("cannot_judge", "no_year_after")
    assert row["years_without_index"] == "2026"
    assert row["before_year"] == 2025
    assert pd.isna(row["after_year"])
    assert pd.isna(row["change"])
    assert row["references"] == 0


def test_without_a_year_before_the_burn_nothing_is_said():
    values = {u: (after,) for u, (_, after) in EXAMPLE.items()}
    row = judged(index_table(values, (2027,))).loc["B"]
    assert (row["verdict"], row["reason"]) == ("cannot_judge", "no_year_before")
    assert row["years_without_index"] is None


def test_year_whose_pictures_are_older_than_a_late_burn_is_not_the_year_after():
    # Burned in August 2026, after the midsummer picture of that year, which shows no burn.
    values = {u: (before, before, after) for u, (before, after) in EXAMPLE.items()}
    table = index_table(values, (2025, 2026, 2027))
    pairs = compared(EXAMPLE, "2025-07-20", "2026-09-20")
    late = log(("B", "burn", "2026-08-05", "2026-08-05"))
    assert judged(table, late, pairs).loc["B", "after_year"] == 2027
    # Not either where the burn lies between its early and its midsummer picture.
    spring = log(("B", "burn", "2026-06-01", "2026-06-01"))
    assert judged(table, spring, pairs).loc["B", "after_year"] == 2027
    # Day unknown: it may have been as late as the picture after it.
    assert judged(table, empty(LAYERS["treatment_log"]), pairs).loc["B", "after_year"] == 2027
    # The log knows better than the pair of pictures.
    early = log(("B", "burn", "2025-10-14", "2025-10-14"))
    assert judged(table, early, pairs).loc["B", "after_year"] == 2026


def test_year_before_is_the_latest_up_to_the_picture_before():
    values = {u: (0.0, before, after) for u, (before, after) in EXAMPLE.items()}
    table = index_table(values, (2024, 2025, 2027))
    assert judged(table).loc["B", "before_year"] == 2025
    spring = compared(EXAMPLE, "2025-05-06", "2026-05-08")
    assert judged(table, comparisons=spring).loc["B", "before_year"] == 2024


@pytest.mark.parametrize(
    "changed",
    [
        {"early_date": pd.Timestamp("2025-05-16")},
        {"midsummer_date": pd.Timestamp("2025-07-10")},
        {"dormant_from": "scene"},
    ],
)
def test_references_have_pictures_of_the_same_days(changed):
    table = index_table(EXAMPLE)
    odd = (table["unit_id"] == "R5") & (table["year"] == 2025)
    for column, value in changed.items():
        table.loc[odd, column] = value
    row = judged(table).loc["B"]
    assert row["references"] == 4
    assert row["change_vs_reference"] == pytest.approx(0.14 - 0.0675)


def test_unit_burned_between_the_years_is_no_reference():
    treatments = log(
        ("B", "burn", "2026-04-14", "2026-04-14"), ("R5", "burn", "2025-08-05", "2025-08-05")
    )
    told = judged(index_table(EXAMPLE), treatments)
    assert told.loc["B", "references"] == 4
    burned = told.loc["R5", ["reason", "burned_from", "burned_until"]]
    assert burned.tolist() == ["burned_between", *[pd.Timestamp("2025-08-05")] * 2]


def test_reference_unit_without_an_index_says_why():
    values = EXAMPLE | {"R5": (np.nan, 0.5)}
    told = judged(index_table(values))
    assert told.loc["R5", ["reason", "years_without_index"]].tolist() == ["no_index", "2025"]
    assert told.loc["B", "references"] == 4


def test_pictures_far_apart_in_the_season_show_the_season():
    table = index_table(EXAMPLE)
    table.loc[table["year"] == 2027, "early_date"] = pd.Timestamp("2027-05-16")
    row = judged(table).loc["B"]
    assert row["season_gap_days"] == 10
    assert "season_gap" in row["caution"]
    assert row["verdict"] == "more_cool_season"
    table.loc[table["year"] == 2027, "early_date"] = pd.Timestamp("2027-05-25")
    row = judged(table).loc["B"]
    assert row["verdict"] == "seasonal"
    assert row["change_vs_reference"] == pytest.approx(0.07)


def test_cautions_beside_the_verdict():
    treatments = log(
        ("B", "burn", "2026-04-14", "2026-04-14"),
        ("B", "burn", "2027-04-10", "2027-04-10"),
        ("B", "graze", "2025-05-01", "2025-10-05"),
        ("B", "graze", "2025-07-25", "2025-10-05"),
        ("R1", "hay", "2025-07-01", "2025-07-02"),
    )
    values = EXAMPLE | {"B": (0.60, 0.74)}
    table = index_table(values, (2025, 2028))
    table.loc[table["year"] == 2028, "dormant_from"] = "scene"
    row = judged(table, treatments).loc["B"]
    assert row["caution"] == (
        "single_years, dormant_differs, several_burns, other_work, unlike_before"
    )
    assert row["burns"] == "burn 2026-04-14; burn 2027-04-10"
    assert row["other_work"] == "graze 2025-05-01 to 2025-10-05"
    assert row["before_gap"] == pytest.approx(0.182)


def test_identical_years_change_nothing():
    table = index_table({unit: (before, before) for unit, (before, _) in EXAMPLE.items()})
    told = judged(table)
    assert (told["change"] == 0).all()
    assert (told["change_vs_reference"] == 0).all()
    assert told.loc["B", "verdict"] == "within"


INDEX = st.floats(-0.4, 0.4)
VALUES = st.fixed_dictionaries({unit: st.tuples(INDEX, INDEX) for unit in EXAMPLE})
FIGURES = ["change_vs_reference", "interval_low", "interval_high"]


@settings(max_examples=12, deadline=None)
@given(VALUES, INDEX, INDEX)
def test_what_happened_to_all_units_alike_changes_nothing(values, first, second):
    moved = {unit: (a + first, b + second) for unit, (a, b) in values.items()}
    plain, shifted = judged(index_table(values)), judged(index_table(moved))
    np.testing.assert_allclose(plain[FIGURES], shifted[FIGURES], atol=1e-12)


@settings(max_examples=12, deadline=None)
@given(VALUES)
def test_years_in_the_other_order_turn_the_sign(values):
    plain = judged(index_table(values))
    turned = judged(index_table({unit: own[::-1] for unit, own in values.items()}))
    np.testing.assert_allclose(
        plain[FIGURES],
        -turned[["change_vs_reference", "interval_high", "interval_low"]],
        atol=1e-12,
    )
    np.testing.assert_allclose(plain["change"], -turned["change"])


def test_nothing_in_nothing_out():
    for table, pairs in (
        (empty(LAYERS["cool_season"]), empty(LAYERS["comparisons"])),
        (index_table(EXAMPLE), empty(LAYERS["comparisons"])),
    ):
        assert judged(table, comparisons=pairs).empty
    without = judged(empty(LAYERS["cool_season"]), comparisons=compared(EXAMPLE))
    assert without.empty


def test_units_seen_on_other_days_are_not_compared():
    # One of two early pictures is under cloud for one unit: its mean is of fewer days.
    table = index_table(EXAMPLE)
    odd = (table["unit_id"] == "R1") & (table["year"] == 2025)
    told = judged(table.assign(pictures=table["pictures"].mask(odd, "fewer")))
    assert told.loc["B", "references"] == 4
