"""The air photo in the finished packet: under the blocks' maps alone, in its place, as JPEG."""

import json
import logging
import shutil
import subprocess
from io import BytesIO
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
import rasterio
from pyproj import CRS

from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.pictures.backdrop import backdrop_jpeg
from pipeline.write.packet.packet_backdrop import lay_backdrop
from pipeline.write.packet.packet_maps import placed_maps
from pipeline.write.pages import packet_pdf, typeset
from tests.made_packet import CRS as MADE
from tests.made_packet import block_frames, with_area

pytest.importorskip("typst", reason="the optional extra pdf is not installed")
pikepdf = pytest.importorskip("pikepdf", reason="the optional extra pdf is not installed")
needs_poppler = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm (poppler)")

DOTS_PER_PT = 100 / 72


@pytest.fixture(scope="module")
def backdrop(tmp_path_factory):
    """A picture in the plane of the made block: dark west of its middle, bright east of it."""
    path = tmp_path_factory.mktemp("backdrop") / "photo.tif"
    place = {"crs": MADE, "transform": rasterio.Affine(2, 0, -600, 0, -2, 600)}
    size = {"width": 600, "height": 600, "count": 1, "dtype": "uint8"}
    with rasterio.open(path, "w", driver="GTiff", **place, **size) as photo:
        photo.write(np.tile(np.repeat([0, 255], 300).astype("uint8"), (600, 1)), 1)
    row = {"path": str(path), "name": "<my> photo.tif", "bands": 1}
    return pd.DataFrame([row | {"darkest": 0.0, "brightest": 255.0}])


def run_with(backdrop, *sources):
    frames = {"backdrop": backdrop, "sources": pd.DataFrame({"source": ["units", *sources]})}
    return SimpleNamespace(frames=frames, crs=CRS(MADE))


@pytest.fixture(scope="module")
def pages():
    return packet_pages(with_area(block_frames(1000, 600)), paper="letter")


@pytest.fixture(scope="module")
def laid(pages, backdrop):
    made = lay_backdrop(pages, run_with(backdrop))
    return made, packet_pdf(json.dumps(made))


def test_it_is_in_the_file_once_as_the_jpeg_that_was_made_under_the_block_alone(laid, backdrop):
    made, pdf = laid
    frame = made["blocks"][0]["map"]["frame"]
    bounds = tuple(frame[f"{side}_m"] for side in ("west", "south", "east", "north"))
    # 150 pixels an inch of 72 points.
    size = (round(frame["width_pt"] * 150 / 72), round(frame["height_pt"] * 150 / 72))
    jpeg = backdrop_jpeg(backdrop.to_dict("records")[0], bounds, CRS(MADE), size)
    with pikepdf.open(BytesIO(pdf)) as document:
        pictures = [
            (number, bytes(picture.read_raw_bytes()))
            for number, page in enumerate(document.pages)
            for _, picture in page.get("/Resources", {}).get("/XObject", {}).items()
            if picture.get("/Subtype") == "/Image"
        ]
    assert [picture for _, picture in pictures] == [jpeg]
    assert "<image" not in made["areas"][0]["map"]["svg"]


def test_its_name_stands_with_the_map_and_the_first_pages_are_left_as_they_were(pages, laid):
    made, _ = laid
    assert "air photo <my> photo.tif, grayed" in made["blocks"][0]["map"]["note"]
    assert "air photo" not in json.dumps(pages)


@needs_poppler
def test_it_lies_on_the_page_where_the_map_has_its_ground(laid, tmp_path):
    made, pdf = laid
    _, told = typeset(json.dumps(made))
    every = placed_maps(told, made)
    (placed,) = [one for one in every if one.frame.map_id == "Burn block Block"]
    (tmp_path / "packet.pdf").write_bytes(pdf)
    page = ["-f", str(placed.page), "-l", str(placed.page)]
    command = ["pdftoppm", "-gray", "-r", "100", *page, str(tmp_path / "packet.pdf")]
    told = subprocess.run(command, capture_output=True, check=True).stdout
    width, height = map(int, told[:40].split(maxsplit=4)[1:3])
    gray = np.frombuffer(told[-width * height :], np.uint8).reshape(height, width).astype(float)
    # A few points inside the lower edge of the frame lies no line of the block.
    row = gray[height - round((placed.bottom_pt + 6) * DOTS_PER_PT)]
    frame = placed.frame
    share = -frame.west_m / (frame.east_m - frame.west_m)
    edge = (placed.left_pt + share * (placed.right_pt - placed.left_pt)) * DOTS_PER_PT
    left, right = (round(x * DOTS_PER_PT) for x in (placed.left_pt + 4, placed.right_pt - 4))
    assert np.median(row[left : round(edge) - 3]) == pytest.approx(180, abs=5)
    assert np.median(row[round(edge) + 3 : right]) >= 250
    assert row[round(edge) - 3] < 217 < row[round(edge) + 3]


def test_without_a_photo_nothing_changes_and_a_lost_one_is_told(pages, backdrop, caplog):
    none = backdrop.iloc[:0]
    with caplog.at_level(logging.WARNING):
        assert lay_backdrop(pages, run_with(none)) is pages
        assert not caplog.records
        assert lay_backdrop(pages, run_with(none, "backdrop")) is pages
    assert "no part of a GeoPackage" in caplog.text


def test_a_block_beyond_the_photo_stays_on_white(pages, backdrop, tmp_path):
    path = tmp_path / "far.tif"
    with rasterio.open(backdrop["path"].iloc[0]) as near:
        profile = near.profile | {"transform": rasterio.Affine(2, 0, 9e4, 0, -2, 9e4)}
    with rasterio.open(path, "w", **profile) as far:
        far.write(np.full((1, 600, 600), 90, "uint8"))
    made = lay_backdrop(pages, run_with(backdrop.assign(path=str(path))))
    assert made["blocks"][0]["map"] == pages["blocks"][0]["map"]
