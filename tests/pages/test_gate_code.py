"""The code of a block's page, read off the printed page by a decoder of another library."""

import json
import shutil
import subprocess

import numpy as np
import pytest
from shapely import LineString, Point

from pipeline.pages.packet.gate_code import gate_code, geo_uri
from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.write.pages import packet_pdf
from tests.made_packet import block_frames, layer

pytest.importorskip("typst", reason="the optional extra pdf is not installed")
pytest.importorskip("segno", reason="the optional extra pdf is not installed")
needs_poppler = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm (poppler)")

GATES = [{"gate_id": 1, "name": "Far gate"}, {"gate_id": 2, "name": "<North> gate"}]
PLACES = [Point(900, 0), Point(0, 140)]


def with_gates(gates=GATES, places=PLACES):
    return block_frames(1000, 600) | {"gates": layer("gates", gates, places)}


def code_of(frames):
    return gate_code(frames["burn_blocks"].to_dict("records")[0], frames)


def test_an_address_is_latitude_then_longitude():
    # RFC 5870, section 1: geo:13.4125,103.8667; by section 3.4.4 zeros at the end change nothing.
    assert geo_uri(13.4125, 103.8667) == "geo:13.41250,103.86670"
    assert geo_uri(-0.000001, -96.0) == "geo:0.00000,-96.00000"


def test_the_code_is_that_of_the_nearest_gate_and_says_where_it_ends():
    code = code_of(with_gates())
    # 140 m north of 44° N, 97° W: a degree is 111,107 m there (WGS 84, series of the meridian arc).
    assert code["uri"] == f"geo:{44 + 140 / 111_107:.5f},-97.00000"
    assert code["words"].startswith("Gate G2, ")
    assert code["uri"].removeprefix("geo:").replace(",", ", ") in code["words"]
    assert code["words"].endswith("leads to the gate only.")
    unnamed = code_of(with_gates([{"gate_id": 7, "name": None}], [Point(0, 140)]))
    assert unnamed["words"].startswith("Gate G7: ")


def test_without_a_gate_it_leads_to_where_mowing_begins():
    passes = [
        {"block": name, "drive_order": order, "strip_id": "S", "pass_number": 1, "part": 1}
        for name, order in (("Block", 2), ("Other", 1), ("Block", 1))
    ]
    lines = [LineString([(x, 0), (x + 9, 9)]) for x in (50, 60, 0)]
    mown = {"mow_passes": layer("mow_passes", [p | {"length_ft": 9.0} for p in passes], lines)}
    code = code_of(block_frames(1000, 600) | mown)
    assert code["uri"] == "geo:44.00000,-97.00000"
    assert code["words"].startswith("Where mowing begins: ")
    assert code_of(block_frames(1000, 600)) is None


def test_it_is_drawn_in_lines_with_the_quiet_zone_of_the_standard():
    svg = code_of(with_gates())["svg"]
    assert "<image" not in svg
    # ISO/IEC 18004: version 2 has 25 modules a side, and 4 stay white on each side.
    assert 'viewBox="0 0 33 33"' in svg


@needs_poppler
def test_a_phone_reads_it_off_the_printed_page(tmp_path):
    import zxingcpp

    pages = packet_pages(with_gates(), paper="letter")
    (tmp_path / "packet.pdf").write_bytes(packet_pdf(json.dumps(pages)))
    for dots in (100, 300):
        command = ["pdftoppm", "-gray", "-r", str(dots), str(tmp_path / "packet.pdf")]
        told = subprocess.run(command, capture_output=True, check=True).stdout
        read = [code.text for page in gray_pages(told) for code in zxingcpp.read_barcodes(page)]
        assert read == [pages["blocks"][0]["gate_code"]["uri"]]


def gray_pages(netpbm):
    """Pages out of the netpbm format that pdftoppm writes, one behind the other."""
    while netpbm:
        magic, width, height, most = netpbm[:40].split(maxsplit=4)[:4]
        assert (magic, most) == (b"P5", b"255")
        head = len(b"%s\n%s %s\n%s\n" % (magic, width, height, most))
        size = int(width) * int(height)
        yield np.frombuffer(netpbm[head : head + size], np.uint8).reshape(int(height), int(width))
        netpbm = netpbm[head + size :]
