"""Mosaics: the rasters of one date on one grid, read as greenness and what of it is usable.

Rasters of a date are laid on top of each other: the first in the property file that has a usable
pixel gives it.
"""

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import rasterio
from pyproj import CRS
from rasterio.enums import Resampling
from rasterio.io import DatasetReader
from rasterio.transform import Affine
from rasterio.vrt import WarpedVRT

from pipeline.core.scene_names import AS_IT_STANDS, Scaling, instrument_of
from pipeline.intake.rasters.raster_file import RASTER_OPTIONS, open_raster
from pipeline.pictures.quality_masks import MaskRule, mask_rule
from pipeline.pictures.raster_grid import Grid, aligned
from pipeline.pictures.scene_rasters import PixelValues, SceneRaster, Spans

BAND_PIXELS = 1 << 20
"""Pixels read at a time where nothing speaks for more or fewer."""


CACHED_BYTES = 16 << 20
"""Row of blocks of one picture that the cache surely keeps beside that of another."""


@dataclass(slots=True)
class Mosaic:
    """All rasters of one date that share a grid, the first one on top."""

    rasters: list[SceneRaster]
    grid: Grid
    """Smallest grid that holds all rasters."""

    places: list[tuple[int, int]]
    """Row and column of each raster on that grid."""

    whole: bool = True
    """Whether a single raster is all of the grid that the mosaic is read on."""

    @property
    def scene(self) -> int:
        """Number of the first scene."""
        return int(self.rasters[0].scene["scene"])

    @property
    def sensors(self) -> set[str]:
        """Makes of sensors as far as the names tell."""
        named = (raster.scene["sensor"] for raster in self.rasters)
        return {instrument_of(sensor) for sensor in named if sensor is not None}

    def band_rows(self) -> int:
        """Rows to read at a time: a part of a row of blocks where the cache keeps the rest of it.

        Where it doesn't, whole blocks are read, so that none is decoded twice.
        """
        datasets = [raster.dataset for raster in self.rasters]
        dataset = max(datasets, key=lambda d: d.block_shapes[0][0])
        block = min(dataset.block_shapes[0][0], self.grid.rows)
        size = np.dtype(dataset.dtypes[0]).itemsize * dataset.count
        wanted = max(32, BAND_PIXELS // self.grid.columns)
        if block * self.grid.columns * size > CACHED_BYTES:
            return block
        if block > wanted:
            return -(-block // -(-block // wanted))
        return block * (wanted // block)

    def settle(self, grid: Grid, place: tuple[int, int]) -> None:
        """Give every raster its place on a grid, on which the mosaic's own begins at ``place``."""
        self.whole = len(self.rasters) == 1 and self.grid.shape == grid.shape
        for raster, (row, column) in zip(self.rasters, self.places, strict=True):
            raster.row, raster.column = row + place[0], column + place[1]

    def scaling(self, quantity: str) -> Scaling:
        """What the whole numbers of a quantity mean, if all rasters store it in the same way."""
        scalings = {raster.scaling(quantity) for raster in self.rasters}
        return scalings.pop() if len(scalings) == 1 else AS_IT_STANDS

    def has(self, *quantities: str) -> bool:
        """Whether all rasters have bands of these quantities."""
        return all(raster.has(*quantities) for raster in self.rasters)

    def read(
        self, quantity: str, first: int, end: int, spans: Spans, scaling: Scaling = AS_IT_STANDS
    ) -> PixelValues:
        """A quantity of some rows, of spans of columns side by side.

        Real values, or the whole numbers that ``scaling`` gives a meaning to.
        """
        if self.whole:
            return self.rasters[0].values(quantity, (first, end), spans, scaling)
        width = sum(stop - start for start, stop in spans)
        shape = (end - first, width)
        blank = np.zeros(shape, float if scaling == AS_IT_STANDS else np.int32)
        result = PixelValues(blank, np.zeros(shape, bool), np.zeros(shape, bool))
        for raster in self.rasters:
            place = 0
            for start, stop in spans:
                part = result.part(slice(None), slice(place, place + stop - start))
                _lay(raster, quantity, scaling, (first, end), (start, stop), part)
                place += stop - start
        return result


MosaicPair = tuple[Mosaic, Mosaic]
"""Mosaics of the pictures before and after."""


def _lay(
    raster: SceneRaster,
    quantity: str,
    scaling: Scaling,
    rows: tuple[int, int],
    columns: tuple[int, int],
    below: PixelValues,
) -> None:
    """Lay the pixels of a raster under those that already stand in ``below``."""
    top, bottom = max(rows[0], raster.row), min(rows[1], raster.row + raster.grid.rows)
    left, right = columns
    left, right = max(left, raster.column), min(right, raster.column + raster.grid.columns)
    if top >= bottom or left >= right:
        return
    there = below.part(
        slice(top - rows[0], bottom - rows[0]), slice(left - columns[0], right - columns[0])
    )
    if there.usable.all():
        return
    span = (left - raster.column, right - raster.column)
    laid = raster.values(quantity, (top - raster.row, bottom - raster.row), [span], scaling)
    fresh = laid.usable & ~there.usable
    there.value[:] = np.where(fresh, laid.value, there.value)
    there.usable[:] |= laid.usable
    there.impossible[:] = (there.impossible | laid.impossible) & ~there.usable


def _mosaic(rasters: list[SceneRaster]) -> Mosaic:
    """Mosaic of rasters that all have the pixels of the first."""
    together = aligned([raster.grid for raster in rasters])
    if together is None:
        raise ValueError("rasters of a mosaic must have the same pixels")
    mosaic = Mosaic(rasters, *together)
    mosaic.settle(mosaic.grid, (0, 0))
    return mosaic


def on_one_grid(mosaics: Sequence[Mosaic]) -> Grid | None:
    """Grid that holds all mosaics, which then are read on it; None if their pixels differ."""
    together = aligned([mosaic.grid for mosaic in mosaics])
    if together is None:
        return None
    grid, places = together
    for mosaic, place in zip(mosaics, places, strict=True):
        mosaic.settle(grid, place)
    return grid


@contextmanager
def open_mosaics(
    scenes: pd.DataFrame, presets: pd.DataFrame, *, for_burned: bool = False
) -> Iterator[list[Mosaic]]:
    """Mosaics of scenes of one date and kind; rasters on different grids make different ones.

    ``for_burned`` keeps pixels of classes that burned ground is often taken for.
    """
    with rasterio.Env(**RASTER_OPTIONS), ExitStack() as stack:
        groups: list[list[SceneRaster]] = []
        for row in scenes.to_dict("records"):
            scene = {str(name): value for name, value in row.items()}
            raster = _open_raster(scene, mask_rule(scene, presets, for_burned=for_burned), stack)
            for group in groups:
                if group[0].grid.offset_of(raster.grid) is not None:
                    group.append(raster)
                    break
            else:
                groups.append([raster])
        yield [_mosaic(group) for group in groups]


def _open_raster(scene: dict[str, Any], rule: MaskRule, stack: ExitStack) -> SceneRaster:
    """One scene, opened; its quality raster laid on the same pixels."""
    where = f"scenes {scene['scene']}: {scene['name']}"
    dataset = stack.enter_context(open_raster(Path(scene["path"]), where, scene["variable"]))
    place = dataset.transform
    south_up = place.e > 0
    top = place.f + place.e * dataset.height if south_up else place.f
    wkt = CRS.from_user_input(dataset.crs).to_wkt()
    grid = Grid(wkt, place.c, top, place.a, abs(place.e), dataset.height, dataset.width)
    mask = None
    if scene["mask_path"] is not None:
        opened = stack.enter_context(open_raster(Path(scene["mask_path"]), f"{where}, mask"))
        mask = _on_grid(opened, dataset, grid, stack, bool(scene["mask_nodata_is_clear"]))
    return SceneRaster(scene, dataset, grid, south_up, mask, rule)


def _on_grid(
    mask: DatasetReader,
    dataset: DatasetReader,
    grid: Grid,
    stack: ExitStack,
    nodata_is_clear: bool,
) -> DatasetReader | WarpedVRT:
    """A quality raster on the north-up grid of a scene: itself, or its nearest pixels.

    Where its number for no data is one like others, only what lies beyond its edge has no data.
    """
    upright = Affine(grid.pixel_x, 0, grid.left, 0, -grid.pixel_y, grid.top)
    same = mask.transform.almost_equals(upright, 1e-6) and mask.shape == grid.shape
    if same and mask.crs == dataset.crs:
        return mask
    warped = WarpedVRT(
        mask,
        crs=dataset.crs,
        transform=upright,
        resampling=Resampling.nearest,
        add_alpha=mask.nodata is None or nodata_is_clear,
        width=grid.columns,
        height=grid.rows,
        **({"src_nodata": None, "nodata": None} if nodata_is_clear else {}),
    )
    return stack.enter_context(warped)


def rasters_of(scenes: pd.DataFrame, date: pd.Timestamp) -> pd.DataFrame:
    """Scenes of a date: the greenness rasters, or else the reflectance stacks."""
    rows = scenes[scenes["date"] == date]
    ready = rows[rows["kind"] == "ndvi"]
    return rows if ready.empty else ready


@contextmanager
def open_pair(
    scenes: pd.DataFrame, presets: pd.DataFrame, dates: tuple[pd.Timestamp, pd.Timestamp]
) -> Iterator[MosaicPair | None]:
    """The mosaics of two dates, None where one is missing or their pixels do not match."""
    rows = [rasters_of(scenes, date) for date in dates]
    with ExitStack() as stack:
        if any(of_date.empty for of_date in rows):
            yield None
            return
        old, new = (stack.enter_context(open_mosaics(of_date, presets)) for of_date in rows)
        paired = len(old) == len(new) == 1 and on_one_grid((old[0], new[0])) is not None
        yield (old[0], new[0]) if paired else None
