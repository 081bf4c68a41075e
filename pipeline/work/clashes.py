"""A clash: one thing known that stands against planned work, before the rules judge it."""

from collections.abc import Iterable
from typing import TypedDict

import geopandas as gpd
import pandas as pd
from shapely.geometry.base import BaseGeometry

from pipeline.core.layer import Layer, empty


class Clash(TypedDict, total=False):
    """One clash. ``code`` and ``work_id`` are always there; without a shape the ground is meant."""

    code: str
    work_id: str
    unit_id: str | None
    figure: float
    bound: float
    day: pd.Timestamp
    bound_day: pd.Timestamp
    bearing_deg: float
    names: str | None
    geometry: BaseGeometry | None


def clashes_frame(clashes: Iterable[Clash], layer: Layer, crs: object) -> gpd.GeoDataFrame:
    """Frame of a layer of clashes, those of one code, work and unit numbered in their order."""
    found = list(clashes)
    if not found:
        return empty(layer, crs)
    rows = pd.DataFrame(found, columns=[*layer.column_names, "geometry"])
    same = rows.groupby(["code", "work_id", "unit_id"], dropna=False, sort=False)
    rows["number"] = same.cumcount() + 1
    return gpd.GeoDataFrame(rows, geometry=list(rows["geometry"]), crs=crs)


def bounds_of(conflict_rules: pd.DataFrame) -> dict[str, float]:
    """Figure that each code is held against, by the conflict rules; NaN where they tell none."""
    return dict(zip(conflict_rules["code"], conflict_rules["bound"].astype(float), strict=True))
