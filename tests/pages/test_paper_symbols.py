"""Symbols of the maps on paper, printed in gray: no two that can meet on one map look alike."""

import re
import shutil
import subprocess
from itertools import combinations
from xml.etree import ElementTree

import numpy as np
import pytest
from shapely.geometry import LineString, Point, box

from pipeline.pages.markup import Markup
from pipeline.pages.packet.map_key import sample
from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.pages.packet.paper_drawing import STYLES, TILE, drawing, drawn_path
from pipeline.pages.symbols.paper_symbols import SMOKE_ARC
from pipeline.pages.symbols.textures import ground_tiles, patterns
from tests.made_packet import block_frames, layer, with_area

typst = pytest.importorskip("typst", reason="the optional extra pdf is not installed")
needs_poppler = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm (poppler)")

GROUND = ("units", "excluded_ground", "burn_blocks", "burned", "mow_strips", "made_lines")
GROUND += ("seed_areas", "patch_ground", "break_areas")
LINES = ("break_lines", "firebreaks", "block_edge")
MARKS = ("tie_ins", "gates", "water_places", "smoke_places", "beyond", "photo_points")
DOTS_PER_IN = 144
SIDE = 60  # points of the square that a look is drawn in
LEAST_APART = 0.04
"""Mean difference of two looks, as a share of that of black and white. From memory: a step of gray
that an office printer keeps is some 3 to 5 percent."""


def looks_of(layers):
    return [(layer, look) for layer in layers for look in STYLES[layer].looks]


def grays(drawn):
    """Each drawing in a square of its own, printed in gray: 0 is black, 1 white."""
    parts = [
        Markup(f'<g transform="translate({SIDE * n} 0)">{"".join(markup)}</g>')
        for n, markup in enumerate(drawn)
    ]
    width = SIDE * len(drawn)
    svg = drawing(width, SIDE, patterns(ground_tiles(), TILE), *parts)
    page = (
        f"#set page(width: {width}pt, height: {SIDE}pt, margin: 0pt)\n"
        '#image(bytes(sys.inputs.s), format: "svg")'
    )
    pdf = typst.compile(page.encode(), format="pdf", sys_inputs={"s": svg})
    told = ["pdftoppm", "-gray", "-r", str(DOTS_PER_IN), "-"]
    data = subprocess.run(told, input=pdf, capture_output=True, check=True).stdout
    header = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    columns, rows = int(header[1]), int(header[2])
    pixels = np.frombuffer(data, np.uint8, offset=header.end()).reshape(rows, columns) / 255
    return np.split(pixels[:, : len(drawn) * (columns // len(drawn))], len(drawn), axis=1)


def apart(one, other, shifts=0):
    """Least mean difference of two pictures, one moved across the other as a texture may lie."""
    moves = range(0, shifts + 1, 2)
    moved = (np.roll(other, (down, across), (0, 1)) for down in moves for across in moves)
    return min(float(abs(one - picture).mean()) for picture in moved)


def too_alike(looks, pictures, shifts=0):
    pairs = combinations(zip(looks, pictures, strict=True), 2)
    return [
        (one.words, other.words, round(apart(a, b, shifts), 3))
        for ((_, one), a), ((_, other), b) in pairs
        if apart(a, b, shifts) < LEAST_APART
    ]


@needs_poppler
def test_ground_is_told_apart_in_gray():
    looks = looks_of(GROUND)
    square = f"M2 2H{SIDE - 2}V{SIDE - 2}H2Z"
    pictures = grays([drawn_path(square, look) for _, look in looks])
    inner = [picture[16:-16, 16:-16] for picture in pictures]
    assert too_alike(looks, inner, shifts=16) == []


@needs_poppler
def test_lines_are_told_apart_in_gray():
    looks = [*looks_of(LINES), ("", SMOKE_ARC)]
    # A band of 6 points around each line, as the eye follows it.
    drawn = [drawn_path(f"M0 {SIDE / 2}h{SIDE}", look, filled=False) for _, look in looks]
    bands = [picture[54:66] for picture in grays(drawn)]
    assert too_alike(looks, bands, shifts=0) == []


@needs_poppler
def test_marks_are_told_apart_in_gray():
    looks = looks_of(MARKS)
    drawn = [sample("point", look, SIDE / 2 - 10, SIDE / 2) for _, look in looks]
    marks = [picture[48:72, 48:72] for picture in grays(drawn)]
    assert too_alike(looks, marks) == []


def signatures(svg):
    """How each path of a map is drawn, those within its frame and those of its key."""
    root = ElementTree.fromstring(svg)
    frame = next(e for e in root if e.tag.endswith("rect"))
    width, height = float(frame.get("width")), float(frame.get("height"))
    inside, key = set(), set()
    for path in (e for e in root if e.tag.endswith("path")):
        place = path.get("transform") or path.get("d")
        x, y = (float(n) for n in re.findall(r"-?[\d.]+", place)[:2])
        names = ("fill", "stroke", "stroke-width", "stroke-dasharray")
        look = tuple(path.get(name) for name in names)
        shape = path.get("d") if path.get("transform") else None
        if (look[0] != "#ffffff" and look[1] != "#ffffff") or shape:
            (inside if x <= width and y <= height else key).add((*look, shape))
    return inside, key


KINDS = [look.tests[0].among[0] for look in STYLES["tie_ins"].looks]


def full_frames():
    """A block with every kind of place and ground on its map, and an area beside it."""
    frames = with_area(block_frames(1000, 600))
    told = [
        {"tie_in_id": f"T{n}", "block": "Block", "kind": kind, "distance_ft": 9.0}
        | {"break_kind": "lane", "next_break_kind": "road", "corner_angle_deg": 40.0}
        for n, kind in enumerate(KINDS)
    ]
    kept = [{"exclusion_id": 1, "kind": "wetland", "applies_to": "burn", "area_ac": 1.0}]
    gates = [{"gate_id": 1, "name": None}, {"gate_id": 2, "name": "Far"}]
    water = [{"water_id": 1, "kind": "hydrant", "name": None}]
    lane = [{"source_id": 1, "source_row": 1, "kind": "lane", "width_ft": 12.0}]
    field = [{"source_id": 2, "source_row": 1, "kind": "field", "width_ft": 900.0}]
    places = [Point(60 * n - 150, -80) for n in range(len(KINDS))]
    return frames | {
        "tie_ins": layer("tie_ins", told, places),
        "excluded_ground": layer("excluded_ground", kept, [box(20, 20, 60, 50)]),
        "gates": layer("gates", gates, [Point(-152, 0), Point(9000, 500)]),
        "water_places": layer("water_places", water, [Point(150, 60)]),
        "break_lines": layer("break_lines", lane, [LineString([(-160, -95), (160, -95)])]),
        "break_areas": layer("break_areas", field, [box(-160, 95, 160, 200)]),
    }


@pytest.mark.parametrize("frames", [block_frames(), full_frames()], ids=["bare", "full"])
def test_key_explains_what_is_drawn_and_nothing_else(frames):
    pages = packet_pages(frames, paper="letter")
    maps = [pages["overview"]["map"], *(p["map"] for p in (*pages["blocks"], *pages["areas"]))]
    for drawn in maps:
        inside, key = signatures(drawn["svg"])
        assert inside == key, drawn["alt"]
