"""Widths of the stretches of made properties, against the rules worked by hand."""

import pytest
import shapely

from tests import made_properties as made
from tests.made_fire import two_forties


def test_widths_by_side_and_what_is_missing():
    lines = two_forties()["firebreaks"]
    outer = lines[(lines["block"] == "east") & lines["neighbor_block"].isna()]
    by_side = outer.set_index("wind_side")[["required_ft", "planned_ft", "short_ft"]]
    # Fuel of 6 ft: ten times downwind, mown strip counts; twice elsewhere, it does not.
    assert by_side.loc["downwind"].tolist() == [60, 20, 40]
    assert by_side.loc["flank"].drop_duplicates().to_numpy().tolist() == [[12, 0, 12]]


def test_wind_that_may_shift_asks_for_the_widest():
    lines = two_forties(wind_arc_deg=180.0)["firebreaks"]
    assert (lines["required_ft"] == 60).all()


def test_own_rule_is_used_where_it_is_chosen():
    own = {"own_rule_source": "county plan", "own_rule_at_least_ft": 25.0, "own_rule_counts": "all"}
    lines = two_forties(flank_rule="own", **own)["firebreaks"]
    flank = lines[lines["rule"] == "own"]
    assert set(flank["wind_side"]) == {"flank"}
    assert flank[
        ["required_ft", "planned_ft", "short_ft"]
    ].drop_duplicates().to_numpy().tolist() == [[25, 20, 5]]


# Extension, Fire prescriptions, rule 4: the strip burned out beforehand is on the downwind side.
def test_blackline_lies_on_every_downwind_edge_and_on_no_other():
    lines = two_forties(blackline_ft=30.0)["firebreaks"]
    downwind = (lines["wind_side"] == "downwind") | (lines["neighbor_wind_side"] == "downwind")
    # The east side of either block; that of the west block is the one that they share.
    assert lines.loc[downwind, "length_ft"].sum() == pytest.approx(2 * 1320, abs=0.2)
    assert lines.loc[downwind, "neighbor_block"].notna().sum() == 1
    assert set(lines.loc[downwind, "blackline_ft"]) == {30.0}
    assert set(lines.loc[~downwind, "blackline_ft"]) == {0.0}


# Fuel of 6 ft: 60 ft for the block whose head fire comes, 12 ft for the one behind.
@pytest.mark.parametrize("wind_from_deg", [270.0, 90.0])
def test_shared_edge_is_held_for_the_block_that_asks_for_more(wind_from_deg):
    lines = two_forties(wind_from_deg)["firebreaks"]
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


def test_existing_break_has_its_own_width_and_is_not_mown():
    road = shapely.LineString([(-50, -6), (900, -6)])
    lines = two_forties(roads=[road], bare_line_ft=4.0)["firebreaks"]
    widths = lines.groupby("status")[["bare_ft", "mown_ft"]].agg(["min", "max"])
    assert widths.loc["existing"].tolist() == [20, 20, 0, 0]
    assert widths.loc["prepare"].tolist() == [4, 4, 20, 20]


def test_existing_break_of_unknown_width_leaves_the_missing_width_unknown():
    road = made.breaks_frame([shapely.LineString([(-50, -6), (900, -6)])])
    lines = two_forties(breaks=road)["firebreaks"]
    existing = lines[lines["status"] == "existing"]
    assert (existing["required_ft"] == 12).all()
    assert existing[["planned_ft", "short_ft"]].isna().all(axis=None)
