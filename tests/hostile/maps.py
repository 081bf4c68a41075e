"""Maps and zips of maps that are too large, too deep, of many parts or not of this earth."""

import json
import zipfile

import shapely

from tests.hostile.ground import (
    BURN,
    CHECK,
    RUN,
    UNITS,
    collection,
    squares,
    write_map,
    write_property,
)
from tests.hostile.registry import maker


@maker
def zip_of_many_bytes(folder, url):
    """A zip that says it unpacks to ten times what is allowed."""
    write_property(folder, UNITS.replace("units.geojson", "map.zip"))
    with zipfile.ZipFile(folder / "map.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(3):
            with archive.open(f"{number}.geojson", "w", force_zip64=True) as file:
                for _ in range(300):
                    file.write(b" " * 1_000_000)
    return CHECK


@maker
def zip_that_lies(folder, url):
    """A zip whose directory says less than it unpacks to."""
    write_property(folder, UNITS.replace("units.geojson", "map.zip"))
    with zipfile.ZipFile(folder / "map.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("map.geojson", b" " * 40_000_000 + json.dumps(collection({})).encode())
    content = (folder / "map.zip").read_bytes()
    size = (40_000_000 + len(json.dumps(collection({})))).to_bytes(4, "little")
    (folder / "map.zip").write_bytes(content.replace(size, (9000).to_bytes(4, "little")))
    return CHECK


@maker
def crs_of_the_moon(folder, url):
    """A map on another body."""
    write_property(folder, UNITS.replace("units.geojson", "map.shp"))
    write_map(folder / "map.shp", squares(), "ESRI Shapefile")
    (folder / "map.prj").write_text(
        'GEOGCS["GCS_Moon_2000",DATUM["D_Moon_2000",SPHEROID["Moon_2000_IAU_IAG",1737400.0,0.0]],'
        'PRIMEM["Reference_Meridian",0.0],UNIT["Degree",0.0174532925199433]]'
    )
    return CHECK


@maker
def unit_of_many_parts(folder, url):
    """A unit of 1,200 specks with a burn."""
    write_property(folder, UNITS, BURN)
    specks = [
        shapely.box(LEFT, BOTTOM, LEFT + 0.0002, BOTTOM + 0.0002)
        for n in range(1200)
        for LEFT, BOTTOM in [(-96 + n % 40 * 0.0004, 40 + n // 40 * 0.0004)]
    ]
    shapes = {"A": shapely.MultiPolygon(specks), "B": shapely.box(-96.01, 40, -96.005, 40.005)}
    (folder / "units.geojson").write_text(json.dumps(collection(shapes)))
    return RUN


@maker
def deep_geojson(folder, url):
    """JSON of lists in lists."""
    write_property(folder)
    (folder / "units.geojson").write_text('{"a":' + "[" * 500_000 + "]" * 500_000 + "}")
    return CHECK


@maker
def infinite_geojson(folder, url):
    """Corners that are no numbers."""
    write_property(folder)
    text = json.dumps(collection(squares())).replace("-96.0", "1e999", 1)
    (folder / "units.geojson").write_text(text)
    return CHECK
