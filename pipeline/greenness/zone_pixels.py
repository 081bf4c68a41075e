"""Step that streams pixels: greenness of each unit on each date; and sums of pairs of pictures."""

from collections.abc import Sequence
from itertools import pairwise

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.core.scene_names import AS_IT_STANDS, Moments, Scaling, ratio
from pipeline.greenness.columns import gate_reasons
from pipeline.greenness.layers import ZONE_SCENES
from pipeline.greenness.readings.zonal_series import series_scenes
from pipeline.greenness.settings import GreennessSettings
from pipeline.ground.acreage import polygonal
from pipeline.log.treatment_log import mark_treatments
from pipeline.pictures.mosaics import (
    Mosaic,
    MosaicPair,
    open_mosaics,
)
from pipeline.pictures.raster_grid import Grid, moved, on_grid
from pipeline.pictures.zone_ground import Grounds, burnable_ground
from pipeline.pictures.zone_sums import ReadBand, sum_by_zone

TRACE_PIXELS = 1e-6
"""A zone with fewer usable pixels than this has none."""


AS_MUCH = 0.99
"""Of the most ground of a zone that any picture shows: less than this is less."""


Spans = Sequence[tuple[int, int]]


def measure_zone_scenes(
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    zonal_series: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Layer ``zone_scenes``: mean greenness of each unit on each date, of pictures and tables."""
    columns = ZONE_SCENES.column_names
    if units.empty or (scenes.empty and zonal_series.empty):
        return pd.DataFrame(columns=columns)
    grounds = Grounds(burnable_ground(units, exclusions), CRS(units.crs))
    frames = []
    if len(zonal_series):
        frames.append(series_scenes(zonal_series, len(scenes) + 1, settings))
    for (date, kind), of_date in scenes.groupby(["date", "kind"], sort=True):
        with open_mosaics(of_date, mask_presets) as mosaics:
            pixel = max(grounds.pixel_m(mosaic.grid) for mosaic in mosaics)
            stats = scene_stats(mosaics, grounds, settings.buffer_pixels * pixel)
            scene = mosaics[0].scene
        span = pd.Timedelta(days=int(of_date["span_days"].max()) - 1)
        stats = stats.assign(date=date, last_day=date + span, kind=kind, scene=scene)
        stats = stats.assign(unit_id=units["unit_id"].to_numpy())
        frames.append(stats.assign(reason=gate_reasons(stats, settings)))
    rows = pd.concat(frames, ignore_index=True)
    return rows.assign(treated_since_last=mark_treatments(rows, treatment_log))[columns]


def scene_stats(mosaics: list[Mosaic], grounds: Grounds, buffer_m: float) -> pd.DataFrame:
    """Statistics of each zone over the mosaics of one date.

    Of mosaics on different grids the first one lies on top, except where more of a zone is seen
    with another there: a cloud on one must not hide the ground that another shows.
    """
    orders = [[mosaic, *(m for m in mosaics if m is not mosaic)] for mosaic in mosaics]
    layered = [_layered_stats(order, grounds, buffer_m) for order in orders]
    seen = np.array([stats["ground_m2"] for stats in layered])
    best = np.argmax(seen >= AS_MUCH * seen.max(axis=0), axis=0)
    parts = [stats[best == order] for order, stats in enumerate(layered)]
    return pd.concat(parts).sort_index() if best.any() else layered[0]


def _layered_stats(mosaics: list[Mosaic], grounds: Grounds, buffer_m: float) -> pd.DataFrame:
    """Statistics of each zone over mosaics, later ones only beside earlier ones.

    Pixels of mosaics on different grids count by their size.
    """
    first = mosaics[0].grid
    ground, pixel_m2 = grounds.on(first, buffer_m), grounds.pixel_m2(first)
    moments, impossible = _scene_sums(mosaics[0], ground.zones)
    rest = grounds.inner(buffer_m) if len(mosaics) > 1 else ground.zones
    for above, mosaic in pairwise(mosaics):
        rest = _beside(rest, above.grid, grounds.crs)
        zones = on_grid(rest, grounds.crs, mosaic.grid)
        size = grounds.pixel_m2(mosaic.grid) / pixel_m2
        more, odd = _scene_sums(mosaic, zones)
        moments, impossible = moments.with_others(more, size), impossible + size * odd
    whole = ground.whole_pixels
    return pd.DataFrame(
        {
            "mean": moments.mean,
            "sd": moments.sd,
            "pixels": moments.count,
            "valid_pct": (100.0 * ratio(moments.count, whole)).clip(0.0, 100.0),
            "out_of_range_pct": np.nan_to_num(100.0 * ratio(impossible, whole)).clip(0.0, 100.0),
            "full_pixels": ground.full_pixels,
            "lost_pct": ground.lost_pct,
            "pixel_m": grounds.pixel_m(first),
            "ground_m2": moments.count * pixel_m2,
            "coarsest_m2": max(grounds.pixel_m2(mosaic.grid) for mosaic in mosaics),
        }
    )


def _beside(grounds: np.ndarray, grid: Grid, crs: CRS) -> np.ndarray:
    """What of the grounds lies outside a raster."""
    edge = shapely.segmentize(grid.footprint(), max(grid.pixel_x, grid.pixel_y) * 64)
    covered = moved(np.array([edge]), CRS.from_wkt(grid.crs_wkt), crs)[0]
    left = shapely.difference(grounds, covered)
    return np.array([polygonal(shape) for shape in left], dtype=object)


def _wide(value: np.ndarray, usable: np.ndarray) -> np.ndarray:
    """Values where they are usable, 0 elsewhere, wide enough for their squares."""
    if value.dtype.kind == "f":
        return np.where(usable, value, 0.0)
    return np.multiply(value, usable, dtype=np.int64)


def _sums(zones: np.ndarray, grid: Grid, band_rows: int, read: ReadBand) -> np.ndarray:
    """Four sums over each zone: its usable pixels, two that are nothing without them, and another.

    Where all of a zone is cloud, running sums leave a trace of what lies to its left.
    """
    pixels = grid.pixel_grid(zones)
    sums = sum_by_zone(zones, grid=pixels, band_rows=band_rows, rasters=4, read=read)
    sums[:3, sums[0] < TRACE_PIXELS] = 0.0
    return sums


def _scene_sums(mosaic: Mosaic, zones: np.ndarray) -> tuple[Moments, np.ndarray]:
    """Moments of the usable pixels of each zone, and the number of its impossible ones."""
    scaling = mosaic.scaling("ndvi")

    def read(first: int, end: int, spans: Spans):  # type: ignore[no-untyped-def]
        values = mosaic.read("ndvi", first, end, spans, scaling)

        def rows(low: int, high: int):  # type: ignore[no-untyped-def]
            ndvi = _wide(values.value[low:high], values.usable[low:high])
            yield values.usable[low:high]
            yield ndvi
            yield ndvi * ndvi
            yield values.impossible[low:high]

        return rows

    count, total, squares, impossible = _sums(zones, mosaic.grid, mosaic.band_rows(), read)
    return scaling.moments(count, total, squares), impossible


def change_moments(pair: MosaicPair, zones: np.ndarray, grid: Grid) -> tuple[np.ndarray, Moments]:
    """Mean NDVI before of the pixels usable both times, and moments of their change."""
    before, after = (mosaic.scaling("ndvi") for mosaic in pair)
    scaling = before if before == after else AS_IT_STANDS

    def read(first: int, end: int, spans: Spans):  # type: ignore[no-untyped-def]
        old, new = (mosaic.read("ndvi", first, end, spans, scaling) for mosaic in pair)
        both = old.usable & new.usable

        def rows(low: int, high: int):  # type: ignore[no-untyped-def]
            joint = both[low:high]
            value = _wide(old.value[low:high], joint)
            change = _wide(new.value[low:high], joint) - value
            yield joint
            yield value
            yield change
            yield change * change

        return rows

    band_rows = max(mosaic.band_rows() for mosaic in pair)
    count, value, change, squares = _sums(zones, grid, band_rows, read)
    before_mean = ratio(scaling.scale * value + scaling.offset * count, count)
    return before_mean, Scaling(scaling.scale).moments(count, change, squares)
