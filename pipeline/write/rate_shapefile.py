"""Seeding rates as a zipped polygon shapefile, for terminals that take one as a rate map.

The rate is in pounds of bulk seed an acre, since a drill knows nothing of pure live seed.

*Source*: ESRI Shapefile Technical Description (1998). Manuals of terminals ask for names of at most
eight characters and take at most 100 areas in one map.
"""

import zipfile
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio
import shapely

from pipeline.core.run import Run
from pipeline.core.units import half_up
from pipeline.ground.acreage import polygonal
from pipeline.intake.files.scratch import scratch_folder
from pipeline.pages.conflict_lines import stop_lines
from pipeline.pages.words import plain
from pipeline.write.field.degrees import points_of

MOST_AREAS = 100


LONGEST_TEXT = 60


RATE_PLACES = 2
"""Decimals of a rate [lb/ac]: finer than any drill meters. Common practice, no source."""


ZIP_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip can hold: the same in every run


NOTE = """Seeding rates of {name}: BULK pounds an acre, NOT pure live seed (PLS).

Each shapefile is one job: drill, broadcast and overseed apart. It holds one polygon a seeding area,
in degrees of WGS 84; rates are rounded to {places} decimals.

AREA      name of the area
MIX       mix sown
SEED_LBA  seed as weighed, lb/ac, nurse crops and carriers left out
FILL_LBA  seed, nurse crops and carriers as weighed, lb/ac: what the drill lets out
ACRES     acres sown

The rates hold for the lots in the seed order; another lot has another bulk rate. Where a drill has
several boxes, set each by the table seed_boxes. Weigh a catch of each box before sowing.
{left_out}
"""


def bulk_rates(seed_areas: pd.DataFrame) -> gpd.GeoDataFrame:
    """Areas with a known rate [lb/ac, as weighed], under names of at most eight characters."""
    known = seed_areas[_known(seed_areas)]
    seed = known["bulk_lb"] / known["net_ac"]
    columns = {
        "AREA": known["area"].map(plain).str.slice(0, LONGEST_TEXT),
        "MIX": known["mix"].map(plain).str.slice(0, LONGEST_TEXT),
        "SEED_LBA": seed,
        "FILL_LBA": seed + known["companion_lb"].fillna(0) / known["net_ac"],
        "ACRES": known["net_ac"],
    }
    for name in ("SEED_LBA", "FILL_LBA"):
        columns[name] = columns[name].map(lambda rate: float(half_up(rate, RATE_PLACES)))
    return gpd.GeoDataFrame(columns, geometry=known.geometry)


def valid_degrees(shapes: gpd.GeoSeries) -> gpd.GeoSeries:
    """Shapes in degrees of WGS 84, valid there too.

    A sliver thinner than the last digit of a degree crosses itself once it is turned; its ground
    is less than a square foot.
    """
    turned = shapes.to_crs(4326)
    mended = shapely.make_valid(turned.to_numpy(), method="structure", keep_collapsed=False)
    return gpd.GeoSeries([polygonal(shape) for shape in mended], index=shapes.index, crs=4326)


def _known(seed_areas: pd.DataFrame) -> pd.Series:
    return seed_areas["bulk_lb"].notna() & (seed_areas["net_ac"] > 0)


def write_rate_shapefile(run: Run, path: Path) -> None:
    """Write the rate map, its parts and a note on its columns as one zip of fixed bytes."""
    areas = run.frames["seed_areas"]
    rates = bulk_rates(areas)
    points_of(rates.geometry, rates.crs)  # refuses what can be no degrees
    rates = rates.set_geometry(valid_degrees(rates.geometry))
    methods = areas.loc[rates.index, "method"]
    lost = ", ".join(plain(area) for area in areas.loc[~_known(areas), "area"])
    left_out = f"Left out, since the bulk rate is unknown: {lost}." if lost else ""
    note = NOTE.format(name=plain(run.name), places=RATE_PLACES, left_out=left_out).rstrip()
    conflicts = run.frames["conflicts"]
    note = "\n".join([*stop_lines(conflicts[conflicts["kind"] == "seed"]), note])
    with scratch_folder() as folder:
        for method, of_method in rates.groupby(methods):
            for number, start in enumerate(range(0, len(of_method), MOST_AREAS), start=1):
                pyogrio.write_dataframe(
                    of_method.iloc[start : start + MOST_AREAS],
                    folder / f"{method}{number}.shp",
                    geometry_type="MultiPolygon",
                    encoding="UTF-8",
                    DBF_DATE_LAST_UPDATE=run.stamp[:10],
                )
        (folder / "read_me.txt").write_text(note + "\n", encoding="utf-8", newline="\r\n")
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for part in sorted(folder.iterdir()):
                archive.writestr(zipfile.ZipInfo(part.name, ZIP_DATE), part.read_bytes())
