"""Patches of weeds and brush: their ground in each unit, visit by visit and year by year."""

from collections.abc import Iterator
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.errors import Fault
from pipeline.core.layer import empty
from pipeline.core.names import listed, spelling
from pipeline.core.units import M_PER_FT
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, united
from pipeline.season.plants.layers import PATCH_GROUND, PATCH_YEARS
from pipeline.season.plants.patch_surroundings import native_places, natives_within, water_bodies
from pipeline.season.settings import CommunitySettings

SLIVER_AC = 0.01
SLIVER_SHARE = 0.01
"""A piece of a patch beyond the edge of a unit that is smaller than both, in acres and as a share
of the patch, comes from drawing."""


CIRCLE_SIDES = 64
"""Sides of a quarter of the circle around a point: 0.01 % less ground than the circle."""


def patch_faults(patches: gpd.GeoDataFrame) -> list[Fault]:
    """Patches that have no ground: lines, and points without a radius."""
    kinds = shapely.get_type_id(patches.geometry.to_numpy())
    is_area = np.isin(kinds, (3, 6))
    is_point = np.isin(kinds, (0, 4))
    radius = patches["radius_ft"].astype("float64")
    rows = np.arange(1, len(patches) + 1)
    faults = []
    for odd, found, expected, do in (
        (~is_area & ~is_point, "lines", "polygons, or points with a radius", "draw them around"),
        (
            is_point & ~(radius > 0).to_numpy(),
            "points without a radius",
            "radius_ft above 0 for each point",
            "write the radius of each patch, or radius_ft = … for the whole file",
        ),
    ):
        if odd.any():
            where = f"[sources.patches], patches {listed(rows[odd])}"
            faults.append(Fault(where, found, expected, do))
    return faults


def drawn_ground(patches: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """The patches as ground: points with the circle of their radius, kinds in one spelling."""
    shapes = patches.geometry.to_numpy()
    is_point = np.isin(shapely.get_type_id(shapes), (0, 4))
    radius_m = np.where(is_point, patches["radius_ft"].astype("float64") * M_PER_FT, 0.0)
    circles = shapely.buffer(shapes, radius_m, quad_segs=CIRCLE_SIDES)
    ground = np.where(is_point, circles, shapes)
    by_spelling: dict[str, str] = {}
    kinds = [by_spelling.setdefault(spelling(kind), kind) for kind in patches["kind"]]
    return patches.assign(kind=kinds).set_geometry(gpd.GeoSeries(ground, crs=patches.crs))


def unit_parts(units: gpd.GeoDataFrame, patches: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """The part of each patch in each unit that it reaches into, and whether it goes on outside."""
    drawn = drawn_ground(patches)
    shapes, grounds = units.geometry.to_numpy(), drawn.geometry.to_numpy()
    of_patch, of_unit = shapely.STRtree(shapes).query(grounds, predicate="intersects")
    parts = [
        polygonal(common(grounds[p], shapes[u])) for p, u in zip(of_patch, of_unit, strict=True)
    ]
    rows = (
        drawn.drop(columns="geometry")
        .iloc[of_patch]
        .assign(patch_row=of_patch, unit_id=units["unit_id"].to_numpy()[of_unit])
    )
    frame = gpd.GeoDataFrame(rows, geometry=parts, crs=units.crs)
    part_ac, whole_ac = area_ac(frame.geometry), area_ac(drawn.geometry)[of_patch]
    outside_ac = whole_ac - part_ac
    frame = frame.assign(over_the_edge=~_is_sliver(outside_ac, whole_ac))
    return frame[(part_ac > 0) & ~_is_sliver(part_ac, whole_ac)].reset_index(drop=True)


def _is_sliver(piece_ac: np.ndarray, whole_ac: np.ndarray) -> np.ndarray:
    """Whether pieces of patches are so small that they come from drawing."""
    return (piece_ac < SLIVER_AC) & (piece_ac < SLIVER_SHARE * whole_ac)


def measure_patches(
    units: gpd.GeoDataFrame,
    patches: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    exclusions: gpd.GeoDataFrame,
    break_kinds: pd.DataFrame,
    plants: pd.DataFrame,
    plant_species: pd.DataFrame,
    settings: CommunitySettings,
) -> gpd.GeoDataFrame:
    """Layer ``patch_ground``: the ground of each unit, kind and day, with what lies around it."""
    parts = unit_parts(units, patches)
    if parts.empty:
        return empty(PATCH_GROUND, units.crs)
    water = water_bodies(breaks, break_credits, exclusions, break_kinds)
    places = native_places(plants, plant_species, settings, units.crs)
    outlines = dict(zip(units["unit_id"], units.geometry, strict=True))
    rows = []
    for (unit_id, _), of_kind in parts.groupby(["unit_id", "kind"]):
        for visit, (day, there) in enumerate(of_kind.groupby("date"), 1):
            ground = polygonal(united(there.geometry.to_numpy()))
            rows.append(
                {
                    "unit_id": unit_id,
                    "kind": there["kind"].iloc[0],
                    "date": day,
                    "patches": there["patch_row"].nunique(),
                    "visit": visit,
                    "over_the_edge": bool(there["over_the_edge"].any()),
                    "edge_ft": ground.distance(outlines[unit_id].boundary) / M_PER_FT,
                    **_nearest_water(ground, water),
                    **natives_within(ground, places[places["unit_id"] == unit_id]),
                    "geometry": ground,
                }
            )
    frame = gpd.GeoDataFrame(rows, geometry="geometry", crs=units.crs)
    return with_share(frame.assign(area_ac=area_ac(frame.geometry)), units)


def newest_ground(patch_ground: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """The ground of the newest visit of each kind in each unit."""
    newest = patch_ground.groupby(["unit_id", "kind"])["date"].transform("max")
    return patch_ground[patch_ground["date"] == newest]


def with_share(frame: Any, units: gpd.GeoDataFrame) -> Any:
    """Rows of patches with the share [percent] of their unit."""
    whole_ac = frame["unit_id"].map(units.set_index("unit_id")["gross_ac"]).astype("float64")
    return frame.assign(share_pct=100 * frame["area_ac"] / whole_ac)


def _nearest_water(ground: shapely.Geometry, water: gpd.GeoDataFrame) -> dict[str, object]:
    """Distance [ft] to the nearest water and its kind; nothing where the map shows none."""
    if water.empty:
        return {"water_ft": np.nan, "water": None}
    apart_m = shapely.distance(water.geometry.to_numpy(), ground)
    nearest = int(np.argmin(apart_m))
    return {"water_ft": apart_m[nearest] / M_PER_FT, "water": water["kind"].iloc[nearest]}


def count_patch_years(units: gpd.GeoDataFrame, patch_ground: gpd.GeoDataFrame) -> pd.DataFrame:
    """Table ``patch_years``: all seen in a year, once, against the year before it."""
    rows = [
        row
        for (unit_id, kind), of_kind in patch_ground.groupby(["unit_id", "kind"])
        for row in _year_rows(of_kind, {"unit_id": unit_id, "kind": kind})
    ]
    return with_share(pd.DataFrame(rows), units) if rows else empty(PATCH_YEARS)


def _year_rows(of_kind: gpd.GeoDataFrame, told: dict[str, object]) -> Iterator[dict[str, object]]:
    """Each year of one kind in one unit, oldest first."""
    before: tuple[int, float] | None = None
    for year, seen in of_kind.groupby(of_kind["date"].dt.year):
        ground = polygonal(united(seen.geometry.to_numpy()))
        ac = float(area_ac(gpd.GeoSeries([ground], crs=of_kind.crs))[0])
        change = np.nan if before is None else ac - before[1]
        yield told | {
            "year": year,
            "visits": seen["date"].nunique(),
            "area_ac": ac,
            "before_year": None if before is None else before[0],
            "change_ac": change,
            "growth_pct": np.nan if before is None else 100 * change / before[1],
        }
        before = (year, ac)
