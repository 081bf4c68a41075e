"""Conflicts: judged by the rules, ranked, numbered, and told in words that are rounded once."""

import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.work.clashes import clashes_frame
from pipeline.work.codes import CODES, FIRE_CODES
from pipeline.work.conflicts import judge_conflicts
from pipeline.work.layers import SERIOUSNESS
from tests.literal_layers import literal_layer
from tests.made_properties import PROJECT
from tests.made_season import square_units
from tests.work.made_plan import plain_frames

UNITS = square_units(A=80, B=60)
DAYS = {"A": ("2027-03-05", "2027-05-20"), "B": ("2027-03-01", "2027-05-10")}
BURN = {"work_id": "burn:b", "kind": "burn", "block": "b", "days_from": "fuel_window"}
WORK = literal_layer(
    "planned_work",
    [
        BURN | {"unit_id": unit, "first_day": first, "last_day": last}
        for unit, (first, last) in DAYS.items()
    ],
    list(UNITS.geometry),
    UNITS.crs,
)
RULE = {"who_decides": "burn_boss", "resolve": "r", "source": "s", "against": "{figure}"}


def rule(code, seriousness="know", **more):
    return RULE | {"code": code, "seriousness": seriousness} | more


def judged(clashes, *rules):
    """Layer ``conflicts`` of clashes of the burn b."""
    told = [{"work_id": "burn:b", "unit_id": None} | clash for clash in clashes]
    fire = LAYERS["fire_clashes"]
    found = conform(clashes_frame(told, fire, UNITS.crs), fire, UNITS.crs)
    others = [
        empty(LAYERS[n], UNITS.crs) for n in ("unit_clashes", "stock_clashes", "seed_clashes")
    ]
    rows = judge_conflicts(WORK, found, *others, literal_layer("conflict_rules", rules))
    return conform(rows, LAYERS["conflicts"], UNITS.crs)


def test_most_serious_comes_first_then_the_order_of_the_rules_then_work_and_unit():
    codes = [FIRE_CODES[n] for n in (3, 1, 2, 0)]
    weights = dict(zip(codes, ("know", "stop_and_ask", "know", "think_again"), strict=True))
    clashes = [{"code": code, "unit_id": unit} for code in codes for unit in ("B", "A", None)]
    rows = judged(clashes, *(rule(code, weights[code]) for code in codes))
    assert rows["number"].to_list() == list(range(1, 13))
    told = list(zip(rows["code"], rows["unit_id"], strict=True))
    order = (FIRE_CODES[1], FIRE_CODES[0], FIRE_CODES[2], FIRE_CODES[3])
    assert told == [(code, unit) for code in order for unit in ("A", "B", None)]


def test_rule_that_is_off_is_left_out_and_numbers_have_no_hole():
    clashes = [{"code": code} for code in FIRE_CODES[:3]]
    off = [rule(code, "off" if n == 1 else "know") for n, code in enumerate(FIRE_CODES[:3])]
    rows = judged(clashes, *off)
    assert rows["code"].to_list() == [FIRE_CODES[0], FIRE_CODES[2]]
    assert rows["number"].to_list() == [1, 2]
    assert judged(clashes, *(rule(code, "off") for code in FIRE_CODES[:3])).empty


@pytest.mark.parametrize(
    ("against", "clash", "words"),
    [
        # Printed tables of the trade round half up: 0.175 is 0.18 (Texas animal-unit chart).
        ("{figure:2} mi", {"figure": 0.175}, "0.18 mi"),
        ("{figure} lb/ac", {"figure": 1260.5}, "1,261 lb/ac"),
        ("{figure:1} of {bound:1} ac", {"figure": 10.25, "bound": 53.86}, "10.3 of 53.9 ac"),
        ("{figure}", {}, "unknown"),
        ("{day} to {bound_day}", {"day": "2027-05-01", "bound_day": None}, "2027-05-01 to unknown"),
        ("{names}, {figure} ft {bearing}", {"names": "house", "figure": 174.6, "bearing_deg": 91.0},
         "house, 175 ft E (91°)"),
        ("{figure} ft {bearing}", {"figure": 0.0}, "0 ft away"),
        ("{bearing}", {"bearing_deg": 359.7}, "N (0°)"),
        ("{names}", {"names": "the {odd} barn"}, "the {odd} barn"),
        ("{unit}", {"unit_id": "B"}, "B"),
        ("{unit}", {}, "A, B"),
        ("plain", {}, "plain"),
    ],
)  # fmt: skip
def test_words_of_the_rule_are_filled_in(against, clash, words):
    for name in ("day", "bound_day"):
        if clash.get(name):
            clash = clash | {name: pd.Timestamp(clash[name])}
    code = FIRE_CODES[0]
    rows = judged([{"code": code, **clash}], rule(code, against=against))
    assert rows["against"].to_list() == [words]


def test_bound_of_the_clash_counts_before_that_of_the_rule():
    code = FIRE_CODES[0]
    of_rule = judged([{"code": code}], rule(code, bound=4.0, against="{bound}"))
    of_clash = judged([{"code": code, "bound": 9.0}], rule(code, bound=4.0, against="{bound}"))
    assert (of_rule["against"][0], of_rule["bound"][0]) == ("4", 4)
    assert (of_clash["against"][0], of_clash["bound"][0]) == ("9", 9)


def test_days_and_ground_are_those_of_the_unit_or_of_all_the_work():
    code, place = FIRE_CODES[0], shapely.Point(1, 2)
    clashes = [{"code": code, "unit_id": "A"}, {"code": code}, {"code": code, "geometry": place}]
    rows = judged(clashes, rule(code))
    days = [
        (str(f.date()), str(t.date()))
        for f, t in zip(rows["first_day"], rows["last_day"], strict=True)
    ]
    assert days == [("2027-03-05", "2027-05-20"), *[("2027-03-01", "2027-05-20")] * 2]
    assert rows.geometry[0].equals(UNITS.geometry[0])
    assert rows.geometry[1].equals(UNITS.geometry.union_all())
    assert rows.geometry[2] == place
    assert rows["block"].to_list() == ["b"] * 3


def test_clashes_of_one_code_work_and_unit_are_numbered():
    told = [
        {"code": FIRE_CODES[0], "work_id": "w", "unit_id": unit} for unit in ("A", None, "A", None)
    ]
    frame = clashes_frame(told, LAYERS["fire_clashes"], UNITS.crs)
    assert frame["number"].to_list() == [1, 1, 2, 2]


def test_shipped_rules_are_the_codes_in_their_order():
    rules = plain_frames()["conflict_rules"]
    with (PROJECT / "config" / "conflict_rules.csv").open(encoding="utf-8") as lines:
        written = [line.split(",")[0] for line in lines][1:]
    assert written == list(CODES)
    assert set(rules["code"]) == set(CODES)
    assert set(rules["seriousness"]) <= set(SERIOUSNESS)
    assert rules["source"].str.len().gt(5).all()


def test_sample_has_a_conflict_of_each_kind_and_of_each_room(sample_layers):
    frames, _ = sample_layers
    rows = frames["conflicts"]
    assert set(rows["seriousness"]) == set(SERIOUSNESS)
    # A house 175 ft from the block, in the smoke of its wind; the meadow's butterfly; the clover
    # under contract; a burn where the season plan would defer.
    assert set(zip(rows["code"], rows["work_id"], rows["unit_id"], strict=True)) >= {
        ("smoke_on_near_place", "burn:North", None),
        ("species_limit", "burn:North", "M1"),
        ("contract_limit", "mow:F2:2027-06-10", "F2"),
        ("plan_otherwise", "burn:Draw", "P1"),
        ("reference_newest", "burn:Draw", "P1"),
        ("no_wind_fits", "burn:Draw", None),
        ("sprayed_before_sowing", "seed:Windmill", "F3"),
    }
    assert rows.loc[rows["code"] == "smoke_on_near_place", "against"].to_list() == [
        "the planned wind carries its smoke onto the house, 175 ft E (91°)"
    ]
    assert not rows["against"].str.contains("unknown|nan|None", regex=True).any()
    assert not rows.geometry.is_empty.any()
