"""Whether GDAL finds the ground of a packet's maps where the units are drawn.

Needs GDAL with its PDF driver (Debian: ``gdal-bin``; wheels ship without it), so it stands outside
the test run:

    python tests/geospatial.py RUN_FOLDER

Each page that GDAL takes for a geospatial one is looked at: corners of units that lie on its map
are taken from the GeoPackage to the page by GDAL's own figures, and held against the corners of the
lines that the page draws. Prints the worst of each page and fails at a meter.
"""

import argparse
import json
import os
import subprocess
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pikepdf
import shapely
from pyproj import CRS, Transformer

sys.path.insert(0, str(Path(__file__).parent.parent))

from tests.drawn_points import drawn_points

DOTS = 150
MOST_M = 1.0


def told_by_gdal(pdf: Path, page: int) -> dict:
    """What ``gdalinfo`` says of one page."""
    command = ["gdalinfo", "-json", f"PDF:{page}:{pdf}"]
    given = os.environ | {"GDAL_PDF_DPI": str(DOTS)}
    told = subprocess.run(command, capture_output=True, check=True, env=given).stdout
    return json.loads(told)


def worst_m(told: dict, page: pikepdf.Page, units: gpd.GeoDataFrame) -> tuple[float, int]:
    """Farthest a unit's corner is drawn from where GDAL has it [meter], and how many there are."""
    plane = CRS.from_wkt(told["coordinateSystem"]["wkt"])
    frame = shapely.from_wkt(told["metadata"][""]["NEATLINE"]).buffer(-5.0)
    corners = shapely.get_coordinates(units.geometry.to_numpy())
    there = Transformer.from_crs(units.crs, plane, always_xy=True)
    x, y = there.transform(*corners.T)
    on_map = shapely.contains_xy(frame, x, y)
    left, a, b, top, d, e = told["geoTransform"]
    moved = np.column_stack([x[on_map] - left, y[on_map] - top])
    dots = np.linalg.solve(np.array([[a, b], [d, e]]), moved.T).T
    height_pt = float(page.mediabox[3])
    points = np.column_stack([dots[:, 0], height_pt * DOTS / 72 - dots[:, 1]]) * 72 / DOTS
    drawn = drawn_points(page)
    off_pt = [np.hypot(*(drawn - point).T).min() for point in points]
    return float(max(off_pt)) * a * DOTS / 72, len(points)


def main() -> int:
    """The command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    slug, _, _ = folder.resolve().name.rpartition("_")
    units = gpd.read_file(folder / f"{slug}.gpkg", layer="units")
    failed = found = 0
    with pikepdf.open(folder / "packet.pdf") as document:
        for number, page in enumerate(document.pages, 1):
            told = told_by_gdal(folder / "packet.pdf", number)
            if ("NEATLINE" in told["metadata"].get("", {})) != ("/VP" in page):
                print(f"page {number}: GDAL and the file differ on whether it has a map")
                failed += 1
            elif "/VP" in page:
                off_m, count = worst_m(told, page, units)
                print(f"page {number}: {count} corners of units, the worst {off_m:.3f} m off")
                failed, found = failed + (off_m >= MOST_M), found + 1
    return int(bool(failed) or not found)


if __name__ == "__main__":
    sys.exit(main())
