"""Step that reads reflectance before and after a burn: how much of each unit burned."""

from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import astuple

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.compute.burned_share import (
    LEAST_UNBURNED_PIXELS,
    burned_fractions,
    burned_share,
    char_value,
    pictures_around,
    unburned_change,
)
from pipeline.compute.raster_grid import pixel_m
from pipeline.compute.treatment_log import burns_of
from pipeline.compute.zone_ground import WHOLE, ZoneGround, burnable_ground, zone_ground
from pipeline.compute.zone_sums import covered_shares
from pipeline.io.pictures import Picture, open_pictures
from pipeline.settings.greenness import GreennessSettings

COLUMNS = [
    "comparison", "unit_id", "picture_before", "picture_after", "read_from", "burned_pct",
    "mostly_pct", "low_pct", "high_pct", "burned_ac", "valid_pct", "verdict", "caution",
]  # fmt: skip
NUMBERS = ["burned_pct", "mostly_pct", "low_pct", "high_pct", "valid_pct"]
QUANTITY = {"near-infrared": "nir", "MIRBI": "mirbi"}
SIGN = {"near-infrared": 1.0, "MIRBI": -1.0}
"""Turns values so that burning lowers them."""

Pixels = tuple[np.ndarray, np.ndarray, np.ndarray]


def measure_burned_shares(
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    comparisons: pd.DataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    treatments: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Table ``burned_shares``: burned share of each burned unit, or why it cannot be told."""
    stacks, burns = scenes[scenes["kind"] == "reflectance"], burns_of(treatments)
    dates = sorted(set(stacks["date"]))
    frames = []
    for _, rows in comparisons.groupby("comparison"):
        zones = units.merge(rows, on="unit_id")
        found = [_pair(row, burns, dates, settings) for row in zones.itertuples()]
        burned = zones["role"] == "burned"
        for pair in dict.fromkeys(p for p, own in zip(found, burned, strict=True) if own):
            chosen = burned & pd.Series([p == pair for p in found], index=zones.index)
            own = zones[chosen | (zones["role"] == "reference")].reset_index(drop=True)
            if isinstance(pair, str):
                told = _untold(own, pair)
            else:
                tiles = [stacks[stacks["date"] == date] for date in pair[:2]]
                told = _told(own, burnable_ground(own, exclusions), tiles, mask_presets, settings)
                told = told.assign(picture_before=pair[0], picture_after=pair[1])
                told["caution"] = _joined(told, pair[2])
            told = told[own["role"] == "burned"]
            frames.append(told.assign(burned_ac=told["burned_pct"] / 100.0 * told["burnable_ac"]))
    return (
        pd.concat(frames, ignore_index=True)[COLUMNS] if frames else pd.DataFrame(columns=COLUMNS)
    )


def _pair(  # type: ignore[no-untyped-def]
    row, burns: pd.DataFrame, dates: Sequence[pd.Timestamp], settings: GreennessSettings
):
    """Pictures around the burn of a unit and a caution, or why there are none."""
    own = burns[(burns["unit_id"] == row.unit_id) & (burns["start"] > row.before)
                & (burns["end"] < row.after)]  # fmt: skip
    if own.empty:
        return (
            "cannot tell: needs the day of the burn (a burn of this unit in the treatments table, "
            f"between {row.before:%Y-%m-%d} and {row.after:%Y-%m-%d})"
        )
    return pictures_around(own["start"].iloc[-1], own["end"].iloc[-1], dates, settings)


def _joined(told: pd.DataFrame, caution: str | None) -> list[str | None]:
    """Cautions of the rows with a figure, together with one on the pictures."""
    return [
        "; ".join(filter(None, (own, caution))) or None if np.isfinite(share) else own
        for own, share in zip(told["caution"], told["burned_pct"], strict=True)
    ]


def _untold(zones: gpd.GeoDataFrame, words: str) -> pd.DataFrame:
    """Rows without a figure."""
    return zones.assign(**dict.fromkeys(NUMBERS, np.nan), verdict=words, caution=None,
                        read_from=None, picture_before=pd.NaT, picture_after=pd.NaT)  # fmt: skip


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
            return _untold(zones, words)
        grid = old[0].grid.union(new[0].grid)
        crs = CRS(zones.crs)
        for picture in (old[0], new[0]):
            picture.settle(grid)
        buffer_m = settings.buffer_pixels * pixel_m(grid, grounds, crs)
        ground = zone_ground(grounds, crs, grid, buffer_m)
        both_swir = all(t.has("swir1", "swir2") for p in (old[0], new[0]) for t in p.tiles)
        read_from = "MIRBI" if both_swir else "near-infrared"
        pixels = [_pixels(zone, old[0], new[0], grid.shape, read_from) for zone in ground.zones]
    return _rows(zones, ground, pixels, read_from, settings)


def _pixels(
    zone: shapely.Geometry, old: Picture, new: Picture, shape: tuple[int, int], read_from: str
) -> Pixels:
    """Shares and values before and after of the usable pixels of a zone."""
    if zone.is_empty:
        return np.empty(0), np.empty(0), np.empty(0)
    left, top = np.floor(zone.bounds[:2]).clip(0).astype(int).tolist()
    right, bottom = np.ceil(zone.bounds[2:]).astype(int).tolist()
    right, bottom = min(right, shape[1]), min(bottom, shape[0])
    if right <= left or bottom <= top:
        return np.empty(0), np.empty(0), np.empty(0)
    inside = shapely.transform(zone, lambda points: points - [left, top])
    shares = covered_shares(inside, shape=(bottom - top, right - left))
    quantity, sign = QUANTITY[read_from], SIGN[read_from]
    before, after = (p.read(quantity, top, bottom, [(left, right)]) for p in (old, new))
    chosen = (shares > 0) & before.usable & after.usable
    return shares[chosen], sign * before.value[chosen], sign * after.value[chosen]


def _rows(
    zones: gpd.GeoDataFrame,
    ground: ZoneGround,
    pixels: list[Pixels],
    read_from: str,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Burned share of each zone against the pixels wholly inside the reference units."""
    reference = [p for p, role in zip(pixels, zones["role"], strict=True) if role == "reference"]
    whole = [[part[shares >= WHOLE] for part in (before, after)]
             for shares, before, after in reference]  # fmt: skip
    told = _untold(zones, "cannot tell: too small for these pixels, or no data")
    if sum(len(before) for before, _ in whole) < LEAST_UNBURNED_PIXELS:
        return told.assign(verdict="cannot tell: too few pixels of unburned reference units")
    unburned = unburned_change(*(np.concatenate(parts) for parts in zip(*whole, strict=True)))
    for position, (shares, before, after) in enumerate(pixels):
        label = told.index[position]
        if ground.full_pixels[position] < settings.least_full_pixels or not len(shares):
            continue
        char = char_value(after, float(np.median(before)) + unburned.change, read_from)
        fractions = burned_fractions(before, after, unburned, char)
        share = burned_share(fractions, shares, float(ground.whole_pixels[position]))
        told.loc[label, ["burned_pct", "mostly_pct", "low_pct", "high_pct", "valid_pct"]] = astuple(
            share
        )
        told.loc[label, "read_from"] = read_from
        told.loc[label, "verdict"] = f"about {share.burned_pct:.0f} percent burned"
        if share.high_pct - share.low_pct >= 1.0:
            told.loc[label, "caution"] = (
                f"{share.low_pct:.0f} to {share.high_pct:.0f} percent, if pixels without data "
                "count as unburned or as burned"
            )
    return told
