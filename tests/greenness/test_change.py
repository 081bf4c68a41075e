"""Change against reference units: worked examples, and verdicts no bolder than the figures."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness.change import change_against, compare_greenness, half_width, verdict
from pipeline.greenness.comparisons import season_gap_days
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import earlier_pictures, effect_of_years, history_effect
from tests.made_scenes import readings
from tests.made_season import log_of

DEFAULTS = GreennessSettings()
REFERENCES = [(0.43, 0.50), (0.39, 0.47), (0.45, 0.51), (0.40, 0.46), (0.42, 0.50)]


def comparison(burned=((0.41, 0.55),), references=REFERENCES, **changed):
    """Frames of one comparison; ``changed`` overrides columns of ``zone_changes``."""
    pairs = [*burned, *references]
    ids = [f"U{n}" for n in range(len(pairs))]
    roles = ["burned"] * len(burned) + ["reference"] * len(references)
    before, after = pd.Timestamp("2025-07-20"), pd.Timestamp("2026-07-22")
    comparisons = pd.DataFrame(
        {"comparison": "fire", "before": before, "after": after, "unit_id": ids, "role": roles}
    )
    old, new = np.array(pairs).T
    changes = pd.DataFrame(
        {
            "comparison": "fire",
            "unit_id": ids,
            "before_mean": old,
            "after_mean": new,
            "change": new - old,
            "change_sd": 0.02,
            "pixels": 1600.0,
            "valid_pct": 100.0,
            "full_pixels": 1500,
            "lost_pct": 5.0,
            "pixel_m": 10.0,
            "paired": True,
            "mixed": False,
            "effective_pixels": 12.0,
            "range_m": 200.0,
            "alike_pct": None,
            "range_from": "setting",
            "reason": None,
        }
    ).assign(**changed)
    units = gpd.GeoDataFrame(
        {"unit_id": ids},
        crs=32614,
        geometry=[shapely.box(400 * n, 0, 400 * n + 400, 400) for n in range(len(ids))],
    )
    return (
        units,
        conform(comparisons, LAYERS["comparisons"]),
        conform(changes, LAYERS["zone_changes"]),
    )


NO_TREATMENTS = empty(LAYERS["treatment_log"])


def burns(*rows):
    """Layer ``treatment_log`` of burns: unit and day."""
    return log_of("unit_id start kind", *((*row, "burn") for row in rows))


def compared(zone_scenes=None, settings=DEFAULTS, treatments=NO_TREATMENTS, **told):
    units, comparisons, changes = comparison(**told)
    scenes = empty(LAYERS["zone_scenes"]) if zone_scenes is None else zone_scenes
    frame = compare_greenness(units, comparisons, changes, scenes, treatments, settings)
    return conform(frame, LAYERS["greenness"], units.crs).set_index("unit_id")


def test_worked_example_with_five_references():
    row = compared().loc["U0"]
    assert row["change"] == pytest.approx(0.14)
    assert row["change_vs_reference"] == pytest.approx(0.0700, abs=5e-7)
    assert row["interval_low"] == pytest.approx(0.0396, abs=5e-5)
    assert row["interval_high"] == pytest.approx(0.1004, abs=5e-5)
    assert row["relative_pct"] == pytest.approx(14.58, abs=5e-3)
    assert row["references"] == 5
    assert row["verdict"] == "greener"


def test_each_reference_against_the_others_is_a_placebo():
    placebo = compared().loc[[f"U{n}" for n in range(1, 6)], "change_vs_reference"]
    assert placebo.to_numpy() == pytest.approx([0, 0.0125, -0.0125, -0.0125, 0.0125], abs=1e-9)


# Student's t at 0.975 with m − 1 degrees of freedom (printed tables) times √(1 + 1/m).
@pytest.mark.parametrize(
    ("m", "multiplier"), [(3, 4.97), (4, 3.56), (5, 3.0414), (8, 2.51), (12, 2.29)]
)
def test_multiplier_of_the_spread(m, multiplier):
    changes = np.linspace(0, 1, m)
    changes = changes / changes.std(ddof=1)
    assert half_width(changes, 95, 3) == pytest.approx(multiplier, abs=5e-3)


def test_below_three_references_there_is_no_interval():
    row = compared(references=REFERENCES[:2]).loc["U0"]
    assert row["change_vs_reference"] == pytest.approx(0.065)
    assert np.isnan(row["interval_low"])
    assert row["verdict"] == "no_interval"


def test_without_references_nothing_is_said():
    row = compared(references=[]).loc["U0"]
    assert np.isnan(row["change_vs_reference"])
    assert (row["verdict"], row["reason"]) == ("cannot_judge", "no_reference")


def test_change_within_the_spread_is_told_as_such():
    row = compared(burned=[(0.41, 0.49)]).loc["U0"]
    assert row["verdict"] == "within"


def test_browner_is_told_too():
    row = compared(burned=[(0.41, 0.41)]).loc["U0"]
    assert row["verdict"] == "less_green"


def test_change_below_the_noise_of_the_sensors_is_no_difference():
    same = [(0.40, 0.45)] * 5
    row = compared(burned=[(0.40, 0.465)], references=same).loc["U0"]
    assert row["verdict"] == "below_noise"
    mixed = compared(burned=[(0.40, 0.475)], references=same, mixed=True).loc["U0"]
    assert mixed["noise_floor"] == 0.03
    assert mixed["verdict"] == "below_noise"
    assert verdict(0.025, 0.0, 0.02, greater="more", less="less") == "more"
    assert verdict(-0.025, 0.0, 0.02, greater="more", less="less") == "less"


def test_refused_unit_keeps_its_row_and_the_reason():
    row = compared(reason=["too_narrow", *[None] * 5]).loc["U0"]
    assert (row["verdict"], row["reason"]) == ("cannot_judge", "too_narrow")
    assert row["caution"] is None
    assert np.isnan(row["change_vs_reference"])


def test_cloudy_reference_is_not_held_against():
    table = compared(valid_pct=[100, 60, 100, 100, 100, 100])
    assert table.loc["U0", "references"] == 4
    assert table.loc["U0", "change_vs_reference"] == pytest.approx(0.14 - 0.07)


def test_what_the_pictures_lack_is_a_caution():
    # 80 percent of a burned unit must be usable to be sure of it; pictures of other pixels or
    # sensors are told, and so are dates of 9 days apart in the year (the settings: 80, 8).
    part = compared(valid_pct=[79, 100, 100, 100, 100, 100]).loc["U0"]
    assert (part["verdict"], part["caution"]) == ("greener", "part_usable")
    assert compared(mixed=True, paired=False).loc["U0", "caution"] == "unpaired"
    assert compared(mixed=True).loc["U0", "caution"] == "mixed_sensors"
    units, comparisons, changes = comparison()
    late = comparisons.assign(after=pd.Timestamp("2026-07-29"))
    none = empty(LAYERS["zone_scenes"])
    row = compare_greenness(units, late, changes, none, NO_TREATMENTS, DEFAULTS).iloc[0]
    assert (row["verdict"], row["caution"], row["season_gap_days"]) == ("greener", "season_gap", 9)


def test_references_unlike_the_burned_unit_before_are_a_caution():
    assert compared().loc["U0", "caution"] is None
    row = compared(burned=[(0.30, 0.44)]).loc["U0"]
    assert row["caution"] == "unlike_before"
    assert row["before_gap"] == pytest.approx(0.30 - 0.418)


def test_gap_in_the_season():
    assert season_gap_days(pd.Timestamp("2025-07-20"), pd.Timestamp("2026-07-22")) == 2
    assert season_gap_days(pd.Timestamp("2025-12-30"), pd.Timestamp("2027-01-02")) == 3
    units, comparisons, changes = comparison()
    late = comparisons.assign(after=pd.Timestamp("2026-09-01"))
    frame = compare_greenness(
        units, late, changes, empty(LAYERS["zone_scenes"]), NO_TREATMENTS, DEFAULTS
    )
    assert frame["verdict"].eq("seasonal").all()


def test_worked_example_with_several_earlier_years():
    told = effect_of_years([-0.012, 0.004, -0.009, 0.010, -0.003], 0.052, 95)
    assert told.effect == pytest.approx(0.0540, abs=5e-5)
    assert told.half == pytest.approx(0.0276, abs=5e-5)
    assert told.reach == pytest.approx(0.022)


def earlier_years(gaps):
    """Means of U0, which strays by ``gaps`` from its references in July of 2021 and after."""
    units = [f"U{k}" for k in range(6)]
    rows = [
        (unit, f"{2021 + n}-07-20", 0.5 + (gap if unit == "U0" else 0.0))
        for n, gap in enumerate(gaps)
        for unit in units
    ]
    rows += [(unit, "2026-07-22", 0.57 if unit == "U0" else 0.5) for unit in units]
    return readings(*rows)


def test_the_wider_of_the_two_intervals_is_given():
    calm = compared(earlier_years([0, 0.001, -0.001, 0.001, 0])).loc["U0"]
    wild = compared(earlier_years([0.08, -0.06, 0.05, -0.09, 0.04])).loc["U0"]
    assert calm["years_before"] == wild["years_before"] == 5
    assert calm["gaps_before"] == (
        "2021 +0.000; 2022 +0.001; 2023 -0.001; 2024 +0.001; 2025 +0.000"
    )
    assert calm["interval_high"] - calm["interval_low"] == pytest.approx(2 * 0.030414, abs=5e-5)
    assert wild["interval_high"] - wild["interval_low"] > 0.2
    assert wild["verdict"] == "within"
    assert wild["caution"] == "restless_years"
    assert wild["years_reach"] == pytest.approx(0.08 + 0.09)
    assert wild["years_effect"] == pytest.approx(0.07 - 0.004)


def test_years_within_a_year_after_a_burn_do_not_count():
    scenes = earlier_years([0, 0.001, -0.001, 0.001, 0])
    burn = burns(("U0", "2022-04-10"))
    assert compared(scenes, treatments=burn).loc["U0", "years_before"] == 4
    of_reference = burns(("U2", "2023-04-10"), ("U0", "2023-04-10"), ("U1", "2026-04-10"))
    assert compared(scenes, treatments=of_reference).loc["U0", "years_before"] == 4
    elsewhere = burns(("X", "2022-04-10"))
    assert compared(scenes, treatments=elsewhere).loc["U0", "years_before"] == 5


def test_identical_scenes_give_exactly_zero():
    table = compared(burned=[(0.41, 0.41)], references=[(0.43, 0.43)] * 5)
    assert (table["change"] == 0).all()
    assert (table["change_vs_reference"] == 0).all()
    assert (table["verdict"] == "within").all()


def test_interval_covers_as_often_as_it_says():
    """Units differ by their own spread and by their pixels; the interval must hold 95 percent."""
    chance = np.random.default_rng(11)
    draws = 4000
    for m in (3, 5, 8):
        changes = chance.normal(0, np.hypot(0.02, 0.016), (draws, m + 1))
        held = [
            abs(change_against(row[0], row[1:])) <= half_width(row[1:], 95, 3) for row in changes
        ]
        assert np.mean(held) == pytest.approx(0.95, abs=0.0105), m


def test_a_burn_among_the_days_of_a_composite_is_not_judged():
    scenes = earlier_years([0, 0.001, -0.001, 0.001, 0])
    last = scenes["date"] + pd.Timedelta(days=15)
    composite = scenes.assign(last_day=last)
    burn = burns(("U0", "2025-07-22"))
    row = compared(composite, treatments=burn).loc["U0"]
    assert row["reason"] == "burn_in_composite_before"
    row = compared(composite, treatments=burns(("U0", "2026-04-10"))).loc["U0"]
    assert row["verdict"] == "greener"
    assert row["caution"] == "composite"
    assert row["before_last_day"] == pd.Timestamp("2025-08-04")
    assert row["after_last_day"] == pd.Timestamp("2026-08-06")


def test_cloud_over_one_unit_is_suspected():
    row = compared(burned=[(0.61, 0.28)]).loc["U0"]
    assert row["caution"] == "cloud_after, unlike_before"
    assert compared().loc["U0", "caution"] is None


def test_reference_that_burned_is_no_reference():
    table = compared(treatments=burns(("U2", "2026-04-10")))
    assert table.loc["U0", "references"] == 4
    assert table.loc["U2", "reason"] == "reference_burned"
    assert table.loc["U2", "other_burn"] == pd.Timestamp("2026-04-10")
    assert table.loc["U0", "change_vs_reference"] == pytest.approx(0.14 - 0.0675)


def test_reference_without_earlier_years_does_not_take_them_from_the_others():
    scenes = earlier_years([0.08, -0.06, 0.05, -0.09, 0.04])
    gone = (scenes["unit_id"] == "U5") & (scenes["date"] < pd.Timestamp("2025-01-01"))
    row = compared(scenes[~gone]).loc["U0"]
    assert row["years_before"] == 5
    assert row["verdict"] == "within"
    assert row["caution"] == "restless_years, years_of_part"
    assert (row["years_references"], row["references"]) == (4, 5)


def test_a_logged_burn_is_not_taken_for_cloud():
    fire = burns(("U0", "2026-07-10"), ("U1", "2026-07-10"))
    table = compared(burned=[(0.61, 0.28), (0.60, 0.29)], treatments=fire)
    assert not table["caution"].fillna("").str.contains("cloud").any()


def test_winters_are_counted_as_seasons():
    days = pd.to_datetime(["2022-12-29", "2023-01-03", "2024-01-02", "2025-01-01", "2026-01-03"])
    rows = [(f"U{k}", day, 0.3 + 0.01 * k) for day in days for k in range(6)]
    frame = pd.DataFrame(rows, columns=["unit_id", "date", "mean"])
    row = pd.Series({"unit_id": "U0", "before": days[3], "after": days[4]})
    names = [f"U{k}" for k in range(1, 6)]
    table = frame.assign(kind="ndvi", last_day=frame["date"], reason=None)
    shown = earlier_pictures(days[3], table, NO_TREATMENTS, DEFAULTS)
    effect = history_effect(row, names, shown, DEFAULTS)
    assert effect.years == 3, "two pictures of the same winter are one"


def test_season_apart_gives_no_effect_at_all():
    units, comparisons, changes = comparison()
    apart = comparisons.assign(after=pd.Timestamp("2026-09-20"))
    none = empty(LAYERS["zone_scenes"])
    table = compare_greenness(units, apart, changes, none, NO_TREATMENTS, DEFAULTS)
    table = table.set_index("unit_id")
    assert table[["change_vs_reference", "interval_low", "interval_high"]].isna().all(axis=None)
    assert (table["verdict"] == "seasonal").all()
    assert (table["season_gap_days"] == 62).all()


def test_return_to_what_earlier_years_showed_is_no_effect():
    # Ten years with a gap of 0.06, one odd year before the burn, and 0.06 again after it.
    scenes = earlier_years([0.06, 0.061, 0.059, 0.06, -0.02])
    table = compared(scenes, burned=[(0.40, 0.56)])
    row = table.loc["U0"]
    assert row["verdict"] == "within"
    assert not row["within_earlier_years"], "the interval itself is that wide"
    steady = compared(earlier_years([0.068, 0.07, 0.072, 0.07, 0.071])).loc["U0"]
    assert steady["interval_low"] > 0
    assert (steady["verdict"], steady["within_earlier_years"]) == ("within", True)


def test_other_work_between_the_pictures_is_told():
    log = burns(("U0", "2026-04-10"))
    mown = burns(("U0", "2026-07-10")).assign(kind="mow")
    row = compared(treatments=pd.concat([log, mown], ignore_index=True)).loc["U0"]
    assert row["caution"] == "other_work"
    assert row["other_work"] == "mow 2026-07-10"
