"""Pictures: the rasters of one date on one grid, read as greenness and what of it is usable.

Tiles of a date are laid on top of each other: the first in the property file that has a usable
pixel gives it. Values are scaled here and nowhere else.
"""

import math
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
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
from rasterio.windows import Window

from pipeline.compute.quality_bits import MaskRule, kept
from pipeline.compute.raster_grid import Grid
from pipeline.compute.vegetation_index import mirbi, ndvi
from pipeline.errors import Fault, SourceError
from pipeline.io.scenes import RASTER_OPTIONS, open_raster

BAND_PIXELS = 1 << 20
CACHED_BYTES = 16 << 20
"""Row of blocks of one picture that the cache surely keeps beside that of another."""

ROUNDING = 1e-6
"""In stored units: the ends of the valid range count as inside."""

INDEX_BANDS = {"ndvi": ("red", "nir"), "mirbi": ("swir1", "swir2")}
"""Bands that an index is made of, in the order of its function."""

Spans = Sequence[tuple[int, int]]


@dataclass(slots=True)
class Tile:
    """One open raster, north up, with its place on the grid of its picture."""

    scene: dict[str, Any]
    raster: DatasetReader
    grid: Grid
    south_up: bool
    mask: DatasetReader | WarpedVRT | None
    rule: MaskRule
    row: int = 0
    column: int = 0

    def band(self, quantity: str) -> int | None:
        """Number of the band of a quantity such as ``nir``, None where there is none."""
        number = self.scene.get(f"{quantity}_band")
        return None if number is None or pd.isna(number) else int(number)

    def has(self, *quantities: str) -> bool:
        """Whether there are bands of all these quantities."""
        return all(self.band(quantity) is not None for quantity in quantities)

    @property
    def _step(self) -> int:
        return -1 if self.south_up else 1

    def _windows(self, rows: tuple[int, int], spans: Spans) -> list[Window]:
        """Windows of the file itself."""
        first = self.grid.rows - rows[1] if self.south_up else rows[0]
        return [Window(start, first, stop - start, rows[1] - rows[0]) for start, stop in spans]

    def _read(self, bands: list[int], rows: tuple[int, int], spans: Spans) -> np.ndarray:
        """Stored values, the spans of columns side by side."""
        parts = [self.raster.read(bands, window=w) for w in self._windows(rows, spans)]
        return (parts[0] if len(parts) == 1 else np.concatenate(parts, axis=2))[:, :: self._step]

    def _told_usable(
        self, raw: np.ndarray, bands: list[int], rows: tuple[int, int], spans: Spans
    ) -> np.ndarray:
        """Which of the stored values are data, by fill value, mask band and quality raster."""
        good = np.ones(raw.shape[1:], dtype=bool)
        for number, band in enumerate(bands):
            fill = self.raster.nodatavals[band - 1]
            if raw.dtype.kind == "f":
                good &= np.isfinite(raw[number])
            if fill is not None and not np.isnan(fill):
                good &= raw[number] != fill
        if self.scene["zero_is_fill"]:
            good &= (raw != 0).any(axis=0)
        flags = {flag.name for flag in self.raster.mask_flag_enums[bands[0] - 1]}
        if flags & {"per_dataset", "alpha"}:
            parts = [self.raster.read_masks(bands[0], window=w) for w in self._windows(rows, spans)]
            good &= (np.concatenate(parts, axis=1) > 0)[:: self._step]
        if self.mask is not None:
            # A quality raster is laid on the north-up grid, whichever way the scene runs.
            windows = [Window(a, rows[0], b - a, rows[1] - rows[0]) for a, b in spans]
            quality = [self.mask.read(1, window=w) for w in windows]
            there = [self.mask.read_masks(1, window=w) for w in windows]
            good &= kept(np.concatenate(quality, axis=1), self.rule)
            good &= np.concatenate(there, axis=1) > 0
        return good

    def values(self, quantity: str, rows: tuple[int, int], spans: Spans) -> "Values":
        """A quantity of some rows and spans of columns, and which of it can be used."""
        names = [quantity] if self.has(quantity) else list(INDEX_BANDS[quantity])
        bands = [number for name in names if (number := self.band(name))]
        raw = self._read(bands, rows, spans)
        data = self._told_usable(raw, bands, rows, spans)
        scale, offset = float(self.scene["scale"]), float(self.scene["offset"])
        # The range is compared as it is stored: one rounding less, and whole numbers stay whole.
        low, high = (
            (self.scene["lowest"] - offset) / scale - ROUNDING,
            (self.scene["highest"] - offset) / scale + ROUNDING,
        )
        if raw.dtype.kind == "f":
            real = ((raw >= low) & (raw <= high)).all(axis=0)
        else:
            real = ((raw >= math.ceil(low)) & (raw <= math.floor(high))).all(axis=0)
        scaled = raw * scale + offset if offset else raw * scale
        if len(bands) == 1:
            return Values(scaled[0], data & real, data & ~real)
        if quantity == "mirbi":
            return Values(mirbi(*scaled), data & real, data & ~real)
        value = ndvi(*scaled)
        real &= np.isfinite(value) & (np.abs(value) <= 1.0)
        return Values(value, data & real, data & ~real)


@dataclass(slots=True)
class Values:
    """Values of pixels, which of them can be used, and which are data but impossible."""

    value: np.ndarray
    usable: np.ndarray
    impossible: np.ndarray


@dataclass(slots=True)
class Picture:
    """All tiles of one date that share a grid, the first one on top."""

    tiles: list[Tile] = field(default_factory=list)
    whole: bool = True
    """Whether a single tile is all of the grid."""

    @property
    def grid(self) -> Grid:
        """Grid that holds all tiles."""
        grid = self.tiles[0].grid
        for tile in self.tiles[1:]:
            grid = grid.union(tile.grid)
        return grid

    @property
    def scene(self) -> int:
        """Number of the first scene."""
        return int(self.tiles[0].scene["scene"])

    @property
    def sensors(self) -> set[str]:
        """Sensors as far as the names tell."""
        return {t.scene["sensor"] for t in self.tiles if t.scene["sensor"] is not None}

    def band_rows(self) -> int:
        """Rows to read at a time: a part of a row of blocks where the cache keeps the rest of it.

        Where it doesn't, whole blocks are read, so that none is decoded twice.
        """
        tile = max(self.tiles, key=lambda t: t.raster.block_shapes[0][0])
        block = min(tile.raster.block_shapes[0][0], self.grid.rows)
        size = np.dtype(tile.raster.dtypes[0]).itemsize * tile.raster.count
        wanted = max(32, BAND_PIXELS // self.grid.columns)
        if block * self.grid.columns * size > CACHED_BYTES:
            return block
        if block > wanted:
            return -(-block // -(-block // wanted))
        return block * (wanted // block)

    def settle(self, grid: Grid) -> None:
        """Give every tile its place on a grid that holds them all."""
        self.whole = self.tiles[0].grid.shape == grid.shape
        for tile in self.tiles:
            tile.row, tile.column = grid.offset_of(tile.grid) or (0, 0)

    def read(self, quantity: str, first: int, end: int, spans: Spans) -> Values:
        """A quantity of some rows, of spans of columns side by side."""
        if len(self.tiles) == 1 and self.whole:
            return self.tiles[0].values(quantity, (first, end), spans)
        width = sum(stop - start for start, stop in spans)
        shape = (end - first, width)
        result = Values(np.zeros(shape), np.zeros(shape, bool), np.zeros(shape, bool))
        for tile in self.tiles:
            place = 0
            for start, stop in spans:
                _lay(tile, quantity, (first, end), (start, stop), place, result)
                place += stop - start
        return result


def _lay(
    tile: Tile, quantity: str, rows: tuple[int, int], columns: tuple[int, int], place: int,
    result: Values,
) -> None:  # fmt: skip
    """Lay the pixels of a tile under those already there."""
    top, bottom = max(rows[0], tile.row), min(rows[1], tile.row + tile.grid.rows)
    left, right = max(columns[0], tile.column), min(columns[1], tile.column + tile.grid.columns)
    if top >= bottom or left >= right:
        return
    at = (
        slice(top - rows[0], bottom - rows[0]),
        slice(place + left - columns[0], place + right - columns[0]),
    )
    if result.usable[at].all():
        return
    own = tile.values(
        quantity, (top - tile.row, bottom - tile.row), [(left - tile.column, right - tile.column)]
    )
    fresh = own.usable & ~result.usable[at]
    result.value[at] = np.where(fresh, own.value, result.value[at])
    result.usable[at] |= own.usable
    result.impossible[at] = (result.impossible[at] | own.impossible) & ~result.usable[at]


@contextmanager
def open_pictures(scenes: pd.DataFrame, presets: pd.DataFrame) -> Iterator[list[Picture]]:
    """Pictures of scenes of one date and kind; tiles on different grids are different pictures."""
    with rasterio.Env(**RASTER_OPTIONS), ExitStack() as stack:
        pictures: list[Picture] = []
        for scene in scenes.to_dict("records"):
            tile = _open_tile({str(k): v for k, v in scene.items()}, presets, stack)
            for picture in pictures:
                if picture.tiles[0].grid.offset_of(tile.grid) is not None:
                    picture.tiles.append(tile)
                    break
            else:
                pictures.append(Picture([tile]))
        for picture in pictures:
            picture.settle(picture.grid)
        yield pictures


def _open_tile(scene: dict[str, Any], presets: pd.DataFrame, stack: ExitStack) -> Tile:
    """One scene, opened; its quality raster laid on the same pixels."""
    where = f"scenes {scene['scene']}: {scene['name']}"
    raster = stack.enter_context(open_raster(Path(scene["path"]), where))
    transform = raster.transform
    south_up = transform.e > 0
    top = transform.f + transform.e * raster.height if south_up else transform.f
    grid = Grid(
        CRS.from_user_input(raster.crs).to_wkt(), transform.c, top, transform.a, abs(transform.e),
        raster.height, raster.width,
    )  # fmt: skip
    mask = None
    if scene["mask_path"] is not None:
        opened = stack.enter_context(open_raster(Path(scene["mask_path"]), f"{where}, mask"))
        upright = Affine(grid.pixel_x, 0, grid.left, 0, -grid.pixel_y, grid.top)
        same = opened.transform.almost_equals(upright, 1e-6) and opened.shape == raster.shape
        mask = opened if same and opened.crs == raster.crs else stack.enter_context(
            WarpedVRT(opened, crs=raster.crs, transform=upright, width=grid.columns,
                      height=grid.rows, resampling=Resampling.nearest,
                      add_alpha=opened.nodata is None)
        )  # fmt: skip
    return Tile(scene, raster, grid, south_up, mask, mask_rule(scene, presets))


def mask_rule(scene: dict[str, Any], presets: pd.DataFrame) -> MaskRule:
    """What a scene's quality raster drops. Raises SourceError for an unknown preset."""
    if scene["mask_preset"] is None:
        return MaskRule(_numbers(scene["drop_bits"]), (), _numbers(scene["keep_values"]))
    own = presets[presets["preset"] == scene["mask_preset"]]
    if own.empty:
        known = ", ".join(sorted(set(presets["preset"]))) or "none: [sources.mask_presets] is empty"
        raise SourceError(
            Fault(f"scenes {scene['scene']}: {scene['name']}",
                  f'mask preset "{scene["mask_preset"]}"',
                  "a preset of the table [sources.mask_presets]", f"known are {known}")
        )  # fmt: skip
    by_rule = {
        rule: tuple(own.loc[own["rule"] == rule, "number"].astype(int))
        for rule in ("drop_bit", "drop_value", "keep_value")
    }
    return MaskRule(by_rule["drop_bit"], by_rule["drop_value"], by_rule["keep_value"])


def _numbers(text: str | None) -> tuple[int, ...]:
    """Numbers of a text made by joining them, none of none."""
    return tuple(int(part) for part in text.split(",")) if text else ()
