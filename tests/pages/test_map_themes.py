"""Colors, textures and key of the map's quantities, by hand on made units.

The classes themselves are held by the tests of the palette; here each unit gets the class that its
figure falls into, doubt its texture, and the key says the same as the map.
"""

import re

import pandas as pd
import shapely
from lxml import html

from pipeline.greenness.change_columns import CHANGE_VERDICTS
from pipeline.pages import palette
from pipeline.pages.map_svg import draw_map
from pipeline.pages.map_themes import draw_switches, map_themes
from tests.made_report import grid_layers

FLOOR = 0.02


def changed(changes, reach=0.005, verdict=None):
    """Layers of units with a change against the unburned units, and an interval around it."""
    clear = ["greener" if c and abs(c) > FLOOR else "below_noise" for c in changes]
    frames, _ = grid_layers(len(changes), scenes=0)
    values = pd.Series(changes, dtype="float64")
    frames["greenness"] = frames["greenness"].assign(
        change=9.0,  # the raw change, which the map does not show
        change_vs_reference=values,
        interval_low=values - reach,
        interval_high=values + reach,
        noise_floor=FLOOR,
        verdict=clear if verdict is None else verdict,
    )
    return frames


def test_a_unit_has_the_color_of_its_change_against_the_unburned_units():
    frames = changed([-0.3, -0.01, 0.03, 0.3, None])
    (theme,) = map_themes(frames)
    scale = palette.change_scale([-0.3, -0.01, 0.03, 0.3], noise_floor=FLOOR)
    assert [area.color for area in theme.areas] == [
        palette.LESS_GREEN[0],
        palette.NO_CLEAR_CHANGE,
        palette.MORE_GREEN[0],
        palette.MORE_GREEN[2],
        palette.UNKNOWN,
    ]
    assert [area.words for area in theme.areas] == ["−0.30", "−0.01", "+0.03", "+0.30", "?"]
    assert [area.texture for area in theme.areas] == [None, "doubt", None, None, "unjudged"]
    assert {color for color, _ in scale.classes()} <= {color for color, *_ in theme.key}


def test_only_a_clear_verdict_is_drawn_without_doubt():
    # Confounded changes may be as large as clear ones: the pattern tells them apart, not the color.
    verdicts = (*(v for v in CHANGE_VERDICTS if v != "cannot_judge"), "cannot_judge")
    changes = [None if v in ("seasonal", "cannot_judge") else 0.3 for v in verdicts]
    (theme,) = map_themes(changed(changes, verdict=verdicts))
    textures = dict(zip(verdicts, (area.texture for area in theme.areas), strict=True))
    assert textures == {
        "greener": None,
        "less_green": None,
        "within": "doubt",
        "below_noise": "doubt",
        "confounded": "doubt",
        "no_interval": "doubt",
        "seasonal": "unjudged",
        "cannot_judge": "unjudged",
    }
    assert len({area.color for area in theme.areas if area.texture != "unjudged"}) == 1


def test_what_is_in_doubt_is_hatched_on_the_map_and_in_its_key():
    page = html.fromstring(f"<main>{draw_map(changed([0.3, -0.01, None]))}</main>")
    fills = [path.get("fill") for path in page.xpath('//g[@data-theme="change0"]/use')]
    assert fills == [
        palette.MORE_GREEN[2],
        palette.NO_CLEAR_CHANGE,
        palette.UNKNOWN,
        "url(#doubt)",
        "url(#unjudged)",
    ]
    key = html.fromstring(f"<main>{draw_switches(changed([0.3]))}</main>")
    lines = {
        "".join(item.itertext()): [rect.get("fill") for rect in item.iter("rect")]
        for item in key.xpath('//div[@id="key-change0"]//li')
    }
    assert lines["in doubt: may be none, or not the fire's"] == [
        palette.NO_CLEAR_CHANGE,
        "url(#doubt-key)",
    ]
    assert lines["cannot be judged"] == [palette.UNKNOWN, "url(#unjudged-key)"]
    assert [fills for fills in lines.values() if len(fills) == 2] == [
        lines["in doubt: may be none, or not the fire's"],
        lines["cannot be judged"],
    ]


def test_every_texture_that_is_used_is_there(sample_layers):
    frames = sample_layers[0]
    for drawing in (draw_map(frames), draw_switches(frames)):
        used = set(re.findall(r"url\(#([\w-]+)\)", drawing))
        assert used
        assert used <= set(re.findall(r'<pattern id="([\w-]+)"', drawing))


def test_years_and_fuel_are_drawn_by_their_class():
    frames, crs = grid_layers(3, scenes=0)
    frames["greenness"] = frames["greenness"].iloc[:0]
    ground = frames["units"][["unit_id", "geometry"]]
    frames["history"] = ground.assign(
        years_since_burn=[1, 4, None], last_burn=pd.to_datetime(["2026-04-01", "2023-04-01", None])
    )
    part = shapely.box(0, 0, 1, 1)
    parts = {"unit_id": ["U000"], "years_since_burn": [11], "geometry": [part]}
    frames["fire_history"] = type(ground)(parts, crs=crs)
    frames["fuel"] = ground.assign(
        carries=["yes", "no", "unknown"], spring_load_lb_ac=[2500.5, 700.0, None]
    )
    years, fuel = map_themes(frames)
    # The burn map tells the parts of the first unit; the other two are drawn whole.
    assert [(a.color, a.texture, a.words) for a in years.areas] == [
        (palette.YEARS_COLORS[3], None, "4 y"),
        (palette.UNKNOWN, "unjudged", ""),
        (palette.YEARS_COLORS[5], None, "11 y"),
    ]
    assert [(a.color, a.texture, a.words) for a in fuel.areas] == [
        (palette.CARRIES_COLORS["yes"], None, "2,501"),
        (palette.CARRIES_COLORS["no"], None, "700"),
        (palette.UNKNOWN, "unjudged", ""),
    ]
    assert {color: texture for color, texture, _ in fuel.key}[palette.UNKNOWN] == "unjudged"


def test_a_switch_stands_for_each_layer_that_is_drawn(sample_layers):
    frames = sample_layers[0]
    shows = set(re.findall(r'data-shows="(\w+)"', draw_switches(frames)))
    drawn = set(re.findall(r'data-layer="(\w+)"', draw_map(frames)))
    assert shows == drawn - {"lattice", "units"}
    fills = set(re.findall(r'data-fills="(\w+)"', draw_switches(frames)))
    assert fills == set(re.findall(r'data-theme="(\w+)"', draw_map(frames))) | {"none"}
