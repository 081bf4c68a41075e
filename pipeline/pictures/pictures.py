"""Pictures: the rasters of one date on one grid, read as greenness and what of it is usable.

Tiles of a date are laid on top of each other: the first in the property file that has a usable
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
from rasterio.transform import Affine
from rasterio.vrt import WarpedVRT

from pipeline.core.errors import Fault, SourceError
from pipeline.intake.scene_names import AS_IT_STANDS, Scaling, instrument_of
from pipeline.intake.scenes import RASTER_OPTIONS, open_raster
from pipeline.pictures.quality_bits import MaskRule
from pipeline.pictures.raster_grid import Grid, aligned
from pipeline.pictures.tiles import Spans, Tile, Values

BAND_PIXELS = 1 << 20


CACHED_BYTES = 16 << 20
"""Row of blocks of one picture that the cache surely keeps beside that of another."""


@dataclass(slots=True)
class Picture:
    """All tiles of one date that share a grid, the first one on top."""

    tiles: list[Tile]
    grid: Grid
    """Smallest grid that holds all tiles."""

    places: list[tuple[int, int]]
    """Row and column of each tile on that grid."""

    whole: bool = True
    """Whether a single tile is all of the grid that the picture is read on."""

    @property
    def scene(self) -> int:
        """Number of the first scene."""
        return int(self.tiles[0].scene["scene"])

    @property
    def sensors(self) -> set[str]:
        """Makes of sensors as far as the names tell."""
        told = (tile.scene["sensor"] for tile in self.tiles)
        return {instrument_of(sensor) for sensor in told if sensor is not None}

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

    def settle(self, grid: Grid, place: tuple[int, int]) -> None:
        """Give every tile its place on a grid, on which the picture's own begins at ``place``."""
        self.whole = len(self.tiles) == 1 and self.grid.shape == grid.shape
        for tile, (row, column) in zip(self.tiles, self.places, strict=True):
            tile.row, tile.column = row + place[0], column + place[1]

    def scaling(self, quantity: str) -> Scaling:
        """What the whole numbers of a quantity mean, if all tiles store it in the same way."""
        told = {tile.scaling(quantity) for tile in self.tiles}
        return told.pop() if len(told) == 1 else AS_IT_STANDS

    def read(
        self, quantity: str, first: int, end: int, spans: Spans, scaling: Scaling = AS_IT_STANDS
    ) -> Values:
        """A quantity of some rows, of spans of columns side by side.

        Real values, or the whole numbers that ``scaling`` gives a meaning to.
        """
        if self.whole:
            return self.tiles[0].values(quantity, (first, end), spans, scaling)
        width = sum(stop - start for start, stop in spans)
        shape = (end - first, width)
        blank = np.zeros(shape, float if scaling == AS_IT_STANDS else np.int32)
        result = Values(blank, np.zeros(shape, bool), np.zeros(shape, bool))
        for tile in self.tiles:
            place = 0
            for start, stop in spans:
                _lay(tile, quantity, scaling, (first, end), (start, stop), place, result)
                place += stop - start
        return result


def _lay(
    tile: Tile, quantity: str, scaling: Scaling, rows: tuple[int, int], columns: tuple[int, int],
    place: int, result: Values,
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
        quantity, (top - tile.row, bottom - tile.row),
        [(left - tile.column, right - tile.column)], scaling,
    )  # fmt: skip
    fresh = own.usable & ~result.usable[at]
    result.value[at] = np.where(fresh, own.value, result.value[at])
    result.usable[at] |= own.usable
    result.impossible[at] = (result.impossible[at] | own.impossible) & ~result.usable[at]


def _picture(tiles: list[Tile]) -> Picture:
    """Picture of tiles that all have the pixels of the first."""
    together = aligned([tile.grid for tile in tiles])
    if together is None:
        raise ValueError("tiles of a picture must have the same pixels")
    picture = Picture(tiles, *together)
    picture.settle(picture.grid, (0, 0))
    return picture


def on_one_grid(pictures: Sequence[Picture]) -> Grid | None:
    """Grid that holds all pictures, which then are read on it; None if their pixels differ."""
    together = aligned([picture.grid for picture in pictures])
    if together is None:
        return None
    grid, places = together
    for picture, place in zip(pictures, places, strict=True):
        picture.settle(grid, place)
    return grid


@contextmanager
def open_pictures(
    scenes: pd.DataFrame, presets: pd.DataFrame, *, for_burned: bool = False
) -> Iterator[list[Picture]]:
    """Pictures of scenes of one date and kind; tiles on different grids are different pictures.

    ``for_burned`` keeps pixels of classes that burned ground is often taken for.
    """
    with rasterio.Env(**RASTER_OPTIONS), ExitStack() as stack:
        groups: list[list[Tile]] = []
        for scene in scenes.to_dict("records"):
            told = {str(k): v for k, v in scene.items()}
            tile = _open_tile(told, mask_rule(told, presets, for_burned=for_burned), stack)
            for group in groups:
                if group[0].grid.offset_of(tile.grid) is not None:
                    group.append(tile)
                    break
            else:
                groups.append([tile])
        yield [_picture(group) for group in groups]


def _open_tile(scene: dict[str, Any], rule: MaskRule, stack: ExitStack) -> Tile:
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
    return Tile(scene, raster, grid, south_up, mask, rule)


def mask_rule(
    scene: dict[str, Any], presets: pd.DataFrame, *, for_burned: bool = False
) -> MaskRule:
    """What a scene's quality raster drops. Raises SourceError for an unknown preset.

    Classes that burned ground is often taken for (char is dark, as shadow is) drop a pixel,
    except ``for_burned``.

    *Source*: M. K. Vanderhoof et al., Fire 4 (2021) 52 (burned ground and water are confused).
    """
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
    taken = own["taken_for_burned"].astype("boolean").fillna(value=False)
    counts = ~taken | ((own["rule"] == "keep_value") == for_burned)
    by_rule = {
        rule: tuple(own.loc[counts & (own["rule"] == rule), "number"].astype(int))
        for rule in ("drop_bit", "drop_value", "keep_value")
    }
    return MaskRule(by_rule["drop_bit"], by_rule["drop_value"], by_rule["keep_value"])


def _numbers(text: str | None) -> tuple[int, ...]:
    """Numbers of a text made by joining them, none of none."""
    return tuple(int(part) for part in text.split(",")) if text else ()
