"""The balance of dead grass: by day until the burn, by acre of what was treated, never mixed."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.season.fuel.clip_plots import measure_standing
from pipeline.season.fuel.settings import FuelSettings
from tests.literal_layers import literal_layer
from tests.made_season import log, log_of, square_units, standing_row
from tests.season.test_fuel import judged

FRAME_SQFT, LB_AC_PER_G = 9.6, 10.0
"""A frame of 9.6 square feet, grams × 10: NRCS range handbook (from memory), off by 0.04 %."""


def planned(*rows):
    """Layer ``planned_log`` of rows of the treatments table."""
    return conform(log(*rows), LAYERS["planned_log"])


def block(first_day, *unit_ids):
    """Units that burn together from a day on."""
    return literal_layer(
        "burns", [{"block": "North", "unit_id": u, "first_day": first_day} for u in unit_ids]
    )


def clipped(*plots):
    """Table ``standing`` of clip plots: a day and a load [lb/ac] each, of the unit A."""
    rows = [
        {"unit_id": "A", "date": day, "frame_sqft": FRAME_SQFT, "dry_g": load / LB_AC_PER_G}
        for day, load in plots
    ]
    nothing = empty(LAYERS["obstruction"]), empty(LAYERS["loads"])
    return conform(
        measure_standing(literal_layer("clips", rows), *nothing, FuelSettings()),
        LAYERS["standing"],
    )


# Work on a part of a unit.


@pytest.mark.parametrize("kind", ["mow", "hay", "till", "burn"])
def test_work_on_a_few_acres_leaves_the_fuel_of_the_others(kind):
    # A firebreak of 1.8 of 80 acres; half of 4,000 lb/ac is lost over winter.
    taken = log(
        {"unit_id": "A", "start": "2026-11-10", "kind": kind, "acres_treated_ac": 1.8},
    )
    row = judged(square_units(A=80), standing_row("A", 4000), taken).loc["A"]
    assert (row["carries"], row["spring_load_lb_ac"]) == ("yes", 2000)
    assert (row["removed_by"], row["treated_ac"]) == (kind, pytest.approx(1.8))


def test_work_on_more_than_half_of_the_acres_needs_a_new_measurement():
    taken = log_of(
        "unit_id start kind acres_treated_ac",
        ("A", "2026-11-10", "hay", 25.0),
        ("A", "2026-11-20", "hay", 16.0),
    )
    row = judged(square_units(A=80), standing_row("A", 4000), taken).loc["A"]
    assert (row["reason"], row["treated_ac"]) == ("needs_new_measurement", pytest.approx(41.0))


@pytest.mark.parametrize(("part", "reason"), [(0.4, "dates_of_the_region"), (0.6, None)])
def test_burned_ground_that_was_drawn_tells_the_share_also_beside_a_neighbor(part, reason):
    # B touches A in a corner; the burned ground is drawn for A and lies over both.
    units = square_units(A=80, B=80)
    a = units.geometry.iloc[0]
    side = a.bounds[2]
    units = units.set_geometry(
        gpd.GeoSeries([a, shapely.box(side, side, 2 * side, 2 * side)], crs=units.crs)
    )
    shape = shapely.MultiPolygon([shapely.box(0, (1 - part) * side, 2 * side, side * 1.2)])
    drawn = literal_layer(
        "burned_areas", [{"unit_id": "A", "date": "2026-11-10"}], [shape], units.crs
    )
    burn = log({"unit_id": "A", "start": "2026-11-10", "kind": "burn"})
    standing = pd.concat([standing_row("A", 4000), standing_row("B", 4000)])
    fuel = judged(units, standing, burn, burned_areas=drawn)
    assert fuel.loc["A", "treated_ac"] == pytest.approx(80 * part, rel=1e-3)
    assert fuel.loc["A", "reason"] == (reason or "needs_new_measurement")
    assert fuel.loc["B", "spring_load_lb_ac"] == 2000
    assert pd.isna(fuel.loc["B", "treated_ac"])


def test_mowing_planned_after_the_planned_burn_takes_nothing_off_before_it():
    mow = {"unit_id": "A", "kind": "mow"}
    rows = {"units": square_units(A=80), "standing": standing_row("A", 4000)}
    burns = block("2027-04-20", "A")
    after = planned(mow | {"start": "2027-04-25"})
    assert judged(**rows, burns=burns, planned_log=after).loc["A", "carries"] == "yes"
    before = planned(mow | {"start": "2027-04-10"})
    assert judged(**rows, burns=burns, planned_log=before).loc["A", "carries"] == "unknown"


# Animals until the burn.

APRIL = {"unit_id": "A", "kind": "graze", "start": "2027-04-01", "end": "2027-05-31"}
PAIRS = {"head": 20, "animal_unit_equivalent": 1.0}


def test_animals_of_spring_take_fuel_off_until_the_first_day_of_the_burn():
    # Hand: 20 animal units × 26 lb × 30 days of April on 80 ac, at a grazing efficiency of 49 %:
    # 398 lb/ac. Texas, North Dakota and Montana handbooks: 26 lb a day; Smart et al. 2010: 49 %.
    grazing = planned(APRIL | PAIRS)
    row = judged(
        square_units(A=80),
        standing_row("A", 4000),
        burns=block("2027-05-01", "A"),
        planned_log=grazing,
    ).loc["A"]
    assert row["spring_disappeared_lb_ac"] == pytest.approx(398, abs=0.5)
    assert row["spring_load_lb_ac"] == pytest.approx(2000 - 398, abs=0.5)
    assert row["spring_load_date"] == pd.Timestamp("2027-05-01")


def test_animals_on_a_part_of_the_unit_take_the_same_pounds_off_all_of_it():
    half = planned(APRIL | PAIRS | {"acres_treated_ac": 40.0})
    row = judged(
        square_units(A=80),
        standing_row("A", 4000),
        burns=block("2027-05-01", "A"),
        planned_log=half,
    ).loc["A"]
    assert row["spring_disappeared_lb_ac"] == pytest.approx(398, abs=0.5)


def test_animals_of_spring_close_the_window_early():
    rows = {"units": square_units(A=80), "standing": standing_row("A", 3600)}
    rested = judged(**rows).loc["A", "burn_until"]
    grazed = judged(**rows, planned_log=planned(APRIL | PAIRS)).loc["A", "burn_until"]
    assert grazed < rested - pd.Timedelta(days=7)


def test_animals_that_come_after_the_burn_take_nothing_off_before_it():
    rows = {"units": square_units(A=80), "standing": standing_row("A", 4000)}
    rows |= {"burns": block("2027-04-15", "A")}
    after = planned(APRIL | PAIRS | {"start": "2027-04-15"})
    rested, grazed = judged(**rows).loc["A"], judged(**rows, planned_log=after).loc["A"]
    assert grazed["spring_disappeared_lb_ac"] == 0
    assert grazed["burn_until"] == rested["burn_until"]


def test_grazing_under_way_on_the_day_of_the_plan_counts_each_day_once():
    # Of the 30 days of April ten are done by the day the plan is looked at from.
    rows = {"units": square_units(A=80), "standing": standing_row("A", 4000)}
    done = log(APRIL | PAIRS | {"end": "2027-04-10"})
    to_come = planned(APRIL | PAIRS | {"start": "2027-04-11"})
    row = judged(**rows, treatments=done, planned_log=to_come, burns=block("2027-05-01", "A"))
    assert row.loc["A", "spring_disappeared_lb_ac"] == pytest.approx(398, abs=0.5)


def test_animals_whose_number_is_not_told_close_the_window_on_their_first_day():
    untold = planned(APRIL | {"start": "2027-04-20"})
    row = judged(square_units(A=80), standing_row("A", 4000), planned_log=untold).loc["A"]
    assert row["burn_until"] == row["animals_untold_from"] == pd.Timestamp("2027-04-20")
    row = judged(
        square_units(A=80),
        standing_row("A", 4000),
        planned_log=untold,
        burns=block("2027-05-01", "A"),
    ).loc["A"]
    assert row["reason"] == "needs_animals"


# The measurement nearest its purpose.


def test_clips_of_june_and_october_are_never_averaged():
    # Mixed they were (4,765 + 801) ÷ 2 = 2,783.
    standing = clipped(("2026-06-18", 801), ("2026-10-12", 4765))
    assert list(standing["mean_lb_ac"].round(-1)) == [800, 4770]
    row = judged(square_units(A=80), standing).loc["A"]
    assert row["fall_load_lb_ac"] == pytest.approx(4765, rel=1e-3)


def test_clips_of_one_month_are_one_sample_and_those_around_the_fall_day_are_not():
    # The fall day of the settings is August 1.
    fall = pd.Timestamp(f"2026-{FuelSettings().fall_from}")
    day = pd.Timedelta(days=1)
    one = clipped((f"{fall:%Y-%m-%d}", 3000), (f"{fall + 20 * day:%Y-%m-%d}", 4000))
    assert len(one) == 1
    two = clipped((f"{fall - day:%Y-%m-%d}", 3000), (f"{fall:%Y-%m-%d}", 4000))
    assert len(two) == 2
    far = clipped((f"{fall:%Y-%m-%d}", 3000), (f"{fall + 31 * day:%Y-%m-%d}", 4000))
    assert len(far) == 2


def test_fall_load_is_of_fall_and_spring_load_of_spring():
    both = clipped(("2026-10-12", 4000), ("2027-03-25", 1500))
    row = judged(square_units(A=80), both).loc["A"]
    assert row["fall_load_lb_ac"] == pytest.approx(4000, rel=1e-3)
    assert row["spring_load_lb_ac"] == pytest.approx(1500, rel=1e-3)
    assert row["load_date"] == pd.Timestamp("2027-03-25")


def test_clip_of_green_growth_does_not_tell_the_dead_fuel():
    both = clipped(("2026-10-12", 4000), ("2027-06-01", 2600))
    row = judged(square_units(A=80), both).loc["A"]
    assert row["load_date"] == pd.Timestamp("2026-10-12")


def test_what_stands_goes_before_what_grew():
    grown = standing_row("A", 5000, measure="production", date="2026-11-01")
    row = judged(square_units(A=80), pd.concat([standing_row("A", 3000), grown])).loc["A"]
    assert row["fall_load_lb_ac"] == 3000


def test_override_goes_before_newer_measurements_and_keeps_its_reason():
    reason = "hailed flat after the plots were clipped"
    own = standing_row("A", 1800, date="2026-09-20", override_reason=reason)
    row = judged(square_units(A=80), pd.concat([standing_row("A", 4000), own])).loc["A"]
    assert (row["spring_load_lb_ac"], row["override_reason"]) == (900, reason)
