"""The invented ground: units, exclusions, roads, creek, neighbor's field, houses.

Everything is drawn in a local plane, meters east and north of 40° N, 96° W, so that x = 0 is the
edge between two UTM zones. The true layout is a set of lines; the units are its faces. What goes
into the map files is what a person would have digitised from it: each unit traced by itself, a
few meters off, one with a hole, one with a ring that crosses itself.
"""

import math
import random
from dataclasses import dataclass

import geopandas as gpd
import shapely
import shapely.ops
from shapely import LineString, Point, Polygon
from shapely.affinity import translate

PLANE = "+proj=laea +lat_0=40 +lon_0=-96 +datum=NAD83 +units=m +type=crs"
SEED = 41


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: a point inside it, what it is, how far off it was traced [m]."""

    unit_id: str
    name: str
    cover: str
    inside: tuple[float, float]
    slop_m: float


UNITS = (
    Unit("M1", "Hay Meadow", "native hay meadow", (-900, 500), 1.0),
    Unit("F1", "Terrace Field", "replanted field", (-400, 500), 1.5),
    Unit("P1", "Plum Pasture", "native pasture", (-1000, -100), 2.5),
    Unit("D1", "Sedge Draw", "wet draw", (-690, -100), 2.5),
    Unit("P2", "Lantern Pasture", "native pasture", (-350, -100), 2.0),
    Unit("F2", "Oats Field", "replanted field", (-850, -600), 1.0),
    Unit("P3", "Gate Pasture", "native pasture", (-300, -600), 2.0),
    Unit("P4", "Lark Hill", "native pasture", (100, 600), 2.0),
    Unit("P5", "Spindle Ridge", "native pasture", (650, 600), 2.5),
    Unit("F3", "Windmill Field", "crop field", (50, 50), 0.5),
    Unit("P6", "Shale Pasture", "native pasture", (500, 200), 2.0),
    Unit("C1", "Creek Bottom", "creek bottom", (450, -300), 3.0),
    Unit("P7", "Ford Pasture", "native pasture", (800, -250), 2.0),
    Unit("P8", "South Eighty", "native pasture", (700, -650), 2.0),
)

OUTLINE = (
    (-1180, -804),
    (-140, -806),
    (1040, -800),
    (1046, -240),
    (1049, 300),
    (1052, 540),
    (690, 802),
    (-146, 800),
    (-1176, 797),
    (-1184, 150),
    (-1182, -352),
)
LANE = ((-140, -806), (-143, -352), (-151, -120), (-150, 152), (-147, 338), (-146, 800))
CREEK = (
    (1049, 300),
    (985, 262),
    (948, 190),
    (962, 120),
    (905, 60),
    (838, 48),
    (790, -20),
    (798, -95),
    (742, -160),
    (668, -172),
    (610, -235),
    (618, -318),
    (560, -390),
    (486, -402),
    (430, -470),
    (436, -552),
    (388, -628),
    (322, -650),
    (270, -722),
    (262, -802),
)
TERRACE = (
    (1052, 540),
    (930, 470),
    (840, 360),
    (770, 190),
    (650, 110),
    (560, -60),
    (440, -130),
    (370, -260),
    (240, -340),
    (190, -500),
    (110, -600),
    (80, -803),
)
LINES = (
    LANE,
    CREEK,
    TERRACE,
    ((-1184, 150), (-620, 153), (-150, 152)),  # fence north of the middle row
    ((-1182, -352), (-500, -349), (-143, -352)),  # fence south of it
    ((-622, 799), (-620, 153)),  # meadow against terrace field
    ((-790, 152), (-770, 60), (-735, -20), (-752, -120), (-715, -230), (-700, -350)),  # draw, west
    ((-640, 153), (-630, 70), (-592, -10), (-610, -130), (-570, -220), (-560, -349)),  # draw, east
    ((-500, -349), (-496, -805)),  # oats field against gate pasture
    ((-147, 338), (380, 336), (835, 345)),  # fence below the north pastures
    ((395, 801), (380, 336)),  # lark hill against spindle ridge
    ((185, 338), (188, 60), (212, -428)),  # windmill field against shale pasture
    ((610, -235), (740, -330), (860, -380), (1044, -395)),  # ford pasture against south eighty
)
POND = Point(-1010, -180).buffer(38, quad_segs=6)  # left out of P1 as drawn: the unit with a hole
LANE_GAP = (1130.0, 1150.0)  # m along the lane: 20 m washed out and grown over


def plane(shapes: list[shapely.Geometry]) -> gpd.GeoSeries:
    """Shapes of the local plane as a series that knows its CRS."""
    return gpd.GeoSeries(shapes, crs=PLANE)


def stretched(line: tuple[tuple[float, float], ...], reach_m: float = 8.0) -> LineString:
    """The line with both ends drawn out a little, so that it surely cuts what it ends on."""
    points = [tuple(map(float, p)) for p in line]

    def beyond(end: tuple[float, float], inner: tuple[float, float]) -> tuple[float, float]:
        length = math.dist(end, inner)
        return tuple(e + (e - i) / length * reach_m for e, i in zip(end, inner, strict=True))

    return LineString([beyond(points[0], points[1]), *points, beyond(points[-1], points[-2])])


def true_units() -> dict[str, Polygon]:
    """The faces of the true layout by unit, without the pond."""
    outline = Polygon(OUTLINE)
    lines = shapely.union_all([outline.exterior, *(stretched(line) for line in LINES)])
    faces = list(shapely.get_parts(shapely.polygonize([lines])))
    within = [face for face in faces if outline.contains(face.representative_point())]
    units = {}
    for unit in UNITS:
        (face,) = [face for face in within if face.contains(Point(unit.inside))]
        units[unit.unit_id] = Polygon(face.exterior)
    if not math.isclose(sum(u.area for u in units.values()), outline.area, rel_tol=1e-3):
        raise ValueError("the units do not make up the property")
    units["P1"] = units["P1"].difference(POND)
    return units


def traced(ring: shapely.LinearRing, slop_m: float, chance: random.Random) -> list:
    """The ring as somebody would click along it: own vertices, each up to ``slop_m`` off."""
    smooth = ring.simplify(0.5)
    points = []
    for a, b in zip(smooth.coords[:-1], smooth.coords[1:], strict=True):
        points.append(a)
        pieces = int(math.dist(a, b) // chance.uniform(110, 170))
        for k in range(1, pieces + 1):
            share = (k + chance.uniform(-0.2, 0.2)) / (pieces + 1)
            points.append((a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share))
    moved = []
    for x, y in points:
        angle, off = chance.uniform(0, 2 * math.pi), slop_m * math.sqrt(chance.random())
        moved.append((round(x + off * math.cos(angle), 2), round(y + off * math.sin(angle), 2)))
    return moved


def with_bow_tie(points: list) -> list:
    """The ring with its northeast corner clicked in the wrong order: a small bow-tie."""
    corner = max(range(len(points)), key=lambda i: points[i][0] + points[i][1])
    x, y = points[corner]
    return [
        *points[:corner],
        (x - 1, y - 30),
        (x - 14, y - 16),
        (x, y - 14),
        (x - 13, y - 31),
        (x, y),
        *points[corner + 1 :],
    ]


def drawn_units() -> dict[str, Polygon]:
    """The units as digitised, in the plane; F2's ring crosses itself, P1 has a hole."""
    chance = random.Random(SEED)
    drawn = {}
    for unit in UNITS:
        face = shapely.orient_polygons(true_units()[unit.unit_id])
        shell = traced(face.exterior, unit.slop_m, chance)
        if unit.unit_id == "F2":
            shell = with_bow_tie(shell)
        holes = [traced(hole, 1.0, chance) for hole in face.interiors]
        drawn[unit.unit_id] = Polygon(shell, holes)
    drawn["P6"] = translate(drawn["P6"], 2.0, -2.0)  # a whole unit shifted: overlap and gap
    return drawn


OWNER_BY_UNIT = {"P7": "Neighbor to the north", "P8": "Neighbor to the north"}


def units_frame() -> gpd.GeoDataFrame:
    """The unit file: UNIT, NAME, COVER, OWNER, ACRES (what an old map said)."""
    drawn = drawn_units()
    acres = {uid: round(shape.area / 4046.8564224, 1) for uid, shape in drawn.items()}
    acres["P8"] -= 6  # the old map is out of date here
    return gpd.GeoDataFrame(
        {
            "UNIT": [u.unit_id for u in UNITS],
            "NAME": [u.name for u in UNITS],
            "COVER": [u.cover for u in UNITS],
            "OWNER": [OWNER_BY_UNIT.get(u.unit_id, "Larkspindle Land") for u in UNITS],
            "ACRES": [acres[u.unit_id] for u in UNITS],
        },
        geometry=list(drawn.values()),
        crs=PLANE,
    )


def blob(x: float, y: float, long_m: float, wide_m: float, seed: int) -> Polygon:
    """A rounded patch with an uneven rim."""
    chance = random.Random(seed)
    corners = []
    for k in range(18):
        angle, r = k * math.pi / 9, chance.uniform(0.85, 1.15)
        corners.append(
            (round(x + r * long_m * math.cos(angle), 1), round(y + r * wide_m * math.sin(angle), 1))
        )
    return Polygon(corners)


def exclusions_frame() -> gpd.GeoDataFrame:
    """Ground left out: KIND, and what it is left out of in FOR."""
    yard = Polygon([(-120, 210), (-20, 214), (-24, 300), (-124, 296)])
    rows = (
        ("wetland", "both", blob(-672, -110, 34, 62, 1)),
        ("building site", "both", yard),
        ("remnant patch", "seed", blob(120, -210, 48, 30, 2)),
        ("insect refuge", "burn", blob(-1060, 640, 60, 42, 3)),
        ("shrub thicket", "burn", blob(-500, 260, 40, 26, 4)),
    )
    return gpd.GeoDataFrame(
        {"KIND": [r[0] for r in rows], "FOR": [r[1] for r in rows]},
        geometry=[r[2] for r in rows],
        crs=PLANE,
    )


def roads_frame() -> gpd.GeoDataFrame:
    """Roads and tracks, lines with their width; the lane has a 20 m hole."""
    lane = LineString(LANE)
    first, last = LANE_GAP
    south = shapely.ops.substring(lane, 0, first)
    north = shapely.ops.substring(lane, last, lane.length)
    county = LineString([(-1400, -812), (-600, -813), (-140, -814), (400, -812), (1250, -807)])
    track = LineString([(-1190, 154), (-900, 157), (-625, 158)])  # mowed track south of the meadow
    rows = (
        ("county road", 24.0, county),
        ("lane", 12.0, south),
        ("lane", 12.0, north),
        ("two-track", 7.0, track),
    )
    return gpd.GeoDataFrame(
        {"KIND": [r[0] for r in rows], "WIDTH_FT": [r[1] for r in rows]},
        geometry=[r[2].segmentize(120) for r in rows],
        crs=PLANE,
    )


def creek_frame() -> gpd.GeoDataFrame:
    """The creek as a line, clicked a meter or two off the bank line."""
    chance = random.Random(SEED + 1)
    points = [(x + chance.uniform(-1.5, 1.5), y + chance.uniform(-1.5, 1.5)) for x, y in CREEK]
    points = [(1140.0, 340.0), *points, (258.0, -880.0)]
    return gpd.GeoDataFrame({"Name": ["low-water line"]}, geometry=[LineString(points)], crs=PLANE)


def neighbor_frame() -> gpd.GeoDataFrame:
    """The neighbor's tilled field along the north side of the meadow."""
    field = Polygon([(-1320, 802), (-420, 805), (-415, 1120), (-1325, 1115)])
    return gpd.GeoDataFrame({"kind": ["tilled field"]}, geometry=[field], crs=PLANE)


def smoke_points_frame() -> gpd.GeoDataFrame:
    """What smoke must not drift onto: houses and a road crossing, all made up."""
    rows = (
        ("house", Point(-70, 255)),
        ("house", Point(1480, 620)),
        ("house", Point(-1650, -420)),
        ("road crossing", Point(1250, -807)),
        ("stock barn", Point(-300, 1620)),
    )
    return gpd.GeoDataFrame(
        {"kind": [r[0] for r in rows]},
        geometry=[r[1].buffer(25, cap_style="square") for r in rows],  # yards, not dots
        crs=PLANE,
    )


def gates_frame() -> gpd.GeoDataFrame:
    """Ways onto the ground from the roads around it."""
    rows = (("Meadow gate", Point(-1300, 0)), ("Windmill gate", Point(120, -800)))
    return gpd.GeoDataFrame(
        {"name": [r[0] for r in rows]}, geometry=[r[1] for r in rows], crs=PLANE
    )


def water_places_frame() -> gpd.GeoDataFrame:
    """Where a crew may fill: two stock tanks and a hydrant on the road, all made up."""
    rows = (
        ("stock tank", "Meadow tank", Point(-1010, 60)),
        ("stock tank", "Windmill tank", Point(60, -300)),
        ("hydrant", None, Point(-1330, -470)),
    )
    return gpd.GeoDataFrame(
        {"kind": [r[0] for r in rows], "name": [r[1] for r in rows]},
        geometry=[r[2] for r in rows],
        crs=PLANE,
    )


def photo_points_frame() -> gpd.GeoDataFrame:
    """Where somebody stands every year to take a photo; one is on the fence of two pastures."""
    rows = (
        ("Meadow fence", "M1", 80, 5.0, "west fence, third post from the corner", (-1160, 470)),
        ("Lantern corner", None, 20, 5.0, "steel post on the fence", (-420, -350)),
        ("Lark Hill", "P4", 245, 5.0, "limestone post on the top", (140, 640)),
    )
    names = ("point", "unit_id", "bearing_deg", "height_ft", "note")
    return gpd.GeoDataFrame(
        {name: [row[n] for row in rows] for n, name in enumerate(names)},
        geometry=[Point(row[5]) for row in rows],
        crs=PLANE,
    )


def patches_frame() -> gpd.GeoDataFrame:
    """Patches of weeds and brush over three years: walked around, or a point with a radius."""
    rows = (
        ("thistle", "2024-06-25", None, blob(735, -205, 26, 16, 5)),
        ("thistle", "2025-06-20", None, blob(735, -205, 31, 19, 5)),
        ("thistle", "2026-06-24", None, blob(735, -205, 38, 24, 5)),
        ("thistle", "2026-06-24", None, blob(768, -190, 22, 16, 6)),
        ("thistle", "2026-08-11", None, blob(-350, -150, 22, 15, 7)),
        ("cedar", "2024-10-08", 35.0, Point(700, -600)),
        ("cedar", "2026-10-07", 60.0, Point(700, -600)),
        ("cedar", "2026-10-07", 40.0, Point(722, -588)),
        ("cedar", "2026-10-07", 50.0, Point(1036, -560)),
        ("spurge", "2025-06-20", 45.0, Point(250, 600)),
    )
    kinds, days, radii, shapes = zip(*rows, strict=True)
    columns = {"kind": kinds, "date": days, "radius_ft": radii}
    return gpd.GeoDataFrame(columns, geometry=list(shapes), crs=PLANE)


def burned_patch() -> Polygon:
    """The part of Gate Pasture that burned in 2023: a partial burn."""
    return Polygon([(-497, -600), (-320, -590), (-300, -349), (-500, -349)])


def burned_areas_frame() -> gpd.GeoDataFrame:
    """Perimeters of the two burns that did not take a whole unit."""
    west_of_p4 = true_units()["P4"].intersection(shapely.box(-400, 0, 120, 1000))
    return gpd.GeoDataFrame(
        {"unit_id": ["P3", "P4"], "date": ["2023-04-09", "2026-04-14"]},
        geometry=[burned_patch(), west_of_p4],
        crs=PLANE,
    )
