"""Steps on pairs of pictures: the change of each unit between them, and which changes are drawn."""

from contextlib import ExitStack

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import CRS

from pipeline.core.limits import CHANGE_MAP
from pipeline.core.scene_names import ratio
from pipeline.greenness.columns import gate_reasons
from pipeline.greenness.layers import ZONE_CHANGES
from pipeline.greenness.readings.layers import PIXEL_CHANGES
from pipeline.greenness.readings.unit_parts import (
    Perimeters,
    part_stats,
    perimeters_between,
    split_ground,
)
from pipeline.greenness.readings.zonal_series import series_change, series_stats
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.zone_pixels import change_moments, scene_stats
from pipeline.pictures.change_range import assumed_effective_pixels, count_effective_pixels
from pipeline.pictures.mosaics import (
    MosaicPair,
    on_one_grid,
    open_mosaics,
    open_pair,
    rasters_of,
)
from pipeline.pictures.raster_grid import Box, Grid, aligned, window_around
from pipeline.pictures.zone_ground import Grounds, burnable_ground


def measure_pixel_changes(
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    zonal_series: pd.DataFrame,
    burned_ground: gpd.GeoDataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Layer ``pixel_changes``: greenness before and after of each unit of each comparison.

    Of units that a perimeter splits, burned and unburned ground are summed in the same pass.
    """
    columns = PIXEL_CHANGES.column_names
    if chosen_comparisons.empty:
        return pd.DataFrame(columns=columns)
    crs = CRS(units.crs)
    frames = []
    for dates, rows in chosen_comparisons.groupby(["before", "after"], sort=True):
        zones = units[units["unit_id"].isin(rows["unit_id"])]
        grounds = Grounds(burnable_ground(zones, exclusions), crs)
        both = [rasters_of(scenes, date) for date in dates]
        if any(of_date.empty for of_date in both):
            told = [
                series_stats(zonal_series, zones["unit_id"], date, settings)
                if pictures.empty
                else None
                for date, pictures in zip(dates, both, strict=True)
            ]
            stats = _stats_with_table(both, told, mask_presets, grounds, settings)
        else:
            perimeters = perimeters_between(burned_ground, list(zones["unit_id"]), dates)
            stats = _pair_stats(both, mask_presets, grounds, perimeters, settings)
            stats = stats.assign(reason=gate_reasons(stats, settings))
        stats = stats.assign(unit_id=zones["unit_id"].to_numpy())
        stats = stats.reindex(columns=[*columns[1:]])
        frames.append(rows[["comparison", "unit_id"]].merge(stats, on="unit_id"))
    return pd.concat(frames, ignore_index=True)[columns]


def keep_whole_units(pixel_changes: pd.DataFrame) -> pd.DataFrame:
    """Layer ``zone_changes``: the same without the parts of split units."""
    return pixel_changes[ZONE_CHANGES.column_names]


def _stats_with_table(
    both: list[pd.DataFrame],
    told: list[pd.DataFrame | None],
    presets: pd.DataFrame,
    grounds: Grounds,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Statistics of each zone between two dates that not both have a picture.

    A date without one takes its means from a table, if that has any.
    """
    sides = []
    for of_date, of_table in zip(both, told, strict=True):
        if of_date.empty and of_table is None:
            lacks = [rows.empty and table is None for rows, table in zip(both, told, strict=True)]
            return _no_picture(len(grounds.shapes), *lacks)
        sides.append(
            _date_stats(of_date, presets, grounds, settings) if of_table is None else of_table
        )
    before, after = sides
    reason = before["reason"].fillna(after["reason"])
    lacking = {
        "no_scene_before": before["mean"].isna() & before["reason"].isna(),
        "no_scene_after": after["mean"].isna() & after["reason"].isna(),
    }
    for code, is_so in lacking.items():
        reason = reason.mask(is_so & reason.isna(), code)
    return series_change(before, after, settings.fallback_range_m).assign(
        paired=False, mixed=both[0].empty != both[1].empty, reason=reason
    )


def _date_stats(
    of_date: pd.DataFrame, presets: pd.DataFrame, grounds: Grounds, settings: GreennessSettings
) -> pd.DataFrame:
    """Statistics of each zone on one date that has a picture."""
    with open_mosaics(of_date, presets) as mosaics:
        pixel_m = max(grounds.pixel_m(mosaic.grid) for mosaic in mosaics)
        stats = scene_stats(mosaics, grounds, settings.buffer_pixels * pixel_m)
    return stats.assign(reason=gate_reasons(stats, settings))


def _no_picture(zones: int, lacks_before: bool, lacks_after: bool) -> pd.DataFrame:
    """Rows of zones that no picture shows."""
    unknown = ["before_mean", "after_mean", "change", "change_sd", "valid_pct", "range_m"]
    frame = pd.DataFrame(np.nan, index=range(zones), columns=[*unknown, "alike_pct"])
    nothing = dict.fromkeys(("pixels", "lost_pct", "pixel_m", "effective_pixels"), 0.0)
    sides = {(True, True): "no_scenes", (True, False): "no_scene_before"}
    reason = sides.get((lacks_before, lacks_after), "no_scene_after")
    frame = frame.assign(**nothing, full_pixels=0, paired=False, mixed=False)
    return frame.assign(range_from=None, reason=reason)


def _pair_stats(
    both: list[pd.DataFrame],
    presets: pd.DataFrame,
    grounds: Grounds,
    perimeters: Perimeters,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Statistics of each zone between two dates, pixel by pixel where the grids match."""
    with ExitStack() as stack:
        old, new = (stack.enter_context(open_mosaics(rows, presets)) for rows in both)
        grid = on_one_grid((old[0], new[0])) if len(old) == len(new) == 1 else None
        sensors = [set().union(*(m.sensors for m in mosaics)) for mosaics in (old, new)]
        kinds = [set(rows["kind"]) for rows in both]
        mixed = grid is None or kinds[0] != kinds[1]
        mixed |= bool(all(sensors) and sensors[0] != sensors[1])
        pixel = max(grounds.pixel_m(mosaic.grid) for mosaic in (*old, *new))
        buffer_m = pixel * (settings.mixed_buffer_pixels if mixed else settings.buffer_pixels)
        if grid is not None:
            stats = _paired((old[0], new[0]), grid, grounds, perimeters, buffer_m, settings)
        else:
            before, after = (scene_stats(mosaics, grounds, buffer_m) for mosaics in (old, new))
            stats = _unpaired(before, after, settings)
    return stats.assign(paired=grid is not None, mixed=mixed, pixel_m=pixel)


def _paired(
    pair: MosaicPair,
    grid: Grid,
    grounds: Grounds,
    perimeters: Perimeters,
    buffer_m: float,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Changes on the pixels usable both times, and how many of them are worth one of their own."""
    ground = grounds.on(grid, buffer_m)
    parts = split_ground(grounds, perimeters, grid, buffer_m)
    means, moments = change_moments(pair, np.concatenate([ground.zones, parts.zones]), grid)
    whole, split = slice(len(ground.zones)), slice(len(ground.zones), None)
    before_mean, change = means[whole], moments.part(whole)
    sides_m = grounds.pixel_sides_m(grid)
    worth = count_effective_pixels(pair, ground, change.count, sides_m, settings.fallback_range_m)
    side_m = float(np.prod(sides_m)) ** 0.5
    of_parts = part_stats(parts, perimeters, means[split], moments.part(split), side_m, worth)
    stats = pd.DataFrame(
        {
            "before_mean": before_mean,
            "after_mean": before_mean + change.mean,
            "change": change.mean,
            "change_sd": change.sd,
            "pixels": change.count,
            "valid_pct": (100.0 * ratio(change.count, ground.whole_pixels)).clip(0.0, 100.0),
            "full_pixels": ground.full_pixels,
            "lost_pct": ground.lost_pct,
        }
    )
    return stats.join(worth).join(of_parts)


def _unpaired(
    before: pd.DataFrame, after: pd.DataFrame, settings: GreennessSettings
) -> pd.DataFrame:
    """Differences of means, each on its own pixels; quality is that of the worse one."""
    ground_m2 = np.minimum(before["ground_m2"], after["ground_m2"]).to_numpy()
    coarsest_m2 = max(before["coarsest_m2"].max(), after["coarsest_m2"].max())
    least = {
        name: np.minimum(before[name], after[name])
        for name in ("pixels", "valid_pct", "full_pixels")
    }
    stats = pd.DataFrame(
        {
            "before_mean": before["mean"],
            "after_mean": after["mean"],
            "change": after["mean"] - before["mean"],
            "change_sd": np.nan,
            "lost_pct": np.maximum(before["lost_pct"], after["lost_pct"]),
            **least,
        }
    )
    pixels, side_m = ground_m2 / coarsest_m2, coarsest_m2**0.5
    return stats.join(assumed_effective_pixels(pixels, side_m, settings.fallback_range_m))


def list_change_maps(
    units: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Layer ``change_maps``: pairs of dates to be drawn.

    Those that show the property, with the pixels of the first one.
    """
    columns = ["before", "after"]
    pairs = chosen_comparisons[columns].drop_duplicates().sort_values(columns)
    shapes, plane = units.geometry.to_numpy(), CRS(units.crs)
    drawn: list[Grid] = []
    kept = []
    for row in pairs.itertuples():
        with open_pair(scenes, mask_presets, (row.before, row.after)) as pair:
            grids = drawn[:1] + [mosaic.grid for mosaic in pair or ()]
            together = aligned(grids) if pair is not None else None
            window = window_around(shapes, plane, together[0]) if together is not None else None
            fits = window is not None and _pixels(window) <= CHANGE_MAP.most
            kept.append(settings.change_map and fits)
            if fits:
                drawn += grids
    return pairs[np.array(kept, dtype=bool)]


def _pixels(window: Box) -> int:
    """Number of pixels of a window."""
    left, top, right, bottom = window
    return (right - left) * (bottom - top)
