"""Routes of the mower: the runs of each block in points, split where a receiver takes no more."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from pipeline.core.run import Run
from pipeline.pages.field.mow_ways import Leg, mow_runs
from pipeline.pages.field.settings import GpsSettings, mower_words
from pipeline.write.field.degrees import Point, points_of

FOLLOW = "in the order and direction driven; follow it straight, not along roads"


@dataclass(frozen=True, slots=True)
class Stop:
    """A point of a route: where it is, the pass it leads through, and a name where one begins."""

    point: Point
    order: int
    name: str = ""
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Route:
    """A route: its name, a remark and its points in the order in which they are driven."""

    name: str
    remark: str
    stops: list[Stop]


def mow_routes(run: Run, settings: GpsSettings) -> list[Route]:
    """Routes of all blocks, of no more points than set, each going on where the last one ended."""
    mower, runs = mower_words(run.frames["settings"]), list(mow_runs(run.frames))
    lines = [
        line
        for each in runs
        for leg in each.legs
        for line in (leg.way, leg.line)
        if line is not None
    ]
    drawn = iter(points_of(lines, run.crs, settings.thin_ft))
    routes = []
    for each in runs:
        legs = [_stops(leg, drawn) for leg in each.legs]
        for stops in in_parts(legs, settings.points_per_route):
            orders = [stop.order for stop in stops[1:]] or [stops[0].order]
            first, last = min(orders), max(orders)
            passes = f"{first}" if first == last else f"{first}-{last}"
            name = f"{each.block} mow {passes} of {each.passes}, {mower}"
            routes.append(Route(name, f"Block {each.block}: passes {passes}, {FOLLOW}", stops))
    return _told_apart(routes)


def _stops(leg: Leg, drawn: Iterator[list[Point]]) -> list[Stop]:
    """Points of a pass, named where it begins, after those of the way that leads to it."""
    way = [] if leg.way is None else next(drawn)
    first, *rest = next(drawn)
    if way and way[-1] == first:
        way.pop()
    stops = [Stop(point, leg.order) for point in way]
    start = Stop(first, leg.order, leg.start, leg.remark)
    return [*stops, start, *(Stop(point, leg.order) for point in rest)]


def in_parts(legs: list[list[Stop]], most: int) -> list[list[Stop]]:
    """Points of legs that follow one another, in parts of at most ``most``.

    A part ends with a leg where that can be, and the next one begins at the same point. Where a leg
    begins where the one before ended the point stands once.
    """
    parts: list[list[Stop]] = []
    current: list[Stop] = []
    for leg in legs:
        if len(current) > 1 and len(current) + len(leg) > most:
            parts.append(current)
            current = [replace(current[-1], name="", remark="")]
        if current and current[-1].point == leg[0].point:
            current.pop()
        current.extend(leg)
        while len(current) > most:
            parts.append(current[:most])
            current = current[most - 1 :]
    return [*parts, current]


def _told_apart(routes: list[Route]) -> list[Route]:
    """Routes with parts of one long pass numbered."""
    count, seen = Counter(route.name for route in routes), Counter[str]()
    named = []
    for route in routes:
        seen[route.name] += 1
        part = f", part {seen[route.name]}" if count[route.name] > 1 else ""
        named.append(replace(route, name=route.name + part))
    return named
