"""What is told of breaks, strips and blocks, with its code and its figures."""

import numpy as np
import pytest
import shapely

from pipeline.fire.mowing.settings import MowingSettings
from tests import made_properties as made
from tests.made_fire import fire_layers, two_forties

LEAST_OUTSIDE = MowingSettings(side="outside", order=())


def test_unknown_wind_or_height_leaves_the_width_unknown_and_says_so():
    units = made.units_frame(made.grid(1, 1), ["W"])
    for missing in ({"wind_from_deg": np.nan}, {"fuel_height_ft": np.nan}):
        found = fire_layers(units, made.burns_frame({"W": "west"}, **missing))
        assert found["firebreaks"]["required_ft"].isna().all()
        assert "required_width_unknown" in set(found["firebreak_findings"]["code"])


def test_strip_on_ground_that_is_not_ours_is_told_with_its_acres():
    # Square of 1,320 ft, 20 ft outside: 4 x 1,320 x 20 ft and round corners, pi 20^2.
    (square,) = made.grid(1, 1)
    units, burns = made.units_frame([square], ["W"]), made.burns_frame({"W": "west"})
    found = fire_layers(units, burns, mow=LEAST_OUTSIDE)["firebreak_findings"]
    acres = (4 * 1320 * 20 + np.pi * 20**2) / 43560
    asked = found[found["code"] == "strip_outside_units"]
    assert asked["message"].item().startswith(f"{acres:.2f} ac of the strip lie outside")
    inside = fire_layers(units, burns)["firebreak_findings"]
    assert "strip_outside_units" not in set(inside["code"])


def test_strip_outside_on_a_unit_of_ones_own_is_not_told():
    units = made.units_frame(made.grid(3, 3), [f"U{n}" for n in range(9)])
    burns = made.burns_frame({"U4": "middle"})
    found = fire_layers(units, burns, mow=MowingSettings(side="outside"))
    assert found["mow_strips"]["area_ac"].sum() > 2
    assert "strip_outside_units" not in set(found["firebreak_findings"]["code"])


def test_strip_inside_over_a_sliver_within_the_slop_is_not_the_neighbors():
    # The smaller unit's edge is drawn 4 m out, onto the larger one's.
    shapes = [shapely.box(0, 0, 400, 300), shapely.box(404, 0, 904, 300)]
    units, burns = made.units_frame(shapes, ["W", "E"]), made.burns_frame({"W": "west"})
    found = fire_layers(units, burns, mow=MowingSettings(order=()))
    assert found["mow_strips"].total_bounds[2] == pytest.approx(404, abs=0.01)
    assert "strip_outside_units" not in set(found["firebreak_findings"]["code"])


def test_what_still_falls_short_is_one_finding_a_block_and_side():
    # Limits of 30 ft mown and 8 ft bare: 12 and 60 ft are asked for with fuel of 6 ft, 38 made.
    mow = MowingSettings(order=("mown", "bare"), most_mown_ft=30, most_bare_ft=8)
    found = two_forties(wind_arc_deg=0.0, mow=mow)["firebreak_findings"]
    told = found[found["code"] == "break_too_narrow"]
    # Flanks and a downwind side of either; what is upwind of the east one is downwind of the west.
    assert len(told) == 5
    downwind = messages_of(told, "downwind")
    assert set(downwind) == {"east", "west"}
    for message in downwind.values():
        assert message == (
            '1,320 ft taken as downwind side fall short by up to 22 ft: rule "10 x fuel height" '
            "needs 60 ft of bare, mown and burned-out ground together, there are 38 ft with all "
            "ways allowed under [mowing]"
        )
    flank = messages_of(told, "flank")
    assert flank["east"].startswith("2,640 ft taken as flank side fall short by up to 4 ft")
    assert "needs 12 ft of bare, wet or burned-out line, there are 8 ft" in flank["west"]
    assert set(told["severity"]) == {"warning"}


def messages_of(told, side):
    """Messages of one side, by block."""
    of_side = told[told["message"].str.contains(f"taken as {side}")]
    return dict(zip(of_side["subject"], of_side["message"], strict=True))


def needs(**choices):
    """What a run of two blocks says that it needs to know the widths, by block."""
    found = two_forties(**choices)["firebreak_findings"]
    unknown = found[found["code"] == "required_width_unknown"]
    pairs = zip(unknown["subject"], unknown["message"], strict=True)
    return {subject: message.split("needs ")[1] for subject, message in pairs}


def test_figure_that_a_chosen_rule_needs_is_asked_for():
    assert needs() == {}
    by_flames = {"downwind_rule": "2 x flame length, 6 ft"}
    assert set(needs(**by_flames).values()) == {"flame_length_ft under [[burns]]"}
    by_wind = {"flank_rule": "8 ft + 1 ft per mph"}
    assert set(needs(**by_wind).values()) == {"wind_mph under [firebreaks]"}
    assert needs(**by_wind, wind_mph=10) == {}


def test_height_of_the_fuel_is_not_asked_for_where_no_rule_takes_it():
    fixed = dict.fromkeys(["downwind_rule", "flank_rule", "upwind_rule"], "100 ft")
    units = made.units_frame(made.grid(1, 1), ["W"])
    found = fire_layers(units, made.burns_frame({"W": "w"}, fuel_height_ft=np.nan), **fixed)
    assert (found["firebreaks"]["required_ft"] == 100).all()
    assert "required_width_unknown" not in set(found["firebreak_findings"]["code"])


def test_stretches_summed_in_one_finding_tell_the_most_that_is_missing():
    # East side downwind, 60 ft asked: a road of 20 ft along one half, of 10 ft along the other.
    side_m = made.QUARTER_M
    halves = [[(side_m + 6, -50), (side_m + 6, 200)], [(side_m + 6, 200), (side_m + 6, 460)]]
    roads = made.breaks_frame(list(map(shapely.LineString, halves)), widths=[20.0, 10.0])
    units = made.units_frame(made.grid(1, 1), ["W"])
    burns = made.burns_frame({"W": "west"}, wind_from_deg=270.0)
    mow = MowingSettings(widen_existing=False)
    found = fire_layers(units, burns, breaks=roads, mow=mow, wind_arc_deg=0.0)
    told = found["firebreak_findings"].query("code == 'break_too_narrow'")["message"].item()
    assert told.startswith("1,320 ft taken as downwind side fall short by up to 50 ft")
    assert "there are 10 ft with all ways allowed" in told


# Oklahoma State University Extension, Firebreaks for prescribed burning: a crew can be pinned
# against a fence. Donovan, 2023: cedars spot up to 0.6 mi. Woodruff Electric: 60 ft off a line.
@pytest.mark.parametrize(
    ("kind", "answer", "expected"),
    [
        ("woven fence", "all", [("fence_along_break", "warning")]),
        ("cedar row", "all", [("hazard_along_break", "warning")]),
        ("power line", "all", [("hazard_along_break", "warning")]),
        ("dry wash", "all", [("break_not_credited", "note")]),
        ("gizmo", "all", [("break_kind_unknown", "warning")]),
        ("county road", "none", [("road_not_credited", "note")]),
        ("county road", "all", []),
    ],
)
def test_what_may_not_serve_is_told_where_it_runs_along_a_break(kind, answer, expected):
    line = shapely.LineString([(-50, -2), (900, -2)])
    breaks = made.breaks_frame([line], [kind], [12.0])
    found = two_forties(breaks=breaks, roads_as_breaks=answer)["firebreak_findings"]
    rows = found[found["code"].str.contains("_along_break|_not_credited|kind_unknown")]
    assert list(rows[["code", "severity"]].itertuples(index=False, name=None)) == expected
    for row in rows.itertuples():
        assert row.subject == "east, west"
        # South edges of 1,320 ft each.
        assert row.message.startswith(f"{kind} along about 2,640 ft of edge: ")


def test_fence_that_crosses_an_edge_runs_along_none():
    fence = made.breaks_frame([shapely.LineString([(200, -200), (200, 200)])], ["fence"])
    assert "fence_along_break" not in set(two_forties(breaks=fence)["firebreak_findings"]["code"])


SOUTH_ROAD = shapely.LineString([(-50, -2), (900, -2)])


def test_unknown_width_is_a_warning_with_its_feet():
    found = two_forties(breaks=made.breaks_frame([SOUTH_ROAD]))["firebreak_findings"]
    rows = found[found["code"] == "break_width_unknown"]
    assert rows["subject"].tolist() == ["east", "west"]
    assert set(rows["severity"]) == {"warning"}
    assert rows["message"].str.startswith("width of the lane along 1,320 ft is not known").all()


# Higgins, Kruse and Piehl, USFWS, 1989: streams; that it must have been seen wet within 7 days is
# common practice, no source.
def test_condition_of_a_break_is_told_to_be_checked_on_the_day():
    breaks = made.breaks_frame([SOUTH_ROAD], ["creek"], [30.0])
    found = two_forties(breaks=breaks)["firebreak_findings"]
    rows = found[found["code"] == "break_condition"]
    assert rows["subject"].tolist() == ["east", "west"]
    for message in rows["message"]:
        assert message == (
            "to check on the day: the creek along 1,320 ft counts as wet ground: only if water or "
            "mud was seen within 7 days"
        )


# Higgins, Kruse and Piehl, USFWS, 1989: 45 degrees to either side of the starting wind.
@pytest.mark.parametrize(
    ("arc_deg", "winds"),
    [(45.0, "winds from 345 to 75 degrees"), (180.0, "every wind"), (0.0, None)],
)
def test_winds_that_widths_hold_for_are_told(arc_deg, winds):
    found = two_forties(30.0, wind_arc_deg=arc_deg)["firebreak_findings"]
    messages = found.loc[found["code"] == "winds_planned", "message"]
    assert [message.split(":")[0] for message in messages] == (
        [f"widths hold for {winds}"] * 2 if winds else []
    )


# Every stretch whose width is not known by a rule is told with the figure that the rule needs.
@pytest.mark.parametrize(
    ("rule", "figure"),
    [
        ("2 x fuel height, 4 ft", "fuel_height_ft under [[burns]]"),
        ("10 x fuel height", "fuel_height_ft under [[burns]]"),
        ("2 x flame length, 6 ft", "flame_length_ft under [[burns]]"),
        ("8 ft + 1 ft per mph", "wind_mph under [firebreaks]"),
        ("100 ft", None),
    ],
)
def test_rule_that_lacks_its_figure_is_never_silent(rule, figure):
    units = made.units_frame(made.grid(1, 1), ["W"])
    burns = made.burns_frame({"W": "west"}, fuel_height_ft=np.nan)
    rules = dict.fromkeys(["downwind_rule", "flank_rule", "upwind_rule"], rule)
    layers = fire_layers(units, burns, **rules)
    found = layers["firebreak_findings"]
    asked = found.loc[found["code"] == "required_width_unknown", "message"].tolist()
    assert asked == ([f"width required: unknown, needs {figure}"] if figure else [])
    assert layers["firebreaks"]["required_ft"].isna().all() == (figure is not None)
