"""Where tables meet: shared edges, slopes, gates, places, windows that pass New Year."""

import numpy as np
import pandas as pd
import pytest
import shapely

from pipeline.fire.smoke.burn_weather import days_in_prescription
from pipeline.fire.smoke.settings import WeatherSettings
from pipeline.ground import edge_graph
from pipeline.ground.neighbors import neighbors_of
from pipeline.log.days import first_common_day
from tests.literal_layers import literal_layer
from tests.made_heights import write_heights
from tests.made_properties import QUARTER_M
from tests.work.made_plan import LIMITS, at, burn, conflicts, hours, logged, made_layers, squares
from tests.work.situations import CLIPPED, GRAZED, QUIET, house, road

EVERY_WIND = np.array([[0.0, 360.0]])


def of_code(rows, code):
    return rows[rows["code"] == code]


def test_burn_with_breaks_all_around_has_nothing_against_it():
    # A lane of 8 ft beside which the rest of the width is mown, fuel that carries, a neighbor that
    # stays: only what has to be done first is told.
    lanes = road([(-10, 0), (1320, 0), (1320, 1320), (0, 1320), (0, -10)])
    assert conflicts(**QUIET | lanes).empty


def test_conflicts_of_a_burn_stand_first_where_they_are_most_serious():
    rows = conflicts(**QUIET | house(660, 2639) | {"unit_limits": LIMIT})
    assert rows["code"].to_list()[:2] == ["smoke_on_near_place", "species_limit"]
    assert rows["seriousness"].to_list()[:2] == ["stop_and_ask"] * 2


LIMIT = [{"unit_id": "A", "kind": "species", "note": "made"}]


def test_nothing_planned_has_no_conflicts():
    assert conflicts(loads=CLIPPED, treatments=GRAZED, unit_limits=LIMIT).empty


@pytest.mark.parametrize("turn_deg", [0.0, 33.0, -70.0])
def test_place_has_its_distance_bearing_and_ground(turn_deg):
    # 1,000 ft north of the block: from any point of it up to 45 degrees off a wind from southwest.
    told = QUIET | house(660, 2320, turn_deg=turn_deg)
    (row,) = of_code(conflicts(**told), "smoke_on_near_place").to_dict("records")
    point = {0.0: "N (0°)", 33.0: "NW (327°)", -70.0: "E (70°)"}[turn_deg]
    assert row["against"].endswith(f"house, 1,000 ft {point}")
    assert row["geometry"].equals_exact(at(660, 2320, turn_deg), 1e-6)


def test_near_places_are_told_each_and_far_ones_together():
    points = [at(660, north_ft) for north_ft in (1920, 2420, 4000, 5000)]
    kinds = [{"kind": kind} for kind in ("house", "barn", "school", "road")]
    rows = conflicts(**QUIET | {"smoke_points": kinds, "shapes": {"smoke_points": points}})
    near, far = (of_code(rows, code) for code in ("smoke_on_near_place", "smoke_on_place"))
    assert near["figure"].to_numpy() == pytest.approx([600, 1100], abs=0.5)
    assert far["against"].str.contains("school 0.51 mi N, road 0.70 mi N").all()
    assert shapely.get_num_geometries(far.geometry.iloc[0]) == 2


def test_shared_edge_counts_for_both_blocks_each_on_its_own_side():
    # Wind from the west: the edge between A and B is downwind for A and upwind for B.
    burns = [*burn("west", "A", wind=270.0), *burn("east", "B", wind=270.0)]
    told = {"burns": burns, "settings": {"firebreaks": {"wind_arc_deg": 0.0}}}
    lanes = road([(1320, -10), (1320, 600)], [(1320, 660), (1320, 1330)])
    rows = conflicts(**QUIET | told | lanes)
    assert of_code(rows, "gap_downwind")["work_id"].to_list() == ["burn:west"]
    assert of_code(rows, "gap")["work_id"].to_list() == ["burn:east"]
    lengths = of_code(rows, "edge_to_prepare").set_index("work_id")["figure"]
    assert lengths["burn:west"] == pytest.approx(3960, abs=1)
    assert lengths["burn:east"] == pytest.approx(3960, abs=1)


def test_gap_lies_on_the_line_and_not_on_the_block():
    lanes = road([(-10, 1320), (500, 1320)], [(570, 1320), (1330, 1320)])
    (row,) = of_code(conflicts(**QUIET | lanes), "gap_downwind").to_dict("records")
    hole = shapely.LineString([(500 * 0.3048, QUARTER_M), (570 * 0.3048, QUARTER_M)])
    assert row["geometry"].hausdorff_distance(hole) < 0.5


def hill(x, y):
    """Rises 25 % to the north up to the northern edge of the map, and is level beyond."""
    return 300 + 0.25 * np.minimum(y, QUARTER_M)


@pytest.fixture
def heights(tmp_path):
    return [write_heights(tmp_path / "heights.tif", hill, half_m=900.0)]


def test_short_break_at_the_head_of_a_slope(heights):
    # 10 degrees (18 %) double the spread (McArthur as CSIRO gives it, from memory); the northern
    # edge of 1,320 ft is the head of a slope of 25 %.
    short = {"settings": {"mowing": {"order": ("mown",), "most_mown_ft": 25.0}}}
    rows = conflicts(**QUIET | short | {"elevation": heights})
    (row,) = of_code(rows, "break_short_on_slope").to_dict("records")
    assert row["figure"] == pytest.approx(1320, abs=60)
    assert row["seriousness"] == "stop_and_ask"
    wide = conflicts(**QUIET | {"elevation": heights})
    assert of_code(wide, "break_short_on_slope").empty
    assert of_code(wide, "head_of_slope")["bound"].to_numpy() == pytest.approx([25], abs=1.5)
    flat = conflicts(**QUIET | short)
    assert of_code(flat, "break_short_on_slope").empty
    assert of_code(flat, "head_of_slope").empty


def test_gentle_slope_is_not_told(heights):
    steep = {"settings": {"slope": {"steep_pct": 30.0}}}
    assert of_code(conflicts(**QUIET | steep | {"elevation": heights}), "head_of_slope").empty


def test_refused_block_and_work_on_its_ground_are_told(monkeypatch):
    # The edge graph is broken on purpose: the ground of the second square, B, goes to nobody.
    whole = edge_graph.owners_of

    def losing(*given):
        owner = whole(*given)
        return np.where(owner == 1, -1, owner)

    told = {
        "burns": [*burn("west", "A"), *burn("east", "B")],
        "treatments": [*GRAZED, logged("B", "mow", "2027-08-01"), logged("A", "mow", "2027-08-01")],
        "place": {"name": "Broken"},
        "rows": ("AB.",),
        "settings": {"acreage": {"slop_ft": 15.0}},
    }
    sound = conflicts(**QUIET | told)
    assert not {"block_refused", "unit_ground_lost"} & set(sound["code"])
    monkeypatch.setattr(edge_graph, "owners_of", losing)
    told["settings"] = {"acreage": {"slop_ft": 14.0}}
    rows = conflicts(**QUIET | told)
    (refused,) = of_code(rows, "block_refused").to_dict("records")
    assert (refused["work_id"], refused["number"]) == ("burn:east", 1)
    assert refused["against"].endswith("B did not pass the check of the ground")
    (lost,) = of_code(rows, "unit_ground_lost").to_dict("records")
    assert lost["work_id"] == "mow:B:2027-08-01"
    assert lost["against"].endswith("0.00 ac, expected 40.00 ac")


@pytest.mark.parametrize("turn_deg", [0.0, 17.3, -64.0])
def test_neighbors_share_an_edge_and_not_a_point(turn_deg):
    frames = made_layers(rows=("AB", "CD"), turn_deg=turn_deg)
    assert neighbors_of(frames["edges"], 5.0) == {
        "A": {"B", "C"},
        "B": {"A", "D"},
        "C": {"A", "D"},
        "D": {"B", "C"},
    }


def test_edge_shorter_than_the_slop_makes_no_neighbors():
    ground = squares(("A.", ".B"))
    length_m = frames_edge_m(shapely.affinity.translate(ground["B"], -3.0, 0.0), ground["A"])
    assert length_m == pytest.approx(3.0)
    edges = literal_layer(
        "edges",
        [
            {
                "edge_id": 1,
                "left_unit": "A",
                "right_unit": "B",
                "left_lane": False,
                "right_lane": False,
            }
        ],
        [shapely.LineString([(0, 0), (length_m, 0)])],
        5070,
    )
    assert neighbors_of(edges, 4.9) == {}
    assert neighbors_of(edges, 2.9) == {"A": {"B"}, "B": {"A"}}


def frames_edge_m(one, other):
    """Length [m] of the line that two shapes share."""
    return shapely.intersection(one, other).length


def burned_area(share):
    """Ground of B that the burn of last spring took, from its west."""
    return shapely.box(QUARTER_M, 0, QUARTER_M * (1 + share), QUARTER_M)


@pytest.mark.parametrize(("share", "told"), [(0.49, False), (0.51, True)])
def test_neighbor_that_burned_in_part_counts_from_half_of_it_on(share, told):
    # Half of the neighbor is a judgment of this program, no source.
    rows = conflicts(
        **QUIET
        | {
            "treatments": [*GRAZED, logged("B", "burn", "2026-04-10")],
            "burned_areas": [{"unit_id": "B", "date": "2026-04-10"}],
            "shapes": {"burned_areas": [burned_area(share)]},
        }
    )
    assert bool(len(of_code(rows, "neighbor_burned_last_year"))) is told


def test_burn_in_part_long_ago_is_told_with_its_share():
    rows = conflicts(
        **QUIET
        | {
            "treatments": [
                *GRAZED,
                *(logged("A", "burn", f"{year}-04-10") for year in (2023, 2024, 2025)),
            ],
            "burned_areas": [{"unit_id": "A", "date": "2025-04-10"}],
            "shapes": {"burned_areas": [shapely.box(0, 0, QUARTER_M / 4, QUARTER_M)]},
        }
    )
    assert "25 % of it: 2 years" in of_code(rows, "burned_lately")["against"].iloc[0]


@pytest.mark.parametrize(
    ("days", "part", "first"),
    [
        (("2027-04-20", "2027-05-01"), ("05-01", "07-15"), "2027-05-01"),
        (("2027-04-20", "2027-04-30"), ("05-01", "07-15"), None),
        (("2027-07-15", "2027-09-01"), ("05-01", "07-15"), "2027-07-15"),
        (("2027-07-16", "2028-04-30"), ("05-01", "07-15"), None),
        (("2026-11-16", "2027-12-31"), ("05-01", "07-15"), "2027-05-01"),
        # A part that passes New Year.
        (("2027-01-10", "2027-01-12"), ("11-01", "03-01"), "2027-01-10"),
        (("2026-10-01", "2026-12-01"), ("11-01", "03-01"), "2026-11-01"),
        (("2027-03-02", "2027-10-31"), ("11-01", "03-01"), None),
        (("2020-01-01", "2030-01-01"), ("02-29", "02-29"), "2020-02-29"),
    ],
)
def test_first_day_that_a_span_and_a_part_of_the_year_have_in_common(days, part, first):
    found = first_common_day(*map(pd.Timestamp, days), *part)
    assert (None if found is None else str(found.date())) == first


@pytest.mark.parametrize(
    ("first", "last", "expected"),
    [
        ("2027-04-01", "2027-04-02", {2025: 1, 2026: 2}),
        ("2026-12-31", "2027-01-01", {2025: 2}),
        ("2027-04-03", "2027-04-30", {}),
    ],
)
def test_days_of_past_years_inside_a_prescription(first, last, expected):
    told = ["2025-01-01", "2025-04-02", "2025-12-31", "2026-04-01", "2026-04-02"]
    weather = literal_layer("hourly_weather", hours(told))
    settings = WeatherSettings(**LIMITS)
    days = days_in_prescription(
        weather, pd.Timestamp(first), pd.Timestamp(last), EVERY_WIND, settings
    )
    assert days.to_dict() == expected


def test_days_of_a_block_are_those_that_its_units_have_in_common():
    # A may burn to 26 May and B, with less fuel, not as long: a good day in between is no day.
    loads = [*CLIPPED, {**CLIPPED[0], "unit_id": "B", "load_lb_ac": 3100.0, "low_lb_ac": 3000.0}]
    told = QUIET | {"burns": burn("b", "A", "B", days=None), "loads": loads}
    fuel = made_layers(**told)["fuel"].set_index("unit_id")["burn_until"]
    assert fuel["B"] < fuel["A"]
    settings = {"settings": {"weather": LIMITS}}
    past = [(day - pd.DateOffset(years=1)).strftime("%Y-%m-%d") for day in fuel.to_dict().values()]
    early = str(pd.Timestamp("2026-03-20").date())
    calm = hours([early], wind_mph=1)
    late = conflicts(**told | settings | {"hourly_weather": calm + hours(past[:1])})
    assert len(of_code(late, "no_past_day")) == 1
    common = conflicts(**told | settings | {"hourly_weather": calm + hours(past[1:])})
    assert of_code(common, "no_past_day").empty
    assert len(of_code(common, "few_past_days")) == 1
