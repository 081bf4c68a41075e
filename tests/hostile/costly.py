"""Hostile input that is costly to make or to refuse, and surroundings that a command may meet."""

import json
import zipfile
import zlib

import numpy as np
import rasterio
import shapely

from pipeline.core.limits import MAP_CORNERS
from tests.hostile.ground import (
    BURN,
    CHECK,
    HEIGHTS,
    PLACE,
    RUN,
    SCENE,
    START,
    UNITS,
    collection,
    squares,
    write_map,
    write_picture,
    write_property,
)
from tests.hostile.registry import MAKERS, maker, with_room
from tests.hostile.tables import LOTS

LOT_TABLE = UNITS + 'seed_lots = { path = "lots.csv" }\n'


def _large_table(name, part, times):
    def make(folder, url):
        write_property(folder, LOT_TABLE)
        with (folder / "lots.csv").open("w") as file:
            file.write(LOTS)
            for _ in range(90):
                file.write(part * times)
        return CHECK

    MAKERS[name] = make


_large_table("table_of_90_mb_of_line_ends", "\n", 1_000_000)
_large_table("table_of_90_mb_of_commas", ",", 1_000_000)
_large_table("table_of_90_mb_of_rows", "L1,oats,90,80\n", 71_000)
_large_table("table_of_90_mb_of_quotes", '"', 1_000_000)


@maker
def list_of_many_lines(folder, url):
    """A list of 150,000 lines in the property file."""
    lines = "\n".join('  "A",' for _ in range(150_000))
    write_property(folder, UNITS, BURN.replace('["A"]', f"[\n{lines}\n]"))
    return CHECK


@maker
def key_of_many_parts(folder, url):
    """A key of 50,000 names with points between."""
    write_property(folder, UNITS, "\n[seed]\n" + ".".join("a" * 50_000) + " = 1\n")
    return CHECK


@maker
def tables_in_tables(folder, url):
    """Tables in tables in the property file, and lists in lists."""
    write_property(folder, UNITS, "\nx = " + "{a=" * 5000 + "[" * 5000 + "\n")
    return CHECK


@maker
def rate_of_1e99(folder, url):
    """A rate beyond all seed there is."""
    seeding = '\n[[seedings]]\narea = "x"\nunits = ["A"]\nmix = "m"\nmethod = "drill"\n'
    write_property(folder, UNITS + 'mixes = { path = "mixes.csv" }\n', seeding)
    (folder / "mixes.csv").write_text("mix,species,pls_lb_ac\nm,big bluestem,1e99\n")
    return RUN


@maker
def axes_swapped(folder, url):
    """Latitude first, where it could be a longitude too."""
    write_property(folder)
    square = shapely.box(40, -72, 40.004, -71.996)
    (folder / "units.geojson").write_text(json.dumps(collection({"A": square})))
    return CHECK


@maker
def property_in_utf16(folder, url):
    """A property file as some editors save it."""
    write_property(folder)
    text = (folder / "small.toml").read_text()
    (folder / "small.toml").write_text(text, encoding="utf-16")
    return CHECK


@maker
def path_of_500_letters(folder, url):
    """A property a long way down."""
    inner = folder.joinpath(*["d" * 99] * 5)
    inner.mkdir(parents=True)
    write_property(inner)
    return ("run", str(inner / "small.toml"))


@maker
def picture_of_fine_pixels(folder, url):
    """Pixels of 1 mm: more of them than are read."""
    write_property(folder, UNITS + SCENE)
    write_picture(
        folder / "picture.tif", place=rasterio.Affine(0.001, 0, PLACE.c, 0, -0.001, PLACE.f)
    )
    return CHECK


def _round(corners):
    """A round unit."""
    turn = np.linspace(0, 2 * np.pi, corners)
    return shapely.Polygon(np.column_stack([-96 + 0.004 * np.cos(turn), 40 + 0.004 * np.sin(turn)]))


@maker
def ring_of_ten_million_corners(folder, url):
    """A round unit with more corners than can be meant."""
    write_property(folder, UNITS.replace("units.geojson", "map.fgb"))
    round_one = _round(10_000_000)
    write_map(folder / "map.fgb", {"A": round_one}, "FlatGeobuf")
    return CHECK


@maker
def ring_of_most_corners(folder, url):
    """As many corners as are read."""
    write_property(folder, UNITS.replace("units.geojson", "map.fgb"))
    round_one = _round(MAP_CORNERS.most - 2)
    write_map(folder / "map.fgb", {"A": round_one}, "FlatGeobuf")
    return CHECK


@maker
def text_map_of_many_bytes(folder, url):
    """GeoJSON of 90 MB, near the most that is read."""
    write_property(folder)
    feature = json.dumps(collection(squares())["features"][0])
    with (folder / "units.geojson").open("w") as file:
        file.write('{"type": "FeatureCollection", "features": [')
        for _ in range(90_000_000 // len(feature) // 1000):
            file.write(f"{feature}," * 1000)
        file.write(f"{feature}]}}")
    return CHECK


@maker
def zip_of_ten_gigabytes(folder, url):
    """A zip of some MB that unpacks to 10 GB of GeoJSON."""
    write_property(folder, UNITS.replace("units.geojson", "map.zip"))
    part = json.dumps(collection(squares())).encode() * 2400
    press = zlib.compressobj(wbits=-15)
    first = press.compress(part) + press.flush(zlib.Z_FULL_FLUSH)
    times = 10_000_000_000 // len(part)
    with zipfile.ZipFile(folder / "map.zip", "w") as archive:
        with archive.open("map.geojson", "w", force_zip64=True) as file:
            for _ in range(times):
                file.write(first)
        entry = archive.getinfo("map.geojson")
        entry.compress_type, entry.file_size = zipfile.ZIP_DEFLATED, times * len(part)
    return CHECK


UNREADABLE = (
    *(".shp", ".dbf", ".shx", ".prj", ".gpkg", ".geojson", ".kml", ".fgb", ".zip", ".gdb"),
    *(".csv", ".xlsx", ".tif", ".toml"),
)
DRIVERS = {".gpkg": "GPKG", ".geojson": "GeoJSON", ".kml": "KML", ".fgb": "FlatGeobuf"}


def _unreadable(suffix, command):
    """A file, of any kind, that may not be read."""

    def make(folder, url):
        is_map = suffix in DRIVERS
        is_part = suffix in (".shp", ".dbf", ".shx", ".prj")
        name = f"map{suffix}" if is_map else "map.shp" if is_part else "units.geojson"
        write_property(folder, _sources(suffix, name))
        if is_map:
            write_map(folder / name, squares(), DRIVERS[suffix])
        elif is_part:
            write_map(folder / name, squares(), "ESRI Shapefile")
        elif suffix == ".zip":
            with zipfile.ZipFile(folder / "map.zip", "w") as archive:
                archive.write(folder / "units.geojson", "units.geojson")
        elif suffix == ".gdb":
            (folder / "map.gdb").mkdir()
        elif suffix == ".tif":
            write_picture(folder / "picture.tif")
        elif suffix in (".csv", ".xlsx"):
            (folder / f"lots{suffix}").write_text(LOTS)
        for path in folder.glob(f"*{suffix}"):
            path.chmod(0)
        return command

    return make


def _sources(suffix, name):
    if suffix in (".csv", ".xlsx"):
        return LOT_TABLE.replace(".csv", suffix)
    if suffix in (".zip", ".gdb"):
        return UNITS.replace("units.geojson", f"map{suffix}")
    return UNITS.replace("units.geojson", name) + (SCENE + HEIGHTS if suffix == ".tif" else "")


for _suffix in UNREADABLE:
    MAKERS[f"unreadable_{_suffix[1:]}"] = _unreadable(_suffix, CHECK)
    MAKERS[f"start_unreadable_{_suffix[1:]}"] = _unreadable(_suffix, START)


@maker
def unreadable_folder(folder, url):
    """A map in a folder that may not be looked into."""
    write_property(folder, UNITS.replace("units.geojson", "inner/units.geojson"))
    (folder / "inner").mkdir()
    (folder / "units.geojson").rename(folder / "inner" / "units.geojson")
    (folder / "inner").chmod(0)
    return CHECK


def _plain(command):
    def make(folder, url):
        write_property(folder, UNITS + SCENE, BURN)
        write_picture(folder / "picture.tif")
        return command

    return make


def _of_geopackage(command):
    def make(folder, url):
        write_property(folder, UNITS.replace("units.geojson", "map.gpkg"))
        write_map(folder / "map.gpkg", squares())
        return command

    return make


def _of_zip(command):
    def make(folder, url):
        write_property(folder, UNITS.replace("units.geojson", "map.zip"))
        with zipfile.ZipFile(folder / "map.zip", "w") as archive:
            archive.write(folder / "units.geojson", "units.geojson")
            archive.writestr("more.txt", "x" * 100_000)
        return command

    return make


for _word, _command in (("check", CHECK), ("run", RUN), ("start", START)):
    with_room(f"{_word}_full_disk_geopackage", _of_geopackage(_command), file_bytes=4096)
    with_room(f"{_word}_full_disk_zip", _of_zip(_command), file_bytes=4096)
    with_room(f"{_word}_full_disk", _plain(_command), file_bytes=4096)
    with_room(f"{_word}_closed_stdout", _plain(_command), no_stdout=True)
    with_room(f"{_word}_no_temporary", _of_zip(_command), environment=(("TMPDIR", "/nowhere"),))
with_room("run_turkish", _plain(RUN), environment=(("LC_ALL", "tr_TR.UTF-8"),))
