"""Outlines that stand once: used on another map, they lie where they would have been drawn.

*Source*: W3C, Scalable Vector Graphics 2, 5.6: what ``use`` shows is moved by its x and y.
"""

import re

import pytest
import shapely
from lxml import etree

from pipeline.pages.map_frame import MapFrame, frame_around
from pipeline.pages.maps.outlines import Outlines
from tests.made_report import grid_layers


def first_place(data):
    return tuple(map(int, re.match(r"M(-?\d+) (-?\d+)", data).groups()))


@pytest.fixture(scope="module")
def units():
    return grid_layers(4, corners=12, scenes=0)[0]["units"]


def test_an_outline_is_used_where_it_would_be_drawn(units):
    outlines = Outlines(units)
    defined = {p.get("id"): p.get("d") for p in etree.fromstring(str(outlines.defined()))}
    assert len(defined) == 4
    other = MapFrame(west=-317.3, north=451.9, width_m=900.0, height_m=700.0)
    for frame in (frame_around(units), other):
        for shape in units.geometry:
            used = etree.fromstring(str(outlines.drawn(shape, frame, {"fill": "none"})))
            assert used.tag == "use"
            x, y = first_place(defined[used.get("href").removeprefix("#")])
            place = (x + int(used.get("x", 0)), y + int(used.get("y", 0)))
            wanted = first_place(frame.path(shape))
            assert max(abs(a - b) for a, b in zip(place, wanted, strict=True)) <= 1


def test_what_is_no_outline_is_drawn_itself(units):
    frame = frame_around(units)
    part = shapely.intersection(units.geometry.iloc[0], shapely.box(-400, -400, 0, 400))
    drawn = etree.fromstring(str(Outlines(units).drawn(part, frame, {})))
    assert (drawn.tag, drawn.get("d")) == ("path", frame.path(part))
