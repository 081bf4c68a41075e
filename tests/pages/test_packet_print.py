"""The packet as it is printed: sizes of its letters, its overview, the weight of its pages.

Outside source: poppler's pdftohtml, which tells the size of each piece of text on a page.
"""

import json
import re
import shutil
import subprocess
from xml.etree import ElementTree

import pytest

from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.pages.packet.sheet_layout import BOTTOM_PT
from pipeline.write.pages import write_packet
from tests.made_packet import block_frames, layer

typst = pytest.importorskip("typst", reason="the optional extra pdf is not installed")
needs_poppler = pytest.mark.skipif(
    shutil.which("pdftohtml") is None, reason="pdftohtml (poppler) is not installed"
)

ZOOM = 3
ROUNDED_PT = 0.5 / ZOOM  # the tool tells whole points of its zoomed page


@pytest.fixture(scope="module")
def printed(sample_run, tmp_path_factory):
    """The sample's packet: its file, its pages as data, and each page as pieces of text."""
    path = tmp_path_factory.mktemp("printed") / "packet.pdf"
    write_packet(sample_run, path)
    told = ["pdftohtml", "-xml", "-i", "-stdout", "-hidden", "-zoom", str(ZOOM), str(path)]
    document = subprocess.run(told, capture_output=True, check=True).stdout.decode()
    root = ElementTree.fromstring(re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", "", document))
    sizes = {font.get("id"): float(font.get("size")) / ZOOM for font in root.iter("fontspec")}
    pages = [
        (
            float(page.get("height")) / ZOOM,
            [
                ("".join(text.itertext()), sizes[text.get("font")], float(text.get("top")) / ZOOM)
                for text in page.iter("text")
            ],
        )
        for page in root.iter("page")
    ]
    return path, packet_pages(sample_run.frames, paper="letter"), pages


@needs_poppler
def test_tables_are_set_at_nine_points(printed):
    _, data, pages = printed
    tables = [
        table
        for sheet in (data["overview"], *data["blocks"], *data["areas"])
        for table in sheet.values()
        if isinstance(table, dict) and "rows" in table
    ]
    tables += [
        *data["options"].values(),
        data["season_sheet"]["tasks"],
        data["season_sheet"]["counts"],
    ]
    tables += [table for _, table, _ in data["records"]["tables"]]
    cells = {cell for table in tables for row in table["rows"] for cell in row if len(cell) > 3}
    found = [
        (words, size)
        for height, texts in pages
        if not any("The years" in words for words, _, _ in texts)
        for words, size, top in texts
        if words in cells and top < height - max(BOTTOM_PT.values())
    ]
    assert len(found) > 500
    # The drawn names of stretches are cells too: no smaller than names on a map may be.
    small = {words for words, size in found if size < 9 - ROUNDED_PT}
    assert {words for words in small if not re.fullmatch(r"B\d{4}", words)} == set()


@needs_poppler
def test_names_on_maps_are_eight_points_and_more(printed):
    _, data, pages = printed
    fronts = [
        texts
        for height, texts in pages
        if any(re.match(r"1:[\d,]+, printed", words) for words, _, _ in texts)
        for texts in [[t for t in texts if t[2] < height - max(BOTTOM_PT.values())]]
    ]
    assert len(fronts) == 1 + len(data["blocks"]) + len(data["areas"]) + 1
    assert min(size for texts in fronts for _, size, _ in texts) >= 8 - ROUNDED_PT


@needs_poppler
def test_nothing_is_smaller_than_the_cautions_at_the_foot(printed):
    _, _, pages = printed
    texts = [text for _, page in pages for text in page]
    assert min(size for _, size, _ in texts) >= 7.5 - ROUNDED_PT


@needs_poppler
def test_letters_of_the_years_are_eight_points_and_more(printed):
    _, _, pages = printed
    charts = [
        [text for text in texts if text[2] < height - max(BOTTOM_PT.values())]
        for height, texts in pages
        if any("The years" in words for words, _, _ in texts)
    ]
    assert any("Grazed" in words for texts in charts for words, _, _ in texts)
    assert min(size for texts in charts for _, size, _ in texts) >= 8 - ROUNDED_PT


def test_a_page_takes_300_kilobytes_at_most(printed):
    path, _, pages = printed
    assert path.stat().st_size / len(pages) < 300_000


@needs_poppler
def test_overview_names_blocks_areas_units_and_gates(printed, sample_run):
    _, _, pages = printed
    frames = sample_run.frames
    (texts,) = [
        t for _, t in pages if any(words == "Overview" and size > 12 for words, size, _ in t)
    ]
    words = {word for words, _, _ in texts for word in (words.strip(), *words.split())}
    names = [*frames["burn_blocks"]["block"], *frames["seed_areas"]["area"]]
    names += [f"G{gate}" for gate in frames["gates"]["gate_id"]]
    assert set(names) <= words
    assert set(frames["units"]["unit_id"]) <= words
    for symbol in ("N", "edge of a burn block", "ground to be sown", "break of the map", "gate"):
        assert symbol in words


def test_no_page_reads_as_a_permission(printed):
    _, _, pages = printed
    for _, texts in pages:
        words = " ".join(words for words, _, _ in texts).lower()
        for phrase in (
            "approved for",
            "safe to",
            "go ahead",
            "may be lit",
            "ready to burn",
            "clear to",
        ):
            assert phrase not in words
        assert "no permission to ignite" in words or "calibration" in words or "tag" in words


def test_blocks_areas_and_strips_stand_as_people_count_them():
    names = ["11", "2", "10", "1"]
    one = block_frames()
    block = one["burn_blocks"].iloc[0].drop("geometry").to_dict()
    area = {"unit_ids": "U1", "mix": "Mix", "method": "drill", "gross_ac": 1.0, "net_ac": 1.0}
    strip = {"width_ft": 20.0, "area_ac": 1.0, "passes": 2, "pass_length_ft": 99.0, "hours": 0.1}
    strip |= {"unmown_sqft": 0.0, "narrow": False}
    shapes = [*one["burn_blocks"].geometry] * 4
    frames = one | {
        "burn_blocks": layer("burn_blocks", [block | {"block": n} for n in names], shapes),
        "seed_areas": layer("seed_areas", [area | {"area": n} for n in names], shapes),
        "mow_strips": layer(
            "mow_strips", [strip | {"strip_id": f"2-{n}", "block": "2"} for n in names], shapes
        ),
    }
    pages = packet_pages(frames, paper="letter")
    assert [page["name"] for page in pages["blocks"]] == ["1", "2", "10", "11"]
    assert [page["name"] for page in pages["areas"]] == ["1", "2", "10", "11"]
    strips = [row[0] for row in pages["blocks"][1]["strips"]["rows"]]
    assert strips == ["2-1", "2-2", "2-10", "2-11", "Sum"]
    assert json.dumps(pages)
