"""Seeding rates as a zipped polygon shapefile, for terminals that take one as a rate map.

The rate is in pounds of bulk seed an acre, since a drill knows nothing of pure live seed.

*Source*: ESRI Shapefile Technical Description (1998) and the dBASE limit of ten characters for the
name of a field; terminals ask for eight, so eight it is.
"""

import tempfile
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import pyogrio

from pipeline.io.gps import in_degrees
from pipeline.pages.labels import plain

if TYPE_CHECKING:
    from pipeline.outputs import Run

STEM = "seedrate"
ZIP_DATE = (1980, 1, 1, 0, 0, 0)
COLUMNS_TOLD = """Seeding rates, one polygon a seed area, in degrees of WGS 84.

AREA      name of the area
MIX       mix sown
SEED_LBA  seed, pounds of bulk an acre, companions left out
FILL_LBA  seed and companions together, pounds of bulk an acre: what the drill is set to
ACRES     acres sown

Bulk pounds, not pure live seed. Check a box against the catch test before sowing. A row is left
out where its rate is unknown.
"""


def rate_rows(seed_areas: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Areas with a known rate, in degrees, under short names."""
    known = seed_areas[seed_areas["bulk_lb"].notna() & (seed_areas["net_ac"] > 0)]
    seed = known["bulk_lb"] / known["net_ac"]
    fill = seed + known["companion_lb"].fillna(0) / known["net_ac"]
    columns = {
        "AREA": known["area"].map(plain).str.slice(0, 60),
        "MIX": known["mix"].map(plain).str.slice(0, 60),
        "SEED_LBA": seed.round(2),
        "FILL_LBA": fill.round(2),
        "ACRES": known["net_ac"].round(2),
    }
    list(in_degrees(known.geometry))
    return gpd.GeoDataFrame(columns, geometry=known.geometry.to_crs(4326), crs=4326)


def write_rate_shapefile(run: "Run", path: Path) -> None:
    """Write the rate map, its parts and a note on its columns as one zip of fixed bytes."""
    rows = rate_rows(run.frames["seed_areas"])
    with tempfile.TemporaryDirectory() as folder:
        shape = Path(folder) / f"{STEM}.shp"
        pyogrio.write_dataframe(
            rows, shape, geometry_type="MultiPolygon", encoding="UTF-8",
            DBF_DATE_LAST_UPDATE=run.stamp[:10],
        )  # fmt: skip
        (Path(folder) / f"{STEM}.txt").write_text(COLUMNS_TOLD, encoding="utf-8", newline="\r\n")
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for part in sorted(Path(folder).iterdir()):
                archive.writestr(zipfile.ZipInfo(part.name, ZIP_DATE), part.read_bytes())
