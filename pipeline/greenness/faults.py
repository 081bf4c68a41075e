"""What is wrong with the masks of the pictures and the known stands, told before a run."""

import math
from collections.abc import Iterator

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.errors import Fault
from pipeline.core.limits import PICTURE_PIXELS
from pipeline.core.names import suggestion
from pipeline.greenness.settings import GreennessSettings

MOST_YEARS_ON = 20
"""A property file may be run again with later pictures, but not so many years later; judgment."""


def greenness_faults(
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    drawn_units: gpd.GeoDataFrame,
    property: pd.DataFrame,
    zonal_series: pd.DataFrame,
    settings: GreennessSettings,
) -> list[Fault]:
    """Unknown presets of quality rasters, pictures of days to come, and stands of no unit."""
    known_units = list(drawn_units["unit_id"])
    return [
        *_preset_faults(scenes, mask_presets),
        *_pixel_faults(scenes, drawn_units),
        *_day_faults(scenes, zonal_series, int(property["season"].iloc[0])),
        *_stand_faults(settings, known_units),
    ]


def _day_faults(scenes: pd.DataFrame, zonal_series: pd.DataFrame, season: int) -> Iterator[Fault]:
    """Days of pictures so far after the season that is prepared that they are slips of the pen."""
    named = [
        (f"[[sources.scenes]] {row.scene}: {row.name}", row.date) for row in scenes.itertuples()
    ]
    named += [("[sources.zonal_series]", date) for date in sorted(set(zonal_series["date"]))]
    for where, date in named:
        if date.year > season + MOST_YEARS_ON:
            found = f"date {date:%Y-%m-%d}, and the season being prepared is {season}"
            yield Fault(where, found, "a day that has been", "mend the date, or season")


def _preset_faults(scenes: pd.DataFrame, mask_presets: pd.DataFrame) -> Iterator[Fault]:
    """Presets that the table of presets does not have."""
    known = sorted(mask_presets["preset"].unique())
    odd = scenes[scenes["mask_preset"].notna() & ~scenes["mask_preset"].isin(known)]
    for row in odd.itertuples(index=False):
        do = suggestion(row.mask_preset, known) if known else "give [sources.mask_presets]"
        yield Fault(
            f"[[sources.scenes]] {row.scene}: {row.name}",
            f'mask preset "{row.mask_preset}"',
            "a preset of [sources.mask_presets]",
            do,
        )


def _pixel_faults(scenes: pd.DataFrame, units: gpd.GeoDataFrame) -> Iterator[Fault]:
    """Pictures so fine that the units have more pixels than are read."""
    west, south, east, north = shapely.bounds(units.geometry.to_numpy()).T
    around_m2 = float(((east - west) * (north - south)).sum())
    for row in scenes.itertuples(index=False):
        pixels = around_m2 / row.pixel_m2
        if not pixels <= PICTURE_PIXELS.most:
            where = f"[[sources.scenes]] {row.scene}: {row.name}"
            found = f"{pixels:,.0f} pixels of {row.pixel_m2**0.5:g} m around the units"
            coarser_m = (around_m2 / PICTURE_PIXELS.most) ** 0.5
            do = f"save it with pixels of {max(1.0, math.ceil(coarser_m)):.0f} m"
            yield Fault(where, found, str(PICTURE_PIXELS), do)


def _stand_faults(settings: GreennessSettings, known: list[str]) -> Iterator[Fault]:
    """Units given as known stands that are not on the map, are alone or one and the same."""
    stands = {"cool_unit": settings.cool_unit, "warm_unit": settings.warm_unit}
    for name, unit_id in stands.items():
        if unit_id is not None and unit_id not in known:
            expected = "a unit of the units source"
            do = suggestion(unit_id, known)
            yield Fault(f"[greenness] {name}", f'unit "{unit_id}" is not on the map', expected, do)
    given = [name for name, unit_id in stands.items() if unit_id is not None]
    if len(given) == 1:
        (other,) = set(stands) - set(given)
        do = f"give {other}, or leave {given[0]} out"
        yield Fault(f"[greenness] {given[0]}", f"no {other} beside it", "both or neither", do)
    elif given and settings.cool_unit == settings.warm_unit:
        found = f'"{settings.cool_unit}" is both cool_unit and warm_unit'
        yield Fault("[greenness]", found, "two different units", "name one unit for each")
