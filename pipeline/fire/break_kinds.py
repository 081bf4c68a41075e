"""What a break is, by the words its user wrote, and whether it may serve as a firebreak."""

from typing import Literal

import geopandas as gpd
import pandas as pd

BreakClass = Literal["fence", "private_road", "public_road", "other"]


FENCE_WORD = "fence"


PRIVATE_WORDS = ("private", "lane", "trail", "track", "path")


ROAD_WORDS = ("road", "highway", "street")


REFUSED: dict[str, tuple[BreakClass, ...]] = {
    "all": ("fence",),
    "private": ("fence", "public_road"),
    "none": ("fence", "public_road", "private_road"),
}
"""Classes that may not serve, by the setting roads_as_breaks."""


def break_class(kind: str) -> BreakClass:
    """Class of a break by the words in its kind, such as "gravel road" or "Barbed fence"."""
    words = kind.lower()
    if FENCE_WORD in words:
        return "fence"
    if any(word in words for word in PRIVATE_WORDS):
        return "private_road"
    return "public_road" if any(word in words for word in ROAD_WORDS) else "other"


def may_serve(breaks: gpd.GeoDataFrame, roads_as_breaks: str) -> pd.Series:
    """Whether each break may serve as a firebreak: a fence never, a road as the setting says."""
    classes = breaks["kind"].map(break_class).astype(object)
    return ~classes.isin(REFUSED[roads_as_breaks])
