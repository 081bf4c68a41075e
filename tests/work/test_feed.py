"""Feed under the plan, counted by hand.

26 lb a day and 780 lb a month (North Dakota stocking-rate lesson), a quarter of the growth is eaten
(Stephenson, University of Nebraska): 3,120 lb/ac on 40 acres are 40 AUM. The herd's season, five
months from May 1, has 152 days; the deferral from July 1 to August 15 closes 46 of them.
"""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.season.settings import HerdSettings
from pipeline.work.limit_clashes import CONTRADICTED
from pipeline.work.stock.closed_days import STOCK_OFF
from pipeline.work.stock.feed import closed_ac_by_day, herd_days
from tests.work.made_plan import logged
from tests.work.made_stock import HERD, burn, load, made_season, square

LOADS = [load("A"), load("B"), load("C")]
NO_DEFERRAL = {"season": {"deferral_from": "04-15", "deferral_until": "04-15"}}


NESTING = [{"state": "Iowa", "first_day": "05-15", "last_day": "08-01", "source": "x"}]


def feed_of(**told):
    """Rows of ``plan_feed`` by unit."""
    return made_season("herd_feed", **{"loads": LOADS, **told})["plan_feed"].set_index("unit_id")


def test_open_unit_gives_what_the_deferral_leaves():
    row = feed_of().loc["A"]
    assert row["full_aum"] == pytest.approx(40, rel=1e-4)
    assert row["plan_aum"] == pytest.approx(40 * 106 / 152, rel=1e-4)
    assert (row["reason"], row["closed_by"]) == ("part_of_season", "deferral")


@pytest.mark.parametrize(
    ("told", "open_days", "closed_by"),
    [
        ({}, 152, None),
        ({"burns": [burn("A")]}, 14, "burn_recovery"),  # from September 16 on
        ({"burns": [burn("A", "2027-10-01", "2027-10-20")]}, 0, "grows_fuel"),
        ({"burns": [burn("A", "2026-12-01", "2026-12-20")]}, 14, "burn_recovery"),
        ({"treatments": [logged("A", "burn", "2027-04-10")]}, 14, "burn_recovery"),
        ({"treatments": [logged("A", "rest", "2027-01-01", "2027-12-31")]}, 0, "rest"),
        ({"treatments": [logged("A", "rest", "2027-05-01", "2027-05-31")]}, 121, "rest"),
        ({"treatments": [logged("A", "seed", "2025-05-01")]}, 0, "new_seeding"),
        (
            {"treatments": [logged("A", "seed", "2024-11-01")]},
            0,
            "new_seeding",
        ),  # grows from 2025 on
        ({"treatments": [logged("A", "seed", "2024-05-01")]}, 152, None),
    ],
)
def test_unit_counts_for_the_days_on_which_it_is_open(told, open_days, closed_by):
    # The rules of the season plan are left out: only the work itself closes the unit.
    row = feed_of(settings=NO_DEFERRAL, season_rules=[], **told).loc["A"]
    assert row["plan_aum"] == pytest.approx(40 * open_days / 152, rel=1e-4, abs=1e-9)
    assert row["closed_by"] == closed_by


def test_rest_of_a_part_closes_its_acres_only():
    rest = logged("A", "rest", "2027-01-01", "2027-12-31", acres_treated_ac=10.0)
    row = feed_of(treatments=[rest], settings=NO_DEFERRAL, season_rules=[]).loc["A"]
    assert row["plan_aum"] == pytest.approx(30, rel=1e-4)


@pytest.mark.parametrize(
    ("leads_to", "open_days"),
    [
        ("rest", 0),
        ("establish", 0),
        ("defer", 61),
        ("rest_or_graze", 45),
        ("graze", 106),
        ("burn", 14),  # 16 to 29 September
        ("hay", 0),
        ("harvest", 0),
    ],
)
def test_option_that_asks_for_stock_off_closes_the_days_that_it_names(leads_to, open_days):
    rule = {"rule": 1, "suggestion": "x", "reason": "x", "source": "x", "leads_to": leads_to}
    row = feed_of(season_rules=[rule]).loc["A"]
    assert row["plan_aum"] == pytest.approx(40 * open_days / 152, rel=1e-4, abs=1e-9)


def test_what_planned_grazing_would_go_against_closes_the_unit_to_proposed_moves_too():
    against = {option for option, kinds in CONTRADICTED.items() if "graze" in kinds}
    assert against <= set(STOCK_OFF)


def test_nesting_season_closes_contract_land_without_an_approval():
    # Iowa 15 May to 1 August (Farm Service Agency): 79 days, beside the 5 of the contract.
    limits = [
        {"unit_id": "A", "kind": "contract", "note": "x"}
        | {"first_day": "05-01", "last_day": "05-05"},
        {"unit_id": "B", "kind": "contract", "note": "x", "approval": "a letter"},
    ]
    feed = feed_of(
        unit_limits=limits,
        nesting_seasons=NESTING,
        settings=NO_DEFERRAL,
        season_rules=[],
    )
    assert feed["plan_aum"].to_dict() == pytest.approx(
        {"A": 40 * (152 - 79 - 5) / 152, "B": 40, "C": 40}, rel=1e-4
    )
    assert feed.loc["A", "closed_by"] == "nesting"


@pytest.mark.parametrize(
    ("told", "open_days", "closed_by"),
    [
        ({"first_day": "06-01", "last_day": "06-30"}, 122, "contract"),
        ({"first_day": "09-20", "last_day": "05-10"}, 132, "contract"),  # passes New Year
        ({}, 0, "contract"),
        ({"approval": "a letter"}, 152, None),
        ({"kind": "species"}, 152, None),
    ],
)
def test_contract_without_an_approval_closes_its_days(told, open_days, closed_by):
    limit = {"unit_id": "A", "kind": "contract", "note": "x"} | told
    place = {"state": None}
    row = feed_of(unit_limits=[limit], place=place, settings=NO_DEFERRAL, season_rules=[]).loc["A"]
    assert row["plan_aum"] == pytest.approx(40 * open_days / 152, rel=1e-4, abs=1e-9)
    assert row["closed_by"] == closed_by


def test_growth_that_is_cut_for_hay_is_no_feed():
    hay = logged("A", "hay", "2027-07-20", acres_treated_ac=10.0)
    row = feed_of(treatments=[hay], settings=NO_DEFERRAL, season_rules=[]).loc["A"]
    assert row["plan_aum"] == pytest.approx(30, rel=1e-4)


def test_overseeded_unit_is_not_closed_and_a_drilled_one_is_from_its_sowing_on():
    sown = {"area": "a", "unit_id": "A", "mix": "m", "planting": "2027-05-31"}
    told = {"settings": NO_DEFERRAL, "season_rules": []}
    assert feed_of(seedings=[sown | {"method": "overseed"}], **told).loc["A", "open_pct"] == 100
    drilled = feed_of(seedings=[sown | {"method": "drill"}], **told).loc["A"]
    assert drilled["plan_aum"] == pytest.approx(40 * 30 / 152, rel=1e-4)


def test_ground_of_two_units_counts_once_and_as_closed_where_one_is():
    # Two squares of 40 acres share half: 60 acres of ground, 60 AUM; A burns, 20 acres are left.
    half = {"A": square(0), "B": square(0.5)}
    told = {"units": half, "loads": LOADS[:2], "settings": NO_DEFERRAL, "season_rules": []}
    both = feed_of(**told)
    assert both["full_aum"].sum() == pytest.approx(60, rel=1e-4)
    burned = feed_of(burns=[burn("A", "2027-10-01", "2027-10-20")], **told)
    assert burned["plan_aum"].sum() == pytest.approx(20, rel=1e-4)
    assert burned["ground_ac"].to_dict() == pytest.approx({"A": 40, "B": 20}, rel=1e-4)


def test_unit_drawn_in_another_counts_once():
    inner = {"A": square(0), "B": square(0, wide=0.25)}
    feed = feed_of(units=inner, loads=LOADS[:2], settings=NO_DEFERRAL, season_rules=[])
    assert feed["full_aum"].sum() == pytest.approx(40, rel=1e-4)


def test_herd_is_short_by_the_days_that_its_moves_do_not_feed():
    # A burns: 3.68 AUM; B and C 27.89 each: 59.47 of 100. A day takes 100 ÷ 152, so B and C feed
    # 42 whole days each and A 5: 63 of 152 are not fed, 41.4 AUM of 780 lb, 16.2 short tons.
    told = {"loads": LOADS, "burns": [burn("A")], "settings": HERD}
    frames = made_season("feed_findings", **told)
    row = frames["herd_feed"].iloc[0]
    assert row["demand_aum"] == 100
    assert row["plan_aum"] == pytest.approx(59.47, abs=0.01)
    assert (row["days_short"], row["season_days"], row["verdict"]) == (63, 152, "short")
    assert row["fed_aum"] + row["short_aum"] == pytest.approx(row["demand_aum"])
    assert row["short_aum"] == pytest.approx(63 * 100 / 152)
    assert row["hay_tons"] == pytest.approx(63 * 100 / 152 * 780 / 2000)
    # 89 of the 106 days with an open unit are fed: 20 head × 89 ÷ 106 are 16.8.
    assert (row["days_fed"], row["head_fed"]) == (89, 16)
    assert (row["days_without_unit"], row["none_open_from"]) == (46, pd.Timestamp("2027-07-01"))
    short, none_open = frames["feed_findings"]["message"]
    assert short.startswith(
        "the herd needs 100 AUM: its moves leave 41 of them unfed, 63 of its 152 days, no unit is "
        "open on 46 days. What is fed carries 16 head while a unit is open, or all for 89 days; or "
        "buy 16 tons of dry hay (table herd_moves). This season's plan leaves 59 AUM"
    )
    assert none_open.startswith("46 days of the herd's season, from 2027-07-01 on")


def test_herd_untold_and_open_units_without_a_figure_are_told():
    frames = made_season("feed_findings", loads=LOADS[:1])
    row = frames["herd_feed"].iloc[0]
    assert (row["verdict"], row["units_unknown"]) == ("needs_herd", 2)
    assert pd.isna(row["days_short"])
    assert list(frames["feed_findings"]["code"]) == ["no_open_unit"]
    fed = made_season(
        "feed_findings",
        loads=LOADS[:1],
        settings=NO_DEFERRAL | {"herd": HERD["herd"] | {"head": 1}},
        season_rules=[],
    )
    assert fed["feed_findings"]["code"].iloc[0] == "plan_feed_lasts"
    assert (
        "2 open units without a figure count as nothing" in fed["feed_findings"]["message"].iloc[0]
    )


def test_nothing_is_told_where_no_load_is_known():
    frames = made_season("feed_findings", settings=HERD)
    assert frames["plan_feed"].empty
    assert frames["herd_feed"].empty
    assert frames["feed_findings"].empty


DAYS = herd_days(2027, HerdSettings())


def test_season_of_the_lesson_has_its_days():
    # May 1 to October 1 (North Dakota): five mean months are a day and a half less.
    assert (DAYS[0], DAYS[-1], len(DAYS)) == (
        pd.Timestamp("2027-05-01"),
        pd.Timestamp("2027-09-29"),
        152,
    )


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(-200, 400), st.integers(0, 300), st.floats(0, 90)), max_size=6)
)
def test_closed_acres_lie_between_the_most_of_a_row_and_the_whole_unit(spans):
    first = DAYS[0]
    rows = pd.DataFrame(
        [
            (first + pd.Timedelta(days=a), first + pd.Timedelta(days=a + n), ac)
            for a, n, ac in spans
        ],
        columns=["first_day", "last_day", "closed_ac"],
    )
    acres = closed_ac_by_day(rows, DAYS, 40.0)
    for day, closed in zip(DAYS, acres, strict=True):
        here = [ac for a, n, ac in spans if a <= (day - first).days <= a + n]
        assert closed == pytest.approx(min(40.0, sum(here)))
        assert min(40.0, max(here, default=0.0)) <= closed + 1e-9 <= 40.0 + 1e-6
