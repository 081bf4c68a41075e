"""The map drawing: places by hand, every layer in its group, the lattice a quarter mile wide.

Outside figures: a quarter mile is 402.336 m (1,320 ft of 0.3048 m, NIST SP 811 appendix B), and
a square of that side is 40 acres.
"""

import re

import geopandas as gpd
import pytest
import shapely
from hypothesis import example, given
from hypothesis import strategies as st
from lxml import html

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.core.units import M2_PER_AC
from pipeline.pages import palette
from pipeline.pages.map_frame import PER_M, MapFrame, frame_around
from pipeline.pages.map_svg import draw_map
from pipeline.pages.maps.map_shapes import place_signs
from pipeline.season.plants.patches import newest_ground
from tests.made_report import grid_layers

FRAME = MapFrame(west=-100.0, north=200.0, width_m=300.0, height_m=400.0)


def places(data):
    """Absolute places of path data, as a browser reads it."""
    found, x, y = [], 0, 0
    for letter, numbers in re.findall(r"([Ml])([-\d ]+)", data):
        steps = list(map(int, re.findall(r"-?\d+", numbers)))
        for dx, dy in zip(steps[::2], steps[1::2], strict=True):
            x, y = (dx, dy) if letter == "M" else (x + dx, y + dy)
            found.append((x, y))
    return found


def test_north_is_up_and_a_meter_is_ten_units():
    assert FRAME.point(-100, 200) == (0, 0)
    assert FRAME.point(-99, 190) == (10, 100)
    square = shapely.Polygon([(0, 0), (0, 100), (100, 100), (100, 0)])
    assert FRAME.path(square) == "M1000 2000l0-1000 1000 0 0 1000z"
    assert FRAME.path(shapely.Point(0, 0)) == "M1000 2000h1"
    assert FRAME.path(shapely.Polygon()) == ""


@given(
    st.lists(
        st.tuples(st.floats(-90, 190), st.floats(-190, 190)), min_size=2, max_size=30, unique=True
    )
)
@example([(-5e-324, 61.0), (0.0, 1e-7), (1e-38, 42.0), (2.0, 105.0)])  # GEOS 3.14 never ends on it
def test_drawn_lines_stay_within_the_half_meter_they_are_simplified_to(corners):
    line = shapely.LineString(corners)
    drawn = [(x / PER_M + FRAME.west, FRAME.north - y / PER_M) for x, y in places(FRAME.path(line))]
    for corner in corners:
        assert shapely.LineString(drawn).distance(shapely.Point(corner)) < 0.5 + 0.1


def test_four_crosses_of_the_lattice_have_forty_acres_between_them():
    frame = MapFrame(-1000.0, 1000.0, 2000.0, 2000.0)
    crosses = frame.quarter_mile_crosses()
    assert len(crosses) == 25
    side = (crosses[1][0] - crosses[0][0]) / PER_M
    assert side == pytest.approx(402.336, abs=0.1)
    assert side**2 / M2_PER_AC == pytest.approx(40, rel=1e-3)


def test_each_layer_of_the_sample_is_a_group(sample_layers):
    frames, _ = sample_layers
    drawing = draw_map(frames)
    groups = set(re.findall(r'data-layer="(\w+)"', drawing))
    assert groups == {
        "lattice",
        "exclusions",
        "seed_areas",
        "burn_blocks",
        "units",
        "mow_strips",
        "made_lines",
        "breaks_existing",
        "breaks_prepare",
        "breaks_gap",
        "tie_ins",
        "wind",
        "sources",
        "gates",
        "water_places",
        "smoke_places",
        "patch_ground",
        "photo_points",
        "labels",
        "conflicts",
    }
    assert drawing.count('class="unit"') == len(frames["units"])
    assert len(re.findall(r'data-theme="(\w+)"', drawing)) == 5
    assert "nan" not in drawing.lower().replace("tenant", "")


def test_layers_without_rows_leave_nothing_behind():
    frames, _ = grid_layers(3, scenes=0)
    frames["greenness"] = frames["greenness"].iloc[:0]
    drawing = draw_map(frames)
    assert set(re.findall(r'data-layer="(\w+)"', drawing)) == {"lattice", "units", "labels"}
    assert "data-theme" not in drawing


def test_window_holds_all_units_with_a_margin():
    frames, crs = grid_layers(1, scenes=0)
    frame = frame_around(frames["units"])
    west, south, east, north = frames["units"].total_bounds
    assert frame.west < west
    assert frame.west + frame.width_m > east
    assert frame.north > north
    assert frame.north - frame.height_m < south
    nothing = conform(frames["units"].iloc[:0], LAYERS["units"], crs)
    assert frame_around(gpd.GeoDataFrame(nothing)).width_m > 0


def test_scale_bar_is_as_long_as_it_says():
    frames, _ = grid_layers(3, scenes=0)
    scale = draw_map(frames).partition('id="scale"')[2]
    length_m = int(re.search(r"h(\d+)v", scale)[1]) / PER_M
    feet = float(re.search(r">([\d,]+) ft<", scale)[1].replace(",", ""))
    assert length_m == pytest.approx(feet * 0.3048, abs=0.1)


def test_no_two_signs_of_places_have_one_shape():
    # Seen without color: the way a short line runs, how its ends are cut, full or hollow.
    shapes = {}
    for name, paths in place_signs():
        drawn = html.fromstring(f"<svg>{''.join(map(str, paths))}</svg>").iter("path")
        strokes = [(p.get("d"), p.get("stroke-linecap"), p.get("stroke")) for p in drawn]
        ways = {(way, cap) for way, cap, _ in strokes}
        shapes[name] = (frozenset(ways), strokes[-1][2] == palette.CASING)
    assert {"gap", "tie_in", "gate", "water", "patch"} <= set(shapes)
    assert len(set(shapes.values())) == len(shapes)


def test_each_piece_of_a_patch_has_its_sign(sample_layers):
    frames, _ = sample_layers
    pieces = newest_ground(frames["patch_ground"]).geometry.map(lambda shape: len(shape.geoms))
    assert draw_map(frames).count('href="#sign-patch"') == pieces.sum() > 0
