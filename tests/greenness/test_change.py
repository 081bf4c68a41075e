"""Change against reference units: worked examples, and verdicts no bolder than the figures."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from pipeline.greenness.comparisons import season_gap_days
from pipeline.greenness.settings import GreennessSettings
from tests.made_comparison import REFERENCES, burns, compared, earlier_years, readings

FIGURES = ["change_vs_reference", "interval_low", "interval_high", "p_value"]
NAMES = [f"U{n}" for n in range(6)]


def test_worked_example_with_five_references():
    # The whole grid of carry-overs: figures of the estimator's own test, simulated there.
    row = compared().loc["U0"]
    assert row["change"] == pytest.approx(0.14)
    assert row["plain_difference"] == pytest.approx(0.07)
    assert row["change_vs_reference"] == pytest.approx(0.067764, abs=5e-7)
    assert row["interval_low"] == pytest.approx(0.034961, abs=5e-7)
    assert row["interval_high"] == pytest.approx(0.099372, abs=5e-7)
    assert row["p_value"] == pytest.approx(0.005102, abs=5e-7)
    assert row["carry_over"] == pytest.approx(0.720560, abs=5e-7)
    assert row["relative_pct"] == pytest.approx(100 * 0.067764 / (0.55 - 0.067764), abs=5e-4)
    assert (row["references"], row["spread_units"], row["years_before"]) == (5, 5, 1)
    assert row["references_used"] == "U1, U2, U3, U4, U5"
    assert row["verdict"] == "greener"
    assert pd.isna(row["confounded_by"])


def test_two_dates_of_one_start_give_the_difference_of_differences():
    changes = np.array([0.11, 0.05, 0.07, 0.06])
    pairs = [(0.5, 0.5 + change) for change in changes]
    row = compared(burned=pairs[:1], references=pairs[1:]).loc["U0"]
    half = stats.t.ppf(0.975, 2) * np.std(changes[1:], ddof=1) * np.sqrt(1 + 1 / 3)
    assert row["change_vs_reference"] == pytest.approx(0.05, abs=1e-12)
    assert row["interval_low"] == pytest.approx(0.05 - half, abs=1e-11)
    assert row["interval_high"] == pytest.approx(0.05 + half, abs=1e-11)


def test_each_reference_against_the_others_is_a_placebo():
    table = compared().loc[NAMES[1:]]
    placebo = table["plain_difference"].to_numpy()
    assert placebo == pytest.approx([0, 0.0125, -0.0125, -0.0125, 0.0125], abs=1e-9)
    assert table["verdict"].eq("within").all()
    assert table["references"].eq(4).all()


def test_below_three_references_there_is_no_interval():
    row = compared(references=REFERENCES[:2]).loc["U0"]
    assert row["change_vs_reference"] == pytest.approx(0.065)
    assert row[FIGURES[1:]].isna().all()
    assert row["verdict"] == "no_interval"
    strict = compared(settings=GreennessSettings(least_references=6)).loc["U0"]
    assert strict["verdict"] == "no_interval"


def test_without_references_nothing_is_said():
    row = compared(references=[]).loc["U0"]
    assert np.isnan(row["change_vs_reference"])
    assert (row["verdict"], row["reason"]) == ("cannot_judge", "no_reference")


def test_change_within_the_spread_is_told_as_such():
    row = compared(burned=[(0.41, 0.49)]).loc["U0"]
    assert row["verdict"] == "within"
    # A narrower confidence asks less of it.
    row = compared(burned=[(0.41, 0.53)], settings=GreennessSettings(confidence_pct=80)).loc["U0"]
    assert row["verdict"] == "greener"


def test_browner_is_told_too():
    row = compared(burned=[(0.41, 0.41)]).loc["U0"]
    assert row["verdict"] == "less_green"


def test_change_below_the_noise_of_the_pictures_is_no_difference():
    same = [(0.40, 0.45)] * 5
    row = compared(burned=[(0.40, 0.465)], references=same).loc["U0"]
    assert row["verdict"] == "below_noise"
    mixed = compared(burned=[(0.40, 0.475)], references=same, mixed=True).loc["U0"]
    assert mixed["noise_floor"] == 0.03
    assert mixed["verdict"] == "below_noise"


def test_change_below_the_noise_of_the_pixels_is_no_difference():
    # 1.96·√(.06²/4·(1 + 1/5)) = .0644, by hand.
    same = [(0.40, 0.45)] * 5
    noisy = {"references": same, "change_sd": 0.06, "effective_pixels": 4.0}
    row = compared(burned=[(0.40, 0.51)], **noisy).loc["U0"]
    assert row["noise_floor"] == pytest.approx(0.0644, abs=5e-5)
    assert row["verdict"] == "below_noise"
    assert compared(burned=[(0.40, 0.52)], **noisy).loc["U0", "verdict"] == "greener"


def test_refused_unit_keeps_its_row_and_the_reason():
    row = compared(reason=["too_narrow", *[None] * 5]).loc["U0"]
    assert (row["verdict"], row["reason"]) == ("cannot_judge", "too_narrow")
    assert row["caution"] is None
    assert np.isnan(row["change_vs_reference"])


def test_cloudy_reference_is_not_held_against():
    row = compared(valid_pct=[100, 60, 100, 100, 100, 100]).loc["U0"]
    assert row["references"] == 4
    assert row["plain_difference"] == pytest.approx(0.14 - 0.07)
    assert row["references_used"] == "U2, U3, U4, U5"
    assert row["references_unusable"] == "U1"


def test_what_the_pictures_lack_is_a_caution():
    # 80 percent of a burned unit must be usable to be sure of it, and dates of 9 days apart in the
    # year are told (the settings: 80, 8).
    part = compared(valid_pct=[79, 100, 100, 100, 100, 100]).loc["U0"]
    assert (part["verdict"], part["caution"]) == ("greener", "part_usable")
    row = compared(after="2026-07-29").loc["U0"]
    assert (row["verdict"], row["caution"], row["season_gap_days"]) == ("greener", "season_gap", 9)


def test_other_sensors_or_pixels_may_have_made_the_change():
    for more, caution in (({}, "mixed_sensors"), ({"paired": False}, "unpaired")):
        row = compared(mixed=True, **more).loc["U0"]
        assert (row["verdict"], row["confounded_by"]) == ("confounded", "other_sensor")
        assert row["caution"] == caution
        assert row["interval_low"] > 0, "the figures are shown"
    assert compared(burned=[(0.41, 0.49)], mixed=True).loc["U0", "verdict"] == "within"


def test_start_unlike_the_references_is_a_caution_and_may_be_all_of_it():
    assert compared().loc["U0", "caution"] is None
    row = compared(burned=[(0.30, 0.55)]).loc["U0"]
    assert row["caution"] == "unlike_before"
    assert row["before_gap"] == pytest.approx(0.30 - 0.418)
    assert (row["verdict"], row["confounded_by"]) == ("confounded", "start_differs")
    assert row["change_vs_reference"] == pytest.approx(0.147026, abs=5e-7)
    assert compared(burned=[(0.30, 0.58)]).loc["U0", "verdict"] == "greener"


def test_gap_in_the_season():
    assert season_gap_days(pd.Timestamp("2025-07-20"), pd.Timestamp("2026-07-22")) == 2
    assert season_gap_days(pd.Timestamp("2025-12-30"), pd.Timestamp("2027-01-02")) == 3
    table = compared(after="2026-09-20")
    assert (table["verdict"] == "seasonal").all()
    assert (table["season_gap_days"] == 62).all()
    assert table[FIGURES].isna().all(axis=None)
    assert table["confounded_by"].isna().all()


def test_identical_scenes_give_zero():
    table = compared(burned=[(0.41, 0.41)], references=[(ndvi, ndvi) for ndvi, _ in REFERENCES])
    assert (table["change"] == 0).all()
    assert table["change_vs_reference"].abs().max() < 1e-9
    assert (table["verdict"] == "within").all()


def test_unburned_units_that_are_not_named_tell_the_spread_and_not_the_mean():
    others = [(0.42, 0.49), (0.40, 0.47), (0.44, 0.515)]
    alone, with_others = compared().loc["U0"], compared(others=others).loc["U0"]
    assert (with_others["references"], with_others["spread_units"]) == (5, 8)
    assert with_others["plain_difference"] == pytest.approx(alone["plain_difference"])
    ends = ["interval_low", "interval_high"]
    assert np.ptp(with_others[ends].to_numpy()) < np.ptp(alone[ends].to_numpy())
    burned = compared(others=others, treatments=burns(("N0", "2025-04-10"), ("N1", "2026-04-10")))
    assert burned.loc["U0", "spread_units"] == 6, "unburned ones alone"
    clouded = compared(readings(), others=[(0.42, np.nan), *others[1:]])
    assert clouded.loc["U0", "spread_units"] == 7


def test_earlier_years_are_in_the_start_and_lend_their_spread():
    years = earlier_years([0, 0.001, -0.001, 0.001])
    row = compared(years).loc["U0"]
    assert row["years_before"] == 5
    assert row["gaps_before"] == "2021 +0.000; 2022 +0.001; 2023 −0.001; 2024 +0.001"
    starts = [0.41, *(start for start, _ in REFERENCES)]
    steady = readings(
        *(
            (name, f"{year}-07-20", start + 0.004 * (-1) ** (k + year))
            for year in (2022, 2023, 2024)
            for k, (name, start) in enumerate(zip(NAMES, starts, strict=True))
        )
    )
    row, alone = compared(steady).loc["U0"], compared().loc["U0"]
    assert row["verdict"] == "greener"
    ends = ["interval_low", "interval_high"]
    assert np.ptp(row[ends].to_numpy()) < np.ptp(alone[ends].to_numpy())
    far = years.assign(date=years["date"] + pd.Timedelta(days=17))
    assert compared(far).loc["U0", "years_before"] == 1, "another part of the year"


def test_years_within_a_year_after_a_burn_do_not_count():
    scenes = earlier_years([0, 0.001, -0.001, 0.001])
    assert compared(scenes, treatments=burns(("U0", "2022-04-10"))).loc["U0", "years_before"] == 4
    both = burns(("U2", "2023-04-10"), ("U0", "2023-04-10"))
    assert compared(scenes, treatments=both).loc["U0", "years_before"] == 4
    elsewhere = burns(("X", "2022-04-10"))
    assert compared(scenes, treatments=elsewhere).loc["U0", "years_before"] == 5


def test_reference_without_most_of_the_years_is_left_out_and_named():
    scenes = earlier_years([0, 0.001, -0.001, 0.001])
    days, units = scenes["date"], scenes["unit_id"]
    gone = (units == "U5") & (days < pd.Timestamp("2023-01-01"))
    row = compared(scenes[~gone]).loc["U0"]
    assert (row["years_before"], row["references"]) == (5, 4)
    assert row["references_lacking_years"] == "U5"
    assert row["references_used"] == "U1, U2, U3, U4"
    one = (units == "U5") & (days < pd.Timestamp("2022-01-01"))
    row = compared(scenes[~one]).loc["U0"]
    assert (row["years_before"], row["references"]) == (4, 5), "the year is left out instead"
    few = (units.isin(["U3", "U4", "U5"])) & (days < pd.Timestamp("2025-01-01"))
    row = compared(scenes[~few]).loc["U0"]
    assert (row["years_before"], row["references"]) == (1, 5), "rather all of the references"
    assert pd.isna(row["references_lacking_years"])


def test_two_pictures_of_a_winter_are_one_year():
    days = ["2022-12-29", "2023-01-03", "2024-01-02", "2025-01-01"]
    rows = [(name, day, 0.3 + 0.01 * k) for day in days for k, name in enumerate(NAMES)]
    pairs = [(0.41, 0.55), *REFERENCES]
    rows += [(name, "2026-01-02", pair[0]) for name, pair in zip(NAMES, pairs, strict=True)]
    scenes = readings(*rows)

    def in_winter(comparisons):
        return comparisons.assign(
            before=pd.Timestamp("2026-01-02"), after=pd.Timestamp("2027-01-02")
        )

    row = compared(scenes, change_comparisons=in_winter).loc["U0"]
    assert row["years_before"] == 4


def test_return_to_what_earlier_years_showed_is_no_effect():
    # Four years with a gap of 0.06, one odd year before the burn, and 0.06 again after it.
    scenes = earlier_years([0.06, 0.061, 0.059, 0.06])
    back = compared(scenes, burned=[(0.40, 0.56)]).loc["U0"]
    assert back["verdict"] in ("within", "confounded")
    assert back["change_vs_reference"] < 0.05
    assert back["plain_difference"] == pytest.approx(0.56 - 0.488 - (0.24 - 0.018) / 5)


def test_a_burn_among_the_days_of_a_composite_is_not_judged():
    scenes = earlier_years([0, 0.001, -0.001, 0.001, 0])
    pictures = pd.concat([scenes, readings(*((name, "2026-07-22", 0.5) for name in NAMES))])
    composite = pictures.assign(last_day=pictures["date"] + pd.Timedelta(days=15))
    row = compared(composite, treatments=burns(("U0", "2025-07-22"))).loc["U0"]
    assert row["reason"] == "burn_in_composite_before"
    row = compared(composite, treatments=burns(("U0", "2026-04-10"))).loc["U0"]
    assert (row["verdict"], row["confounded_by"]) == ("confounded", "composite")
    assert row["caution"] == "composite"
    assert row["before_last_day"] == pd.Timestamp("2025-08-04")
    assert row["after_last_day"] == pd.Timestamp("2026-08-06")
    table = compared(composite, treatments=burns(("U0", "2026-04-10"), ("U2", "2026-08-01")))
    assert table.loc["U2", "reason"] == "reference_burned", "among the days of the picture after"
    assert table.loc["U0", "references_unusable"] == "U2"


@pytest.mark.parametrize(("day", "side"), [("2025-07-20", "before"), ("2026-07-22", "after")])
def test_a_burn_on_the_day_of_a_picture_is_not_judged(day, side):
    row = compared(treatments=burns(("U0", day))).loc["U0"]
    assert (row["verdict"], row["reason"]) == ("cannot_judge", f"burn_on_day_{side}")


def test_cloud_over_one_unit_is_suspected():
    row = compared(burned=[(0.61, 0.28)]).loc["U0"]
    assert row["caution"] == "cloud_after, unlike_before"
    assert compared().loc["U0", "caution"] is None


def test_reference_that_burned_is_no_reference():
    table = compared(treatments=burns(("U2", "2026-04-10"), ("U0", "2026-04-10")))
    assert table.loc["U0", "references"] == 4
    assert table.loc["U2", "reason"] == "reference_burned"
    assert table.loc["U2", "other_burn"] == pd.Timestamp("2026-04-10")
    assert table.loc["U0", "plain_difference"] == pytest.approx(0.14 - 0.0675)


def test_a_logged_burn_is_not_taken_for_cloud():
    fire = burns(("U0", "2026-07-10"), ("U1", "2026-07-10"))
    table = compared(burned=[(0.61, 0.28), (0.60, 0.29)], references=REFERENCES, treatments=fire)
    assert not table["caution"].fillna("").str.contains("cloud").any()


def test_unit_that_burned_the_year_before_too_is_confounded():
    log = burns(("U0", "2026-04-10"), ("U0", "2025-04-10"))
    row = compared(treatments=log).loc["U0"]
    assert (row["verdict"], row["confounded_by"]) == ("confounded", "burned_before")
    assert row["caution"] == "burned_before"


def test_other_work_between_the_pictures_is_told():
    log = burns(("U0", "2026-04-10"))
    mown = burns(("U0", "2026-07-10")).assign(kind="mow")
    row = compared(treatments=pd.concat([log, mown], ignore_index=True)).loc["U0"]
    assert row["caution"] == "other_work"
    assert row["other_work"] == "mow 2026-07-10"
    assert (row["verdict"], row["confounded_by"]) == ("confounded", "handled_otherwise")


def test_reference_that_carries_the_spread_is_told():
    hayed = [*REFERENCES[:4], (0.42, 0.38)]
    table = compared(references=hayed, burned=[(0.41, 0.65)])
    row = table.loc["U0"]
    assert row["carrying_reference"] == "U5"
    assert row["caution"] == "carried_by_one"
    assert "U5" in row["references_used"], "named and kept"
