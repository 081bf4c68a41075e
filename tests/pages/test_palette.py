"""Colors: apart for people who see colors differently, dark enough, centered on zero.

Color blindness: Machado, Oliveira and Fernandes, "A Physiologically-based Model for Simulation of
Color Vision Deficiency", IEEE Transactions on Visualization and Computer Graphics 15(6), 2009,
matrices of severity 1.0, for linear RGB. Contrast: Web Content Accessibility Guidelines 2.2,
relative luminance and contrast ratio; 1.4.11 asks for 3:1. Distance: CIE 1976 L*a*b*, D65.
"""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.pages import palette
from pipeline.pages.symbols.layer_symbols import change_style, years_style

SIGHT = {
    "ordinary": np.eye(3),
    "no red cones": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "no green cones": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "no blue cones": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
EASILY_APART = 20.0
"""Distance at which two colors are told apart at a glance; 2.3 is just noticeable."""


def linear(color):
    parts = np.array([int(color[n : n + 2], 16) / 255 for n in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def contrast(one, other):
    light, dark = sorted((float(TO_XYZ[1] @ linear(c)) for c in (one, other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def lab(color, sight):
    seen = np.clip(SIGHT[sight] @ linear(color), 0, 1)
    x, y, z = np.cbrt(np.maximum(TO_XYZ @ seen / (TO_XYZ @ np.ones(3)), 1e-4))
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def apart(one, other, sight):
    return float(np.linalg.norm(lab(one, sight) - lab(other, sight)))


def test_contrast_is_that_of_the_guidelines():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


def test_red_and_green_would_fail():
    assert apart("#d73027", "#1a9850", "ordinary") > 3 * EASILY_APART
    assert apart("#c4501b", "#6b7a1b", "no green cones") < EASILY_APART


@pytest.mark.parametrize("sight", SIGHT)
def test_statuses_of_breaks_stay_apart(sight):
    colors = [stroke.color for stroke in palette.BREAK_STROKES.values()]
    for one, other in itertools.combinations(colors, 2):
        assert apart(one, other, sight) >= EASILY_APART


@pytest.mark.parametrize("sight", SIGHT)
def test_both_sides_of_the_change_scale_stay_apart(sight):
    for less, more in zip(palette.LESS_GREEN, reversed(palette.MORE_GREEN), strict=True):
        assert apart(less, more, sight) >= EASILY_APART
    colors = [color for color, _ in palette.change_scale([], noise_floor=0.02).classes()]
    for one, other in itertools.pairwise(colors):
        assert apart(one, other, sight) >= 10


def test_statuses_differ_in_dash_and_width_too():
    strokes = palette.BREAK_STROKES.values()
    assert len({s.dash for s in strokes}) == len({s.width for s in strokes}) == len(strokes) == 3


@pytest.mark.parametrize(
    "color",
    [
        *(s.color for s in palette.BREAK_STROKES.values()),
        palette.UNIT_STROKE.color,
        palette.BLOCK_STROKE.color,
        palette.SEED_STROKE.color,
        palette.STRIP_STROKE.color,
        palette.TEXTURE,
        palette.FAINT_INK,
    ],
)
def test_lines_stand_out_from_the_ground(color):
    assert contrast(color, palette.GROUND) >= 3
    assert contrast(color, palette.PAPER) >= 3


def blended(color, opacity, ground):
    """Color of a see-through fill as it comes out over a ground."""
    pairs = [(int(color[n : n + 2], 16), int(ground[n : n + 2], 16)) for n in (1, 3, 5)]
    return "#" + "".join(f"{round(opacity * c + (1 - opacity) * g):02x}" for c, g in pairs)


@pytest.mark.parametrize("status", palette.BREAK_STROKES)
def test_breaks_stand_out_from_whatever_they_are_drawn_upon(status):
    band = palette.BLOCK_BAND.color, palette.BLOCK_OPACITY
    once = blended(*band, palette.GROUND)
    twice = blended(*band, once)  # two blocks meet along a shared break
    paper = blended(palette.BLOCK_BAND.color, palette.BLOCK_PAPER_OPACITY, "#ffffff")
    for ground in (once, twice, paper, palette.STRIP_FILL, palette.UNKNOWN):
        assert contrast(palette.BREAK_STROKES[status].color, ground) >= 3


def color(scale, change):
    """Color of a change by the table of symbols."""
    return change_style(scale).look({"change_vs_reference": change, "verdict": "greener"}).fill


def years(since):
    """Color of the years since a burn by the table of symbols."""
    return years_style().look({"years_since_burn": since}).fill


@given(st.floats(0.001, 0.5), st.floats(-1, 1))
def test_scale_is_symmetric_and_its_middle_is_the_noise_floor(floor, change):
    scale = palette.change_scale([change], noise_floor=floor)
    mirror = dict(zip(palette.LESS_GREEN, reversed(palette.MORE_GREEN), strict=True))
    assert (color(scale, change) == palette.NO_CLEAR_CHANGE) == (abs(change) <= floor)
    if abs(change) > floor:
        less = color(scale, -abs(change))
        assert mirror[less] == color(scale, abs(change))
    assert list(scale.edges) == sorted(scale.edges)


def test_scale_does_not_blow_up_small_changes():
    assert palette.change_scale([0.004, -0.01], noise_floor=0.02).edges[-1] > 0.07
    wide = palette.change_scale([0.4] * 100, noise_floor=0.02)
    assert color(wide, 0.4) == palette.MORE_GREEN[-1]
    assert color(wide, 0.1) == palette.MORE_GREEN[0]


def test_years_run_from_dark_to_light():
    classes = [contrast(color, "#000000") for color, _ in palette.years_classes()]
    assert classes == sorted(classes)
    assert years(1.0) == palette.YEARS_COLORS[0]
    assert years(5.0) == years(4.0) == palette.YEARS_COLORS[3]
    assert years(40.0) == palette.YEARS_COLORS[-1]
