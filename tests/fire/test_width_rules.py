"""Width rules, against the examples printed with them."""

import pytest
from pydantic import ValidationError

from pipeline.fire.line_plan import Widths
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.width_rules import OWN_RULE, RULES, required_ft, rule_named


# Missouri NRCS, Firebreak (394) Guidance, February 2020, page 1: twice the height, at least 4 ft.
@pytest.mark.parametrize(("height_ft", "width_ft"), [(6.0, 12.0), (1.5, 4.0)])
def test_missouri_rule(height_ft, width_ft):
    rule = RULES["2 x fuel height, 4 ft"]
    assert required_ft(rule, fuel_height_ft=height_ft) == width_ft


# Florida NRCS, job sheet FL394JS, September 2003: twice the flame length, at least 6 ft.
@pytest.mark.parametrize(("flame_ft", "width_ft"), [(4.0, 8.0), (2.0, 6.0)])
def test_florida_rule(flame_ft, width_ft):
    assert required_ft(RULES["2 x flame length, 6 ft"], flame_length_ft=flame_ft) == width_ft


# Extension, Fire prescriptions, rule 4; the Iowa column of 28 September 2020 prints 60 ft too.
def test_ten_times_the_height_downwind():
    assert required_ft(RULES["10 x fuel height"], fuel_height_ft=6.0) == 60.0


# Texas Ranching Conservancy, Burn standards: 8 ft and 1 ft for each mile per hour.
def test_width_by_wind():
    assert required_ft(RULES["8 ft + 1 ft per mph"], wind_mph=12.0) == 20.0


# Higgins, Kruse and Piehl, USFWS, 1989: 30 m, and 60 m in wind above 13 km/h, printed as
# 100 and 200 ft.
@pytest.mark.parametrize(("name", "printed_m"), [("100 ft", 30.0), ("200 ft", 60.0)])
def test_burned_out_buffer(name, printed_m):
    assert required_ft(RULES[name]) == pytest.approx(printed_m / 0.3048, rel=0.02)


@pytest.mark.parametrize(
    "name",
    ["2 x fuel height, 4 ft", "2 x flame length, 6 ft", "10 x fuel height", "8 ft + 1 ft per mph"],
)
def test_rule_without_its_figure_is_unknown(name):
    assert required_ft(RULES[name]) is None


def test_mown_grass_counts_for_the_total_and_not_as_bare_ground():
    line = Widths(bare=8.0, mown=20.0, burned=30.0)
    assert line.counted_ft(RULES["10 x fuel height"].ground) == 58.0
    assert line.counted_ft(RULES["2 x fuel height, 4 ft"].ground) == 38.0


def test_every_rule_names_its_source_and_may_be_chosen():
    schema = FirebreakSettings.model_json_schema()["properties"]
    for side in ("downwind_rule", "flank_rule", "upwind_rule"):
        assert set(schema[side]["enum"]) == {*RULES, OWN_RULE}
    assert all(rule.source for rule in RULES.values())


def test_own_rule_takes_its_figures_and_keeps_its_source():
    chosen = FirebreakSettings(
        flank_rule="own",
        own_rule_source="county plan",
        own_rule_height_factor=1.5,
        own_rule_flame_factor=3,
        own_rule_at_least_ft=10,
    )
    rule = rule_named("own", chosen)
    assert (rule.source, rule.ground) == ("county plan", "bare_or_burned")
    # The largest of 1.5 x 6, 3 x 4 and 10 ft; unknown without the flame length it asks for.
    assert required_ft(rule, fuel_height_ft=6.0, flame_length_ft=4.0) == 12.0
    assert required_ft(rule, fuel_height_ft=6.0) is None


@pytest.mark.parametrize(
    ("choices", "asked"),
    [
        ({"own_rule_at_least_ft": 10}, "own_rule_source"),
        ({"own_rule_source": "plan"}, "own_rule_"),
        ({"own_rule_source": " ", "own_rule_at_least_ft": 10}, "own_rule_source"),
    ],
)
def test_own_rule_without_source_or_figure_is_refused(choices, asked):
    with pytest.raises(ValidationError, match=asked):
        FirebreakSettings(downwind_rule="own", **choices)


@pytest.mark.parametrize("name", RULES)
def test_published_rules_are_not_touched_by_own_figures(name):
    assert rule_named(name, FirebreakSettings(own_rule_at_least_ft=99)) is RULES[name]
