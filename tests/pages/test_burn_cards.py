"""The card of a burn: its charts show the figures of the layers, and nothing is told twice over.

Outside judge: places in a drawing follow from two of its own grid lines by proportion, so that the
axes need not be trusted.
"""

import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import html

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.pages.greenness.burn_cards import draw_burn_cards
from pipeline.pages.greenness.slope_chart import apart, levels
from tests.made_comparison import NO_TREATMENTS, compared, comparison
from tests.made_report import empty_layers
from tests.made_season import log_of

BURN = ("U0", "2026-04-14", "2026-04-14", "burn")


def layers(treatments=NO_TREATMENTS, **told):
    """Layers of a made comparison."""
    units, _, _, scenes = comparison(**told)
    frames = empty_layers(units.crs)
    table = compared(treatments=treatments, **told).reset_index()
    frames["greenness"] = conform(table, LAYERS["greenness"], units.crs)
    frames["burn_effects"] = compared(treatments=treatments, pooled=True, **told)
    return frames | {"units": units, "zone_scenes": scenes, "treatment_log": treatments}


def card(frames):
    (drawn,) = html.fromstring(f"<main>{draw_burn_cards(frames)}</main>").find_class("burncard")
    return drawn


def clean(text):
    return text.strip("\u2068\u2069")


def spans(drawing, number):
    """From a place to its value and back, by two lines that carry their value."""
    marks = [
        (float(t.get(number)), float(t.text.replace("−", "-")))
        for t in drawing.iter("text")
        if re.fullmatch(r"[+−]?\d\.\d\d", t.text)
    ]
    (a, low), (b, high) = marks[0], marks[-1]
    return lambda place: low + (place - a) * (high - low) / (b - a)


def dots(drawing):
    """Places of the dots of each line, whatever their shape."""
    found = {}
    for line in drawing.xpath(".//g[@data-line]"):
        marks = [m for m in line if m.tag == "circle" or m.get("data-x")]
        places = [
            (float(m.get("cx", m.get("data-x"))), float(m.get("cy", m.get("data-y"))))
            for m in marks
        ]
        found[clean(line.get("data-line"))] = places
    return found


@pytest.fixture(scope="module")
def sample_card(sample_layers):
    return card(sample_layers[0])


def test_every_dot_of_the_sample_stands_at_the_figure_of_its_layer(sample_card, sample_layers):
    frames = sample_layers[0]
    (slopes,) = sample_card.find_class("slopes")
    # A figure stands four below its line.
    value = spans(slopes, "y")
    rows = frames["greenness"].set_index("unit_id")
    scenes = frames["zone_scenes"]
    at = scenes[scenes["date"] == pd.Timestamp("2024-07-21")].set_index("unit_id")["mean"]
    drawn = dots(slopes)
    assert set(drawn) == set(rows.index)
    for unit, places in drawn.items():
        told = [at[unit], rows.loc[unit, "before_mean"], rows.loc[unit, "after_mean"]]
        assert [value(y + 4) for _, y in places] == pytest.approx(told, abs=6e-4)
        assert [x for x, _ in places] == sorted(x for x, _ in places)


def test_intervals_of_the_sample_stand_at_what_is_left_of_each_change(sample_card, sample_layers):
    frames = sample_layers[0]
    (chart,) = sample_card.find_class("left")
    value = spans(chart, "x")
    rows = frames["greenness"].set_index("unit_id")
    names = [clean(g.get("data-left")) for g in chart.xpath(".//g[@data-left]")]
    assert names == ["P2", "P4", "together"]
    for group, unit in zip(chart.xpath(".//g[@data-left]"), ["P2", "P4"], strict=False):
        row = rows.loc[unit]
        told = row[["interval_low", "interval_high", "change_vs_reference"]].to_numpy(dtype=float)
        low, high = re.fullmatch(r"M(\S+) \S+H(\S+)", group.find("path").get("d")).groups()
        places = [float(low), float(high), float(group.find("circle").get("cx"))]
        figures = told * row["burned_pct"] / 100
        assert [value(x) for x in places] == pytest.approx(figures, abs=6e-4)
        assert group.find("path").get("stroke-dasharray"), "confounded: no full line"


def test_references_left_out_are_dashed_and_told_why(sample_card):
    lines = {clean(g.get("data-line")): g for g in sample_card.xpath(".//g[@data-line]")}
    dashed = {unit for unit, g in lines.items() if g.find("path").get("stroke-dasharray")}
    assert dashed == {"P8"}
    assert lines["P8"].get("class") == "left_out"
    (why,) = [item.text_content() for item in sample_card.xpath(".//li[not(svg)]")]
    assert why == "P8: only 34 percent of it has usable pixels"
    widths = {g.get("class"): float(g.find("path").get("stroke-width")) for g in lines.values()}
    assert widths["burned"] >= 2 * widths["reference"]


def test_lines_that_cross_have_dots_of_another_shape(sample_card):
    shapes = [
        [re.sub(r"^M\S+ \S+?(?=m)", "", m.get("d", m.tag)) for m in g][-1]
        for g in sample_card.xpath(".//g[@class='burned']")
    ]
    assert len(set(shapes)) == len(shapes) == 2


def test_the_table_and_the_words_of_a_chart_hold_its_figures(sample_card, sample_layers):
    rows = sample_layers[0]["greenness"].set_index("unit_id")
    (table,) = sample_card.iter("table")
    cells = {
        r[0].text_content(): [c.text_content() for c in r[1:]] for r in table.iterfind("tbody/tr")
    }
    (slopes,) = sample_card.find_class("slopes")
    told = slopes.find("desc").text
    assert list(cells)[:3] == ["P2", "P4", "all together"]
    for unit, row in rows.iterrows():
        before, after = (f"{row[n]:.3f}" for n in ("before_mean", "after_mean"))
        assert cells[unit][2:4] == [before, after]
        assert f"2025-07-20 {before}, 2026-07-22 {after}" in told
    for name in ("P2", "P4", "all together"):
        change, expected, left = (
            round(1000 * float(c.replace("−", "-"))) for c in cells[name][4:7]
        )
        assert expected + left == change
    ids = [slopes.get("aria-labelledby"), slopes.get("aria-describedby")]
    assert ids == [slopes.find("title").get("id"), slopes.find("desc").get("id")]


def test_a_single_burned_unit_is_answered_once():
    drawn = card(layers(log_of("unit_id start end kind", BURN)))
    text = " ".join(drawn.text_content().split())
    assert "Did the fire do it? Likely, by all that is on record." in text
    assert text.count("Unburned ground rose by 0.07; this unit by 0.14; 0.07 more") == 1
    assert "together" not in text
    (left,) = drawn.xpath(".//g[@data-left]")
    assert left.find("path").get("stroke-dasharray") is None, "clear: a full line"


def test_a_unit_that_cannot_be_judged_has_words_and_no_sign_of_an_answer():
    reason = ["too_few_pixels", *[None] * 5]
    drawn = card(layers(reason=reason))
    text = " ".join(drawn.text_content().split())
    assert "Did the fire do it? Nobody can tell." in text
    assert "This unit rose by 0.14 from 2025-07-20 to 2026-07-22, which answers nothing: " in text
    assert "nan" not in text
    assert not drawn.find_class("left")
    burned = [(0.41, 0.55), (0.42, 0.56)]
    drawn = card(layers(burned=burned, reason=["too_few_pixels", *[None] * 6]))
    assert "Only U1 can be judged." in drawn.text_content()
    assert "no figure" in drawn.find_class("left")[0].text_content()


def test_grazed_references_are_named_as_what_else_differed():
    grazed = [(f"U{n}", "2026-05-01", "2026-06-25", "graze") for n in range(1, 6)]
    text = card(layers(log_of("unit_id start end kind", BURN, *grazed))).text_content()
    assert "is left for the fire and whatever else differed: grazing." in text
    assert "since too few others are left: U1, U2, U3, U4, U5." in text


def test_a_hundred_burned_units_are_folded_and_only_some_lines_named():
    drawn = card(layers(burned=[(0.41, 0.55)] * 100))
    assert drawn.xpath(".//details/summary")[0].text == "94 more burned units"
    assert "81 more lines have no name here; the table names all." in drawn.text_content()
    assert len(drawn.xpath(".//g[@data-line]")) == 105


def test_a_comparison_without_a_reading_has_words_alone():
    frames = layers(before_mean=np.nan, after_mean=np.nan, change=np.nan, reason="no_scenes")
    drawn = card(frames)
    assert "No scene of 2025-07-20" in drawn.text_content() or "no scene of" in drawn.text_content()
    assert not list(drawn.iter("svg"))
    assert not list(drawn.iter("table"))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.floats(0, 200), min_size=1, max_size=14))
def test_names_keep_their_order_and_never_meet(places):
    moved = apart(places, 14.0, 7.0, 203.0)
    order = sorted(range(len(places)), key=lambda n: places[n])
    steps = np.diff([moved[n] for n in order])
    assert (steps >= 14.0 - 1e-9).all()
    assert min(moved) >= 7.0 - 1e-9
    assert max(moved) <= 203.0 + 1e-9
    alone = [
        n for n in order if all(abs(places[n] - p) >= 28 for k, p in enumerate(places) if k != n)
    ]
    if len(places) == 2:
        assert all(moved[n] == pytest.approx(min(max(places[n], 7), 203)) for n in alone)


@given(st.floats(-1, 1), st.floats(0.01, 2))
def test_lines_of_an_axis_are_round_and_few(low, width):
    found = levels(low, low + width)
    assert 1 <= len(found) <= 7
    assert all(low - 1e-9 <= level <= low + width + 1e-9 for level in found)
