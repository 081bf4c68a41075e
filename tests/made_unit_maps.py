"""Made maps of units whose ground and edges are known by construction, in any reference system."""

import geopandas as gpd
import numpy as np
import shapely
from shapely import affinity

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.fire.block_model import BlockModel
from pipeline.ground.edge_graph import draw_edges
from pipeline.ground.geometry import working_crs
from pipeline.ground.settings import AcreageSettings
from tests import made_properties
from tests.made_properties import grid, mosaic

# Where the maps lie: the middle of an invented property.
PLACE_DEG = (-97.9, 41.9)

# Reference systems that owners' maps come in: geographic, zoned, state, national, web.
SYSTEMS = (4326, 4269, 26914, 32614, 32615, 26852, 2703, 5070, 3857, 6350)


def hexes(columns=4, rows=4, side_m=200.0):
    """Six-sided fields that tile the plane, row by row."""
    high = side_m * np.sqrt(3)
    angle = np.radians(60 * np.arange(6))
    hexagon = shapely.Polygon(side_m * np.column_stack([np.cos(angle), np.sin(angle)]))
    return np.array([
        affinity.translate(hexagon, 1.5 * side_m * c, high * (r + c % 2 / 2))
        for r in range(rows) for c in range(columns)
    ])  # fmt: skip


def donuts(columns=2, rows=2):
    """Squares of 40 acres, each with a hole of a quarter of its side, and a field in the hole."""
    fields = []
    for square in grid(columns, rows):
        held = affinity.scale(square, 0.25, 0.25)
        fields += [square - held, held]
    return np.array(fields)


def polyominoes(seed, columns=5, rows=5, count=6):
    """Fields made of squares of a grid at random: they touch in corners, and come in parts."""
    random = np.random.default_rng(seed)
    squares = grid(columns, rows)
    of_field = random.integers(0, count, len(squares))
    fields = [shapely.union_all(squares[of_field == n]) for n in range(count) if n in of_field]
    return np.array(fields)


KINDS = {
    "grid": grid(4, 4),
    "turned grid": np.array([affinity.rotate(c, 17.3, origin=(0, 0)) for c in grid(4, 4)]),
    "hexes": hexes(),
    "polyominoes": polyominoes(3),
    "waves": grid(4, 4, wave_m=25.0),
    "mosaic": mosaic(16, 4),
    "donuts": donuts(),
}


def redrawn(shape, slop_m, random, spacing_m=(20, 80)):
    """The shape drawn anew by hand: every ring with vertices of its own that miss by the slop."""
    parts = []
    for part in shapely.get_parts(shape):
        rings = [
            made_properties.redrawn(shapely.Polygon(ring), slop_m, "jitter", random, spacing_m)
            for ring in shapely.get_rings(part)
        ]
        drawn = rings[0]
        for hole in rings[1:]:
            drawn = shapely.difference(drawn, hole)
        parts.append(drawn)
    return shapely.union_all(parts)


def true_blocks(shapes, blocks):
    """Perimeter [m] and ground [m²] of each block, by plain union of undisturbed units."""
    found = {}
    for block in sorted(set(blocks) - {None}):
        mine = [shape for shape, name in zip(shapes, blocks, strict=True) if name == block]
        whole = shapely.union_all(mine, grid_size=0.001)
        found[block] = (whole.length, whole.area)
    return found


def walked_blocks(shapes, blocks, slop_m=5.0):
    """The same from the edge graph of the units as drawn, and the model of the blocks."""
    units = made_properties.units_frame(shapes)
    slop_ft = min(65.0, made_properties.feet(slop_m))
    settings = AcreageSettings(slop_ft=slop_ft, lane_ft=0.0)
    edges = draw_edges(units, made_properties.exclusions_frame(), settings)
    edges = conform(edges, LAYERS["edges"], made_properties.CRS)
    burns = made_properties.burns_frame(dict(zip(units["unit_id"], blocks, strict=True)))
    model = BlockModel.of(edges, burns)
    around_m = dict.fromkeys(range(len(model.names)), 0.0)
    for ring in model.rings:
        around_m[ring.label] += model.plane.length_m[ring.half_edges].sum()
    found = {
        name: (around_m[number], model.ground(name).area) for number, name in enumerate(model.names)
    }
    return found, model


def in_system(shapes, system):
    """The shapes [m] drawn on the ground, kept in a system, and brought to the working one."""
    local = f"+proj=aeqd +lat_0={PLACE_DEG[1]} +lon_0={PLACE_DEG[0]} +units=m +datum=NAD83"
    kept = gpd.GeoSeries(list(shapes), crs=local).to_crs(system)
    return kept.to_crs(working_crs(kept)).to_numpy()


def block_side_counts(columns, rows, chosen):
    """Sides of the chosen squares of a grid that have no chosen square on the other hand."""
    count = 0
    for number in chosen:
        column, row = number % columns, number // columns
        for c, r in ((column - 1, row), (column + 1, row), (column, row - 1), (column, row + 1)):
            inside = 0 <= c < columns and 0 <= r < rows
            count += not (inside and r * columns + c in chosen)
    return count
