"""Where the herd stands from day to day, counted by hand.

26 lb a day and 780 lb a month (North Dakota stocking-rate lesson), a quarter of the growth is eaten
(Stephenson, University of Nebraska): 3,120 lb/ac on 40 acres are 40 AUM. 20 animal units need 100
AUM in the 152 days from May 1, so an AUM lasts them 1.52 days. The deferral from July 1 to August
15 closes 46 days. The order of moves is common practice, no source.
"""

import pandas as pd
import pytest
from shapely import affinity

from tests.work.made_plan import logged
from tests.work.made_stock import HERD, burn, graze, load, made_season, square

LOADS = [load("A"), load("B"), load("C")]
OPEN = {"deferral_from": "04-15", "deferral_until": "04-15"}
NO_DEFERRAL = HERD | {"season": OPEN}
RICH = [load("A", 31200.0)]


def season_of(**told):
    return made_season("feed_findings", **{"loads": LOADS, "settings": HERD, **told})


def moves_of(**told):
    """Rows of ``herd_moves``, held against what has to be true of any."""
    frames = season_of(**told)
    moves, feed = frames["herd_moves"], frames["herd_feed"]
    if len(feed) and feed["verdict"].iloc[0] != "needs_herd":
        assert moves["demand_aum"].sum() == pytest.approx(feed["demand_aum"].iloc[0])
        assert moves["short_aum"].sum() == pytest.approx(feed["short_aum"].iloc[0])
    plan = frames["plan_feed"].set_index("unit_id")["plan_aum"]
    proposed = moves[moves["move"] == "proposed"]
    for unit_id, aum in proposed.groupby("unit_id")["aum"].sum().items():
        assert aum <= plan[unit_id] + 1e-6
    assert (proposed["closed_days"] == 0).all()
    return moves


def days_of(moves):
    """Unit, first and last day of each row as text."""
    unit = moves["unit_id"].fillna("")
    return list(
        zip(unit, moves["stock_on"].astype(str), moves["stock_off"].astype(str), strict=True)
    )


def test_aum_of_the_published_grazing_record():
    # National Drought Mitigation Center, grazing record: 40 cows of 1,300 lb, 20 days:
    # 52 AU × 20 ÷ 30.4 = 34.2 AUM.
    row = graze("A", "2027-05-01", "2027-05-20", 40.0, animal_unit_equivalent=1.3)
    (move,) = moves_of(treatments=[row], settings={}).to_dict("records")
    assert move["aum"] == pytest.approx(34.2, abs=0.05)
    assert (move["move"], move["days"], move["head"]) == ("planned", 20, 40)


def test_herd_moves_on_when_the_feed_is_used_and_stays_off_in_the_deferral():
    # Each unit has 27.89 AUM under the plan: 42 days of the whole herd.
    moves = moves_of()
    assert days_of(moves) == [
        ("A", "2027-05-01", "2027-06-11"),
        ("B", "2027-06-12", "2027-06-30"),
        ("", "2027-07-01", "2027-08-15"),
        ("B", "2027-08-16", "2027-09-07"),
        ("C", "2027-09-08", "2027-09-29"),
    ]
    assert list(moves["verdict"]) == ["within_growth"] * 2 + ["not_fed"] + ["within_growth"] * 2
    assert moves["rule"].iloc[2] == "none_open"
    assert moves["short_aum"].iloc[2] == pytest.approx(46 * 100 / 152)


def test_what_is_left_standing_is_growth_less_what_disappeared():
    # 42 days take 27.63 AUM of 780 lb; 49 % of what disappears is eaten (Smart et al. 2010).
    row = moves_of().iloc[0]
    assert row["left_lb_ac"] == pytest.approx(3120 - 27.6316 * 780 / 0.49 / 40, abs=0.5)
    assert row["left_aum"] == pytest.approx(40 * 106 / 152 - 27.6316, abs=1e-3)


def test_moves_of_the_log_are_the_moves_and_the_rest_of_the_herd_is_placed():
    moves = moves_of(treatments=[graze("A", "2027-05-01", "2027-06-29", 15.0)])
    first, rest = moves[moves["stock_on"] == "2027-05-01"].to_dict("records")
    assert (first["unit_id"], first["move"], first["head"]) == ("A", "planned", 15)
    assert (rest["unit_id"], rest["move"], rest["head"]) == ("B", "proposed", 5)
    assert moves["rule"].iloc[2] == "stays_on", "B again, with all 20 head from June 30 on"
    assert (moves["unit_id"].iloc[2], moves["head"].iloc[2]) == ("B", 20)
    assert first["demand_aum"] + rest["demand_aum"] * 60 / rest["days"] == pytest.approx(
        60 * 100 / 152
    )


def test_log_that_takes_more_than_grows_is_short_by_what_is_over():
    # 20 head for 152 days on one unit take 100 AUM of the 40 that its growth allows.
    row = graze("A", "2027-05-01", "2027-09-29", 20.0)
    (move,) = moves_of(treatments=[row]).to_dict("records")
    assert move["verdict"] == "above_growth"
    assert move["short_aum"] == pytest.approx(60, abs=0.01)
    assert move["left_aum"] == 0
    assert move["closed_days"] == 46, "through its own deferral"


def test_stock_beyond_the_herd_and_beside_its_season_is_no_part_of_its_demand():
    rows = [
        graze("A", "2027-03-01", "2027-03-30", 20.0),
        graze("B", "2027-05-01", "2027-05-10", 30.0),
        graze("C", "2027-05-01", "2027-05-10", 10.0),
    ]
    winter, one, other = moves_of(treatments=rows).iloc[:3].to_dict("records")
    assert winter["demand_aum"] == 0
    assert one["demand_aum"] + other["demand_aum"] == pytest.approx(10 * 100 / 152)
    assert one["demand_aum"] == pytest.approx(3 * other["demand_aum"])


def test_unit_half_burned_feeds_from_its_other_half():
    half = logged("A", "burn", "2027-04-10", acres_treated_ac=20.0)
    told = {"treatments": [half], "loads": LOADS[:1], "season_rules": [], "settings": NO_DEFERRAL}
    moves = moves_of(**told)
    # 20 acres all season, the other 20 from September 16 on: 14 of 152 days.
    allowed = 20 + 20 * 14 / 152
    assert moves["unit_id"].iloc[0] == "A"
    assert moves["allowed_aum"].iloc[0] == pytest.approx(allowed, rel=1e-4)
    fed = moves.loc[moves["unit_id"] == "A", "days"].sum()
    assert fed == int(allowed * 1.52)


def test_stock_that_comes_on_the_day_of_a_burn_is_on_closed_ground():
    told = {"burns": [burn("A")], "treatments": [graze("A", "2027-04-20", "2027-04-20", 20.0)]}
    assert moves_of(**told)["closed_days"].iloc[0] == 1
    after = moves_of(burns=[burn("A")])
    assert (after.loc[after["unit_id"] == "A", "stock_on"] > "2027-09-15").all()


def test_herd_is_not_put_on_ground_that_a_closed_unit_shares():
    half = {"A": square(0), "B": square(0.5)}
    shut = {"units": half, "loads": LOADS[:2], "season_rules": [], "settings": NO_DEFERRAL}
    rest = logged("A", "rest", "2027-01-01", "2027-12-31")
    closed = moves_of(treatments=[rest], **shut)
    assert list(closed["move"]) == ["nowhere"]
    # 60 acres of ground carry 60 AUM, 91 days of the herd, whichever unit it is counted in.
    both = moves_of(**shut)
    assert both.loc[both["move"] == "proposed", "days"].sum() in (90, 91)


def test_property_without_a_herd_has_the_moves_of_its_log_alone():
    assert moves_of(settings={}).empty
    row = graze("A", "2027-05-01", "2027-05-30", 10.0)
    (move,) = moves_of(settings={}, treatments=[row]).to_dict("records")
    assert (move["unit_id"], move["verdict"]) == ("A", "within_growth")
    assert pd.isna(move["demand_aum"])


def test_ground_that_grew_nothing_or_is_not_measured_is_not_proposed():
    moves = moves_of(loads=[load("A", 0.0)], season_rules=[], settings=NO_DEFERRAL)
    (row,) = moves.to_dict("records")
    assert (row["move"], row["rule"], row["days"]) == ("nowhere", "no_feed", 152)
    assert row["short_aum"] == pytest.approx(100)
    unknown = moves_of(loads=[], treatments=[graze("A", "2027-05-01", "2027-05-30")])
    assert list(unknown["verdict"]) == ["feed_unknown"]


def test_turned_map_gives_the_same_moves():
    turned = {name: affinity.rotate(square(n), 33.0, origin=(0, 0)) for n, name in enumerate("ABC")}
    assert days_of(moves_of(units=turned)) == days_of(moves_of())


def test_unit_that_touches_a_closed_one_in_a_point_stays_open():
    corner = {"A": square(0), "B": affinity.translate(square(1), 0, square(0).bounds[3])}
    rest = logged("A", "rest", "2027-01-01", "2027-12-31")
    moves = moves_of(
        units=corner, loads=LOADS[:2], treatments=[rest], season_rules=[], settings=NO_DEFERRAL
    )
    assert moves["unit_id"].iloc[0] == "B"


def test_season_under_way_is_planned_from_its_day_on():
    told = {
        "place": {"as_of": "2027-06-15"},
        "treatments": [graze("A", "2027-05-10", "2027-06-20", 20.0)],
    }
    moves = moves_of(**told)
    assert days_of(moves)[:3] == [
        ("", "2027-05-01", "2027-05-09"),
        ("A", "2027-05-10", "2027-06-15"),
        ("A", "2027-06-16", "2027-06-20"),
    ]
    assert list(moves["move"][:3]) == ["nowhere", "on_record", "planned"]
    assert (moves["verdict"].iloc[0], moves["short_aum"].iloc[0]) == ("not_told", 0)


def plants(unit_id, exotic_pct):
    """Brome and big bluestem on a transect of a unit."""
    row = {"unit_id": unit_id, "transect": "1", "date": "2026-07-01"}
    return [
        row | {"species": "Bromus inermis", "cover_pct": exotic_pct},
        row | {"species": "Andropogon gerardii", "cover_pct": 100.0 - exotic_pct},
    ]


def test_cool_season_ground_is_grazed_in_the_shoulders_and_native_ground_between():
    # NDSU R1061, 2023: introduced grass is ready late April to early May, native range mid to late
    # May; the fall shoulder is common practice, no source.
    told = {
        "plants": [*plants("A", 10.0), *plants("B", 90.0), *plants("C", 20.0)],
        "loads": [load(name, 1560.0) for name in "ABC"],
        "season_rules": [],
        "settings": NO_DEFERRAL | {"herd": HERD["herd"] | {"head": 10}},
    }
    moves = moves_of(**told)
    assert moves["unit_id"].iloc[0] == "B"
    assert moves["rule"].iloc[0] == "cool_ground_in_shoulder"
    assert moves["unit_id"].iloc[1] == "A"
    assert moves["rule"].iloc[1] == "native_ground_in_summer"


def test_days_in_the_nesting_season_are_told():
    # Iowa 15 May to 1 August (Farm Service Agency).
    row = graze("A", "2027-05-10", "2027-05-20", 20.0)
    iowa = [{"state": "Iowa", "first_day": "05-15", "last_day": "08-01", "source": "x"}]
    moves = moves_of(treatments=[row], nesting_seasons=iowa)
    assert moves.loc[moves["move"] == "planned", "nesting_days"].tolist() == [6]
    assert moves_of(treatments=[row], nesting_seasons=[])["nesting_days"].isna().all()


def test_herd_does_not_come_on_the_same_days_as_a_year_before():
    row = graze("A", "2026-05-01", "2026-06-10", 10.0)
    assert moves_of(treatments=[row])["unit_id"].iloc[0] == "B"
