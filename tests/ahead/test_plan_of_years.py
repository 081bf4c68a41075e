"""The plan of years of made properties and of the sample, held to its rules by a checker apart."""

import numpy as np
import pandas as pd
import pytest
import shapely
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from pipeline.ahead.burn_days import count_burn_days
from pipeline.ahead.causes import CAUSES
from pipeline.ahead.faults import ahead_faults
from pipeline.ahead.findings import find_plan_of_years
from pipeline.ahead.odds import all_placed, fit_pct
from pipeline.ahead.open_days import asked_limits, closed_until, closes, open_days
from pipeline.ahead.settings import PlanSettings
from pipeline.ahead.treatments import CODES, TREATMENTS, treatment_days
from pipeline.ahead.unit_facts import gather_plan_units
from pipeline.ahead.words import NO_BURN_WORDS, REASON_WORDS
from pipeline.intake.faults import intake_faults
from pipeline.season.fuel.settings import FuelSettings
from pipeline.season.options.past_work import weigh_past_work
from pipeline.season.options.settings import AimsSettings
from pipeline.season.settings import HerdSettings, SeasonSettings
from pipeline.work.settings import CostSettings
from tests.ahead.made_maps import mapped_property
from tests.ahead.made_years import (
    SEASON,
    grid_edges,
    made_property,
    plan_units,
    planned,
    written,
)
from tests.ahead.plan_checker import TABLES, broken_rules
from tests.literal_layers import literal_layer
from tests.made_season import log, property_row, square_units, unit_rows

SEEDS = (1, 7, 8)
"""Made properties with fields, young sowings, fixed burns, money, touching forbidden."""


@pytest.fixture(scope="module")
def made():
    """Tables of made properties, planned."""
    return {seed: made_property(seed) for seed in SEEDS}


@pytest.fixture(scope="module")
def row_of_pastures():
    """Six pastures on a map of two by three that differ in acres alone, planned."""
    rows = [{"unit_id": f"P{n}", "burnable_ac": 30.0 + n} for n in range(6)]
    edges = grid_edges([row["unit_id"] for row in rows], 3, np.random.default_rng(0))
    return plan_units(rows), edges, planned(plan_units(rows), edges, demand_aum=35.0, years=6)


def findings_of(tables, units, edges, settings, *, former=None, work=None):
    """Findings of a plan, by default without a former one and without other plans."""
    return find_plan_of_years(
        literal_layer("units", []),
        tables["plan_years"].assign(geometry=None),
        units,
        edges,
        tables["plan_totals"],
        tables["plan_summary"],
        literal_layer("former_plan") if former is None else former,
        literal_layer("planned_work") if work is None else work,
        settings,
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_checker_finds_no_broken_rule_in_made_properties(made, seed, tmp_path):
    assert broken_rules(written(made[seed], tmp_path / "made.gpkg")) == []


@pytest.mark.parametrize("seed", [3, 12])
def test_checker_finds_no_broken_rule_on_rotated_maps_with_corners_that_touch(seed, tmp_path):
    """Squares that share a side lie along one edge; those that touch in a point do not."""
    tables, beside = mapped_property(seed)
    both = tables["plan_edges"].dropna(subset=["neighbor"])
    pairs = {frozenset(pair) for pair in zip(both["unit_id"], both["neighbor"], strict=True)}
    assert pairs == beside
    assert broken_rules(written(tables, tmp_path / "map.gpkg")) == []


def test_checker_finds_no_broken_rule_in_the_sample(sample_layers, tmp_path):
    frames, _ = sample_layers
    tables = {name: pd.DataFrame(frames[name]).drop(columns="geometry", errors="ignore")
              for name in TABLES}  # fmt: skip
    assert broken_rules(written(tables, tmp_path / "sample.gpkg")) == []
    assert tables["plan_years"]["reason"].notna().all()
    assert set(tables["plan_years"].groupby("unit_id").size()) == {10}


def edited(tables, unit_id, year, **cells):
    """The tables with other cells in one row of the plan."""
    years = tables["plan_years"].copy()
    row = (years["unit_id"] == unit_id) & (years["year"] == year)
    for name, value in cells.items():
        years.loc[row, name] = value
    return tables | {"plan_years": years}


def test_checker_sees_each_kind_of_broken_rule(row_of_pastures, tmp_path):
    """Each plan is broken in one place; the line of the checker says where."""
    *_, tables = row_of_pastures
    years = tables["plan_years"]
    burned = years[years["treatment"].str.startswith("burn")].sort_values("year").iloc[0]
    unit_id, year = burned["unit_id"], int(burned["year"])
    other = "burn_late_spring" if "early" in burned["treatment"] else "burn_early_spring"
    cases = {
        "burned 1 years ago": (unit_id, year + 1, {"treatment": other}),
        "rested 0 seasons": (unit_id, year + 4, {"treatment": other}),
        "acres": (unit_id, year, {"treatment": "rest"}),
    }
    for n, (words, (unit, when, cells)) in enumerate(cases.items()):
        broken = edited(tables, unit, when, **cells)
        if words == "rested 0 seasons":
            broken = edited(broken, unit, when - 1, treatment="graze_late")
        lines = broken_rules(written(broken, tmp_path / f"{n}.gpkg"))
        assert any((words if words != "acres" else "burned_ac") in line for line in lines), words
    all_burn = tables["plan_years"].assign(
        treatment=lambda rows: rows["treatment"].where(rows["year"] != SEASON, other)
    )
    lines = broken_rules(written(tables | {"plan_years": all_burn}, tmp_path / "all.gpkg"))
    assert any("may" in line and line.startswith(f"{SEASON}: ") for line in lines)
    assert any("no neighbor stays unburned" in line for line in lines)


def test_unit_that_is_not_known_enough_gets_no_choice_and_says_why(made):
    for tables in made.values():
        dim = set(tables["plan_units"].dropna(subset=["undecided_by"])["unit_id"])
        rows = tables["plan_years"][tables["plan_years"]["unit_id"].isin(dim)]
        free = rows[rows["reason"] != "fixed"]
        assert set(free["treatment"]) <= {"undecided"}
        assert set(free["reason"]) <= {"needs_fuel"}
        assert free[["burned_ac", "line_ft", "cost_usd"]].isna().all(axis=None)


def test_former_plan_is_kept_unless_a_change_pays(row_of_pastures):
    """At equal worth what was told last year is told again; a change that pays is made."""
    units, edges, tables = row_of_pastures
    former = tables["plan_years"][["unit_id", "year", "treatment"]].to_dict("records")
    kept = planned(units, edges, former=former, demand_aum=35.0, years=6)
    assert kept["plan_summary"]["changed_choices"].iloc[0] == 0
    for row in former:
        row["treatment"] = "rest"
    moved = planned(units, edges, former=former, demand_aum=35.0, years=6)
    assert moved["plan_summary"]["changed_choices"].iloc[0] > 0
    assert moved["plan_totals"]["burned_ac"].sum() > 0


def test_no_touching_costs_something_and_the_cost_is_told(row_of_pastures, tmp_path):
    units, edges, _ = row_of_pastures
    strict = planned(units, edges, demand_aum=35.0, years=6, refuge="apart", most_burned_pct=60.0)
    assert strict["plan_summary"]["no_touching_usd"].iloc[0] >= 0
    assert broken_rules(written(strict, tmp_path / "strict.gpkg")) == []


def test_cap_smaller_than_a_unit_is_refused_by_name():
    """59.4 acres a year are 33 % of 180: a unit of 60 acres would never burn, and nobody know."""
    import geopandas as gpd

    side = np.sqrt(np.array([40.0, 60.0, 50.0, 30.0]) * 4046.8564224)
    shapes = [shapely.box(0, 1000 * n, length, 1000 * n + length) for n, length in enumerate(side)]
    names = ["A", "B", "C", "D"]
    crs = "+proj=laea +lat_0=40 +lon_0=-96 +units=m"
    units = gpd.GeoDataFrame(
        {"unit_id": names, "name": None, "cover": "x"}, geometry=shapes, crs=crs
    )
    empty = literal_layer("exclusions", (), [], crs)
    asked = (
        literal_layer("fixed_years"),
        literal_layer("property", [{"name": "x", "season": SEASON}]),
    )
    plan = PlanSettings(years=4, most_burned_pct=33, margin_pct=0)
    aims, costs = AimsSettings(), CostSettings()
    (fault,) = ahead_faults(units, empty, *asked, aims, costs, plan)
    assert "unit B of 60.0 ac" in str(fault)
    assert "59.4 ac" in str(fault)
    no_fire = AimsSettings(no_fire_units=("B",))
    assert not ahead_faults(units, empty, *asked, no_fire, costs, plan)
    assert not ahead_faults(units, empty, *asked, aims, costs, PlanSettings(years=0))
    crew = PlanSettings(years=4, most_burned_pct=50, crew_days=1, burn_day_ac=55)
    (fault,) = ahead_faults(units, empty, *asked, aims, costs, crew)
    assert "a burn of unit B takes 2 days of 1 a year" in str(fault)
    poor = PlanSettings(years=4, most_burned_pct=50, money_usd=2.5)
    (fault,) = ahead_faults(units, empty, *asked, aims, costs, poor)
    assert "[plan] money_usd: 2.5 dollars a year pay for no burn" in str(fault)
    assert "1000 dollars" in str(fault)
    (fault,) = ahead_faults(units, empty, *asked, aims, CostSettings(burn_crew_usd_day=2.6), poor)
    assert "2.6 dollars" in str(fault)
    paid = CostSettings(burn_crew_usd_day=2.5)
    assert not ahead_faults(units, empty, *asked, aims, paid, poor)
    assert not ahead_faults(units, empty, *asked, AimsSettings(fire_possible=False), costs, poor)
    hour = PlanSettings(years=4, most_burned_pct=50, crew_days=0.5)
    (fault,) = ahead_faults(units, empty, *asked, aims, costs, hour)
    assert "[plan] crew_days: 0.5 days a year are enough for no burn" in str(fault)


def test_burns_find_days_where_a_matching_does():
    """Against SciPy's matching of burns and days, on made years."""
    chance = np.random.default_rng(5)
    days = pd.date_range("2026-04-01", periods=7)
    for _ in range(60):
        offered = chance.random((chance.integers(1, 7), len(days))) < 0.3
        matched = maximum_bipartite_matching(csr_array(offered.astype(int)), perm_type="column")
        wanted = bool((matched >= 0).all())
        assert all_placed([list(days[row]) for row in offered]) == wanted


def offered(days_by_year):
    """Rows of days offered to two units in years of weather."""
    rows = []
    for year, units in days_by_year.items():
        for unit_id, days in units.items():
            for day in days or [None]:
                told = {"unit_id": unit_id, "treatment": "burn_early_spring", "weather_year": year}
                date = None if day is None else f"{year}-04-{day:02d}"
                rows.append(told | {"day": date, "smoke_free": day is not None})
    return literal_layer("offered_days", rows)


def test_odds_are_the_years_in_which_each_burn_has_a_day_of_its_own():
    """By hand: one day for both in 2024, a day for each in 2025, none for B in 2026."""
    days = offered(
        {2024: {"A": [3], "B": [3]}, 2025: {"A": [3], "B": [4]}, 2026: {"A": [3], "B": []}}
    )
    burns = pd.DataFrame(
        {"unit_id": ["A", "B"], "treatment": "burn_early_spring", "crew_days": [1.0, 1.0]}
    )
    assert fit_pct(burns, days) == (pytest.approx(100 / 3), 3)
    counted = count_burn_days(days).set_index("unit_id")
    assert list(counted["middle_days"]) == [1.0, 1.0]
    assert counted.loc["B", "none_pct"] == pytest.approx(100 / 3)
    assert fit_pct(burns, days.iloc[:0]) == (None, None)


def test_fixed_year_against_the_refuge_loosens_no_other_year(tmp_path):
    """All six are fixed to burn in the first year; from then on each burn has its refuge again."""
    rows = [{"unit_id": f"P{n}", "least_years": 2, "most_years": 2} for n in range(6)]
    edges = grid_edges([row["unit_id"] for row in rows], 3, np.random.default_rng(0))
    fixed = [{"unit_id": row["unit_id"], "year": SEASON, "treatment": "burn"} for row in rows]
    caps = {"most_burned_pct": 100.0, "margin_pct": 0.0}
    tables = planned(plan_units(rows), edges, fixed=fixed, demand_aum=0.0, years=6, **caps)
    assert broken_rules(written(tables, tmp_path / "fixed.gpkg")) == []


def test_burn_done_this_season_counts_against_its_caps_and_refuge(tmp_path):
    """Three of six burned in April of the season: under a cap of half no other may be burned."""
    done = {"years_since_burn": 0, "last_burn_time": "early_spring", "rested_seasons": 0}
    rows = [{"unit_id": f"P{n}"} | (done if n < 3 else {}) for n in range(6)]
    edges = grid_edges([row["unit_id"] for row in rows], 3, np.random.default_rng(0))
    caps = {"most_burned_pct": 50.0, "margin_pct": 0.0}
    tables = planned(plan_units(rows), edges, demand_aum=0.0, years=4, **caps)
    first = tables["plan_years"].query("year == @SEASON").set_index("unit_id")
    assert list(first["treatment"]) == ["burn_early_spring"] * 3 + ["rest"] * 3
    assert set(first["no_burn_by"].iloc[3:]) == {"cap_whole"}
    assert first["breaks_rule"].isna().all()
    assert broken_rules(written(tables, tmp_path / "done.gpkg")) == []


def test_field_that_was_sown_counts_in_the_cap_of_its_kind_of_ground(tmp_path):
    """Three pastures of 40 ac, one a year may burn; a field is sown and burns alone."""
    pastures = [{"unit_id": f"P{n}"} for n in range(3)]
    rows = [*pastures, {"unit_id": "P3", "state": "cropped", "supply_aum": None}]
    edges = grid_edges([row["unit_id"] for row in rows], 4, np.random.default_rng(0))
    fixed = [{"unit_id": "P3", "year": SEASON, "treatment": "seed"}]
    limits = {"most_burned_pct": 100.0, "most_cover_burned_pct": {"native": 36.0}, "years": 10}
    free = {"refuge": "none", "demand_aum": 0.0}
    tables = planned(plan_units(rows), edges, fixed=fixed, **limits, **free)
    field = tables["plan_years"].query("unit_id == 'P3'")["treatment"]
    assert field.str.startswith("burn").any()
    assert broken_rules(written(tables, tmp_path / "cover.gpkg")) == []


def limits(*spans):
    """Limits of one unit from a first to a last day of the year."""
    rows = [{"unit_id": "A", "kind": "contract", "note": "made"}] * len(spans)
    days = [{"first_day": first, "last_day": last} for first, last in spans]
    return literal_layer("unit_limits", [row | day for row, day in zip(rows, days, strict=True)])


@pytest.mark.parametrize(
    ("spans", "left"),
    [
        ([("04-15", "07-15")], ("04-01", "04-14")),
        ([("04-01", "04-10"), ("04-11", "04-30")], None),
        ([("04-05", "04-20")], ("04-21", "04-30")),
        ([("11-01", "04-03")], ("04-04", "04-30")),
        ([(None, None)], None),
        ([], ("04-01", "04-30")),
    ],
)
def test_days_of_a_choice_are_those_that_no_limit_closes(spans, left):
    """By hand, on the calendar of 2027: what two limits close together is closed as well."""
    april = (pd.Timestamp("2027-04-01"), pd.Timestamp("2027-04-30"))
    wanted = left and tuple(pd.Timestamp(f"2027-{day}") for day in left)
    assert open_days(april, limits(*spans)) == wanted


def test_contract_that_ends_opens_its_choices_in_the_year_after():
    """By hand: a contract closes all year until 2029, an easement April and May without an end."""
    told = {"unit_id": "A", "note": "made"}
    rows = [told | {"kind": "contract", "last_year": 2029}]
    rows += [told | {"kind": "easement", "first_day": "04-01", "last_day": "05-31"}]
    rows = literal_layer("unit_limits", rows)
    herd = HerdSettings(season_from="05-01")
    closed = closed_until(rows, range(2027, 2037), SeasonSettings(), herd)
    assert closed["burn_early_spring"] == 2036
    assert closed["burn_late_spring"] == closed["graze_late"] == closed["hay"] == 2029
    assert "rest" not in closed
    assert asked_limits(rows, "A", 2029)["kind"].tolist() == ["contract", "easement"]
    assert asked_limits(rows, "A", 2030)["kind"].tolist() == ["easement"]


def test_unit_locked_by_a_contract_burns_once_that_ends(tmp_path):
    """Overdue from the first year, closed for three: it burns in the fourth."""
    burns = [code for code in CODES if code.startswith("burn")]
    rows = [{"unit_id": f"P{n}", "years_since_burn": 1} for n in range(3)]
    rows[0] |= {"years_since_burn": 8, "closed_by": "contract", "closed": "; ".join(burns)}
    rows[0] |= {"closed_until": "; ".join([str(SEASON + 2)] * len(burns))}
    edges = grid_edges([row["unit_id"] for row in rows], 3, np.random.default_rng(0))
    free = {"demand_aum": 0.0, "most_burned_pct": 100.0}
    tables = planned(plan_units(rows), edges, years=5, **free)
    locked = tables["plan_years"].query("unit_id == 'P0'").set_index("year")
    assert list(locked["no_burn_by"].iloc[:3]) == ["limit"] * 3
    assert locked.loc[SEASON + 3, "treatment"].startswith("burn")
    assert broken_rules(written(tables, tmp_path / "locked.gpkg")) == []


def test_units_of_the_former_plan_that_are_gone_are_told_and_refuse_nothing(row_of_pastures):
    units, edges, tables = row_of_pastures
    former = [{"unit_id": "gone", "year": SEASON, "treatment": "seed"}]
    former += [{"unit_id": "P0", "year": SEASON, "treatment": "rest"}]
    former = literal_layer("former_plan", former)
    lists = {name: literal_layer(name) for name in ("burns", "seedings", "comparisons")}
    lists["property"] = literal_layer("property", [{"name": "x", "season": SEASON}])
    assert not intake_faults({"drawn_units": units, "former_plan": former} | lists)
    found = findings_of(tables, units, edges, PlanSettings(years=6), former=former)
    told = found[found["code"] == "former_not_kept"]
    assert list(told["subject"]) == ["gone"]


def test_grazing_ends_the_day_before_stock_is_off_and_needs_most_of_its_days():
    """Stock is off from July 1: May and June are 61 days, of which a limit may close 30."""
    graze = TREATMENTS[CODES.index("graze_early")]
    days = treatment_days(graze, 2027, SeasonSettings(), HerdSettings(season_from="05-01"))
    assert days == (pd.Timestamp("2027-05-01"), pd.Timestamp("2027-06-30"))
    assert not closes(graze, days, limits(("04-01", "05-30")))
    assert closes(graze, days, limits(("04-01", "06-15")))
    late = treatment_days(graze, 2027, SeasonSettings(), HerdSettings(season_from="07-10"))
    assert closes(graze, late, limits())


def test_what_if_of_the_same_limits_is_the_plan():
    """Under the former plan too: a what-if differs from the plan in what it names alone."""
    rows = plan_units([{"unit_id": f"P{n}", "burnable_ac": 30.0 + n} for n in range(4)])
    edges = grid_edges(list(rows["unit_id"]), 2, np.random.default_rng(0))
    former = [{"unit_id": "P0", "year": SEASON + n, "treatment": "rest"} for n in range(5)]
    cases = [{"name": "same", "most_burned_pct": 33.0}, {"name": "no herd", "herd_pct": 0.0}]
    tables = planned(rows, edges, former=former, years=5, what_if=cases)
    years = tables["plan_case_years"].drop(columns="case")
    own, same = (years[tables["plan_case_years"]["case"] == c] for c in ("the plan", "same"))
    pd.testing.assert_frame_equal(own.reset_index(drop=True), same.reset_index(drop=True))
    assert tables["plan_cases"].set_index("case").loc["no herd", "short_aum"] == 0


def test_plan_without_a_choice_is_no_worse_than_its_bound():
    """A unit that nothing is known of feeds nothing: 60 AUM short in each of three years at $45."""
    dim = plan_units([{"unit_id": "A", "undecided_by": "needs_record"}])
    tables = planned(dim, literal_layer("plan_edges"), years=3)
    summary = tables["plan_summary"].iloc[0]
    assert summary["value_usd"] == pytest.approx(-60 * 3 * 45.0)
    assert summary["gap_pct"] == 0


def test_planned_burn_that_a_fixed_year_takes_out_is_told(row_of_pastures):
    """P0 is planned to burn and fixed to rest; a burn before the years ahead is told as well."""
    units, edges, _ = row_of_pastures
    fixed = [{"unit_id": "P0", "year": SEASON, "treatment": "rest"}]
    tables = planned(units, edges, fixed=fixed, years=2)
    square = shapely.box(0, 0, 1, 1)
    burn = {"kind": "burn", "work_ac": 30.0, "days_from": "none"}
    work = [burn | {"unit_id": "P0", "work_id": "burn:a"}]
    work += [burn | {"unit_id": "P1", "work_id": "burn:b", "first_day": f"{SEASON - 1}-11-20"}]
    work = literal_layer("planned_work", work, [square, square])
    found = findings_of(tables, units, edges, PlanSettings(years=2), work=work)
    assert list(found.loc[found["code"] == "burn_not_in_years", "subject"]) == ["P0", "P1"]


def test_burn_that_is_settled_at_whatever_time_takes_one_that_breaks_no_rule():
    """Burned in early spring last time: fixed to a burn, it burns in late spring."""
    rows = plan_units([{"unit_id": f"P{n}"} for n in range(4)])
    edges = grid_edges(list(rows["unit_id"]), 2, np.random.default_rng(0))
    fixed = [{"unit_id": f"P{n}", "year": SEASON, "treatment": "burn"} for n in range(2)]
    years = planned(rows, edges, fixed=fixed, years=3)["plan_years"]
    first = years[(years["year"] == SEASON) & (years["reason"] == "fixed")]
    assert list(first["treatment"]) == ["burn_late_spring"] * 2
    assert first["breaks_rule"].isna().all()


@pytest.mark.parametrize(
    ("first", "last", "told"),
    [
        ("2026-09-15", "2026-10-31", "graze_late"),
        ("2026-05-01", "2026-06-30", "graze_early"),
        ("2026-01-10", "2026-03-20", None),
        ("2026-04-20", "2026-10-31", None),
        ("2025-09-15", "2025-10-31", None),
    ],
)
def test_grazing_done_as_planned_is_known_by_its_time_in_the_next_plan(first, last, told):
    """Late grazing as the plan has it, from mid-September to October, reaches past the growth."""
    stay = {"unit_id": "A", "kind": "graze", "head": 20, "start": first, "end": last}
    assert facts_of(stay)["last_grazed"].tolist() == [told]


def facts_of(*works, **property):
    """Layer ``plan_units`` of the unit A after some work; nothing is known of its fuel."""
    units, season, made = square_units(A=40), SeasonSettings(), property_row(**property)
    none = {name: literal_layer(name, crs=units.crs) for name in ("burned_areas", "seedings")}
    return gather_plan_units(
        units,
        pd.DataFrame({"unit_id": ["A"], "state": ["recovered"]}),
        weigh_past_work(units, log(*works), *none.values(), made, season),
        log(*works),
        unit_rows("history", units, record="on_record"),
        *(literal_layer(n, crs=units.crs) for n in ("fuel", "forage", "unit_limits", "burn_days")),
        made,
        season,
        FuelSettings(),
        HerdSettings(),
        AimsSettings(),
        PlanSettings(years=2),
    )


@pytest.mark.parametrize(
    ("as_of", "burned", "left"),
    [
        (None, "2020-04-10", None),
        ("2026-11-15", "2020-04-10", None),
        ("2027-05-20", "2020-04-10", "late_spring; summer; fall"),
        ("2027-11-15", "2020-04-10", "none"),
        ("2027-05-20", "2027-04-10", None),
    ],
)
def test_burn_times_before_the_day_of_the_plan_are_over(as_of, burned, left):
    """A burn that is done this season is no matter of times that are left."""
    facts = facts_of({"unit_id": "A", "kind": "burn", "start": burned, "end": burned}, as_of=as_of)
    assert (facts["open_times"].iloc[0] or None) == left


def test_grazing_of_last_year_counts_where_fuel_stands_for_seasons_of_rest(tmp_path):
    """Fuel that carries in spite of a grazing: the rests it stands for hide no grazing."""
    row = {"unit_id": "P0", "last_grazed": "graze_early", "rested_seasons": 2, "rest_years": 2}
    rows = plan_units([row | {"no_burn_by": "no_fire"}])
    edges = grid_edges(["P0"], 1, np.random.default_rng(0))
    tables = planned(rows, edges, years=1, late_supply_pct=10.0)
    assert broken_rules(written(tables, tmp_path / "grazed.gpkg")) == []
    assert list(tables["plan_years"]["treatment"]) == ["graze_late"]


@pytest.mark.parametrize("long_rest_usd_ac", [5.0, 50.0])
def test_property_without_a_herd_is_rested_where_no_year_is_fixed_to_a_grazing(long_rest_usd_ac):
    """Nobody is there to graze: long rests end in nothing. What the owner fixes is no breach."""
    rows = plan_units([{"unit_id": f"P{n}", "rested_seasons": 3} for n in range(4)])
    edges = grid_edges(list(rows["unit_id"]), 2, np.random.default_rng(0))
    fixed = [{"unit_id": "P0", "year": SEASON + 1, "treatment": "graze_late"}]
    settings = {"years": 5, "long_rest_usd_ac": long_rest_usd_ac, "demand_aum": 0.0}
    years = planned(rows, edges, fixed=fixed, **settings)["plan_years"]
    grazed = years[years["treatment"].str.startswith("graze")]
    assert list(zip(grazed["unit_id"], grazed["year"], strict=True)) == [("P0", SEASON + 1)]
    assert grazed["breaks_rule"].isna().all()
    with_herd = planned(rows, edges, **settings | {"demand_aum": 20.0})["plan_years"]
    assert with_herd["treatment"].str.startswith("graze").any()


def test_settled_burn_stands_at_its_own_time_and_days():
    """By the months of the log October is fall and November dormant; the plan burns in spring.

    Days of a window of the fuel are nobody's own: of those of its time of the year the burn has the
    ones in which the fuel is there.
    """
    rows = [{"unit_id": f"P{n}"} for n in range(4)]
    done = {"years_since_burn": 0, "last_burn_time": "summer", "last_burn": f"{SEASON}-08-20"}
    edges = grid_edges([row["unit_id"] for row in rows], 2, np.random.default_rng(0))
    spans = {"P1": ("10-05", "10-25"), "P2": ("11-10", "11-20")}
    work = [
        {"unit_id": name, "work_id": f"burn:{name}", "kind": "burn", "work_ac": 40.0}
        | {"days_from": "property_file"}
        | {"first_day": f"{SEASON}-{first}", "last_day": f"{SEASON}-{last}"}
        for name, (first, last) in spans.items()
    ]
    window = {"days_from": "fuel_window", "first_day": f"{SEASON + 2}-03-01"}
    work.append(work[0] | window | {"work_id": "burn:x", "last_day": f"{SEASON + 2}-04-20"})
    fixed = [{"unit_id": "P3", "year": SEASON + 1, "treatment": "burn_fall"}]
    rows[0] |= done
    tables = planned(plan_units(rows), edges, work=work, fixed=fixed, years=4, demand_aum=0.0)
    years = tables["plan_years"].set_index(["unit_id", "year"])
    told = years[["treatment", "first_day", "last_day"]].astype("str")
    assert list(told.loc["P0", SEASON]) == ["burn_summer", f"{SEASON}-08-20", f"{SEASON}-08-20"]
    assert list(told.loc["P1", SEASON]) == ["burn_fall", f"{SEASON}-10-05", f"{SEASON}-10-25"]
    assert list(told.loc["P2", SEASON]) == ["burn_dormant", f"{SEASON}-11-10", f"{SEASON}-11-20"]
    assert list(told.loc["P1", SEASON + 2]) == [
        "burn_early_spring",
        f"{SEASON + 2}-04-01",
        f"{SEASON + 2}-04-20",
    ]
    assert told.loc[("P3", SEASON + 1), "treatment"] == "burn_fall"
    assert set(years["breaks_rule"].dropna()) == {"least_return"}
    free = years[years["reason"] != "fixed"]["treatment"]
    assert not set(free) & {"burn_summer", "burn_fall", "burn_dormant"}


def test_own_seed_is_what_the_scarcest_species_of_the_told_harvests_sows(tmp_path):
    """By hand: 30 ac of one species and 24 ac of the other in two years are 12 ac a year.

    Two fields of 20 ac: seed for the first by the second year, for both by the fourth.
    """
    rows = [{"unit_id": f"F{n}", "state": "cropped", "supply_aum": None} for n in range(2)]
    units = plan_units([row | {"burnable_ac": 20.0} for row in rows])
    harvests = [
        {"harvest": "Strip 2025", "species": "A", "bulk_lb": 90.0, "low_ac": 20.0},
        {"harvest": "Strip 2026", "species": "A", "bulk_lb": 40.0, "low_ac": 10.0},
        {"harvest": "Strip 2026", "species": "B", "bulk_lb": 40.0, "low_ac": 24.0},
        {"harvest": "Strip 2026", "species": "C", "bulk_lb": 40.0},
    ]
    log = [
        {"unit_id": "F0", "kind": "harvest", "start": day, "end": day, "lot": lot}
        for day, lot in (("2025-09-20", "strip 2025"), ("2026-09-21", "other; Strip 2026"))
    ]
    asked = {"years": 6, "demand_aum": 0.0}
    tables = planned(units, literal_layer("plan_edges"), harvests=harvests, log=log, **asked)
    summary = tables["plan_summary"].iloc[0]
    assert summary["own_seed_ac"] == pytest.approx(12.0)
    assert (summary["own_seed_from"], summary["scarce_species"]) == ("harvests", "B")
    sown = tables["plan_years"].query("treatment == 'seed'")
    assert sorted(sown["year"]) == [SEASON + 1, SEASON + 3]
    assert broken_rules(written(tables, tmp_path / "seed.gpkg")) == []
    told = planned(units, literal_layer("plan_edges"), harvests=harvests, own_seed_ac=40, **asked)
    assert told["plan_summary"]["own_seed_from"].iloc[0] == "setting"
    assert set(told["plan_years"].query("treatment == 'seed'")["year"]) == {SEASON}
    none = planned(units, literal_layer("plan_edges"), **asked)
    assert none["plan_summary"]["own_seed_from"].iloc[0] == "none"
    found = findings_of(none, units, literal_layer("plan_edges"), PlanSettings(years=6))
    waits = found[found["code"] == "plan_seed_short"]
    assert list(waits["subject"]) == ["F0", "F1"]
    assert "own seed sows 0.0 ac a year of its 20.0 ac" in waits["message"].iloc[0]
    found = findings_of(tables, units, literal_layer("plan_edges"), PlanSettings(years=6))
    assert not (found["code"] == "plan_seed_short").any()
    assert set(none["plan_years"]["treatment"]) == {"wait"}


def test_rule_that_keeps_a_unit_from_burning_is_the_one_that_holds(row_of_pastures):
    """On counts made anew from the rows: nothing is fixed, and no unit is a sowing."""
    *_, tables = row_of_pastures
    years = tables["plan_years"].sort_values(["unit_id", "year"])
    assert "establishing" not in set(years["no_burn_by"]) | set(years["reason"])
    for _, rows in years.groupby("unit_id"):
        rested = 1
        for row in rows.itertuples():
            if row.no_burn_by == "least_return":
                assert row.years_since_burn < 3
            if row.no_burn_by == "fuel_rest":
                assert rested == 0
            if row.years_since_burn < 3 and pd.notna(row.no_burn_by):
                assert row.no_burn_by == "least_return"
            if row.treatment == "rest" and row.years_since_burn == 1:
                assert row.reason == "after_burn"
            rested = rested + 1 if row.treatment == "rest" else 0
    assert {"least_return", "fuel_rest"} <= set(years["no_burn_by"])


def test_year_that_leaves_one_choice_says_so():
    """All days of all work are closed by a contract: rest is no choice but what is left."""
    every = "; ".join(code for code in CODES if code.startswith(("burn", "graze")))
    rows = [{"unit_id": f"P{n}"} for n in range(3)]
    rows[0] |= {"closed": every, "closed_by": "contract"}
    edges = grid_edges([row["unit_id"] for row in rows], 3, np.random.default_rng(0))
    years = planned(plan_units(rows), edges, years=4, demand_aum=0.0)["plan_years"]
    closed = years[years["unit_id"] == "P0"]
    assert set(closed["reason"]) == {"nothing_else"}
    assert set(closed["no_burn_by"]) == {"limit"}


def test_sown_ground_is_not_late_by_a_burn_before_its_sowing():
    """Field and young sowing burned twelve years ago: the return is that of what stands now."""
    rows = [{"unit_id": f"P{n}", "years_since_burn": 12, "no_burn_by": "no_fire"} for n in range(3)]
    rows[0] |= {"state": "cropped"}
    rows[1] |= {"state": "establishing", "years_since_seeding": 1}
    units = plan_units(rows)
    edges = grid_edges(list(units["unit_id"]), 3, np.random.default_rng(0))
    tables = planned(units, edges, years=4, own_seed_ac=100.0)
    late = tables["plan_totals"].set_index("year")["late_units"]
    assert list(late) == [1] * 4
    found = findings_of(tables, units, edges, PlanSettings(years=4))
    assert list(found.loc[found["code"] == "plan_late", "subject"]) == ["P2"]


def test_unit_that_stays_past_its_longest_return_is_told(row_of_pastures):
    """A herd that takes all feed leaves the six grazed, and their last burns lie back further."""
    units, edges, _ = row_of_pastures
    hungry = planned(units, edges, demand_aum=400.0, years=8, herd_met=True)
    years = hungry["plan_years"]
    late = years[~years["treatment"].str.startswith("burn") & (years["years_since_burn"] >= 6)]
    counts = late["unit_id"].value_counts()
    assert counts.max() >= 3
    found = findings_of(hungry, units, edges, PlanSettings(years=8))
    told = found[found["code"] == "plan_late"].set_index("subject")["message"]
    assert set(told.index) == set(counts[counts >= 3].index)
    for unit_id, message in told.items():
        assert message.startswith(f"{counts[unit_id]} of 8 years")
        assert REASON_WORDS["feeds_herd"] in message


def test_findings_tell_units_years_and_rules_as_the_tables_of_the_plan_do():
    """A is fixed to burn twice, the second time too soon; of B one year of three is known."""
    rows = [
        {"unit_id": "A", "smoke_closed": True},
        {"unit_id": "B", "undecided_by": "needs_fuel", "supply_aum": None},
    ]
    fixed = [
        {"unit_id": "A", "year": SEASON, "treatment": "burn_late_spring"},
        {"unit_id": "A", "year": SEASON + 2, "treatment": "burn_early_spring"},
        {"unit_id": "B", "year": SEASON, "treatment": "burn_late_spring"},
    ]
    units, edges = plan_units(rows), literal_layer("plan_edges")
    tables = planned(units, edges, fixed=fixed, years=3, refuge="none", most_burned_pct=100)
    found = findings_of(tables, units, edges, PlanSettings(years=3))
    told = found.groupby(["subject", "code"])["message"].agg(" ".join)
    assert told["A", "plan_smoke"].startswith("the plan of years burns it in 2027, 2029;")
    assert told["A", "fixed_breaks_rule"] == (
        f"in 2029: burn, early spring; breaks a rule of the plan: {NO_BURN_WORDS['least_return']}"
    )
    assert told["B", "plan_undecided"] == (
        f"2 of 3 years ahead are undecided, {REASON_WORDS['needs_fuel']}"
    )
    words = {cause.code: cause.told(1) for cause in CAUSES}
    assert words["plan_smoke"].startswith("unit to burn ahead")
    settled = REASON_WORDS["fixed"].partition(":")[0]
    assert all(settled in words[code] for code in ("fixed_breaks_rule", "fixed_over_cap"))
