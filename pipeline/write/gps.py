"""Mow lines and places for GPS receivers and phones: GPX and KML, in degrees of WGS 84.

*Source*: GPX 1.1 schema (Topografix, 2004): a track is a list of points that describes a path, a
waypoint a place; their elements come in the order metadata, waypoints, tracks. OGC 07-147r2,
KML 2.2 (2008).
"""

from collections.abc import Iterable, Iterator
from pathlib import Path
from xml.sax.saxutils import escape

import geopandas as gpd
import shapely

from pipeline.core.run import Run
from pipeline.fire.mowing.layers import MOW_PASSES, MOW_STRIPS
from pipeline.fire.words import place_words
from pipeline.pages.cautions import CAUTION
from pipeline.pages.conflict_lines import stop_lines
from pipeline.pages.palette import BREAK_STROKES
from pipeline.pages.words import code_words, plain, row_words

DEGREES = 7  # decimals: about a centimeter; never in powers of ten, which the schema refuses


PASS_COLOR = BREAK_STROKES["prepare"].color


Line = tuple[str, str, list[tuple[str, str]]]


Place = tuple[str, str, str, tuple[str, str]]


def write_gpx(run: Run, path: Path) -> None:
    """Write a track for each mow pass and a waypoint for each place that needs a look."""
    tracks = "".join(
        f"<trk><name>{_xml(name)}</name><cmt>{_xml(remark)}</cmt><number>{number}</number>"
        "<type>mow pass</type><trkseg>\n"
        + "".join(f'<trkpt lat="{lat}" lon="{lon}"/>' for lon, lat in points)
        + "</trkseg></trk>\n"
        for number, (name, remark, points) in enumerate(_lines(run), start=1)
    )
    text = gpx_text(run, "mow lines", _on_top(run), _places(run), tracks)
    path.write_text(text, encoding="utf-8")


def gpx_text(run: Run, title: str, about: str, places: Iterable[Place], tracks: str = "") -> str:
    """A GPX file: what it is, what stands on top of it, waypoints, and tracks as they are."""
    waypoints = "".join(
        f'<wpt lat="{lat}" lon="{lon}"><name>{_xml(name)}</name><cmt>{_xml(remark)}</cmt>'
        f"<desc>{_xml(remark)}</desc><type>{_xml(kind)}</type></wpt>\n"
        for name, kind, remark, (lon, lat) in places
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="Swardline" xmlns="http://www.topografix.com/GPX/1/1">\n'
        f"<metadata><name>{_xml(run.name)}: {title}</name>"
        f"<desc>{_xml(about)}</desc><time>{run.stamp}</time></metadata>\n"
        f"{waypoints}{tracks}</gpx>\n"
    )


def write_kml(run: Run, path: Path) -> None:
    """Write the same tracks and places for map programs on a phone or computer."""
    places = "".join(
        f"<Placemark><name>{_xml(name)}</name><description>{_xml(remark)}</description>"
        f"<Point><coordinates>{lon},{lat}</coordinates></Point></Placemark>\n"
        for name, _, remark, (lon, lat) in _places(run)
    )
    lines = "".join(
        f"<Placemark><name>{_xml(name)}</name><description>{_xml(remark)}</description>"
        "<styleUrl>#pass</styleUrl><LineString><tessellate>1</tessellate><coordinates>"
        + " ".join(f"{lon},{lat}" for lon, lat in points)
        + "</coordinates></LineString></Placemark>\n"
        for name, remark, points in _lines(run)
    )
    text = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
        f"<name>{_xml(run.name)}: mow lines</name>"
        f"<description>{_xml(_on_top(run))}</description>"
        f'<Style id="pass"><LineStyle><color>{_kml_color(PASS_COLOR)}</color>'
        "<width>3</width></LineStyle></Style>\n"
        f"<Folder><name>Places</name>{places}</Folder>\n"
        f"<Folder><name>Mow passes</name>{lines}</Folder></Document></kml>\n"
    )
    path.write_text(text, encoding="utf-8")


def _on_top(run: Run) -> str:
    """What stands on top of a file: what to stop and ask for in its blocks, and the caution."""
    conflicts, blocks = run.frames["conflicts"], set(run.frames["mow_passes"]["block"])
    return ". ".join([*stop_lines(conflicts[conflicts["block"].isin(blocks)]), CAUTION])


def _lines(run: Run) -> Iterator[Line]:
    """Name, remark and points of each pass, in driving order; the strip's width is in the name."""
    passes = run.frames["mow_passes"]
    strips = run.frames["mow_strips"].set_index("strip_id")
    parts = passes.groupby(["strip_id", "pass_number"])["part"].transform("count")
    rows = zip(passes.to_dict("records"), parts, in_degrees(passes.geometry), strict=True)
    for row, count, points in rows:
        part = f" part {row['part']}" if count > 1 else ""
        width = row_words(strips.loc[row["strip_id"]], MOW_STRIPS, "width_ft")
        name = f"{row['strip_id']} pass {row['pass_number']}{part}, {width}"
        length = row_words(row, MOW_PASSES, "length_ft")
        yield name, f"{row['drive_order']} in block {row['block']}: {length} of mowing", points


def _places(run: Run) -> Iterator[Place]:
    """Name, kind, remark and position of each place along the breaks, and of each gate."""
    ties = run.frames["tie_ins"]
    for row, points in zip(ties.to_dict("records"), in_degrees(ties.geometry), strict=True):
        kind, remark = code_words(row["kind"]), f"{row['block']}: {place_words(row)}"
        yield f"{row['tie_in_id']} {kind}", kind, remark, points[0]
    gates = run.frames["gates"]
    for gate, points in zip(gates.itertuples(index=False), in_degrees(gates.geometry), strict=True):
        yield f"G{gate.gate_id} gate", "gate", gate.name or "gate", points[0]


def in_degrees(shapes: gpd.GeoSeries) -> Iterable[list[tuple[str, str]]]:
    """Longitude and latitude [degree] of the points of each line or point.

    A receiver takes any number for a degree, so numbers that can be none are refused here.
    """
    turned = shapes.to_crs(4326)
    coordinates = shapely.get_coordinates(turned.to_numpy())
    if len(coordinates) and not (
        (abs(coordinates[:, 0]) <= 180).all() and (abs(coordinates[:, 1]) <= 90).all()
    ):
        raise ValueError("coordinates for the receiver are not in degrees")
    for shape in turned:
        yield [(f"{x:.{DEGREES}f}", f"{y:.{DEGREES}f}") for x, y in shapely.get_coordinates(shape)]


def _kml_color(color: str) -> str:
    """Color as KML writes it: opacity, blue, green, red."""
    return f"ff{color[5:7]}{color[3:5]}{color[1:3]}"


def _xml(text: str) -> str:
    return escape(plain(text))
