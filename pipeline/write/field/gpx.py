"""The plan for GPS receivers: places as waypoints, outlines as tracks, the mower's way as routes.

*Source*: GPX 1.1 schema (Topografix, 2004): a waypoint is a place, a route a list of points that
lead somewhere, a track a list of points that describes a path; they come in the order metadata,
waypoints, routes, tracks. The schema has no list of symbols, only that a name is to be spelled as
the receiver shows it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from xml.sax.saxutils import escape

import shapely

from pipeline.core.run import Run
from pipeline.core.units import half_up
from pipeline.pages.cautions import CAUTION
from pipeline.pages.conflict_lines import stop_lines
from pipeline.pages.field.items import mark_of, photo_told, plan_items
from pipeline.pages.field.mow_ways import mow_tracks
from pipeline.pages.field.settings import GpsSettings, gps_settings
from pipeline.pages.field.told import Item, Told
from pipeline.pages.photo_words import NORTH_NOTE
from pipeline.pages.words import plain, rows
from pipeline.write.field.degrees import Point, lines_of, points_of, split
from pipeline.write.field.routes import Route, mow_routes

LOOK_HERE, GO_HERE, STOP_HERE = "Flag, Blue", "Flag, Green", "Flag, Red"
"""Names of symbols: one sign in three colors, which receivers and programs of many makes spell so.

Common practice, no source. Where a receiver has none of them it shows its own sign; name and type
tell what a place is.
"""


SYMBOLS = {
    "tie_ins": LOOK_HERE,
    "photo_points": LOOK_HERE,
    "gates": GO_HERE,
    "water_places": LOOK_HERE,
    "conflicts": STOP_HERE,
    "smoke_places": STOP_HERE,
    "break_slopes": STOP_HERE,
}
"""Symbol of each layer that is written as waypoints."""


OPEN_KINDS = ("gap", "hand-over")
"""Kinds of places along the breaks where nothing stops a fire yet."""


OUTLINED = (
    "burn_blocks",
    "firebreaks",
    "excluded_ground",
    "units",
    "seed_areas",
    "break_lines",
    "break_areas",
)
"""Layers that are written as tracks."""


@dataclass(frozen=True, slots=True)
class Place:
    """A waypoint: what is told of it, where it is and the symbol it has."""

    told: Told
    point: Point
    symbol: str


@dataclass(frozen=True, slots=True)
class Track:
    """A path: what is told of it and the points of each of its pieces."""

    told: Told
    pieces: list[list[Point]]


def write_gpx(run: Run, path: Path) -> None:
    """Write the whole plan."""
    settings = gps_settings(run.frames["settings"])
    items = plan_items(run.frames)
    routes = [] if settings.passes_as == "tracks" else mow_routes(run, settings)
    tracks = [*_outlines(run, items, settings), *_pass_tracks(run, settings)]
    text = gpx_text(
        run,
        "mow lines",
        about(run, settings),
        _merged(_places(run, items)),
        "".join(_route_text(n, route) for n, route in enumerate(routes, start=1)),
        "".join(_track_text(n, track) for n, track in enumerate(tracks, start=1)),
    )
    path.write_text(text, encoding="utf-8")


def write_photo_places(run: Run, path: Path) -> None:
    """Write ``photo_points.gpx``: a waypoint for each photo point, with where to look."""
    points, windows = run.frames["photo_points"], run.frames["photo_windows"]
    places = [
        Place(photo_told(row, windows), degrees[0], SYMBOLS["photo_points"])
        for row, degrees in zip(rows(points), points_of(points.geometry, run.crs), strict=True)
    ]
    text = gpx_text(run, "photo points", f"{NORTH_NOTE}. {CAUTION}", places)
    path.write_text(text, encoding="utf-8")


def about(run: Run, settings: GpsSettings) -> str:
    """What stands on top of a file: what to stop and ask for, how lines are drawn, the caution."""
    thinned = f"Lines are thinned by up to {half_up(settings.thin_ft, 2).normalize():f} ft"
    return ". ".join([*stop_lines(run.frames["conflicts"]), thinned, CAUTION])


def gpx_text(
    run: Run, title: str, about: str, places: Iterable[Place], routes: str = "", tracks: str = ""
) -> str:
    """A GPX file: what it is, what stands on top of it, waypoints, routes and tracks."""
    waypoints = "".join(
        f"<wpt {_at(place.point)}>{_told(place.told)}<sym>{place.symbol}</sym>"
        f"<type>{xml(place.told.kind)}</type></wpt>\n"
        for place in places
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="Swardline" xmlns="http://www.topografix.com/GPX/1/1">\n'
        f"<metadata><name>{xml(run.name)}: {title}</name>"
        f"<desc>{xml(about)}</desc><time>{run.stamp}</time></metadata>\n"
        f"{waypoints}{routes}{tracks}</gpx>\n"
    )


def xml(text: str) -> str:
    """Text as it may stand between two tags."""
    return escape(plain(text))


def _at(point: Point) -> str:
    return f'lat="{point[1]}" lon="{point[0]}"'


def _told(told: Told) -> str:
    remark = xml(told.remark)
    return f"<name>{xml(told.name)}</name><cmt>{remark}</cmt><desc>{remark}</desc>"


def _places(run: Run, items: list[Item]) -> Iterator[Place]:
    """A waypoint for each thing that is a place, or that has one to be marked at."""
    shown = [item for item in items if item.layer in SYMBOLS and item.layer != "photo_points"]
    marks = points_of([mark_of(item.shape) for item in shown], run.crs)
    for item, points in zip(shown, marks, strict=True):
        symbol = STOP_HERE if item.told.kind in OPEN_KINDS else SYMBOLS[item.layer]
        yield Place(item.told, points[0], symbol)


def _merged(places: Iterable[Place]) -> list[Place]:
    """Places with those of one kind that lie on the same point told as one."""
    by_point: dict[tuple[str, Point], list[Place]] = {}
    for place in places:
        by_point.setdefault((place.told.kind, place.point), []).append(place)
    merged = []
    for (kind, point), same in by_point.items():
        told = [place.told for place in same]
        names = ", ".join(one.name.removesuffix(f" {kind}") for one in told[:-1])
        name = f"{names}, {told[-1].name}" if names else told[-1].name
        remark = "; ".join(dict.fromkeys(one.remark for one in told))
        merged.append(Place(Told(name, kind, remark), point, same[0].symbol))
    return merged


def _outlines(run: Run, items: list[Item], settings: GpsSettings) -> Iterator[Track]:
    """Tracks of outlines and breaks."""
    shown = [item for item in items if item.layer in OUTLINED]
    lines = [lines_of(item.shape) for item in shown]
    yield from _tracks(run, [item.told for item in shown], lines, settings)


def _pass_tracks(run: Run, settings: GpsSettings) -> Iterator[Track]:
    """Tracks of the mower's passes, strip by strip."""
    if settings.passes_as == "routes":
        return
    strips = list(mow_tracks(run.frames, settings.shortest_track_ft))
    told = [Told(strip.name, "mower pass", strip.remark) for strip in strips]
    yield from _tracks(run, told, [strip.lines for strip in strips], settings)


def _tracks(
    run: Run,
    told: list[Told],
    lines: list[list[shapely.LineString]],
    settings: GpsSettings,
) -> Iterator[Track]:
    """Tracks of no more than the points set: a longer one stands as several, by its numbers."""
    drawn = iter(points_of([line for part in lines for line in part], run.crs, settings.thin_ft))
    most = settings.points_per_track
    for one, part in zip(told, lines, strict=True):
        packs: list[list[list[Point]]] = []
        for piece in (piece for _ in part for piece in split(next(drawn), most)):
            if packs and sum(map(len, packs[-1])) + len(piece) <= most:
                packs[-1].append(piece)
            else:
                packs.append([piece])
        for number, pieces in enumerate(packs, start=1):
            count = f" ({number} of {len(packs)})" if len(packs) > 1 else ""
            yield Track(Told(one.name + count, one.kind, one.remark), pieces)


def _track_text(number: int, track: Track) -> str:
    segments = "".join(
        "<trkseg>\n" + "".join(f"<trkpt {_at(point)}/>" for point in piece) + "</trkseg>"
        for piece in track.pieces
    )
    return (
        f"<trk>{_told(track.told)}<number>{number}</number>"
        f"<type>{xml(track.told.kind)}</type>{segments}</trk>\n"
    )


def _route_text(number: int, route: Route) -> str:
    points = "".join(
        f"<rtept {_at(stop.point)}><name>{xml(stop.name)}</name>"
        f"<cmt>{xml(stop.remark)}</cmt></rtept>\n"
        if stop.name
        else f"<rtept {_at(stop.point)}/>"
        for stop in route.stops
    )
    return (
        f"<rte><name>{xml(route.name)}</name><cmt>{xml(route.remark)}</cmt>"
        f"<desc>{xml(route.remark)}</desc><number>{number}</number>"
        f"<type>mower route</type>\n{points}</rte>\n"
    )
