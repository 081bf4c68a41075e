"""Widths of the stretches of made properties, against the rules worked by hand."""

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
