import json
import shutil

import numpy as np
import pytest

from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.write.packet_maps import placed_maps
from pipeline.write.pages import typeset
from tests.made_packet import block_frames, with_area
from tests.pages.test_packet import picture_of

pytest.importorskip("typst", reason="the optional extra pdf is not installed")
needs_poppler = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm (poppler)")


def ink_at(picture, x_pt, y_pt):
    """Whether anything darker than paper is within a pixel of a place from the lower left."""
    x, y = x_pt / 72 * 300, picture.shape[0] - y_pt / 72 * 300
    near = picture[round(y) - 2 : round(y) + 3, round(x) - 2 : round(x) + 3]
    return near.size > 0 and near.min() < 200


@needs_poppler
def test_the_line_around_each_map_is_where_its_frame_is_told_to_be(tmp_path):
    pages = packet_pages(with_area(block_frames(1000, 600)), paper="letter")
    text = json.dumps(pages)
    pdf, told = typeset(text)
    maps = placed_maps(told, pages)
    names = ["Overview", "Burn block Block", "Seeding area Area"]
    assert [placed.frame.map_id for placed in maps] == names
    for placed in maps:
        picture = picture_of(pdf, tmp_path, placed.page)
        for share in np.linspace(0.02, 0.98, 25):
            x = placed.left_pt + share * (placed.right_pt - placed.left_pt)
            y = placed.bottom_pt + share * (placed.top_pt - placed.bottom_pt)
            assert ink_at(picture, x, placed.top_pt)
            assert ink_at(picture, x, placed.bottom_pt)
            assert ink_at(picture, placed.left_pt, y)
            assert ink_at(picture, placed.right_pt, y)


def test_the_ground_of_a_frame_is_to_the_scale_of_its_map():
    # 1 inch is 72 points (PostScript), a foot 0.3048 m (NIST SP 811).
    (page,) = packet_pages(block_frames(1000, 600), paper="letter")["blocks"]
    frame = page["map"]["frame"]
    feet = int(page["map"]["scale"].split()[3].replace(",", ""))
    for size_pt, low, high in (
        ("width_pt", "west_m", "east_m"),
        ("height_pt", "south_m", "north_m"),
    ):
        ground_ft = (frame[high] - frame[low]) / 0.3048
        assert ground_ft == pytest.approx(frame[size_pt] / 72 * feet)
    # The block lies around the origin of its CRS, and its map around the block.
    assert frame["west_m"] == pytest.approx(-frame["east_m"])
    assert frame["south_m"] == pytest.approx(-frame["north_m"])
