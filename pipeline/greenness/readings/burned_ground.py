"""Step that draws what burned of each unit: as a perimeter has it, or else pixel by pixel."""

from contextlib import ExitStack

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.core.layer import empty
from pipeline.greenness.burned_pixels import (
    QUANTITY,
    BurnReading,
    PicturePair,
    PropertyGround,
    burn_reading,
    paired_pictures,
    share_of_burn,
    values_of,
)
from pipeline.greenness.logged_burns import (
    LeftAlone,
    PictureDates,
    left_alone,
    logged_burns,
    pictures_around,
    undated_burns,
)
from pipeline.greenness.readings.layers import BURNED_GROUND
from pipeline.greenness.settings import GreennessSettings
from pipeline.pictures.mosaics import open_mosaics
from pipeline.pictures.raster_grid import Grid, moved
from pipeline.pictures.zone_ground import ZoneWindow, burnable_ground

LEAST_PART_PCT = 10.0
"""A unit of which less than this burned, or stayed, is not split by pixels: some of them are of
noise. Judgment, no source."""

HALF = 0.5
"""Pixels of which at least so much burned are burned ground."""


def draw_burned_ground(
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> gpd.GeoDataFrame:
    """Layer ``burned_ground``: burned ground that is drawn, and that of burned units by pixels.

    Only burns that a comparison means are looked for in pictures, where nobody drew them.
    """
    drawn = burned_areas[["unit_id", "date", "geometry"]].assign(told_by="perimeter")
    stacks = scenes[(scenes["kind"] == "reflectance") & (scenes["span_days"] == 1)]
    meant = _meant_burns(chosen_comparisons, logged_burns(treatment_log, scenes), burned_areas)
    undated = undated_burns(chosen_comparisons, treatment_log)
    grounds = dict(zip(units["unit_id"], burnable_ground(units, exclusions), strict=True))
    property_ = PropertyGround(units, CRS(units.crs), grounds, chosen_comparisons, settings)
    rows = []
    for dates, burns in _by_pictures(meant, stacks, settings).items():
        alone = left_alone(treatment_log, undated, dates, settings)
        with ExitStack() as stack:
            mosaics = [
                stack.enter_context(
                    open_mosaics(stacks[stacks["date"] == date], mask_presets, for_burned=True)
                )
                for date in (dates.before, dates.after)
            ]
            pair = paired_pictures(mosaics, property_)
            if pair is not None:
                rows += _rows(pair, burns, alone)
    if not rows:
        return drawn if len(drawn) else empty(BURNED_GROUND, units.crs)
    told = pd.DataFrame(rows, columns=["unit_id", "date", "told_by", "geometry"])
    return pd.concat([drawn, gpd.GeoDataFrame(told, geometry="geometry", crs=units.crs)])


def _rows(
    pair: PicturePair, burns: list[pd.Series], alone: LeftAlone
) -> list[tuple[object, object, str, shapely.Geometry]]:
    """Burned ground of the units that two pictures show to have burned in part."""
    rows = []
    for burn in burns:
        reading = burn_reading(pair, burn, alone)
        shape = None if isinstance(reading, str) else _burned_shape(pair, burn, reading)
        if shape is not None:
            rows.append((burn["unit_id"], burn["burned"], "pictures", shape))
    return rows


def _meant_burns(
    chosen_comparisons: pd.DataFrame, burns: pd.DataFrame, burned_areas: gpd.GeoDataFrame
) -> pd.DataFrame:
    """Burns of the log between the pictures of a comparison, of units that nobody drew."""
    burned = chosen_comparisons[chosen_comparisons["role"] == "burned"]
    both = burns.merge(burned[["unit_id", "before", "after"]], on="unit_id")
    both = both[(both["burned"] > both["before"]) & (both["end"] < both["after"])]
    there = set(zip(burned_areas["unit_id"], burned_areas["date"], strict=True))
    known = [key in there for key in zip(both["unit_id"], both["burned"], strict=True)]
    return both[~np.array(known, dtype=bool)][list(burns.columns)].drop_duplicates()


def _by_pictures(
    burns: pd.DataFrame, stacks: pd.DataFrame, settings: GreennessSettings
) -> dict[PictureDates, list[pd.Series]]:
    """Burns by the dates of the pictures around them; those without pictures are left out."""
    burns_by_dates: dict[PictureDates, list[pd.Series]] = {}
    for _, burn in burns.iterrows():
        nearest = pictures_around(burn["burned"], burn["end"], stacks, settings)
        if nearest.lacking is None:
            burns_by_dates.setdefault(nearest.dates, []).append(burn)
    return burns_by_dates


def _burned_shape(
    pair: PicturePair, burn: pd.Series, reading: BurnReading
) -> shapely.Geometry | None:
    """Pixels of a unit at least half burned, in the working plane; None where they split nothing.

    Where much of the unit has no data nobody knows which part that belongs to.
    """
    ground, property_ = pair.ground(burn["unit_id"]), pair.property_
    share = share_of_burn(reading, ground)
    window = ground.window(0)
    splits = LEAST_PART_PCT <= share.mostly_pct <= 100.0 - LEAST_PART_PCT
    if window is None or not splits or share.valid_pct < property_.settings.sure_valid_pct:
        return None
    shape = shapely.union_all([_burned_pixels(band, pair, reading) for band in window.bands()])
    return moved(np.array([shape]), CRS.from_wkt(pair.grid.crs_wkt), property_.crs)[0]


def _burned_pixels(window: ZoneWindow, pair: PicturePair, reading: BurnReading) -> shapely.Geometry:
    """Ground of the burned pixels of a window, in the CRS of the grid."""
    quantity = QUANTITY[pair.read_from]
    sign = -1.0 if quantity == "mirbi" else 1.0
    before, after = values_of(window, pair.mosaics, quantity)
    fractions = reading.fractions(sign * before, sign * after)
    return runs_of(np.nan_to_num(fractions) >= HALF, window, pair.grid)


def runs_of(chosen: np.ndarray, window: ZoneWindow, grid: Grid) -> shapely.Geometry:
    """Ground of the chosen pixels of a window: one rectangle a run of pixels, put together."""
    edges = np.diff(chosen.astype(np.int8), axis=1, prepend=0, append=0)
    row, start = np.nonzero(edges == 1)
    _, end = np.nonzero(edges == -1)
    top = grid.top - (window.rows[0] + row) * grid.pixel_y
    left, right = (grid.left + (window.columns[0] + c) * grid.pixel_x for c in (start, end))
    return shapely.union_all(shapely.box(left, top - grid.pixel_y, right, top))
