"""Steps that stream pixels: greenness of each unit on each date, and its change between two."""

from collections.abc import Sequence
from contextlib import ExitStack
from itertools import pairwise

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.greenness.reasons import gate_reasons
from pipeline.greenness.settings import GreennessSettings
from pipeline.ground.acreage import polygonal
from pipeline.intake.scene_names import AS_IT_STANDS, Moments, Scaling, ratio
from pipeline.log.treatment_log import mark_treatments
from pipeline.pictures.change_range import assumed_effective_pixels, count_effective_pixels
from pipeline.pictures.mosaics import Mosaic, on_one_grid, open_mosaics
from pipeline.pictures.raster_grid import Grid, moved
from pipeline.pictures.zone_ground import Grounds, burnable_ground
from pipeline.pictures.zone_sums import ReadBand, sum_by_zone

TRACE_PIXELS = 1e-6
"""A zone with fewer usable pixels than this has none."""


Spans = Sequence[tuple[int, int]]


def measure_zone_scenes(
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Layer ``zone_scenes``: mean greenness of each unit on each date."""
    if scenes.empty or units.empty:
        return pd.DataFrame(columns=_ZONE_SCENES)
    grounds = Grounds(burnable_ground(units, exclusions), CRS(units.crs))
    frames = []
    for (date, kind), tiles in scenes.groupby(["date", "kind"], sort=True):
        with open_mosaics(tiles, mask_presets) as pictures:
            pixel = max(grounds.pixel_m(picture.grid) for picture in pictures)
            stats = _scene_stats(pictures, grounds, settings.buffer_pixels * pixel)
            scene = pictures[0].scene
        last_day = date + pd.Timedelta(days=int(tiles["span_days"].max()) - 1)
        stats = stats.assign(unit_id=units["unit_id"].to_numpy(), date=date, last_day=last_day,
                             kind=kind, scene=scene)  # fmt: skip
        frames.append(stats.assign(reason=gate_reasons(stats, settings)))
    rows = pd.concat(frames, ignore_index=True)
    return rows.assign(treated_since_last=mark_treatments(rows, treatment_log))[_ZONE_SCENES]


_ZONE_SCENES = [
    "unit_id", "scene", "date", "last_day", "kind", "mean", "sd", "pixels", "valid_pct",
    "full_pixels", "lost_pct", "out_of_range_pct", "pixel_m", "treated_since_last", "reason",
]  # fmt: skip


def _scene_stats(pictures: list[Mosaic], grounds: Grounds, buffer_m: float) -> pd.DataFrame:
    """Statistics of each zone over the pictures of one date, later ones only beside earlier ones.

    Pixels of pictures on different grids count by their size.
    """
    ground = grounds.on(pictures[0].grid, buffer_m)
    pixel_m2 = grounds.pixel_m2(pictures[0].grid)
    moments, impossible = _scene_sums(pictures[0], pictures[0].grid, ground.zones)
    rest = grounds.inner(buffer_m) if len(pictures) > 1 else ground.zones
    for above, picture in pairwise(pictures):
        rest = _beside(rest, above.grid, grounds.crs)
        zones = moved(rest, grounds.crs, CRS.from_wkt(picture.grid.crs_wkt))
        size = grounds.pixel_m2(picture.grid) / pixel_m2
        own, odd = _scene_sums(picture, picture.grid, zones)
        moments, impossible = moments.with_others(own, size), impossible + size * odd
    whole = ground.whole_pixels
    return pd.DataFrame({
        "mean": moments.mean, "sd": moments.sd, "pixels": moments.count,
        "valid_pct": (100.0 * ratio(moments.count, whole)).clip(0.0, 100.0),
        "out_of_range_pct": np.nan_to_num(100.0 * ratio(impossible, whole)).clip(0.0, 100.0),
        "full_pixels": ground.full_pixels, "lost_pct": ground.lost_pct,
        "pixel_m": grounds.pixel_m(pictures[0].grid), "ground_m2": moments.count * pixel_m2,
        "coarsest_m2": max(grounds.pixel_m2(picture.grid) for picture in pictures),
    })  # fmt: skip


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


def _scene_sums(picture: Mosaic, grid: Grid, zones: np.ndarray) -> tuple[Moments, np.ndarray]:
    """Moments of the usable pixels of each zone, and the number of its impossible ones."""
    scaling = picture.scaling("ndvi")

    def read(first: int, end: int, spans: Spans):  # type: ignore[no-untyped-def]
        values = picture.read("ndvi", first, end, spans, scaling)

        def rows(low: int, high: int):  # type: ignore[no-untyped-def]
            own = _wide(values.value[low:high], values.usable[low:high])
            yield values.usable[low:high]
            yield own
            yield own * own
            yield values.impossible[low:high]

        return rows

    count, total, squares, impossible = _sums(zones, grid, picture.band_rows(), read)
    return scaling.moments(count, total, squares), impossible


def change_moments(
    before: Mosaic, after: Mosaic, zones: np.ndarray, grid: Grid
) -> tuple[np.ndarray, Moments]:
    """Mean NDVI before of the pixels usable both times, and moments of their change."""
    told = [picture.scaling("ndvi") for picture in (before, after)]
    scaling = told[0] if told[0] == told[1] else AS_IT_STANDS

    def read(first: int, end: int, spans: Spans):  # type: ignore[no-untyped-def]
        old, new = (picture.read("ndvi", first, end, spans, scaling) for picture in (before, after))
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

    band_rows = max(before.band_rows(), after.band_rows())
    count, value, change, squares = _sums(zones, grid, band_rows, read)
    before_mean = ratio(scaling.scale * value + scaling.offset * count, count)
    return before_mean, Scaling(scaling.scale).moments(count, change, squares)


def measure_zone_changes(
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Layer ``zone_changes``: greenness before and after of each unit of each comparison."""
    if chosen_comparisons.empty:
        return pd.DataFrame(columns=_ZONE_CHANGES)
    crs = CRS(units.crs)
    frames = []
    for (before, after), rows in chosen_comparisons.groupby(["before", "after"], sort=True):
        zones = units[units["unit_id"].isin(rows["unit_id"])]
        grounds = Grounds(burnable_ground(zones, exclusions), crs)
        pair = [tiles_of(scenes, date) for date in (before, after)]
        missing = [d for d, t in zip((before, after), pair, strict=True) if t.empty]
        if missing:
            stats = _no_picture(len(zones), missing)
        else:
            stats = _pair_stats(pair, mask_presets, grounds, settings)
            stats = stats.assign(reason=gate_reasons(stats, settings))
        stats = stats.assign(unit_id=zones["unit_id"].to_numpy())
        frames.append(rows[["comparison", "unit_id"]].merge(stats, on="unit_id"))
    return pd.concat(frames, ignore_index=True)[_ZONE_CHANGES]


_ZONE_CHANGES = [
    "comparison", "unit_id", "before_mean", "after_mean", "change", "change_sd", "pixels",
    "valid_pct", "full_pixels", "lost_pct", "pixel_m", "effective_pixels", "range_m", "alike_pct",
    "range_from", "paired", "mixed", "reason",
]  # fmt: skip


def tiles_of(scenes: pd.DataFrame, date: pd.Timestamp) -> pd.DataFrame:
    """Scenes of a date: the greenness rasters, or else the reflectance stacks."""
    own = scenes[scenes["date"] == date]
    ready = own[own["kind"] == "ndvi"]
    return own if ready.empty else ready


def _no_picture(count: int, dates: list[pd.Timestamp]) -> pd.DataFrame:
    """Rows of zones that no picture shows."""
    told = " and ".join(f"{date:%Y-%m-%d}" for date in dates)
    frame = pd.DataFrame(
        index=range(count),
        columns=["before_mean", "after_mean", "change", "change_sd", "valid_pct"],
        dtype=float,
    )
    none: dict[str, object] = {"pixels": 0.0, "full_pixels": 0, "lost_pct": 0.0, "pixel_m": 0.0}
    none |= {"effective_pixels": 0.0, "range_m": np.nan, "alike_pct": np.nan}
    return frame.assign(
        **none, range_from=None, paired=False, mixed=False, reason=f"no scene of {told}"
    )


def _pair_stats(
    pair: list[pd.DataFrame],
    presets: pd.DataFrame,
    grounds: Grounds,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Statistics of each zone between two dates, pixel by pixel where the grids match."""
    with ExitStack() as stack:
        old, new = (stack.enter_context(open_mosaics(tiles, presets)) for tiles in pair)
        grid = on_one_grid((old[0], new[0])) if len(old) == len(new) == 1 else None
        sensors = [set().union(*(p.sensors for p in pictures)) for pictures in (old, new)]
        kinds = [set(tiles["kind"]) for tiles in pair]
        mixed = grid is None or kinds[0] != kinds[1]
        mixed |= bool(all(sensors) and sensors[0] != sensors[1])
        pixel = max(grounds.pixel_m(p.grid) for p in (*old, *new))
        buffer_m = pixel * (settings.mixed_buffer_pixels if mixed else settings.buffer_pixels)
        if grid is not None:
            stats = _paired(old[0], new[0], grid, grounds, buffer_m, settings.fallback_range_m)
        else:
            both = [_scene_stats(p, grounds, buffer_m) for p in (old, new)]
            stats = _unpaired(both[0], both[1], settings.fallback_range_m)
    return stats.assign(paired=grid is not None, mixed=mixed, pixel_m=pixel)


def _paired(
    before: Mosaic, after: Mosaic, grid: Grid, grounds: Grounds, buffer_m: float,
    fallback_m: float,
) -> pd.DataFrame:  # fmt: skip
    """Changes on the pixels usable both times, and how many of them are worth one of their own."""
    ground = grounds.on(grid, buffer_m)
    before_mean, change = change_moments(before, after, ground.zones, grid)
    valid_pct = (100.0 * ratio(change.count, ground.whole_pixels)).clip(0.0, 100.0)
    sides_m = grounds.pixel_sides_m(grid)
    worth = count_effective_pixels((before, after), ground, change.count, sides_m, fallback_m)
    stats = pd.DataFrame({
        "before_mean": before_mean, "after_mean": before_mean + change.mean, "change": change.mean,
        "change_sd": change.sd, "pixels": change.count, "valid_pct": valid_pct,
        "full_pixels": ground.full_pixels, "lost_pct": ground.lost_pct,
    })  # fmt: skip
    return stats.join(worth)


def _unpaired(before: pd.DataFrame, after: pd.DataFrame, fallback_m: float) -> pd.DataFrame:
    """Differences of means, each on its own pixels; quality is that of the worse one."""
    ground_m2 = np.minimum(before["ground_m2"], after["ground_m2"]).to_numpy()
    coarsest_m2 = max(before["coarsest_m2"].max(), after["coarsest_m2"].max())
    stats = pd.DataFrame({
        "before_mean": before["mean"], "after_mean": after["mean"],
        "change": after["mean"] - before["mean"], "change_sd": np.nan,
        "pixels": np.minimum(before["pixels"], after["pixels"]),
        "valid_pct": np.minimum(before["valid_pct"], after["valid_pct"]),
        "full_pixels": np.minimum(before["full_pixels"], after["full_pixels"]),
        "lost_pct": np.maximum(before["lost_pct"], after["lost_pct"]),
    })  # fmt: skip
    worth = assumed_effective_pixels(ground_m2 / coarsest_m2, coarsest_m2**0.5, fallback_m)
    return stats.join(worth)
