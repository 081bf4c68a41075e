"""The packet as a geospatial PDF: each map's frame tied to the ground, for map programs of phones.

The typesetter has no words for it, so the dictionaries are added to its finished file. Each frame
is a viewport whose corners are told in degrees of WGS 84; between them it is a rectangle of the
run's own projection. Objects are packed on the way, which makes a tagged file a quarter as large.

*Source*: ISO 32000-2:2020, 12.9 (viewports) and 12.10 (geospatial features); in files of version
1.7, as this one, they are Adobe's extension level 3.
"""

from collections.abc import Sequence
from decimal import Decimal
from io import BytesIO
from typing import TYPE_CHECKING

from pyproj import CRS, Transformer

from pipeline.write.packet_maps import PlacedMap

if TYPE_CHECKING:
    import pikepdf

UNIT_SQUARE = (0, 0, 0, 1, 1, 1, 1, 0)
"""Corners of a frame in shares of it: lower left, upper left, upper right, lower right."""

DEGREE_DECIMALS, POINT_DECIMALS = 9, 4
"""Decimals of a degree, a tenth of a millimeter on the ground, and of a point on paper."""

GEOSPATIAL = ("1.7", 3)
"""Version and extension level of a file that has geospatial features."""


def geospatial_pdf(pdf: bytes, maps: Sequence[PlacedMap], crs: CRS) -> bytes:
    """The file with a viewport for each map, the same bytes for the same file and maps."""
    import pikepdf

    with pikepdf.open(BytesIO(pdf)) as document:
        for number, page in enumerate(document.pages, 1):
            viewports = [_viewport(placed, crs) for placed in maps if placed.page == number]
            if viewports:
                page.VP = pikepdf.Array(viewports)
        written = BytesIO()
        packed = pikepdf.ObjectStreamMode.generate
        document.save(
            written, min_version=GEOSPATIAL, deterministic_id=True, object_stream_mode=packed
        )
    return written.getvalue()


def _viewport(placed: PlacedMap, crs: CRS) -> "pikepdf.Dictionary":
    """Viewport of one map: its frame on the page and how the frame lies on the ground."""
    from pikepdf import Array, Dictionary, Name, String

    square = Array(UNIT_SQUARE)
    measure = Dictionary(
        Type=Name.Measure,
        Subtype=Name.GEO,
        Bounds=square,
        LPTS=square,
        GPTS=_numbers(corner_degrees(placed, crs), DEGREE_DECIMALS),
        GCS=Dictionary(Type=Name.PROJCS, WKT=String(crs.to_wkt("WKT1_ESRI"))),
    )
    box = [placed.left_pt, placed.bottom_pt, placed.right_pt, placed.top_pt]
    return Dictionary(
        Type=Name.Viewport,
        Name=String(placed.frame.map_id),
        BBox=_numbers(box, POINT_DECIMALS),
        Measure=measure,
    )


def _numbers(values: Sequence[float], decimals: int) -> "pikepdf.Array":
    """Numbers as the file writes them: floats would lose digits."""
    from pikepdf import Array

    return Array([Decimal(f"{value:.{decimals}f}") for value in values])


def corner_degrees(placed: PlacedMap, crs: CRS) -> list[float]:
    """Latitude and longitude [degree] of the frame's corners, in the order of the unit square.

    They are those of the datum that the projection stands on, as the standard asks.
    """
    frame = placed.frame
    xs = (frame.west_m, frame.west_m, frame.east_m, frame.east_m)
    ys = (frame.south_m, frame.north_m, frame.north_m, frame.south_m)
    there = Transformer.from_crs(crs, crs.geodetic_crs, always_xy=True)
    longitudes, latitudes = there.transform(xs, ys)
    pairs = zip(latitudes, longitudes, strict=True)
    return [degree for pair in pairs for degree in pair]
