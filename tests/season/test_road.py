"""The road of recovery: what moves a unit, what does not, and that no year is told anew later."""

from pathlib import Path

import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.log.treatment_log import keep_done, keep_planned
from pipeline.season.herd import count_grazing
from pipeline.season.road.findings import find_road
from pipeline.season.road.moves import walk_roads
from pipeline.season.road.records import list_road_records
from pipeline.season.road.road import tell_road
from pipeline.season.road.rules import read_road_rules
from pipeline.season.road.years import tell_road_years
from pipeline.season.settings import SeasonSettings
from tests.literal_layers import literal_layer
from tests.made_season import fuel_rows, log, log_of, property_row, square_units

PROJECT = Path(__file__).parents[2]
RULES = literal_layer(
    "road_rules",
    pd.read_csv(PROJECT / "config" / "road_rules.csv").astype(object).to_dict("records"),
)
UNITS = square_units(A=80)


def community_rows(units, *surveys):
    """Layer ``community`` of unit, day and native share of each survey."""
    shapes = dict(zip(units["unit_id"], units.geometry, strict=True))
    rows = [
        {
            "unit_id": unit_id,
            "date": day,
            "transects": 3,
            "native_share_pct": float(native),
            "interval": "rests_on_three_or_more",
            "interval_cut": False,
            "native_may_be_more": False,
            "species": 5,
        }
        for unit_id, day, native in surveys
    ]
    return literal_layer(
        "community", rows, shapes=[shapes[row["unit_id"]] for row in rows], crs=units.crs
    )


def change_rows(*changes):
    """Layer ``plant_changes`` of unit, day before, day, and the interval of the native grasses."""
    return literal_layer(
        "plant_changes",
        [
            {
                "unit_id": unit_id,
                "before": before,
                "date": day,
                "group": "native_warm_grass",
                "transects": 3,
                "before_cover_pct": 10.0,
                "after_cover_pct": 10.0 + (low + high) / 2,
                "change_pct": (low + high) / 2,
                "change_low_pct": float(low),
                "change_high_pct": float(high),
            }
            for unit_id, before, day, low, high in changes
        ],
    )


class Road:
    """The steps of the road on made tables."""

    def __init__(
        self,
        rows=None,
        units=UNITS,
        cover="native pasture",
        surveys=(),
        changes=(),
        drawn=(),
        readings=(),
        scenes=(),
        as_of="2026-11-15",
        carries="unknown",
    ):
        units = units.assign(cover=cover)
        told = empty(LAYERS["treatment_log"]) if rows is None or not len(rows) else rows
        self.property = property_row(as_of=as_of)
        self.log = keep_done(told, self.property)
        self.planned = keep_planned(told, self.property)
        burned_areas = literal_layer(
            "burned_areas",
            [{"unit_id": unit_id, "date": day} for unit_id, day, _ in drawn],
            shapes=[shape for _, _, shape in drawn],
            crs=units.crs,
        )
        greenness = empty(LAYERS["greenness"], units.crs)
        if readings:
            greenness = pd.DataFrame(readings, columns=["unit_id", "after", "verdict"])
            greenness = greenness.assign(role="burned", after=pd.to_datetime(greenness["after"]))
        self.community = community_rows(units, *surveys)
        records = list_road_records(
            units,
            self.log,
            burned_areas,
            empty(LAYERS["burned_shares"]),
            self.community,
            change_rows(*changes),
            greenness,
            self.property,
            SeasonSettings(),
        )
        self.records = conform(records, LAYERS["road_records"])
        self.moves = conform(walk_roads(units, self.records, RULES), LAYERS["road_moves"])
        fuel = fuel_rows(units, carries=carries)
        road = tell_road(units, self.records, self.moves, RULES, fuel, self.property)
        self.road = conform(road, LAYERS["road"], units.crs).set_index("unit_id")
        years = tell_road_years(
            units,
            self.records,
            self.moves,
            self.log,
            scene_rows(*scenes),
            self.community,
            empty(LAYERS["standing"]),
            count_grazing(empty(LAYERS["grazing_rates"]), SeasonSettings()),
            self.property,
        )
        self.years = conform(years, LAYERS["road_years"])
        found = find_road(units, self.log, self.road.reset_index(), self.property, SeasonSettings())
        self.codes = sorted(found["code"])

    @property
    def states(self):
        """States that the unit A went through."""
        return list(self.moves.loc[self.moves["unit_id"] == "A", "to_state"])


def whole(*rows):
    """The log of rows of unit, first day and kind."""
    return log_of("unit_id start kind", *rows)


def test_whole_road_from_rest_to_recovered():
    road = Road(
        log_of(
            "unit_id start end kind",
            ("A", "2019-01-01", "2019-12-31", "rest"),
            ("A", "2020-04-10", "2020-04-10", "burn"),
            ("A", "2023-04-12", "2023-04-12", "burn"),
        ),
        surveys=[("A", "2019-06-20", 28), ("A", "2020-06-20", 45), ("A", "2025-06-20", 54)],
        changes=[("A", "2019-06-20", "2020-06-20", 4, 9)],
    )
    assert road.states == [
        "inherited",
        "resting",
        "waiting",
        "answered",
        "recovering",
        "recovered",
    ]
    row = road.road.loc["A"]
    assert (row["state"], row["rests_on"], row["whole_burns"]) == ("recovered", "survey", 2)
    assert row["moved_by"] == "survey 2025-06-20, natives 54 %"
    assert str(row["since"].date()) == "2025-06-20"


def test_two_burns_and_44_pct_natives_are_recovering():
    burns = whole(("A", "2016-04-10", "burn"), ("A", "2022-04-10", "burn"))
    road = Road(burns, surveys=[("A", "2023-06-20", 44)])
    assert road.states == ["inherited", "waiting", "inherited", "waiting", "recovering"]
    assert "50 %" in road.road.loc["A", "moves_on"]


@pytest.mark.parametrize(
    ("natives", "state"),
    [((4, 9), "answered"), ((-2, 3), "not_answered"), ((-9, -1), "not_answered")],
)
def test_survey_on_the_same_transects_tells_whether_a_burn_was_answered(natives, state):
    road = Road(
        whole(("A", "2024-04-10", "burn")),
        surveys=[("A", "2023-06-20", 25), ("A", "2025-06-20", 26)],
        changes=[("A", "2023-06-20", "2025-06-20", *natives)],
    )
    assert road.road.loc["A", "state"] == state


def test_survey_of_the_first_summer_cannot_say_that_nothing_came():
    road = Road(
        whole(("A", "2026-04-10", "burn")),
        surveys=[("A", "2023-06-20", 25), ("A", "2026-06-20", 26)],
        changes=[("A", "2023-06-20", "2026-06-20", -2, 3)],
    )
    assert road.road.loc["A", "state"] == "waiting"


def test_change_that_began_after_the_burn_is_no_answer_to_it():
    road = Road(
        whole(("A", "2024-04-10", "burn")),
        surveys=[("A", "2024-06-20", 25), ("A", "2025-06-20", 30)],
        changes=[("A", "2024-06-20", "2025-06-20", 4, 9)],
    )
    assert road.road.loc["A", ["state", "missing"]].to_list() == [
        "waiting",
        "survey_before_burn, fuel",
    ]


def test_burn_of_forty_pct_moves_nothing_and_is_told():
    side = shapely.box(*UNITS.total_bounds)
    low = shapely.affinity.scale(side, yfact=0.4, origin=(side.bounds[0], side.bounds[1]))
    road = Road(whole(("A", "2026-04-10", "burn")), drawn=[("A", "2026-04-10", low)])
    row = road.road.loc["A"]
    assert (row["state"], row["part_done"], row["whole_burns"]) == ("inherited", "part_burn", 0)
    assert row["part_pct"] == pytest.approx(40, abs=0.01)
    assert road.codes == ["part_only"]


def test_two_burns_of_forty_pct_in_a_year_are_one_burn_unless_on_the_same_ground():
    side = shapely.box(*UNITS.total_bounds)
    left, bottom, right, top = side.bounds
    half = (bottom + top) / 2
    low = shapely.box(left, bottom, right, bottom + 0.8 * (half - bottom))
    high = shapely.box(left, half, right, half + 0.8 * (top - half))
    days = whole(("A", "2026-04-10", "burn"), ("A", "2026-04-20", "burn"))
    apart = Road(days, drawn=[("A", "2026-04-10", low), ("A", "2026-04-20", high)])
    assert apart.road.loc["A", ["state", "whole_burns"]].to_list() == ["waiting", 1]
    assert str(apart.road.loc["A", "since"].date()) == "2026-04-20"
    again = Road(days, drawn=[("A", "2026-04-10", low), ("A", "2026-04-20", low)])
    assert again.road.loc["A", "state"] == "inherited"


def test_remnant_that_is_overseeded_is_no_new_field():
    road = Road(
        whole(("A", "2025-04-10", "burn"), ("A", "2026-02-10", "seed")),
        surveys=[("A", "2024-06-20", 33)],
    )
    row = road.road.loc["A"]
    assert (row["state"], str(row["overseeded"].date())) == ("waiting", "2026-02-10")


@pytest.mark.parametrize("cover", ["crop field", "replanted field", "cropland"])
def test_field_that_was_seeded_is_establishing_whatever_the_map_says(cover):
    road = Road(whole(("A", "2025-05-20", "seed")), cover=cover)
    assert road.road.loc["A", "state"] == "establishing"
    assert pd.isna(road.road.loc["A", "overseeded"])
    assert ("cover_against_record" in road.codes) == ("crop" in cover)


def test_seeding_of_a_part_leaves_the_field_what_it_was():
    rows = log({"unit_id": "A", "start": "2025-05-20", "kind": "seed", "acres_treated_ac": 20.0})
    road = Road(rows, cover="crop field")
    row = road.road.loc["A"]
    assert (row["state"], row["part_done"], row["part_pct"]) == ("cropped", "part_seed", 25)


def test_units_that_overlap_each_burn_by_their_own_ground():
    units = square_units(A=80, B=80)
    side = units.geometry[0]
    left, bottom, right, top = side.bounds
    over = shapely.box(left + 0.5 * (right - left), bottom, right + 0.5 * (right - left), top)
    units = units.set_geometry([side, over], crs=units.crs)
    burned = whole(("A", "2026-04-10", "burn"), ("B", "2026-04-10", "burn"))
    drawn = [("A", "2026-04-10", side), ("B", "2026-04-10", side.intersection(over).buffer(-30))]
    road = Road(burned, units=units, drawn=drawn)
    assert road.road["state"].to_dict() == {"A": "waiting", "B": "inherited"}


def test_unit_without_any_record_stands_where_it_was_taken_over():
    units = square_units(A=80, B=40)
    road = Road(whole(("A", "2020-04-10", "burn")), units=units)
    row = road.road.loc["B"]
    assert (row["state"], row["rests_on"], row["missing"]) == (
        "inherited",
        "nothing",
        "record, survey, fuel",
    )
    assert pd.isna(row["since"])
    assert road.years["unit_id"].value_counts().to_dict() == {"A": 7, "B": 7}
    empty_log = Road()
    assert empty_log.road.loc["A", "state"] == "inherited"
    assert empty_log.years["year"].to_list() == [2026]


def test_record_after_the_day_of_the_plan_is_planned_and_moves_nothing():
    rows = whole(("A", "2024-04-10", "burn"), ("A", "2027-04-10", "burn"))
    road = Road(rows, surveys=[("A", "2026-12-20", 80)])
    assert len(road.planned) == 1
    assert road.years["native_share_pct"].isna().all()
    assert road.road.loc["A", "state"] == "waiting"
    assert road.years["year"].max() == 2026


def test_row_that_stands_twice_counts_once_and_is_told():
    part = {"unit_id": "A", "start": "2026-04-10", "kind": "burn", "acres_treated_ac": 32.0}
    road = Road(log(part, part))
    assert road.road.loc["A", ["state", "part_pct"]].to_list() == ["inherited", 40]
    assert road.codes == ["part_only", "row_twice"]
    twice = whole(("A", "2022-04-10", "burn"), ("A", "2022-04-10", "burn"))
    assert Road(twice).road.loc["A", ["state", "whole_burns"]].to_list() == ["waiting", 1]


def test_rest_with_animals_in_it_contradicts_itself():
    rows = log_of(
        "unit_id start end kind",
        ("A", "2026-01-01", "2026-12-31", "rest"),
        ("A", "2026-06-01", "2026-06-20", "graze"),
    )
    road = Road(rows)
    assert road.states == ["inherited", "resting", "inherited"]
    assert road.codes == ["rest_and_use"]


def test_mower_on_a_tenth_does_not_end_the_rest():
    rest = {"unit_id": "A", "start": "2026-01-01", "end": "2026-12-31", "kind": "rest"}
    mown = {"unit_id": "A", "start": "2026-06-01", "kind": "mow", "acres_treated_ac": 8.0}
    tenth = Road(log(rest, mown))
    assert (tenth.states, tenth.codes) == (["inherited", "resting"], [])
    assert Road(log(rest, mown | {"acres_treated_ac": 60.0})).states[-1] == "inherited"


def test_burn_that_nobody_looked_at_is_told_and_does_not_last():
    rows = whole(("A", "2021-04-10", "burn"))
    assert Road(rows).codes == ["burn_not_looked_at"]
    later = Road(rows, as_of="2027-01-15")
    assert later.states == ["inherited", "waiting", "inherited"]
    assert later.road.loc["A", "rests_on"] == "time"


def test_greenness_answers_only_while_the_site_is_waited_for():
    reading = [("A", "2026-07-22", "greener")]
    assert Road(whole(("A", "2026-04-10", "burn")), readings=reading).states[-1] == "answered"
    assert Road(readings=reading).states == ["inherited"]


def test_every_year_reads_the_same_later():
    rows = log_of(
        "unit_id start end kind",
        ("A", "2012-01-01", "2012-12-31", "rest"),
        ("A", "2013-04-10", "2013-04-10", "burn"),
        ("A", "2016-04-10", "2016-04-10", "burn"),
        ("A", "2019-05-20", "2019-05-20", "till"),
        ("A", "2020-05-20", "2020-05-20", "seed"),
        ("A", "2024-04-20", "2024-04-20", "burn"),
    )
    told = {
        "surveys": [("A", "2012-06-20", 20), ("A", "2014-06-20", 35), ("A", "2017-06-20", 52)],
        "changes": [("A", "2012-06-20", "2014-06-20", 3, 9)],
    }
    today = Road(rows, **told)
    states = today.years.set_index("year")["state"]
    assert len(set(states)) >= 6
    assert states.iloc[-1] == today.road.loc["A", "state"]
    for year in range(2012, 2026):
        then = Road(rows, as_of=f"{year}-12-31", **told)
        assert then.road.loc["A", "state"] == states[year], year
        assert then.years["state"].to_list() == states.loc[:year].to_list(), year


def scene_rows(*means):
    """Layer ``zone_scenes`` of unit, day and mean NDVI of each picture."""
    numbers = {c.name: 1.0 for c in LAYERS["zone_scenes"].columns if c.kind == "number"}
    return literal_layer(
        "zone_scenes",
        [
            {**numbers, "scene": n, "unit_id": unit_id, "date": day, "last_day": day}
            | {"kind": "ndvi", "mean": mean, "full_pixels": 9}
            for n, (unit_id, day, mean) in enumerate(means)
        ],
    )


def test_greenness_is_held_against_units_that_did_not_burn_lately():
    # By hand: B burned in 2025, so that in 2026 A is held against C and D alone.
    units = square_units(A=80, B=40, C=40, D=40)
    burns = whole(("A", "2026-04-10", "burn"), ("B", "2025-04-10", "burn"))
    means = [("A", 0.7), ("B", 0.1), ("C", 0.5), ("D", 0.6)]
    pictures = [(unit_id, "2026-07-22", mean) for unit_id, mean in means]
    spring = [("A", "2026-05-08", 0.2)]
    years = Road(burns, units=units, scenes=[*spring, *pictures]).years
    of_2026 = years[years["year"] == 2026].set_index("unit_id")
    gaps = of_2026["greenness_gap"].to_dict()
    assert gaps == pytest.approx({"A": 0.15, "B": -0.45, "C": -0.1, "D": 0.1})
    assert of_2026["references"].to_dict() == {"A": 2, "B": 2, "C": 1, "D": 1}
    assert of_2026.loc["A", "pictured"] == pd.Timestamp("2026-07-22")


def test_rules_that_come_with_the_program_are_sound():
    rules, faults = read_road_rules(RULES)
    assert not faults
    assert all(rule.source and rule.reason for rule in rules)
    states = {rule.to_state for rule in rules} - {None}
    assert states == set(LAYERS["road"].column("state").choices)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"when": "no_such > 1"}, "no_such"),
        ({"from_states": "waiting; lost"}, "lost"),
        ({"event": "burn"}, "no start"),
    ],
)
def test_rule_that_cannot_be_read_is_a_fault(change, words):
    row = {"rule": 1, "event": "start", "to_state": "inherited", "reason": "r", "source": "s"}
    _, faults = read_road_rules(literal_layer("road_rules", [row | change]))
    assert any(words in f"{fault.where} {fault.found}" for fault in faults)
