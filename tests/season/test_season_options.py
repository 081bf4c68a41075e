"""Season options where tables meet: records, aims, limits, neighbors, patches and planned work.

The properties are made up; what is expected is common practice unless a source stands beside it.
"""

import pandas as pd
import pytest
import shapely
from pyproj import Transformer

from pipeline.core.layer import conform
from pipeline.season.options.faults import aim_faults
from pipeline.season.options.settings import AimsSettings
from pipeline.season.settings import SeasonSettings
from pipeline.work.layers import OPTION_CONFLICTS
from pipeline.work.option_conflicts import list_option_conflicts
from tests.work.made_plan import at, burn, logged, made_layers, standing

OLD = logged("A", "graze", "2019-06-01", head=5, animal_unit_equivalent=1)
FUEL = {"loads": [standing("A"), standing("B")]}
BROME = {"Bromus inermis": 60, "Andropogon gerardii": 40}


def survey(unit_id, covers, day="2026-06-20", place=None):
    """Rows of a transect with these covers, at a place where one is told."""
    where = {} if place is None else {"latitude_deg": place.y, "longitude_deg": place.x}
    told = {"unit_id": unit_id, "transect": f"{unit_id}-1", "date": day, **where}
    return [told | {"species": name, "cover_pct": pct} for name, pct in covers.items()]


def options(unit_id="A", **told):
    """Options of a unit of a made property, best first."""
    told = {"treatments": [OLD], **told}
    rows = made_layers(**told)["season_options"]
    return rows[rows["unit_id"] == unit_id].sort_values("rank")


def things(rows):
    """What the options come to, each with its time of the year."""
    return [(row.leads_to, None if pd.isna(row.time) else row.time) for row in rows.itertuples()]


def test_there_are_at_most_three_and_the_plan_is_the_first():
    frames = made_layers(treatments=[OLD], plants=survey("A", BROME), **FUEL)
    rows, plan = frames["season_options"], frames["season_plan"]
    assert set(rows.groupby("unit_id")["rank"].max()) <= {1, 2, 3}
    assert things(rows[rows["unit_id"] == "A"])[0] == ("burn", "late_spring")
    first = rows[rows["rank"] == 1].set_index("unit_id")
    told = plan[plan["outcome"] == "option"].set_index("unit_id")
    assert list(told["rule"]) == list(first.loc[told.index, "rule"])
    assert list(told["suggestion"]) == [f"option: {s}" for s in first["suggestion"]]


def test_without_fire_no_option_burns_and_units_may_be_named():
    told = FUEL | {"plants": survey("A", BROME) + survey("B", BROME)}
    nowhere = {"settings": {"aims": {"fire_possible": False}}}
    not_on_a = {"settings": {"aims": {"no_fire_units": ("A",)}}}
    assert things(options(**told, **nowhere))[0] == ("graze", "early")
    for aims in (nowhere, not_on_a):
        assert "burn" not in set(options(**told, **aims)["leads_to"])
    assert "burn" in set(options("B", **told, **not_on_a)["leads_to"])


def test_a_herd_that_must_be_fed_comes_before_a_rest():
    told = {"loads": [standing("A", 1000.0)]}
    fed = {"settings": {"aims": {"herd_must_be_fed": True}}}
    assert things(options(**told)) == [("rest", None), ("defer", "early")]
    assert things(options(**told, **fed)) == [("defer", "early"), ("rest", None)]


def test_hay_and_seed_are_options_where_they_are_wanted():
    told = {"plants": survey("A", {"Andropogon gerardii": 90, "Bromus inermis": 10})}
    wanted = {"settings": {"aims": {"hay_units": ("A",), "seed_units": ("A",)}}}
    assert not {"hay", "harvest"} & set(options(**told)["leads_to"])
    assert things(options(**told, **wanted))[:2] == [("harvest", "fall"), ("hay", "summer")]
    cut = [OLD, logged("A", "hay", "2026-07-20")]
    assert ("hay", "fall") in things(options(**told, **wanted, treatments=cut))


@pytest.mark.parametrize(("acres", "again"), [(None, False), (4.0, True)])
def test_seed_is_not_gathered_twice_running_where_more_than_a_strip_was(acres, again):
    # Of 40 acres a strip of 4 leaves the rest to be gathered; common practice, no source.
    gathered = logged("A", "harvest", "2026-09-20", acres_treated_ac=acres)
    told = {"plants": survey("A", {"Andropogon gerardii": 90, "Bromus inermis": 10})}
    wanted = {"settings": {"aims": {"seed_units": ("A",)}}}
    found = things(options(**told, **wanted, treatments=[OLD, gathered]))
    assert (("harvest", "fall") in found) == again


REFUGE = {"settings": {"aims": {"keep_refuge": True}}}


@pytest.mark.parametrize("turn_deg", [0.0, 30.0])
def test_a_unit_that_touches_in_a_point_is_no_refuge(turn_deg):
    apart, beside = (
        options(rows=rows, turn_deg=turn_deg, **FUEL, **REFUGE) for rows in (("A.", ".B"), ("AB",))
    )
    assert list(apart.loc[apart["leads_to"] == "burn", "leaves_no_refuge"]) == [True]
    assert list(beside.loc[beside["leads_to"] == "burn", "leaves_no_refuge"]) == [False]
    assert not options(rows=("A.", ".B"), **FUEL)["leaves_no_refuge"].any()


def test_of_two_units_side_by_side_one_keeps_the_refuge_for_both():
    told = FUEL | {"plants": survey("A", BROME) + survey("B", BROME)} | REFUGE
    told["treatments"] = [OLD, OLD | {"unit_id": "B"}]
    assert things(options("A", **told))[0] == ("burn", "late_spring")
    last = options("B", **told)
    assert things(last)[0] == ("graze", "early")
    assert list(last["leads_to"] == "burn") == list(last["leaves_no_refuge"])


def test_a_planned_burn_takes_the_refuge_of_its_neighbor():
    told = FUEL | {"plants": survey("A", BROME)} | REFUGE
    rows = options("A", **told, burns=burn("South", "B"))
    assert things(rows)[0] != ("burn", "late_spring")


@pytest.mark.parametrize("kind", ["burn", "seed", "hay", "cut"])
def test_a_record_of_part_of_an_acre_leaves_the_options_as_they_are(kind):
    told = FUEL | {"plants": survey("A", BROME)}
    part = logged("A", kind, "2026-04-10", acres_treated_ac=0.5)
    whole = logged("A", kind, "2026-04-10")
    plain = list(options(**told)["rule"])
    assert list(options(**told, treatments=[OLD, part])["rule"]) == plain
    if kind in ("burn", "seed"):
        assert list(options(**told, treatments=[OLD, whole])["rule"]) != plain


def test_parts_of_a_year_count_together():
    # Four burns of 4 acres take more than a quarter of a unit of 40: one burn, lit in parts.
    days = [f"2026-04-{day}" for day in (10, 11, 12, 13)]
    parts = [logged("A", "burn", day, acres_treated_ac=4.0) for day in days]
    told = FUEL | {"plants": survey("A", BROME)}
    whole = [logged("A", "burn", "2026-04-13")]
    of_parts, of_whole = (options(**told, treatments=[OLD, *rows]) for rows in (parts, whole))
    assert list(of_parts["rule"]) == list(of_whole["rule"])


def test_a_patch_of_part_of_an_acre_moves_no_unit():
    small, large = (
        {
            "patches": [{"kind": "thistle", "date": "2026-07-01", "radius_ft": radius_ft}],
            "shapes": {"patches": [at(600, 600)]},
        }
        for radius_ft in (80.0, 400.0)
    )
    told = FUEL | {"plants": survey("A", BROME)}
    assert things(options(**told, **small))[0] == ("burn", "late_spring")
    assert things(options(**told, **large))[0] == ("weeds", None)


def test_limits_stand_beside_the_options_and_hide_none():
    told = FUEL | {"plants": survey("A", BROME)}
    kinds = ("species", "contract")
    limits = [{"unit_id": "A", "kind": kind, "note": "ask"} for kind in kinds]
    plain, both = options(**told), options(**told, unit_limits=limits)
    assert things(both) == things(plain)
    assert set(both["limits"]) == {"contract, species"}
    assert both["needs_approval"].all()
    approved = [limit | {"approval": "letter of 2026"} for limit in limits]
    for given, left in ((approved, None), ([limits[0], approved[1]], "species")):
        rows = options(**told, unit_limits=given)
        assert list(rows["limits"].astype(object).where(rows["limits"].notna(), None)) == [
            left
        ] * len(rows)
        assert rows["needs_approval"].all() == (left is not None)


def test_natives_within_a_weed_patch_are_what_spray_would_take():
    place = at(600, 600)
    to_degrees = Transformer.from_crs(made_layers()["units"].crs, 4326, always_xy=True)
    there = shapely.Point(to_degrees.transform(place.x, place.y))
    told = {
        "plants": survey("A", {"Cirsium arvense": 40, "Dalea purpurea": 20}, place=there),
        "patches": [{"kind": "thistle", "date": "2026-07-01", "radius_ft": 200.0}],
        "shapes": {"patches": [place]},
    }
    first = options(**told).iloc[0]
    assert first["leads_to"] == "weeds"
    assert first["would_lose"] == "thistle: Dalea purpurea"


def test_spray_is_no_option_of_a_rule():
    for told in ({}, {"plants": survey("A", {"Cirsium arvense": 90, "Bromus inermis": 10})}):
        words = " ".join(options(**told)["suggestion"])
        assert "spray" not in words
        assert "herbicide" not in words


SEEN = [
    # Redcedar is native by USDA PLANTS: woody plants are told before natives lead.
    ({"Juniperus virginiana": 57, "Andropogon gerardii": 43}, ("cut", "dormant")),
    # Nebraska lists Canada thistle as noxious.
    ({"Cirsium arvense": 35, "Andropogon gerardii": 40, "Poa pratensis": 25}, ("weeds", None)),
    ({"Elymus repens": 73, "Andropogon gerardii": 27}, ("burn", "late_spring")),
]


@pytest.mark.parametrize(("covers", "first"), SEEN)
def test_what_a_survey_finds_is_what_the_options_rest_on(covers, first):
    assert things(options(plants=survey("A", covers), **FUEL))[0] == first


def test_quackgrass_leads_where_it_holds_most():
    frames = made_layers(plants=survey("A", SEEN[2][0]))
    assert list(frames["community"]["lead_invader"]) == ["other"]


@pytest.mark.parametrize(
    ("cover", "rows", "first"),
    [
        ("crop field", [OLD], "seed"),
        ("crop field", [OLD, logged("A", "seed", "2025-05-20")], "establish"),
        ("remnant prairie", [OLD, logged("A", "seed", "2026-02-20")], "graze"),
        ("native pasture", [OLD, logged("A", "seed", "2026-02-20", method="overseed")], "graze"),
        (
            "native pasture",
            [logged("A", "burn", "2025-04-10"), logged("A", "seed", "2026-02-20")],
            "graze",
        ),
        (
            "native pasture",
            [
                logged("A", "burn", "2025-04-10"),
                logged("A", "till", "2025-10-10"),
                logged("A", "seed", "2026-05-20"),
            ],
            "establish",
        ),
    ],
)
def test_a_sward_that_was_overseeded_is_no_new_field(cover, rows, first):
    told = {"covers": {"A": cover}, "treatments": rows, "plants": survey("A", BROME)}
    assert options(**told, **FUEL).iloc[0]["leads_to"] == first


def test_what_stands_against_a_planned_option_is_told_by_number():
    limits = [{"unit_id": "A", "kind": kind, "note": "ask"} for kind in ("species", "contract")]
    told = FUEL | {"plants": survey("A", BROME), "treatments": [OLD]}
    frames = made_layers(**told, burns=burn("North", "A"), unit_limits=limits)
    rows = list_option_conflicts(
        frames["season_options"],
        frames["planned_work"],
        frames["conflicts"],
        SeasonSettings(),
    )
    rows = conform(rows, OPTION_CONFLICTS)
    assert set(rows["rank"]) == {1}
    assert set(rows["work_id"]) == {"burn:North"}
    by_number = frames["conflicts"].set_index("number")
    codes = set(by_number.loc[rows["number"], "code"])
    assert {"species_limit", "contract_limit"} <= codes
    assert "plan_otherwise" not in codes
    assert set(rows["number"]) == set(by_number.index[by_number["work_id"] == "burn:North"])


def test_an_option_that_nothing_stands_against_says_so_too():
    seen = survey("A", SEEN[0][0])
    frames = made_layers(treatments=[OLD, logged("A", "cut", "2027-01-10")], plants=seen)
    rows = list_option_conflicts(
        frames["season_options"],
        frames["planned_work"],
        frames["conflicts"].iloc[:0],
        SeasonSettings(),
    )
    assert list(rows["work_id"]) == ["cut:A:2027-01-10"]
    assert rows["number"].isna().all()


@pytest.mark.parametrize(
    ("days", "ranks"),
    [(("2027-05-01", "2027-06-20"), {2}), (("2027-05-01", "2027-10-01"), set())],
)
def test_grazing_carries_out_the_option_of_its_time_alone(days, ranks):
    stay = logged("A", "graze", *days, head=9, animal_unit_equivalent=1)
    frames = made_layers(treatments=[OLD, stay], plants=survey("A", BROME), **FUEL)
    options = frames["season_options"]
    assert things(options[options["unit_id"] == "A"])[1] == ("graze", "early")
    rows = list_option_conflicts(
        options, frames["planned_work"], frames["conflicts"], SeasonSettings()
    )
    assert set(rows["rank"]) == ranks


def test_an_aim_for_a_unit_that_is_not_on_the_map_is_a_fault():
    units = made_layers()["drawn_units"]
    aims = AimsSettings(hay_units=("A", "C"), no_fire_units=("D",))
    found = [(fault.where, fault.found) for fault in aim_faults(units, aims)]
    assert found == [
        ("[aims] no_fire_units", 'unit "D" is not on the map'),
        ("[aims] hay_units", 'unit "C" is not on the map'),
    ]
