"""Ground read back from the finished packet, by the dictionaries of the standard alone.

*Source*: ISO 32000-2:2020, 12.10.2 and table 269: LPTS are shares of the viewport's BBox, GPTS the
latitudes and longitudes of the same places, and between them the system of GCS is linear. GDAL
reads the same file in ``tests/geospatial.py``, outside of the test run.
"""

import json
from io import BytesIO
from types import SimpleNamespace

import numpy as np
import pytest
from pyproj import CRS, Transformer

from pipeline.pages.packet.map_frames import maps_of
from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.write import pages as written
from pipeline.write.geospatial_pdf import geospatial_pdf
from pipeline.write.packet_maps import placed_maps
from tests.drawn_points import drawn_points
from tests.made_packet import CRS as MADE
from tests.made_packet import block_frames, with_area

pytest.importorskip("typst", reason="the optional extra pdf is not installed")
pikepdf = pytest.importorskip("pikepdf", reason="the optional extra pdf is not installed")

HALF_M = (1000 * 0.3048 / 2, 600 * 0.3048 / 2)  # of the made block: 1,000 by 600 feet
CORNERS = [(x * HALF_M[0], y * HALF_M[1]) for x in (-1, 1) for y in (-1, 1)]


@pytest.fixture(scope="module")
def made():
    """A packet with a map of a block and one of a seeding area: before and after, and its maps."""
    pages = packet_pages(with_area(block_frames(1000, 600)), paper="letter")
    text = json.dumps(pages)
    plain, told = written.typeset(text)
    maps = placed_maps(told, pages)
    return SimpleNamespace(
        pages=pages, plain=plain, maps=maps, pdf=geospatial_pdf(plain, maps, CRS(MADE))
    )


@pytest.fixture(scope="module")
def document(made):
    with pikepdf.open(BytesIO(made.pdf)) as document:
        yield document


def viewports(document):
    return [(page, viewport) for page in document.pages for viewport in page.get("/VP", ())]


def paper_of(viewport, x, y):
    """Place on the page [point] of places in the viewport's own system."""
    measure = viewport.Measure
    plane = CRS.from_wkt(str(measure.GCS.WKT))
    degrees = np.array([float(degree) for degree in measure.GPTS]).reshape(-1, 2)
    shares = np.array([float(share) for share in measure.LPTS]).reshape(-1, 2)
    there = Transformer.from_crs(plane.geodetic_crs, plane, always_xy=True)
    ground = np.column_stack([*there.transform(degrees[:, 1], degrees[:, 0]), np.ones(len(shares))])
    to_share, *_ = np.linalg.lstsq(ground, shares, rcond=None)
    left, bottom, right, top = (float(edge) for edge in viewport.BBox)
    share = np.column_stack([x, y, np.ones(len(x))]) @ to_share
    return share * [right - left, top - bottom] + [left, bottom]


def meters_a_point(viewport):
    here = paper_of(viewport, np.array([0.0, 100.0]), np.array([0.0, 0.0]))
    return 100.0 / np.hypot(*(here[1] - here[0]))


def test_each_map_has_its_viewport_and_no_other_page_has_one(made, document):
    names = [str(viewport.Name) for _, viewport in viewports(document)]
    assert names == [placed.frame.map_id for placed in made.maps]
    assert names == ["Overview", "Burn block Block", "Seeding area Area"]
    for _, viewport in viewports(document):
        assert viewport.Type == "/Viewport"
        measure = viewport.Measure
        assert (measure.Type, measure.Subtype, measure.GCS.Type) == ("/Measure", "/GEO", "/PROJCS")
        for square in (measure.Bounds, measure.LPTS):
            assert [int(share) for share in square] == [0, 0, 0, 1, 1, 1, 1, 0]


def test_corners_of_the_unit_as_drawn_lie_within_a_meter_of_where_they_are(document):
    to_degrees = Transformer.from_crs(CRS(MADE), 4326, always_xy=True)
    for page, viewport in viewports(document):
        plane = CRS.from_wkt(str(viewport.Measure.GCS.WKT))
        back = Transformer.from_crs(plane.geodetic_crs, plane, always_xy=True)
        expected = paper_of(viewport, *back.transform(*to_degrees.transform(*np.array(CORNERS).T)))
        points = drawn_points(page)
        for corner in expected:
            off_pt = np.hypot(*(points - corner).T).min()
            assert off_pt * meters_a_point(viewport) < 1.0


def test_scale_read_back_is_the_one_printed(made, document):
    # 1 inch is 72 points, a foot 0.3048 m (NIST SP 811).
    for drawn, (_, viewport) in zip(maps_of(made.pages), viewports(document), strict=True):
        feet = int(drawn["scale"].split()[3].replace(",", ""))
        assert meters_a_point(viewport) * 72 / 0.3048 == pytest.approx(feet, rel=1e-4)


def test_the_file_stays_what_it_was_and_is_the_same_twice(made, document):
    assert made.pdf == geospatial_pdf(made.plain, made.maps, CRS(MADE))
    assert made.pdf.startswith(b"%PDF-1.7")
    assert document.Root.Extensions.ADBE.ExtensionLevel == 3
    with pikepdf.open(BytesIO(made.plain)) as before:
        assert len(document.pages) == len(before.pages)
        # Tags and the mark of ISO 14289-1 are those of the typesetter.
        assert document.Root.MarkInfo.Marked
        assert len(document.Root.StructTreeRoot.K) == len(before.Root.StructTreeRoot.K)
        assert document.open_metadata().get("pdfuaid:part") == "1"
    assert len(made.pdf) < len(made.plain)


def test_a_packet_without_a_map_stays_a_packet(made):
    with pikepdf.open(BytesIO(geospatial_pdf(made.plain, [], CRS(MADE)))) as document:
        assert not viewports(document)
