import math
import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, box

from pipeline.core.units import M_PER_FT
from pipeline.pages import palette
from pipeline.pages.packet.block_map import draw_block_map
from pipeline.pages.packet.burned_ground import burned_of_block
from pipeline.pages.packet.numbered_places import places_of_block
from pipeline.pages.packet.paper_drawing import MARK_PATHS, STYLES, dash_pt, path_data
from pipeline.pages.packet.paper_names import named_places
from pipeline.pages.packet.sheet_layout import MARGIN_PT, STEPS_FT, scale_ft
from tests.made_packet import block_frames

SVG = "{http://www.w3.org/2000/svg}"
FRAME = (400.0, 250.0)
PLACE_MARKS = {look.mark for look in STYLES["tie_ins"].looks}


def drawn_with_note(frames, **choices):
    block = frames["burn_blocks"].to_dict("records")[0]
    told = {"paper": "letter", "head_pt": lambda width: 100.0} | choices
    numbered, burned = places_of_block(block, frames), burned_of_block(block, frames)
    return draw_block_map(block, frames, frames["firebreaks"], numbered, burned, **told)


def drawn(frames, **choices):
    return drawn_with_note(frames, **choices)[0]


def elements(svg, name):
    return ElementTree.fromstring(svg).iter(SVG + name)


def share_filled(width_ft, height_ft, feet, frame_pt=FRAME):
    sizes = (width_ft / feet * 72 / frame_pt[0], height_ft / feet * 72 / frame_pt[1])
    return max(sizes)


@pytest.mark.parametrize(
    ("width_ft", "height_ft", "feet"),
    # 400 pt less two margins of 22 are 4.94 inch, 250 pt less them 2.86: the tighter side rules.
    # A hundred feet to the inch is 1:1,200.
    [
        (480, 200, 100),
        (1400, 700, 300),
        (2640, 1320, 600),
        (5280, 5280, 1900),
        (20000, 100, 4100),
        # Where whole hundreds leave the block small, the next rounder step serves.
        (100, 400, 150),
        (300, 100, 75),
        (40, 30, 12),
    ],
)
def test_scale_is_the_roundest_at_which_the_block_fills_its_frame(width_ft, height_ft, feet):
    assert scale_ft(width_ft * M_PER_FT, height_ft * M_PER_FT, frame_pt=FRAME) == feet


@given(st.floats(60, 1e5), st.floats(60, 1e5))
def test_every_block_has_room_and_fills_its_frame_at_the_roundest_scale(width_ft, height_ft):
    feet = scale_ft(width_ft * M_PER_FT, height_ft * M_PER_FT, frame_pt=FRAME)
    for size, frame in zip((width_ft, height_ft), FRAME, strict=True):
        assert size / feet * 72 <= (frame - 2 * MARGIN_PT) * (1 + 1e-9)
    assert share_filled(width_ft, height_ft, feet) >= 0.7
    step = next(step for step in STEPS_FT if feet % step == 0)
    for rounder in STEPS_FT[: STEPS_FT.index(step)]:
        coarser = math.ceil(feet / rounder) * rounder
        assert share_filled(width_ft, height_ft, coarser) < 0.7


@pytest.mark.parametrize("size_ft", [(40, 30), (1000, 600), (600, 4000), (9000, 900)])
def test_block_is_whole_in_the_window_and_to_scale(size_ft):
    frames = block_frames(*size_ft)
    made = drawn(frames)
    color = palette.BREAK_STROKES["existing"].color
    lines = [e for e in elements(made.svg, "path") if e.get("stroke") == color]
    points = [
        tuple(map(float, pair))
        for e in lines
        if not e.get("d").count("h")
        for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", e.get("d"))
    ]
    xs, ys = zip(*points, strict=True)
    assert (max(xs) - min(xs)) / 72 * made.layout.scale_ft == pytest.approx(size_ft[0], rel=1e-3)
    assert (max(ys) - min(ys)) / 72 * made.layout.scale_ft == pytest.approx(size_ft[1], rel=1e-3)
    assert min(xs) >= MARGIN_PT - 0.01
    width, height = made.layout.frame_pt
    assert max(xs) <= width - MARGIN_PT + 0.01
    assert min(ys) >= MARGIN_PT - 0.01
    assert max(ys) <= height - MARGIN_PT + 0.01


def test_scale_bar_is_as_long_as_it_says():
    made = drawn(block_frames(1000, 600))
    bar = [e for e in elements(made.svg, "rect") if e.get("height") == "4.5"]
    length_pt = sum(float(e.get("width")) for e in bar)
    said = [e.text for e in elements(made.svg, "text") if re.fullmatch(r"[\d,]+ ft", e.text)]
    assert length_pt / 72 * made.layout.scale_ft == pytest.approx(
        float(said[0][:-3].replace(",", ""))
    )


@pytest.mark.parametrize(
    # A wind from the southwest blows to the northeast: right and up on paper.
    ("wind_from_deg", "right", "up"),
    [(0, 0, -1), (90, -1, 0), (180, 0, 1), (225, math.sqrt(0.5), math.sqrt(0.5)), (270, 1, 0)],
)
def test_wind_arrow_flies_with_the_wind(wind_from_deg, right, up):
    made = drawn(block_frames(wind_from_deg=float(wind_from_deg)))
    turns = [e.get("transform") or "" for e in elements(made.svg, "path")]
    turn = math.radians(float(re.search(r"rotate\(([\d.]+)\)", "".join(turns))[1]))
    # The arrow is drawn pointing down, (0, 1) on paper, and SVG turns it clockwise.
    x, y = -math.sin(turn), math.cos(turn)
    assert (x, -y) == pytest.approx((right, up), abs=1e-9)


def test_each_status_has_its_own_color_width_and_dash():
    strokes = [palette.BREAK_STROKES[s] for s in ("existing", "gap", "prepare")]
    for look in (lambda s: s.color, lambda s: s.width, dash_pt):
        assert len({look(s) for s in strokes}) == 3
    assert len(set(MARK_PATHS.values())) == len(MARK_PATHS)
    assert len(PLACE_MARKS) == 6


@pytest.mark.parametrize("status", ["existing", "gap", "prepare"])
def test_stretches_are_drawn_in_the_stroke_of_their_status(status):
    made = drawn(block_frames(status=status))
    stroke = palette.BREAK_STROKES[status]
    own = [e for e in elements(made.svg, "path") if e.get("stroke") == stroke.color]
    assert len(own) == 4 + 1  # and one in the key
    assert {e.get("stroke-dasharray") for e in own} == {dash_pt(stroke)}


def test_north_is_up():
    assert path_data(LineString([(0, 0), (10, 5)])) == "M0.00 0.00L10.00 5.00"
    frames = block_frames(1000, 600)
    frames["tie_ins"] = block_frames(1000, 600, places=1)["tie_ins"]
    frames["tie_ins"].geometry = [Point(0, 50)]
    made = drawn(frames)
    mark = [e for e in elements(made.svg, "path") if e.get("d") == MARK_PATHS["circle"]]
    y = [float(re.search(r"translate\(\S+ (\S+)\)", e.get("transform"))[1]) for e in mark]
    assert min(y) < made.layout.frame_pt[1] / 2


def names_at(markup):
    return [
        (e.text, float(e.get("x")), float(e.get("y")))
        for m in markup
        if (e := ElementTree.fromstring(m)).tag == "text" and e.get("stroke") is None
    ]


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 60))
def test_no_name_stands_upon_another(count):
    lines = [(f"B{n:04d}", LineString([(5 * n, 80), (5 * n + 5, 80)])) for n in range(count)]
    markup, missing = named_places(lines, taken=[], sheet_pt=(400.0, 160.0))
    names = names_at(markup)
    assert sorted([*(name for name, _, _ in names), *missing]) == [name for name, _ in lines]
    for n, (_, x, y) in enumerate(names):
        assert all(abs(x - u) > 21 or abs(y - v) > 7.9 for _, u, v in names[:n])


def test_names_on_a_small_ring_stand_on_no_line_and_their_leaders_cross_none():
    # A hole of 40 points across in eight stretches, as a small wetland is on paper.
    corners = [math.pi * n / 4 for n in range(9)]
    ring = [(100 + 20 * math.cos(turn), 100 + 20 * math.sin(turn)) for turn in corners]
    lines = [(f"B{n:04d}", LineString(pair)) for n, pair in enumerate(pairwise(ring))]
    markup, missing = named_places(lines, taken=[], sheet_pt=(200.0, 200.0))
    names = names_at(markup)
    assert len(names) == 8
    assert not missing
    for _, x, y in names:
        letters = box(x - 9, y - 5, x + 9, y)
        assert min(letters.distance(line) for _, line in lines) > 1
    paths = [ElementTree.fromstring(m) for m in markup]
    leaders = [re.findall(r"[\d.]+", e.get("d")) for e in paths if e.tag == "path"]
    assert leaders
    for x, y, root_x, root_y in (map(float, told) for told in leaders):
        leader = LineString([(x, y), (root_x, root_y)])
        assert sum(leader.distance(line) < 0.05 for _, line in lines) == 1


def test_gap_is_named_beside_its_mark():
    line = LineString([(100, 98), (100, 102)])
    markup, missing = named_places(
        [("B0001", line)], taken=[Point(100, 100).buffer(4.5)], sheet_pt=(200.0, 200.0)
    )
    assert not missing
    assert "B0001" in markup[-1]


def test_stretches_without_room_for_their_name_are_listed():
    made, note = drawn_with_note(block_frames(300, 300, parts=120))
    said = re.fullmatch(r"Without room for a name on the map: (.*) and (\d+) more\.", note)
    texts = [e for e in elements(made.svg, "text") if e.get("stroke") is None]
    names = [e.text for e in texts if re.fullmatch(r"B\d{4}", e.text or "")]
    names = set(names) if names.count("B0001") > 1 else set(names) - {"B0001"}
    left_out = set(said[1].split(", "))
    assert len(left_out) == 40
    assert not left_out & names
    assert len(names) + 40 + int(said[2]) == 480


def test_names_stand_outside_the_block():
    # On a ring with the block on its left hand, the right hand is outside.
    markup, _ = named_places(
        [("B0001", LineString([(100, 200), (300, 200)]))], taken=[], sheet_pt=(400.0, 400.0)
    )
    assert names_at(markup)[0][2] > 200


def test_places_of_another_block_are_not_marked():
    frames = block_frames(1000, 600, places=2)
    places = frames["tie_ins"]
    made = drawn(frames | {"tie_ins": places.assign(block=["Block", "Other"])})
    drawn_marks = [e for e in elements(made.svg, "path") if e.get("d") == MARK_PATHS["circle"]]
    assert len(drawn_marks) == 1 + 1  # and one in the key
