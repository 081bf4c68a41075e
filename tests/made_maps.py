"""Maps of three squares of forty acres, whole and damaged, for the tests that read maps.

Areas of the made shapes are known from their corners; the ellipsoid moves them by less than the
grid scale of a UTM zone (0.08 %).
"""

import json
import struct
import zipfile

import geopandas as gpd
import numpy as np
import pyogrio
import shapely
from pyproj import CRS
from shapely import box

from pipeline.catalog import LAYERS
from pipeline.intake.settings import VectorSource
from pipeline.intake.vector import read_vector

UTM = "EPSG:26914"


X, Y, SIDE = 700_000.0, 4_430_000.0, 402.336  # a square of forty acres near 40° N, 96.7° W


def square(column=0, row=0, side=SIDE):
    return box(X + column * SIDE, Y + row * SIDE, X + column * SIDE + side, Y + row * SIDE + side)


def forties(**columns):
    data = {"UNIT": ["A", "B", "C"]} | columns
    return gpd.GeoDataFrame(data, geometry=[square(0), square(1), square(2)], crs=UTM)


def with_shape(shape, position=1):
    frame = forties()
    frame.loc[frame.index[position], "geometry"] = shape
    return frame


def save(frame, path, **options):
    options |= {"driver": "KML"} if path.suffix == ".kml" else {}
    pyogrio.write_dataframe(frame, path, **options)
    return path


def read(path, *, role="units", into="drawn_units", kind=VectorSource, **told):
    told.setdefault("columns", {"unit_id": "UNIT"} if role == "units" else {})
    source = kind(path=path.name, **told)
    return read_vector(role, source, LAYERS[into], path.parent)


def faults(result):
    return "\n".join(map(str, result.faults))


def said(result):
    return "\n".join(f"{f['severity']}: {f['message']}" for f in result.findings)


def write_shapefile(path, polygons, ids=None, *, encoding="ascii", cpg=None, prj=True):
    """A polygon shapefile byte by byte, rings exactly as given, so that they can be wrong."""
    records, offset, index = b"", 50, b""
    for number, rings in enumerate(polygons, 1):
        points = [point for ring in rings for point in ring]
        starts = np.cumsum([0, *(len(ring) for ring in rings)])[:-1]
        xs, ys = zip(*points, strict=True)
        body = struct.pack("<i4d2i", 5, min(xs), min(ys), max(xs), max(ys), len(rings), len(points))
        body += struct.pack(f"<{len(rings)}i", *starts)
        body += b"".join(struct.pack("<2d", *point) for point in points)
        records += struct.pack(">2i", number, len(body) // 2) + body
        index += struct.pack(">2i", offset, len(body) // 2)
        offset += 4 + len(body) // 2
    for suffix, content in ((".shp", records), (".shx", index)):
        header = struct.pack(">7i", 9994, 0, 0, 0, 0, 0, 50 + len(content) // 2)
        header += struct.pack("<2i8d", 1000, 5, X, Y, X + 2000, Y + 2000, 0, 0, 0, 0)
        path.with_suffix(suffix).write_bytes(header + content)
    ids = ids or [chr(ord("A") + n) for n in range(len(polygons))]
    table = struct.pack("<4B1I2H20x", 3, 126, 1, 1, len(ids), 65, 21)
    table += b"UNIT".ljust(11, b"\0") + b"C" + bytes(4) + bytes([20, 0]) + bytes(14) + b"\r"
    table += b"".join(b" " + i.encode(encoding).ljust(20) for i in ids)
    path.with_suffix(".dbf").write_bytes(table + b"\x1a")
    if prj:
        path.with_suffix(".prj").write_text(CRS(UTM).to_wkt("WKT1_ESRI"))
    if cpg:
        path.with_suffix(".cpg").write_text(cpg)
    return path


def ring(shape, *, clockwise=True):
    points = list(shape.exterior.coords)
    return points if shapely.is_ccw(shape.exterior) != clockwise else points[::-1]


def geojson(path, geometries, ids=None, **members):
    ids = ids if ids is not None else ["A", "B", "C", "D", "E"][: len(geometries)]
    features = [
        {"type": "Feature", "properties": {"UNIT": i}, "geometry": g}
        for i, g in zip(ids, geometries, strict=True)
    ]
    told = {"type": "FeatureCollection", "features": features} | members
    path.write_text(json.dumps(told), encoding="utf-8")
    return path


def degrees(west=-96.7, south=40.0, size=0.004):
    corners = [[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]]
    return {
        "type": "Polygon",
        "coordinates": [[[west + size * x, south + size * y] for x, y in corners]],
    }


def zipped(path, *files, inside=""):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in files:
            for part in file.parent.glob(f"{file.stem}.*"):
                archive.write(part, inside + part.name)
    return path


KML = """<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{folders}</Document></kml>"""


FOLDER = """<Folder><name>{name}</name><Placemark><name>{name} 1</name><Polygon><outerBoundaryIs>
<LinearRing><coordinates>-96.7,40,0 -96.69,40,0 -96.69,40.01,0 -96.7,40.01,0 -96.7,40,0
</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Folder>"""
