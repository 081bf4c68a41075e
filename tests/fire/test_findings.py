"""What is told of breaks, strips and blocks, with its code and its figures."""

import numpy as np
import pytest
import shapely

from pipeline.fire.settings import MowingSettings
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
            '1,320 ft held as downwind side fall short by up to 22 ft: rule "10 x fuel height" '
            "needs 60 ft of bare, mown and burned-out ground together, there are 38 ft with all "
            "ways allowed under [mowing]"
        )
    flank = messages_of(told, "flank")
    assert flank["east"].startswith("2,640 ft held as flank side fall short by up to 4 ft")
    assert "needs 12 ft of bare, wet or burned-out line, there are 8 ft" in flank["west"]
    assert set(told["severity"]) == {"warning"}


def messages_of(told, side):
    """Messages of one side, by block."""
    of_side = told[told["message"].str.contains(f"held as {side}")]
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
    assert told.startswith("1,320 ft held as downwind side fall short by up to 50 ft")
    assert "there are 10 ft with all ways allowed" in told


# Common practice, no source: a crew with its back to a fence has no way out.
@pytest.mark.parametrize(
    ("kind", "answer", "expected"),
    [
        ("woven fence", "all", [("fence_along_break", "warning")]),
        ("county road", "none", [("road_not_credited", "note")]),
        ("county road", "all", []),
    ],
)
def test_what_may_not_serve_is_told_where_it_runs_along_a_break(kind, answer, expected):
    line = shapely.LineString([(-50, -2), (900, -2)])
    breaks = made.breaks_frame([line], [kind], [12.0])
    found = two_forties(breaks=breaks, roads_as_breaks=answer)["firebreak_findings"]
    rows = found[found["code"].isin(["fence_along_break", "road_not_credited"])]
    assert list(rows[["code", "severity"]].itertuples(index=False, name=None)) == expected
    for row in rows.itertuples():
        assert row.subject == "east, west"
        # 2,640 ft of south edge, and what reaches 3 m past its ends.
        assert "about 2,6" in row.message
