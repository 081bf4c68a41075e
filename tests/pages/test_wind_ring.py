"""Compass of winds: arcs drawn where their winds come from, against points on a circle."""

import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.pages import palette
from pipeline.pages.packet.wind_ring import RADIUS, draw_wind_ring, wind_figure

ARC = re.compile(r"M(\S+) (\S+)A26 26 0 (\d) (\d) (\S+) (\S+)")


def drawn(arcs, wind_from_deg=math.nan):
    told = None if arcs is None else np.array(arcs, dtype=float).reshape(-1, 2)
    return ElementTree.fromstring(f"<g>{draw_wind_ring(0, 0, told, wind_from_deg)}</g>")


def ends(element):
    """Directions [degree from north, clockwise] of both ends of an arc, and its two flags."""
    x1, y1, large, sweep, x2, y2 = map(float, ARC.fullmatch(element.get("d")).groups())
    # On paper y grows downward.
    return [math.degrees(math.atan2(x, -y)) % 360 for x, y in ((x1, y1), (x2, y2))], large, sweep


# SVG 2, 9.3.8: sweep flag 1 draws with growing angles, which is clockwise where y grows downward.
@given(st.floats(0, 359), st.floats(1, 359))
def test_arc_runs_clockwise_from_its_first_direction(first, width):
    (arc,) = [e for e in drawn([(first, first + width)]) if e.tag == "path"]
    (start, end), large, sweep = ends(arc)
    assert (start - first + 180) % 360 - 180 == pytest.approx(0, abs=0.05)
    assert (end - first - width + 180) % 360 - 180 == pytest.approx(0, abs=0.05)
    assert (large, sweep) == (float(width > 180), 1.0)


def test_every_wind_is_a_whole_ring_and_no_arc_leaves_it_thin():
    widths = [float(e.get("stroke-width")) for e in drawn([(0, 360)])]
    assert widths == [0.6, palette.SMOKE_STROKE.width]
    assert [e.tag for e in drawn([])] == ["circle"]
    assert list(drawn(None)) == [], "no places known, no ring"


def test_tail_of_the_arrow_is_where_the_wind_comes_from():
    (arrow,) = drawn(None, 225.0)
    assert arrow.get("transform") == "translate(0 0) rotate(225.0)"
    # Unturned it flies from north to south: its tail is up, its head is down and inside the ring.
    heights = [float(y) for y in re.findall(r"(?:M-?\d+ |V|L-?\d+ )(-?\d+)", arrow.get("d"))]
    assert heights[0] == min(heights) < 0
    assert max(heights) < RADIUS
    assert len(drawn([(10, 20)])) == 2, "no wind planned, no arrow"


def test_figure_says_in_words_what_it_shows():
    figure = ElementTree.fromstring(wind_figure(np.array([[10.0, 20.0]]), 225.0, "a < b"))
    assert figure.find("figcaption").text == "a < b"
    assert figure.find("svg").get("aria-label")
