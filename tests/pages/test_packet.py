import json
import re
import shutil
import subprocess

import numpy as np
import pytest
from shapely import Point

from pipeline.core.units import M_PER_FT
from pipeline.fire.layers import FIREBREAKS, TIE_INS
from pipeline.outputs import OUTPUTS, write_outputs
from pipeline.pages import palette
from pipeline.pages.cautions import CAUTION
from pipeline.pages.packet.block_page import DECIDED_ON_SITE, breaks_around
from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.pages.symbols.paper_symbols import ON_PAPER
from pipeline.pages.words import figure_words
from pipeline.write.packet.packet_maps import placed_maps
from pipeline.write.pages import packet_pdf, table_rows, typeset, write_packet
from tests.made_packet import block_frames, layer, rectangle_m, sides, with_area

typst = pytest.importorskip("typst", reason="the optional extra pdf is not installed")
needs_poppler = pytest.mark.skipif(
    shutil.which("pdftoppm") is None, reason="pdftoppm and pdftotext (poppler) are not installed"
)

DOTS_PER_IN = 300
HOSTILE = (
    '"><script>alert(1)</script>',
    '#panic("x") #sys.inputs $x^2$ *bold* _it_ @ref <label> `raw` // no /* no */',
    "]) #{ } \\u{41} \\",
    "=SUM(A1)&&amp;<b>",
    "שדה מערבי \u202e txet \u2066",
    "مرعى",
    "a\x00b\nc",
    "naïve – “quoted” 'single'",
    "W" * 80,
    "火 \U00013000 🔥",
)


def pdf_of(frames, paper="letter"):
    return packet_pdf(json.dumps(packet_pages(frames, paper=paper)))


def poppler(tool, pdf, folder, *options):
    (folder / "packet.pdf").write_bytes(pdf)
    command = [tool, *options, str(folder / "packet.pdf"), "-"]
    return subprocess.run(command, capture_output=True, check=True).stdout


def text_of(pdf, folder):
    return poppler("pdftotext", pdf, folder, "-layout").decode()


def page_count(pdf, folder):
    return text_of(pdf, folder).count("\f")


def picture_of(pdf, folder, page=1):
    """Page as an array of red, green and blue, out of the netpbm format that pdftoppm writes."""
    told = ["-r", str(DOTS_PER_IN), "-f", str(page), "-l", str(page)]
    (folder / "packet.pdf").write_bytes(pdf)
    command = ["pdftoppm", *told, str(folder / "packet.pdf")]
    data = subprocess.run(command, capture_output=True, check=True).stdout
    header = re.match(rb"P6\s+(\d+)\s+(\d+)\s+255\s", data)
    width, height = int(header[1]), int(header[2])
    pixels = np.frombuffer(data, np.uint8, offset=header.end())
    return pixels.reshape(height, width, 3).astype(int)


def drawn_in(picture, color, near=30):
    wanted = [int(color[n : n + 2], 16) for n in (1, 3, 5)]
    return (abs(picture - wanted) <= near).all(axis=2)


@needs_poppler
@pytest.mark.parametrize(
    ("size_ft", "turned_deg", "paper"),
    [
        ((2640, 2640), 0, "a4"),
        ((7000, 220), 0, "letter"),  # thin
        ((220, 7000), 0, "a4"),
        ((60, 45), 0, "letter"),  # tiny
        ((90000, 70000), 0, "letter"),  # huge
        ((3000, 400), 38, "letter"),  # rotated
    ],
)
def test_map_is_to_scale_and_its_block_fills_the_frame(size_ft, turned_deg, paper, tmp_path):
    # Outline and frame of a block of known size, measured on the printed page.
    # The outline is drawn as a gap, in a color that no letter has.
    frames = block_frames(*size_ft, turned_deg=turned_deg, status="gap")
    pages = packet_pages(frames, paper=paper)
    text = json.dumps(pages)
    pdf, told = typeset(text)
    placed = placed_maps(told, pages)
    (of_block,) = [p for p in placed if p.frame.map_id == "Burn block Block"]
    printed = text_of(pdf, tmp_path).split("\f")[of_block.page - 1]
    feet = int(re.search(r"1 inch = ([\d,]+) feet", printed)[1].replace(",", ""))
    assert f"1:{feet * 12:,}" in printed
    picture = picture_of(pdf, tmp_path, of_block.page)
    dot = DOTS_PER_IN / 72
    left, right = round(of_block.left_pt * dot), round(of_block.right_pt * dot)
    top, foot = (picture.shape[0] - round(y * dot) for y in (of_block.top_pt, of_block.bottom_pt))
    inside = picture[top:foot, left:right]
    lines = drawn_in(inside, palette.BREAK_STROKES["gap"].color)
    rows, columns = (np.flatnonzero(lines.any(axis=axis)) for axis in (1, 0))
    line_px = palette.BREAK_STROKES["gap"].width * ON_PAPER * dot
    sizes_px = [places[-1] - places[0] + 1 - line_px for places in (columns, rows)]
    west, south, east, north = frames["burn_blocks"].total_bounds / M_PER_FT
    for size_px, expected_ft in zip(sizes_px, (east - west, north - south), strict=True):
        assert size_px / DOTS_PER_IN * feet == pytest.approx(
            expected_ft, rel=0.01, abs=4 / 72 * feet
        )
    filled = max(size / side for size, side in zip(sizes_px, inside.shape[1::-1], strict=True))
    assert filled >= 0.69  # 0.7, and what a pixel may hide
    # The map takes the sheet: no page stands empty beside it.
    paper_px = picture.shape[0] * picture.shape[1]
    assert inside.size / 3 > 0.4 * paper_px


@needs_poppler
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_paper_is_the_one_asked_for(paper, tmp_path):
    # Letter is 8.5 x 11 inch, A4 210 x 297 mm (ISO 216).
    inches = {"letter": (8.5, 11), "a4": (210 / 25.4, 297 / 25.4)}[paper]
    height, width, _ = picture_of(pdf_of(block_frames(), paper), tmp_path).shape
    assert sorted((width, height)) == pytest.approx([i * DOTS_PER_IN for i in inches], abs=1)


def test_same_layers_same_bytes():
    frames = with_area(block_frames())
    assert pdf_of(frames) == pdf_of(frames)


def test_pdf_is_tagged_and_says_so():
    # ISO 14289-1: the file names the part of the standard it keeps, and its language.
    pdf = pdf_of(with_area(block_frames()))
    assert b"pdfuaid:part" in pdf
    assert b"/MarkInfo" in pdf
    assert b"/Lang" in pdf
    assert b"/CreationDate" not in pdf


def test_a_very_long_packet_is_small_and_has_no_tags():
    frames = with_area(block_frames(), lots=400)
    pages = packet_pages(frames, paper="letter")
    rows = len(pages["areas"][0]["lots"]["rows"])
    assert rows > 400
    assert rows < table_rows(pages) < rows + 60
    text = json.dumps(pages)
    tagged, plain = (packet_pdf(text, tagged=tagged) for tagged in (True, False))
    assert b"/MarkInfo" not in plain
    assert len(plain) < len(tagged) / 4


def test_map_has_words_for_those_who_do_not_see_it():
    told = packet_pages(block_frames(), paper="letter")["blocks"][0]["map"]["alt"]
    assert "Map of block Block, north up" in told
    length = figure_words(3200.0, FIREBREAKS.column("length_ft"))
    assert f"{length} existing" in told


@needs_poppler
def test_one_sheet_of_paper_a_block_and_one_page_an_area(tmp_path):
    # Overview, then the map of the block in front and its tables on the back.
    assert page_count(pdf_of(block_frames()), tmp_path) == 3
    assert page_count(pdf_of(with_area(block_frames())), tmp_path) == 4


@needs_poppler
def test_long_tables_run_on_with_their_header(tmp_path):
    frames = with_area(block_frames(parts=20, places=60), lots=90)
    pages = text_of(pdf_of(frames), tmp_path).split("\f")[:-1]
    stretches = [page for page in pages if re.search(r"^\s*B00\d\d +existing", page, re.MULTILINE)]
    lots = [page for page in pages if "Species 0" in page]
    assert len(stretches) > 1
    assert len(lots) > 1
    assert all("Walked" in page for page in stretches)
    assert all("Tag seen" in page for page in lots)
    whole = "".join(pages)
    assert all(f"B{n:04d}" in whole for n in range(1, 81))
    assert all(f"T{n:04d}" in whole for n in range(60))
    assert all(f"Species {n:03d}" in whole for n in range(90))


@needs_poppler
@pytest.mark.parametrize("name", HOSTILE)
def test_names_are_text_and_nothing_else(name, tmp_path):
    frames = with_area(block_frames(block=name, unit=name, name=name), area=name, contents=name)
    pdf = pdf_of(frames)
    assert page_count(pdf, tmp_path) <= 6, "a long name may take the back of the sheet"
    printed = "".join(text_of(pdf, tmp_path).replace("\u200b", "").split())
    words = [w for w in re.findall(r"[!-~]+", name.replace("\x00", " ")) if len(w) < 30]
    assert all(w in printed for w in words)
    assert "\u202e" not in printed


@needs_poppler
def test_cautions_stand_on_every_page_of_a_block(tmp_path):
    frames = block_frames(parts=20)
    pages = text_of(pdf_of(frames), tmp_path).split("\f")[:-1]
    assert len(pages) > 1
    for page in pages:
        assert CAUTION in " ".join(page.split())


@needs_poppler
def test_what_the_burn_boss_decides_is_left_blank(tmp_path):
    printed = " ".join(text_of(pdf_of(block_frames()), tmp_path).split())
    page = packet_pages(block_frames(), paper="letter")["blocks"][0]
    assert page["blanks"] == list(DECIDED_ON_SITE)
    for words in ("approved", "safe to", "go ahead", "may be lit", "ready to burn", "cleared"):
        assert words not in printed.lower()


def test_unknown_wind_is_said_and_not_guessed():
    page = packet_pages(block_frames(wind_from_deg=np.nan), paper="letter")["blocks"][0]
    facts = dict(page["facts"])
    assert facts["Planned wind from"] == "unknown: needs a planned wind"
    assert facts["Downwind edges"] == "unknown: needs a planned wind"
    assert "no wind planned" in page["map"]["svg"]


def test_unknown_figure_of_an_area_is_a_dash_without_a_unit():
    frames = with_area(block_frames())
    frames["seed_areas"] = frames["seed_areas"].assign(bulk_lb=None)
    (page,) = packet_pages(frames, paper="letter")["areas"]
    assert dict(page["facts"])["Bulk"] == "–"


def test_shared_stretch_is_turned_around_for_the_other_block():
    breaks = block_frames()["firebreaks"]
    breaks.loc[0, ["neighbor_block", "neighbor_wind_side", "bearing_deg"]] = [
        "East",
        "upwind",
        90.0,
    ]
    seen = breaks_around(breaks, "East")
    assert list(seen["break_id"]) == [breaks["break_id"][0]]
    assert seen["bearing_deg"].item() == 270
    assert seen["wind_side"].item() == "upwind"
    assert seen["adjoining"].item() == "block Block"
    assert list(seen.geometry.item().coords) == list(breaks.geometry[0].coords)[::-1]
    assert len(breaks_around(breaks, "Block")) == 4


@needs_poppler
def test_sample_has_a_page_for_each_block_and_area(sample_run, tmp_path):
    path = tmp_path / "written.pdf"
    write_packet(sample_run, path)
    printed = text_of(path.read_bytes(), tmp_path)
    frames = sample_run.frames
    pages = printed.split("\f")[:-1]
    for name in [*frames["burn_blocks"]["block"], *frames["seed_areas"]["area"]]:
        of_it = [
            page for page in pages if re.search(rf"(block|(Drill|Seeding) sheet): {name}\b", page)
        ]
        assert 1 <= len(of_it) <= 3, "a sheet of paper, its back, and a page more"
    assert all(len(page.split("\n")) > 14 for page in pages), "no page for a line or two"
    for block in frames["mow_strips"]["block"].unique():
        assert f"Mowing sheet: {block}" in printed
    for stretch in frames["firebreaks"]["break_id"]:
        assert stretch in printed
    for lot in frames["seed_use"]["lot"].dropna():
        assert lot in printed


def test_without_the_extra_the_packet_is_left_out_and_said(
    sample_run, tmp_path, monkeypatch, caplog
):
    output = next(o for o in OUTPUTS if o.name == "packet.pdf")
    caplog.set_level("WARNING", logger="swardline")
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    assert write_outputs(sample_run, tmp_path, (output,)) == []
    assert "packet.pdf left out" in caplog.text


def smoke_frames(places=2, left=((None, None),), **choices):
    """A block with houses east of it, a quarter mile apart, that winds from the west reach."""
    frames = block_frames(**choices)
    arcs, near = [], []
    for n in range(1, places + 1):
        told = {"place_id": n, "kind": "house", "block": "Block", "distance_mi": n / 4}
        near.append({**told, "bearing_deg": 90.0, "planned_smoke": "reached" if n == 1 else None})
        arcs.append({**told, "bearing_deg": 90.0, "arc": 1, "from_deg": 224.6, "to_deg": 315.3})
    rows = [
        {"block": "Block", "arc": n, "from_deg": first, "to_deg": last}
        for n, (first, last) in enumerate(left, start=1)
    ]
    return frames | {
        "smoke_places": layer("smoke_places", near, [Point(n, 0) for n in range(places)]),
        "smoke_arcs": layer("smoke_arcs", arcs),
        "winds_left": layer("winds_left", rows),
    }


def test_smoke_stands_on_the_page_with_place_distance_bearing_and_winds():
    page = packet_pages(smoke_frames(), paper="letter")["blocks"][0]
    # Rounded outward: no wind that reaches the place is left out of the words.
    assert page["places"]["rows"][0][1] == (
        "keep smoke off: house 1, 0.25 mi E (90°); reached by winds from 224 to 316 degrees; in "
        "the planned wind too"
    )
    assert "planned" not in page["places"]["rows"][1][1]
    assert page["winds_left"].startswith("No wind fits: every wind within the weather limits")
    assert "A26 26 0 0 1" in page["map"]["svg"], "the arc of less than half a turn is drawn"
    assert "winds onto a place" in page["map"]["svg"]


def test_winds_left_are_told_rounded_inward():
    left = [(135.2, 224.9), (315.5, 20.0)]
    page = packet_pages(smoke_frames(left=left), paper="letter")["blocks"][0]
    assert page["winds_left"] == (
        "Within the weather limits set, winds from 136 to 224 degrees and 316 to 20 degrees reach "
        "none of the places named."
    )


def test_many_places_leave_room_for_the_blanks(tmp_path):
    frames = smoke_frames(places=200)
    page = packet_pages(frames, paper="letter")["blocks"][0]
    assert len(page["places"]["rows"]) == 12
    assert page["smoke_more"] == "188 more places to keep smoke off stand in the report."
    assert page_count(pdf_of(frames), tmp_path) <= 4


def test_without_places_the_page_says_that_none_was_looked_for():
    page = packet_pages(block_frames(), paper="letter")["blocks"][0]
    assert page["places"]["rows"] == []
    assert page["winds_left"].startswith("No places were named")
    assert "<circle" not in page["map"]["svg"]


@pytest.mark.parametrize(("overlap_ac", "told"), [(0.04, False), (0.05, True)])
def test_acres_counted_twice_are_facts_where_there_are_any(overlap_ac, told):
    frames = block_frames()
    frames["burn_blocks"]["overlap_ac"] = overlap_ac
    facts = dict(packet_pages(frames, paper="letter")["blocks"][0]["more_facts"])
    assert ("Counted twice" in facts) == told
    assert ("Units summed" in facts) == told
    assert "Ground covered" in facts


def test_warnings_of_the_block_stand_on_its_page_once():
    columns = ("severity", "source", "subject", "message", "code")
    place = TIE_INS.column("kind").choices[0]
    rows = (
        ("warning", "fuel", "U1", "ground burned again too soon", "burned_again_soon"),
        ("warning", "fuel", "Block", "ground burned again too soon", "burned_again_soon"),
        ("warning", "firebreaks", "Block, East", "a fence runs along it", "fence_along_break"),
        ("warning", "firebreaks", "Block", "in the table of places", place),
        ("warning", "firebreaks", "Block", "in the table of stretches", "break_too_narrow"),
        ("note", "fuel", "U1", "a note", "broken_fuel"),
        ("warning", "fuel", "U2", "another unit", "heavy_load"),
    )
    told = [dict(zip(columns, row, strict=True)) for row in rows]
    frames = block_frames() | {"findings": layer("findings", told)}
    page = packet_pages(frames, paper="letter")["blocks"][0]
    assert sorted(page["findings"]) == [
        "Block, East: a fence runs along it",
        "U1, Block: ground burned again too soon",
    ]


def test_slope_stands_at_the_head_of_a_block_where_heights_are_known():
    # A shared stretch has the other block on its left hand: what counts is the rise from this one.
    def stretch(name, block, neighbor, rise, neighbor_rise, uphill, neighbor_uphill):
        return {
            "break_id": name,
            "block": block,
            "neighbor_block": neighbor,
            "status": "prepare",
            "length_ft": 1000.0,
            "surface_ft": 1010.0,
            "rise_pct": rise,
            "uphill_ft": uphill,
            "neighbor_rise_pct": neighbor_rise,
            "neighbor_uphill_ft": neighbor_uphill,
            "over_mower_ft": 100.0,
            "known_pct": 100.0,
        }

    rows = [
        stretch("B1", "Block", None, 12.0, None, 50.0, None),
        stretch("B2", "Ash", "Block", -21.0, 21.0, 0.0, 700.0),
        stretch("B3", "Ash", None, 40.0, None, 1000.0, None),
    ]
    lines = sides(rectangle_m(1000, 600))[:3]
    without = packet_pages(block_frames(), paper="letter")["blocks"][0]["more_facts"]
    frames = block_frames() | {"break_slopes": layer("break_slopes", rows, lines)}
    told = packet_pages(frames, paper="letter")["blocks"][0]["more_facts"]
    assert told[: len(without)] == without
    assert told[len(without) :] == [
        ["Rise to the edge", "+21 %"],
        ["Over the ground", "2,020 ft"],
        ["Head of a slope", "750 ft"],
        ["Too steep to mow", "200 ft"],
    ]
