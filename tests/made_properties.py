"""Made properties whose block perimeters and shared edges are known, and ways to redraw them."""

from functools import cache
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely import affinity

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.core.units import M_PER_FT
from pipeline.fire.breaks.break_kinds import credit_breaks
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.stretches import trace_stretches
from pipeline.ground.edge_graph import draw_edges
from pipeline.ground.geometry import working_crs
from pipeline.ground.settings import AcreageSettings

QUARTER_M = 402.336  # a quarter of a quarter section is a square of 1,320 ft
PROJECT = Path(__file__).parents[1]
CRS = working_crs(gpd.GeoSeries([shapely.box(-96.01, 39.99, -95.99, 40.01)], crs=4269))


def grid(columns=3, rows=3, wave_m=0.0):
    """Squares of 40 acres side by side, straight or with edges bent into sine waves."""

    def side(start, end):
        count = 60 if wave_m else 1
        share = np.linspace(0, 1, count + 1)[:-1, None]
        step = np.subtract(end, start)
        sign = 1 if step.sum() > 0 else -1
        normal = np.array([-step[1], step[0]]) * sign / QUARTER_M
        along = share if sign > 0 else 1 - share
        return start + share * step + wave_m * np.sin(2 * np.pi * along) * normal

    def cell(column, row):
        x, y = column * QUARTER_M, row * QUARTER_M
        corners = np.array(
            [(x, y), (x + QUARTER_M, y), (x + QUARTER_M, y + QUARTER_M), (x, y + QUARTER_M)]
        )
        points = [side(a, b) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
        return shapely.Polygon(np.round(np.vstack(points), 6))

    return np.array([cell(c, r) for r in range(rows) for c in range(columns)])


def mosaic(count=14, seed=1, size_m=3000.0):
    """Irregular fields that tile a square."""
    random = np.random.default_rng(seed)
    frame = shapely.box(0, 0, size_m, size_m)
    seeds = shapely.MultiPoint(random.uniform(0, size_m, (count, 2)))
    cells = shapely.get_parts(shapely.voronoi_polygons(seeds, extend_to=frame))
    return shapely.intersection(cells, frame)


def redrawn(shape, slop_m, mode, random, spacing_m=(20, 80)):
    """The shape drawn anew: shifted, too small, too large, or with vertices of its own."""
    if mode == "shift":
        angle = random.uniform(0, 2 * np.pi)
        return affinity.translate(shape, slop_m / 2 * np.cos(angle), slop_m / 2 * np.sin(angle))
    if mode in ("shrink", "grow"):
        return shape.buffer(slop_m / 2 * (-1 if mode == "shrink" else 1), join_style="mitre")
    drawn = shapely.segmentize(shapely.simplify(shape, 0.5), random.uniform(*spacing_m))
    points = shapely.get_coordinates(drawn)[:-1]
    angle = random.uniform(0, 2 * np.pi, len(points))
    far = slop_m / 2 * np.sqrt(random.uniform(0, 1, len(points)))
    moved = points + np.column_stack([far * np.cos(angle), far * np.sin(angle)])
    return shapely.make_valid(shapely.Polygon(moved), method="structure")


def units_frame(shapes, names=None):
    """Frame of the layer drawn_units."""
    names = names or [f"U{number:02d}" for number in range(len(shapes))]
    told = {"name": None, "cover": None, "owner": None, "stated_ac": np.nan}
    frame = pd.DataFrame({"unit_id": names, **told})
    return gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(list(shapes), crs=CRS), crs=CRS)


def breaks_frame(shapes=(), kinds=None, widths=None):
    """Frame of the layer breaks."""
    if not len(shapes):
        return empty(LAYERS["breaks"], CRS)
    frame = pd.DataFrame(
        {
            "source_id": 1,
            "source_row": np.arange(1, len(shapes) + 1),
            "kind": kinds or ["lane"] * len(shapes),
            "width_ft": widths or [np.nan] * len(shapes),
        }
    )
    return gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(list(shapes), crs=CRS), crs=CRS)


@cache
def break_kinds():
    """The table of kinds of breaks that comes with the program."""
    rows = pd.read_csv(PROJECT / "config" / "break_kinds.csv", dtype=object)
    rows = rows.replace("none", None)
    return conform(rows.where(rows.notna(), None), LAYERS["break_kinds"])


def exclusions_frame(shapes=(), applies_to="both"):
    """Frame of the layer exclusions."""
    if not len(shapes):
        return empty(LAYERS["exclusions"], CRS)
    frame = pd.DataFrame(
        {
            "exclusion_id": np.arange(1, len(shapes) + 1),
            "kind": "wetland",
            "applies_to": applies_to,
        }
    )
    return gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(list(shapes), crs=CRS), crs=CRS)


def burns_frame(block_of, wind_from_deg=225.0, fuel_height_ft=6.0):
    """Frame of the layer burns from a dictionary of unit and block."""
    burning = {unit: block for unit, block in block_of.items() if block}
    return pd.DataFrame(
        {
            "block": pd.Series(list(burning.values()), dtype=object),
            "unit_id": pd.Series(list(burning), dtype=object),
            "wind_from_deg": wind_from_deg,
            "fuel_height_ft": fuel_height_ft,
            "flame_length_ft": np.nan,
            "first_day": pd.Series(dtype="datetime64[s]").reindex(range(len(burning))),
            "last_day": pd.Series(dtype="datetime64[s]").reindex(range(len(burning))),
        }
    )


def stretches_of(units, burns, *, breaks=None, exclusions=None, **choices):
    """Layer stretches of a made property."""
    settings = FirebreakSettings(**choices)
    left_out = exclusions_frame() if exclusions is None else exclusions
    there = breaks_frame() if breaks is None else breaks
    edges = conform(draw_edges(units, left_out, AcreageSettings()), LAYERS["edges"], CRS)
    credited = conform(credit_breaks(there, break_kinds(), settings), LAYERS["break_credits"])
    found = trace_stretches(edges, there, credited, burns, settings)
    return conform(found, LAYERS["stretches"], CRS)


def block_ft(stretches, column="length_ft", where=None):
    """Length [ft] of each block's stretches, an edge between two blocks counted in both."""
    rows = stretches if where is None else stretches[where(stretches)]
    total = {}
    for row in rows.to_dict("records"):
        for block in (row["block"], row["neighbor_block"]):
            if block is not None:
                total[block] = total.get(block, 0.0) + row[column]
    return total


def feet(meters):
    """Feet of so many meters."""
    return meters / M_PER_FT
