"""Which pictures a raster holds: the bands of each quantity, and the day of each picture."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from rasterio.io import DatasetReader

from pipeline.core.errors import Fault
from pipeline.core.names import listed
from pipeline.core.scene_names import SceneName
from pipeline.intake.rasters.band_dates import band_dates
from pipeline.intake.rasters.band_names import (
    band_named,
    contradiction,
    name_fault,
    quantity_of,
)
from pipeline.intake.settings import SceneSource

REFLECTANCE = ("red", "nir", "swir1", "swir2")


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture of a raster: its day, if anybody tells it, and the band of each quantity."""

    taken: date | None
    bands: Mapping[str, int]


Found = tuple[list[Picture], list[Fault]]
"""Pictures of a raster, or the faults that keep it from having any."""


def pictures_of(scene: SceneSource, named: SceneName, raster: DatasetReader, where: str) -> Found:
    """The pictures that an entry of the property file means by its raster."""
    pictures, faults = _index_pictures(scene, named, raster, where)
    if scene.kind == "reflectance":
        pictures, faults = _stacks(scene, named, raster, where)
    descriptions = raster.descriptions
    for picture in pictures[:1]:
        odd = (
            contradiction(quantity, number, descriptions, named.sensor, where)
            for quantity, number in picture.bands.items()
            if number <= raster.count
        )
        faults = [*faults, *filter(None, odd)]
    return pictures, faults


def _index_pictures(
    scene: SceneSource, named: SceneName, raster: DatasetReader, where: str
) -> Found:
    """Pictures of an NDVI raster: of one band, or of a band for each date."""
    day = scene.date or named.taken
    if scene.band is not None:
        numbers, faults = _numbers({"band": scene.band}, raster, where)
        taken = day or (None if faults else _day_of(raster, numbers["band"]))
        return [Picture(taken, {"ndvi": number}) for number in numbers.values()], faults
    if scene.dates is not None:
        if len(scene.dates) == raster.count:
            days = enumerate(scene.dates, 1)
            return [Picture(taken, {"ndvi": number}) for number, taken in days], []
        found = f"{len(scene.dates)} dates, the file has {raster.count} bands"
        return [], [Fault(where, found, "a date for each band", "mend dates")]
    if raster.count == 1:
        return [Picture(day or _day_of(raster, 1), {"ndvi": 1})], []
    called = [n for n, text in enumerate(raster.descriptions, 1) if quantity_of(text) == "ndvi"]
    if len(called) == 1:
        return [Picture(day or _day_of(raster, called[0]), {"ndvi": called[0]})], []
    return _dated_bands(scene, raster, where)


def _dated_bands(scene: SceneSource, raster: DatasetReader, where: str) -> Found:
    """Pictures of a raster that has a band for each date and says so itself."""
    days = band_dates(raster)
    known = [day for day in days if day is not None]
    faults = []
    if not known or scene.date is not None:
        do = "say band = …, or dates = [ … ] with one for each band, or bands for reflectance"
        found = f'{raster.count} bands, and kind = "ndvi"'
        faults.append(Fault(where, found, "one band", do))
    elif len(known) < len(days):
        lacking = listed(n for n, day in enumerate(days, 1) if day is None)
        found = f"no day in the description of band {lacking}"
        faults.append(Fault(where, found, "a day for each band", "say dates = [ … ]"))
    elif len(set(known)) < len(known):
        twice = listed(sorted({f"{day}" for day in known if known.count(day) > 1}))
        found, do = f"{twice} stands for several bands", "say band = …, one entry a picture"
        faults.append(Fault(where, found, "a band for each day", do))
    if scene.mask is not None and not faults:
        do = "name each date in an entry with its own band = … and mask"
        faults.append(Fault(where, "a mask for several dates", "a mask for each", do))
    return [Picture(day, {"ndvi": n}) for n, day in enumerate(days, 1)], faults


def _stacks(scene: SceneSource, named: SceneName, raster: DatasetReader, where: str) -> Found:
    """Pictures of a reflectance stack: of one date, or of the dates its descriptions tell."""
    given = scene.bands.model_dump(exclude_none=True) if scene.bands else {}
    days = band_dates(raster)
    known = sorted({day for day in days if day is not None})
    by_name = all(isinstance(band, str) for band in given.values())
    if not by_name or len(known) < 2 or scene.date is not None:
        numbers, faults = _numbers(given, raster, where)
        taken = scene.date or named.taken or (known[0] if len(known) == 1 else None)
        return ([] if faults else [Picture(taken, numbers)]), faults
    if scene.mask is not None:
        do = "name each date in an entry with its own bands and mask"
        return [], [Fault(where, "a mask for several dates", "a mask for each", do)]
    pictures, faults = [], []
    for day in known:
        of_day = [
            text if d == day else None for text, d in zip(raster.descriptions, days, strict=True)
        ]
        numbers, odd = _numbers(given, raster, f"{where}, {day}", of_day)
        pictures.append(Picture(day, numbers))
        faults += odd
    return pictures, faults


def _numbers(
    given: Mapping[str, int | str],
    raster: DatasetReader,
    where: str,
    descriptions: list[str | None] | None = None,
) -> tuple[dict[str, int], list[Fault]]:
    """Numbers of bands that are given by number or by name, and the faults of those given wrong."""
    called = list(raster.descriptions) if descriptions is None else descriptions
    numbers, faults = {}, []
    for quantity, band in given.items():
        meant = [band] if isinstance(band, int) else band_named(band, called)
        if isinstance(band, str) and len(meant) != 1:
            faults.append(name_fault(quantity, band, meant, called, where))
        elif meant[0] > raster.count:
            found = f"{quantity} = {meant[0]}, the file has {raster.count}"
            faults.append(Fault(where, found, "a band of the file", "count the bands from 1"))
        else:
            numbers[quantity] = meant[0]
    return numbers, faults


def _day_of(raster: DatasetReader, number: int) -> date | None:
    """The day that the file itself gives one of its bands, None where it gives none."""
    return band_dates(raster)[number - 1]
