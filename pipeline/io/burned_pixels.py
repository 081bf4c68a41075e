"""Step that reads near-infrared before and after a burn: how much of each unit burned."""

from contextlib import ExitStack
from dataclasses import astuple
from itertools import pairwise

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.compute.burned_share import (
    LEAST_UNBURNED_PIXELS,
    burned_fractions,
    burned_share,
    char_reflectance,
    unburned_change,
)
from pipeline.compute.raster_grid import pixel_m
from pipeline.compute.zone_ground import WHOLE, ZoneGround, burnable_ground, zone_ground
from pipeline.compute.zone_sums import covered_shares
from pipeline.io.pictures import Picture, open_pictures
from pipeline.settings.greenness import GreennessSettings

COLUMNS = [
    "comparison", "unit_id", "picture_before", "picture_after", "burned_pct", "mostly_pct",
    "low_pct", "high_pct", "burned_ac", "valid_pct", "verdict", "caution",
]  # fmt: skip
NUMBERS = ["burned_pct", "mostly_pct", "low_pct", "high_pct", "valid_pct"]


def measure_burned_shares(
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    comparisons: pd.DataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Table ``burned_shares``: burned share of each burned unit, or why it cannot be told."""
    stacks = scenes[scenes["kind"] == "reflectance"]
    frames = []
    for _, rows in comparisons.groupby("comparison"):
        pair = pictures_around(rows.iloc[0], stacks["date"].drop_duplicates(), settings)
        zones = units.merge(rows[["unit_id", "comparison", "role"]], on="unit_id")
        if pair is None:
            told = _untold(zones, settings)
        else:
            tiles = [stacks[stacks["date"] == date] for date in pair]
            told = _told(zones, burnable_ground(zones, exclusions), tiles, mask_presets, settings)
            told = told.assign(picture_before=pair[0], picture_after=pair[1])
        told = told[zones["role"] == "burned"]
        frames.append(told.assign(burned_ac=told["burned_pct"] / 100.0 * told["burnable_ac"]))
    return (
        pd.concat(frames, ignore_index=True)[COLUMNS] if frames else pd.DataFrame(columns=COLUMNS)
    )


def pictures_around(
    comparison: pd.Series, dates: pd.Series, settings: GreennessSettings
) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    """The two neighboring dates of reflectance that lie closest together around the burn.

    The burn lies between the dates of the comparison; None where no two are close enough.
    """
    inside = dates[(dates >= comparison["before"]) & (dates <= comparison["after"])]
    ordered = sorted(inside)
    longest = pd.Timedelta(days=settings.picture_before_days + settings.picture_after_days)
    pairs = [(b - a, a, b) for a, b in pairwise(ordered) if b - a <= longest]
    return min(pairs)[1:] if pairs else None


def _untold(zones: gpd.GeoDataFrame, settings: GreennessSettings) -> pd.DataFrame:
    """Rows without a figure."""
    words = (
        "cannot tell: needs a reflectance picture with near-infrared from at most "
        f"{settings.picture_before_days} days before the burn and one from at most "
        f"{settings.picture_after_days} days after it; NDVI alone does not show what burned"
    )
    return zones.assign(**dict.fromkeys(NUMBERS, np.nan), verdict=words, caution=None,
                        picture_before=pd.NaT, picture_after=pd.NaT)  # fmt: skip


def _told(
    zones: gpd.GeoDataFrame,
    grounds: np.ndarray,
    tiles: list[pd.DataFrame],
    presets: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Rows with a figure, from two pictures."""
    with ExitStack() as stack:
        old, new = (stack.enter_context(open_pictures(own, presets)) for own in tiles)
        if len(old) > 1 or len(new) > 1 or old[0].grid.offset_of(new[0].grid) is None:
            words = "cannot tell: the pictures before and after have different pixels"
            return _untold(zones, settings).assign(verdict=words)
        grid = old[0].grid.union(new[0].grid)
        crs = CRS(zones.crs)
        for picture in (old[0], new[0]):
            picture.settle(grid)
        buffer_m = settings.buffer_pixels * pixel_m(grid, grounds, crs)
        ground = zone_ground(grounds, crs, grid, buffer_m)
        pixels = [_pixels(zone, old[0], new[0], grid.shape) for zone in ground.zones]
    return _rows(zones, ground, pixels, settings)


def _pixels(
    zone: shapely.Geometry, old: Picture, new: Picture, shape: tuple[int, int]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Shares and near-infrared before and after of the usable pixels of a zone."""
    if zone.is_empty:
        return np.empty(0), np.empty(0), np.empty(0)
    left, top = np.floor(zone.bounds[:2]).clip(0).astype(int).tolist()
    right, bottom = np.ceil(zone.bounds[2:]).astype(int).tolist()
    right, bottom = min(right, shape[1]), min(bottom, shape[0])
    if right <= left or bottom <= top:
        return np.empty(0), np.empty(0), np.empty(0)
    inside = shapely.transform(zone, lambda points: points - [left, top])
    shares = covered_shares(inside, shape=(bottom - top, right - left))
    before, after = (p.read("nir", top, bottom, [(left, right)]) for p in (old, new))
    chosen = (shares > 0) & before.usable & after.usable
    return shares[chosen], before.value[chosen], after.value[chosen]


def _rows(
    zones: gpd.GeoDataFrame,
    ground: ZoneGround,
    pixels: list[tuple[np.ndarray, np.ndarray, np.ndarray]],
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Burned share of each zone against the pixels wholly inside the reference units."""
    reference = [p for p, role in zip(pixels, zones["role"], strict=True) if role == "reference"]
    whole = [[part[shares >= WHOLE] for part in (before, after)]
             for shares, before, after in reference]  # fmt: skip
    told = _untold(zones, settings)
    if sum(len(before) for before, _ in whole) < LEAST_UNBURNED_PIXELS:
        return told.assign(verdict="cannot tell: too few pixels of unburned reference units")
    unburned = unburned_change(*(np.concatenate(parts) for parts in zip(*whole, strict=True)))
    for position, (shares, before, after) in enumerate(pixels):
        label = told.index[position]
        if ground.full_pixels[position] < settings.least_full_pixels or not len(shares):
            told.loc[label, "verdict"] = "cannot tell: too small for these pixels, or no data"
            continue
        fractions = burned_fractions(before, after, unburned, char_reflectance(after))
        share = burned_share(fractions, shares, float(ground.whole_pixels[position]))
        told.loc[label, ["burned_pct", "mostly_pct", "low_pct", "high_pct", "valid_pct"]] = astuple(
            share
        )
        told.loc[label, "verdict"] = f"about {share.burned_pct:.0f} percent burned"
        if share.high_pct - share.low_pct >= 1.0:
            told.loc[label, "caution"] = (
                f"{share.low_pct:.0f} to {share.high_pct:.0f} percent, if pixels without data "
                "count as unburned or as burned"
            )
    return told
