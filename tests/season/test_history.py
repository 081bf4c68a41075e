"""History of each unit from its log: hand examples, and that no record is not zero."""

import re

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.pages.report_tables import draw_table
from pipeline.pages.words import date_words
from pipeline.season import herd, history
from pipeline.season.settings import HerdSettings, SeasonSettings
from pipeline.season.sheets import HISTORY_TABLE
from tests.made_season import SEASON, log, square_units


def recorded(units, treatments, areas=None, settings=None):
    settings = settings or SeasonSettings()
    areas = empty(LAYERS["burned_areas"], units.crs) if areas is None else areas
    parts = history.draw_fire_history(units, treatments, areas, SEASON, settings)
    parts = conform(parts, LAYERS["fire_history"], units.crs)
    rates = herd.rate_grazing(units, treatments, HerdSettings())
    grazing = conform(herd.count_grazing(rates, settings), LAYERS["grazing"])
    rows = history.tell_history(units, treatments, parts, grazing, SEASON, settings)
    return conform(rows, LAYERS["history"], units.crs).set_index("unit_id"), parts


def event(unit_id, start, kind, end=None, **more):
    return {"unit_id": unit_id, "start": start, "end": end, "kind": kind, **more}


def burns(*days):
    """Log of burns of the unit A."""
    return log(*(event("A", day, "burn") for day in days))


def test_three_fires_by_hand():
    # Hand: fires of 2014, 2018 and 2023, as of the end of 2025: 2 years since, 2 fires in the last
    # ten years, mean interval 4.5 years.
    fires = [2014, 2018, 2023]
    assert history.years_since(2023, 2025) == 2
    assert history.burns_within(fires, 2025, 10) == 2
    assert history.mean_interval_years(fires) == 4.5


def test_unit_without_a_row_has_nothing_on_record():
    rows, parts = recorded(square_units(A=80, B=80), log(event("B", "2024-04-10", "burn")))
    assert rows.loc["A", "record"] == "none_on_record"
    assert rows.loc["A"].drop(["record", "geometry"]).isna().all()
    assert set(parts["unit_id"]) == {"B"}


def test_unit_never_burned_on_record_has_no_years_since():
    rows, _ = recorded(square_units(A=80), log(event("A", "2026-05-01", "rest", "2026-12-31")))
    assert pd.isna(rows.loc["A", "years_since_burn"])
    assert rows.loc["A", "burns_in_10_years"] == 0
    told = rows.loc["A", ["record", "first_record_year", "last_record_year"]]
    assert list(told) == ["on_record", 2026, 2026]


def test_days_of_a_year_the_log_is_silent_on_are_not_zero():
    rows, _ = recorded(square_units(A=80), log(event("A", "2024-04-10", "burn")))
    assert pd.isna(rows.loc["A", "days_grazed"])


def test_burns_years_and_windows():
    days = ("2014-04-20", "2018-10-02", "2023-05-14", "2028-04-01")
    rows, _ = recorded(square_units(A=80), burns(*days))
    row = rows.loc["A"]
    assert (row["years_since_burn"], row["burns_in_5_years"], row["burns_in_10_years"]) == (4, 1, 2)
    assert row["mean_interval_years"] == 4.5
    assert row["last_burn_window"] == "late_spring"


def test_grazing_of_the_year_before_by_part_of_the_season():
    # Midsummer runs from July 1 to August 14: of June 21 to August 24, 10 days lie before it, 45
    # in it, 10 after.
    grazed = event("A", "2026-06-21", "graze", "2026-08-24", head=10, animal_unit_equivalent=1.2)
    rows, _ = recorded(square_units(A=80), log(grazed))
    row = rows.loc["A"]
    parts = ["days_grazed_early", "days_grazed_midsummer", "days_grazed_late"]
    assert list(row[parts]) == [10, 45, 10]
    assert row["au_days"] == pytest.approx(65 * 12)


@pytest.mark.parametrize(
    ("rows", "rested"),
    [
        ([event("A", "2026-01-01", "rest", "2026-12-31")], 1),
        ([event("A", f"{y}-01-01", "rest", f"{y}-12-31") for y in (2024, 2025, 2026)], 3),
        # 2025 is silent: not known to be a rest.
        ([event("A", f"{y}-01-01", "rest", f"{y}-12-31") for y in (2024, 2026)], 1),
        ([event("A", "2026-06-01", "graze", "2026-06-10")], 0),
        ([event("A", "2026-11-01", "graze", "2026-11-10")], 1),
        ([event("A", "2026-07-20", "hay")], 0),
        ([event("A", "2026-04-14", "burn")], 1),
        # A mown firebreak of 1.8 of 80 acres ends no rest, animals on more than half of it do.
        ([event("A", "2026-07-20", "mow", acres_treated_ac=1.8)], 1),
        ([event("A", "2026-07-20", "graze", acres_treated_ac=41.0)], 0),
    ],
)
def test_rested_seasons(rows, rested):
    assert recorded(square_units(A=80), log(*rows))[0].loc["A", "rested_seasons"] == rested


def partial(unit, share, day):
    west, south, east, north = unit.bounds
    shape = shapely.box(west - 50, south - 50, west + (east - west) * share, north + 50)
    return {"unit_id": "A", "date": pd.Timestamp(day), "geometry": shape}


def test_partial_burn_takes_its_share_and_the_faces_make_up_the_unit():
    units = square_units(A=80)
    areas = gpd.GeoDataFrame([partial(units.geometry[0], 0.25, "2024-04-10")], crs=units.crs)
    rows, parts = recorded(units, burns("2020-04-10", "2024-04-10"), areas)
    assert parts["area_ac"].sum() == pytest.approx(80, rel=1e-5)
    assert sorted(parts["burn_years"]) == ["2020", "2020, 2024"]
    assert rows.loc["A", "burned_share_pct"] == pytest.approx(25, abs=0.01)
    # A quarter burned 3 years ago, the rest 7.
    assert rows.loc["A", "mean_since_burn_years"] == pytest.approx(6, abs=1e-3)


def test_unit_burned_whole_and_later_in_part_reads_as_both_in_the_report():
    units = square_units(A=80)
    areas = gpd.GeoDataFrame([partial(units.geometry[0], 0.29, "2026-04-10")], crs=units.crs)
    rows, _ = recorded(units, burns("2020-04-10", "2026-04-10"), areas)
    table = str(draw_table(HISTORY_TABLE, rows.reset_index()))
    headings = re.findall(r'<th scope="col"[^>]*>([^<]*)', table)
    cells = re.split(r"(?=<t[hd][ >])", table.partition("<tbody>")[2])[1:]
    shown = dict(zip(headings, (re.sub("<[^>]*>", "", cell) for cell in cells), strict=True))
    assert shown["Last burn"] == date_words(pd.Timestamp("2026-04-10"))
    assert shown["Share burned in the year of the last burn"] == "29"
    assert shown["Years since the last burn"] == "1"
    # 29 % one year ago, 71 % seven years ago.
    assert shown["Years since fire, mean of burned ground"] == "5.3"
    assert shown["Share with no burn on record"] == "0"
    assert "any burn in the unit, whatever share of it burned" in table


def test_two_partial_burns_of_one_year_count_together():
    units = square_units(A=80)
    west, east = partial(units.geometry[0], 0.25, "2026-04-10"), units.geometry[0]
    rest = {**west, "geometry": shapely.difference(east, west["geometry"])}
    areas = gpd.GeoDataFrame([west, {**rest, "date": pd.Timestamp("2026-10-10")}], crs=units.crs)
    rows, _ = recorded(units, burns("2026-04-10", "2026-10-10"), areas)
    assert rows.loc["A", "burned_share_pct"] == pytest.approx(100, abs=0.01)
    assert "in the year of its last burn" in LAYERS["history"].column("burned_share_pct").meaning


def test_ground_outside_a_partial_burn_has_none_on_record():
    units = square_units(A=80)
    areas = gpd.GeoDataFrame([partial(units.geometry[0], 0.5, "2024-04-10")], crs=units.crs)
    rows, parts = recorded(units, log(event("A", "2024-04-10", "burn")), areas)
    assert parts["years_since_burn"].isna().sum() == 1
    assert rows.loc["A", "never_burned_pct"] == pytest.approx(50, abs=0.01)
    assert rows.loc["A", "burned_share_pct"] == pytest.approx(50, abs=0.01)
    # The mean is over the ground that has burned: half of the unit, three years ago.
    assert rows.loc["A", "mean_since_burn_years"] == pytest.approx(3)


def test_burning_again_soon_is_told():
    days = ("2021-04-10", "2023-04-10", "2025-04-10")
    _, parts = recorded(square_units(A=80), burns(*days))
    assert list(parts["burned_again_soon"]) == [True]


@pytest.mark.parametrize(
    "days",
    [("2023-04-10", "2025-04-10"), ("2019-04-10", "2022-04-10", "2024-04-10")],
)
def test_the_two_burns_that_start_a_recovery_are_not_told(days):
    # Two burns in three years: common practice, no source. Three years apart is the least interval.
    _, parts = recorded(square_units(A=80), burns(*days))
    assert list(parts["burned_again_soon"]) == [False]


def test_the_eleventh_year_back_is_outside_ten_years():
    assert history.burns_within([2015], 2025, 10) == 0
    assert history.burns_within([2016], 2025, 10) == 1


def test_a_burn_of_few_acres_is_not_one_of_the_whole_unit():
    # Hand: 2 of 80 acres are 2.5 percent; where they lie is not told, so that no ground is cut off.
    treatments = log(event("A", "2026-04-10", "burn", acres_treated_ac=2.0))
    rows, parts = recorded(square_units(A=80), treatments)
    assert rows.loc["A", "burned_share_pct"] == pytest.approx(2.5, rel=1e-3)
    assert rows.loc["A", "never_burned_pct"] == pytest.approx(97.5, rel=1e-3)
    assert pd.isna(rows.loc["A", "mean_since_burn_years"])
    assert list(parts["burns"]) == [0]


def test_a_patch_burned_after_the_whole_unit_leaves_its_record():
    older = event("A", "2020-04-10", "burn")
    newer = event("A", "2026-04-10", "burn", acres_treated_ac=2.0)
    rows, parts = recorded(square_units(A=80), log(older, newer))
    assert rows.loc["A", "burned_share_pct"] == pytest.approx(2.5, rel=1e-3)
    assert rows.loc["A", "never_burned_pct"] == 0
    assert list(parts["burn_years"]) == ["2020"]


def test_two_told_parts_of_a_year_come_to_the_greater_part():
    halves = [
        event("A", day, "burn", acres_treated_ac=30.0) for day in ("2026-04-10", "2026-04-20")
    ]
    rows, parts = recorded(square_units(A=80), log(*halves))
    assert rows.loc["A", "burned_share_pct"] == pytest.approx(75.0, rel=1e-3)
    assert list(parts["burn_years"]) == ["2026"]
