"""Widths of the stretches of made properties, against the rules worked by hand."""

import numpy as np
import pytest
import shapely

from pipeline.fire.mowing.settings import MowingSettings
from pipeline.fire.width_rules import RULES
from tests import made_properties as made
from tests.made_fire import fire_layers, two_forties

WIDTHS = ["make_bare_ft", "make_mown_ft", "make_black_ft", "required_ft", "planned_ft", "short_ft"]


def test_widths_by_side_in_one_wind():
    lines = two_forties(wind_arc_deg=0.0)["firebreaks"]
    outer = lines[(lines["block"] == "east") & lines["neighbor_block"].isna()]
    by_side = outer.set_index("wind_side")[WIDTHS]
    # Fuel of 6 ft: ten times downwind, where mown strip counts, and the bare line of every break;
    # twice elsewhere, where mown strip does not count.
    assert by_side.loc["downwind"].tolist() == [12, 48, 0, 60, 60, 0]
    assert by_side.loc["flank"].drop_duplicates().to_numpy().tolist() == [[12, 20, 0, 12, 12, 0]]


def test_wind_that_may_shift_asks_for_the_rule_of_the_most_exposed_side():
    # Wind from 270 and 45 degrees to either side: the north and south edges, 90 degrees off, are
    # within 60 of where a wind from 225 or 315 goes; the west edge, 180 off, comes to 135 at most.
    lines = two_forties()["firebreaks"]
    outer = lines[lines["neighbor_block"].isna()]
    sides = outer.set_index(outer["bearing_deg"].round() % 360)
    for outward_deg in (0, 90, 180):
        row = sides.loc[[outward_deg], ["held_side", *WIDTHS]].drop_duplicates()
        assert row.to_numpy().tolist() == [["downwind", 12, 48, 0, 60, 60, 0]]
    assert sides.loc[270, ["held_side", *WIDTHS]].tolist() == ["upwind", 12, 20, 0, 12, 12, 0]


def test_wind_from_all_around_asks_for_the_widest():
    lines = two_forties(wind_arc_deg=180.0)["firebreaks"]
    assert (lines["required_ft"] == 60).all()
    assert (lines["held_side"] == "downwind").all()


# Higgins, Kruse and Piehl, USFWS, 1989: winds 45 degrees to either side of the planned one. The
# north edge is downwind by 60.0 degrees in the one wind and a flank by 60.1 in the other.
def test_widths_do_not_flip_with_a_hair_of_wind():
    feet = []
    for wind_from_deg in (240.04, 240.06):
        lines = two_forties(wind_from_deg)["firebreaks"]
        by = ["block", "held_side", *WIDTHS]
        feet.append(lines.groupby(by)["length_ft"].sum())
    assert feet[0].index.equals(feet[1].index)
    assert feet[0].to_numpy() == pytest.approx(feet[1].to_numpy())


def test_each_span_of_a_bent_edge_is_held_by_its_own_direction():
    # Wind to 90 degrees, arc 10: the northeast of a circle runs from 0 to 90; what faces within 70
    # of 90 is held as downwind, 61 degrees off too, whatever the chord of its stretch.
    circle = shapely.Point(0, 0).buffer(300, quad_segs=90)
    units, burns = made.units_frame([circle], ["R"]), made.burns_frame({"R": "r"}, 270.0)
    lines = fire_layers(units, burns, wind_arc_deg=10.0, smoothing_ft=0.0)["firebreaks"]
    held = lines[lines["required_ft"] == 60]
    # Sides of one degree, each facing its middle: 70 to either side.
    assert held["length_ft"].sum() / lines["length_ft"].sum() == pytest.approx(140 / 360, abs=2e-3)
    for line in held.geometry:
        for x, y in line.coords:
            assert abs(np.degrees(np.arctan2(y, x))) <= 70.5


def test_own_rule_is_used_where_it_is_chosen():
    own = {"own_rule_source": "county plan", "own_rule_at_least_ft": 25.0, "own_rule_counts": "all"}
    lines = two_forties(flank_rule="own", wind_arc_deg=0.0, **own)["firebreaks"]
    flank = lines[lines["rule"] == "own"]
    # 25 ft in all by the own rule, and the 12 ft bare of the upwind rule, whatever counts for it.
    assert set(flank["wind_side"]) == {"flank"}
    assert flank[WIDTHS].drop_duplicates().to_numpy().tolist() == [[12, 20, 0, 25, 32, 0]]


# Extension, Fire prescriptions, rule 4: the strip burned out beforehand is on the downwind side.
def test_blackline_lies_on_every_downwind_edge_and_on_no_other():
    lines = two_forties(blackline_ft=30.0, wind_arc_deg=0.0)["firebreaks"]
    downwind = (lines["wind_side"] == "downwind") | (lines["neighbor_wind_side"] == "downwind")
    # The east side of either block; that of the west block is the one that they share.
    assert lines.loc[downwind, "length_ft"].sum() == pytest.approx(2 * 1320, abs=0.2)
    assert lines.loc[downwind, "neighbor_block"].notna().sum() == 1
    assert set(lines.loc[downwind, "blackline_ft"]) == {30.0}
    assert set(lines.loc[~downwind, "blackline_ft"]) == {0.0}


# Fuel of 6 ft: 60 ft for the block whose head fire comes, 12 ft for the one behind.
@pytest.mark.parametrize("wind_from_deg", [270.0, 90.0])
def test_shared_edge_is_held_for_the_block_that_asks_for_more(wind_from_deg):
    lines = two_forties(wind_from_deg, wind_arc_deg=0.0)["firebreaks"]
    shared = lines[lines["neighbor_block"].notna()]
    assert shared[["rule", "required_ft"]].to_numpy().tolist() == [["10 x fuel height", 60]]
    assert shared["counted_ground"].tolist() == ["bare_mown_or_burned"]


def test_shift_of_the_wind_may_bring_the_head_fire_of_the_neighbor():
    # Wind to 20 degrees: the shared edge, which faces 270 and 90, is a flank of both by 110 and
    # 70; a shift by 20 brings the west block's head fire (50, below 60) and no one else's.
    shared_ft = {}
    for arc_deg in (0.0, 20.0):
        lines = two_forties(200.0, wind_arc_deg=arc_deg)["firebreaks"]
        shared_ft[arc_deg] = lines.loc[lines["neighbor_block"].notna(), "required_ft"].tolist()
    assert shared_ft == {0.0: [12], 20.0: [60]}


ROAD = shapely.LineString([(-50, -6), (900, -6)])


def test_existing_break_is_widened_only_where_its_rule_asks_for_more():
    # A road of 20 ft along the south edge: wide enough for the flank, 40 ft mown beside downwind.
    for arc_deg, mown_ft in ((0.0, 0.0), (45.0, 40.0)):
        lines = two_forties(roads=[ROAD], bare_line_ft=4.0, wind_arc_deg=arc_deg)["firebreaks"]
        existing = lines[lines["status"] == "existing"]
        assert set(existing["bare_ft"]) == {20.0}
        assert set(existing["mown_ft"]) == set(existing["make_mown_ft"]) == {mown_ft}
        assert (existing["make_bare_ft"] == 0).all()
        assert (existing["short_ft"] == 0).all()
        # Along all edges to be prepared at least the line and the strip set.
        prepare = lines[lines["status"] == "prepare"]
        assert (prepare["make_bare_ft"] >= 4).all()
        assert (prepare["make_mown_ft"] >= 20).all()


def test_existing_break_that_is_not_to_be_widened_falls_short():
    mow = MowingSettings(widen_existing=False)
    lines = two_forties(roads=[ROAD], mow=mow)["firebreaks"]
    existing = lines[lines["status"] == "existing"]
    assert existing[WIDTHS].drop_duplicates().to_numpy().tolist() == [[0, 0, 0, 60, 20, 40]]


# Missouri NRCS, Firebreak (394) Guidance, February 2020: bare ground and fire-resistant vegetation
# count; Extension, Fire prescriptions, rule 4, counts mown ground in the whole alone.
@pytest.mark.parametrize(
    ("kind", "widths", "make"),
    [
        ("gravel road", [20, 40, 0], [0, 40, 0]),
        ("creek", [20, 40, 0], [0, 40, 0]),
        ("winter wheat", [20, 40, 0], [0, 40, 0]),
        ("mowed strip", [12, 48, 0], [12, 28, 0]),
        ("burned strip", [0, 40, 20], [0, 40, 0]),
    ],
)
def test_existing_break_counts_as_its_kind_of_ground(kind, widths, make):
    breaks = made.breaks_frame([ROAD], [kind], [20.0])
    lines = two_forties(breaks=breaks)["firebreaks"]
    existing = lines[lines["status"] == "existing"]
    assert len(existing)
    counted = existing[["bare_ft", "mown_ft", "blackline_ft"]].drop_duplicates()
    assert counted.to_numpy().tolist() == [widths]
    assert existing[WIDTHS[:3]].drop_duplicates().to_numpy().tolist() == [make]
    assert (existing["short_ft"] == 0).all()


@pytest.mark.parametrize("kind", ["hedge", "power line", "property line", "dry wash", "gizmo"])
def test_what_stops_no_fire_is_no_existing_break(kind):
    lines = two_forties(breaks=made.breaks_frame([ROAD], [kind], [20.0]))["firebreaks"]
    assert set(lines["status"]) == {"prepare"}
    unknown_ft = lines["kind_unknown_ft"].sum()
    assert unknown_ft == pytest.approx(2640 if kind == "gizmo" else 0, rel=1e-3)


def test_existing_break_of_unknown_width_leaves_the_missing_width_unknown():
    layers = two_forties(breaks=made.breaks_frame([ROAD]))
    lines = layers["firebreaks"]
    existing = lines[lines["status"] == "existing"]
    assert (existing["required_ft"] == 60).all()
    assert existing[["planned_ft", "short_ft"]].isna().all(axis=None)
    assert (existing[WIDTHS[:3]] == 0).all(axis=None)
    blocks = layers["burn_blocks"]
    assert blocks["width_unknown_ft"].tolist() == blocks["existing_ft"].tolist()
    assert blocks["existing_ft"].to_numpy() == pytest.approx([1320, 1320], rel=1e-3)


# Missouri NRCS: twice the height of the fuel; Extension: ten times. The east block's fuel of 6 ft
# asks for 60 ft in some wind, whatever the west block's wind and fuel of 2 ft ask for.
def test_shared_edge_of_a_block_without_wind_is_held_for_all_its_sides():
    units = made.units_frame(made.grid(2, 1), ["W", "E"])
    burns = made.burns_frame({"W": "west", "E": "east"}, 90.0)
    burns["fuel_height_ft"] = [2.0, 6.0]
    burns.loc[burns["block"] == "east", "wind_from_deg"] = np.nan
    layers = fire_layers(units, burns, wind_arc_deg=0.0)
    lines = layers["firebreaks"]
    shared = lines[lines["neighbor_block"].notna()]
    assert shared[["required_ft", "rule_block"]].to_numpy().tolist() == [[60, "east"]]
    assert shared["make_bare_ft"].tolist() == [12]
    own = lines[(lines["block"] == "east") & lines["neighbor_block"].isna()]
    assert own["required_ft"].isna().all()
    found = layers["firebreak_findings"]
    told = found[found["code"] == "required_width_unknown"]
    assert told["subject"].tolist() == ["east"]


KINDS_MET, WINDS_MET = ("gravel road", "mowed strip", "hedge"), (0.0, 225.0, 240.05)
MEETINGS = [
    (rule, kind, WINDS_MET[(of_rule + of_kind) % 3])
    for of_rule, rule in enumerate(RULES)
    for of_kind, kind in enumerate(KINDS_MET)
]
"""Each rule with each kind and each wind, and each kind with each wind."""


# The default plan meets each rule that has its figures.
@pytest.mark.parametrize(("rule", "kind", "wind_from_deg"), MEETINGS)
def test_default_plan_meets_every_rule(rule, kind, wind_from_deg):
    units = made.units_frame(made.grid(2, 1), ["W", "E"])
    burns = made.burns_frame({"W": "west", "E": "east"}, wind_from_deg, 4.0)
    rules = dict.fromkeys(["downwind_rule", "flank_rule", "upwind_rule"], rule)
    breaks = made.breaks_frame([ROAD], [kind], [15.0])
    layers = fire_layers(
        units, burns.assign(flame_length_ft=3.0), breaks=breaks, wind_mph=12.0, **rules
    )
    lines = layers["firebreaks"]
    # 2 x 4, 2 x 3, 10 x 4, 8 + 12, 100 and 200 ft, as printed with the rules.
    assert set(lines["required_ft"]) == {ASKED_FT[rule]}
    assert (lines["planned_ft"] >= lines["required_ft"]).all()
    assert (lines["short_ft"] == 0).all()
    assert "break_too_narrow" not in set(layers["firebreak_findings"]["code"])


ASKED_FT = dict(zip(RULES, [8.0, 6.0, 40.0, 20.0, 100.0, 200.0], strict=True))
