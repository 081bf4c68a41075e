"""One open raster of a scene: its stored numbers as greenness, and what of them is usable.

Values are scaled here and nowhere else, or left as the whole numbers they are stored as, which are
quicker and exact to sum.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from rasterio.errors import RasterioError
from rasterio.io import DatasetReader
from rasterio.vrt import WarpedVRT
from rasterio.windows import Window

from pipeline.core.errors import SourceError
from pipeline.core.scene_names import AS_IT_STANDS, Scaling
from pipeline.intake.rasters.raster_file import unreadable
from pipeline.pictures.quality_masks import MaskRule, kept
from pipeline.pictures.raster_grid import Grid
from pipeline.pictures.vegetation_index import INDICES

SHORT_NUMBERS = ("int8", "uint8", "int16", "uint16")
"""Kinds of numbers whose sums of squares along a row of any raster are exact in 64 bits."""


ROUNDING = 1e-6
"""In stored units: the ends of the valid range count as inside."""


Spans = Sequence[tuple[int, int]]
"""Columns of a raster, from each first one to before each second one."""


ReadWindow = Callable[[Window], np.ndarray]
"""Reads a window of a raster; rows and columns are the last two axes."""


@dataclass(slots=True)
class PixelValues:
    """Values of pixels, which of them can be used, and which are data but impossible."""

    value: np.ndarray
    usable: np.ndarray
    impossible: np.ndarray

    def part(self, rows: slice, columns: slice) -> "PixelValues":
        """Some rows and columns of it: the same cells, not copies of them."""
        cells = (rows, columns)
        return PixelValues(self.value[cells], self.usable[cells], self.impossible[cells])


@dataclass(frozen=True, slots=True)
class StoredSample:
    """Some usable numbers as they are stored, and what of the pixels a quality raster left out.

    Of ``data`` pixels ``unmarked`` ones are lost only since the quality raster has no data there,
    by a number that its rule would keep.
    """

    numbers: np.ndarray
    data: int
    unmarked: int


@dataclass(slots=True)
class SceneRaster:
    """One open raster of a scene, north up, with its place on the grid of its mosaic."""

    scene: dict[str, Any]
    dataset: DatasetReader
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

    def scaling(self, quantity: str) -> Scaling:
        """What the numbers mean that ``values`` can give without scaling them."""
        band = self.band(quantity)
        if band is None or self.dataset.dtypes[band - 1] not in SHORT_NUMBERS:
            return AS_IT_STANDS
        return self._stored_scaling.then(self._line(quantity))

    @property
    def _stored_scaling(self) -> Scaling:
        """What the stored numbers mean, by the file, its product or the property file."""
        return Scaling(float(self.scene["scale"]), float(self.scene["offset"]))

    def _line(self, quantity: str) -> Scaling:
        """What takes a quantity to the scale of another sensor, if that is asked for."""
        if quantity != "ndvi":
            return AS_IT_STANDS
        return Scaling(float(self.scene["line_scale"]), float(self.scene["line_offset"]))

    def _read(self, bands: list[int], rows: tuple[int, int], spans: Spans) -> np.ndarray:
        """Stored numbers, the spans of columns side by side."""
        return self._north_up(lambda window: self.dataset.read(bands, window=window), rows, spans)

    def _north_up(self, read: ReadWindow, rows: tuple[int, int], spans: Spans) -> np.ndarray:
        """What the dataset holds in some rows, counted from the north whichever way it runs."""
        first, step = (self.grid.rows - rows[1], -1) if self.south_up else (rows[0], 1)
        stored_rows = (first, first + rows[1] - rows[0])
        values = side_by_side(read, stored_rows, spans, self.dataset.block_shapes[0][1])
        return values[..., ::step, :]

    def _usable(
        self, raw: np.ndarray, bands: list[int], rows: tuple[int, int], spans: Spans
    ) -> np.ndarray:
        """Which of the stored values are data, by fill value, mask band and quality raster."""
        good = self._in_file(raw, bands, rows, spans)
        if self.mask is not None:
            clear, there = self._quality(self.mask, rows, spans)
            good &= clear & there
        return good

    def _in_file(
        self, raw: np.ndarray, bands: list[int], rows: tuple[int, int], spans: Spans
    ) -> np.ndarray:
        """Which of the stored values are data, by fill value and mask band."""
        good: np.ndarray = np.ones(raw.shape[1:], dtype=bool)
        for number, band in enumerate(bands):
            fill = self.dataset.nodatavals[band - 1]
            if raw.dtype.kind == "f":
                good &= np.isfinite(raw[number])
            if fill is not None and not np.isnan(fill):
                good &= raw[number] != fill
        if pd.notna(self.scene["product_fill"]):
            good &= (raw != self.scene["product_fill"]).all(axis=0)
        if self.scene["zero_is_fill"]:
            good &= (raw != 0).any(axis=0)
        flags = {flag.name for flag in self.dataset.mask_flag_enums[bands[0] - 1]}
        if flags & {"per_dataset", "alpha"}:
            there = self._north_up(
                lambda w: self.dataset.read_masks(bands[0], window=w), rows, spans
            )
            good &= there > 0
        return good

    def _quality(
        self, mask: DatasetReader | WarpedVRT, rows: tuple[int, int], spans: Spans
    ) -> tuple[np.ndarray, np.ndarray]:
        """Which pixels the rule of the quality raster keeps, and which that raster has data for.

        It is laid on the north-up grid, whichever way the scene runs.
        """
        block = mask.block_shapes[0][1]
        quality = side_by_side(lambda w: mask.read(1, window=w), rows, spans, block)
        there = side_by_side(lambda w: mask.read_masks(1, window=w), rows, spans, block)
        is_clear = bool(self.scene["mask_nodata_is_clear"]) and not isinstance(mask, WarpedVRT)
        return kept(quality, self.rule), np.asarray((there > 0) | is_clear)

    def sample(self, rows: tuple[int, int], spans: Spans) -> "StoredSample":
        """Numbers that are stored in some rows and spans: of NDVI, or else of red light."""
        bands = [number for name in ("ndvi", "red") if (number := self.band(name))][:1]
        clear = there = np.ones((), dtype=bool)
        try:
            raw = self._read(bands, rows, spans)
            data = self._in_file(raw, bands, rows, spans)
            if self.mask is not None:
                clear, there = self._quality(self.mask, rows, spans)
        except RasterioError as error:
            raise self._unreadable() from error
        unmarked = data & clear & ~there
        good = data & self._real(raw) & clear & there
        return StoredSample(raw[0][good], int(data.sum()), int(unmarked.sum()))

    def values(
        self, quantity: str, rows: tuple[int, int], spans: Spans, scaling: Scaling = AS_IT_STANDS
    ) -> PixelValues:
        """A quantity of some rows and spans of columns, and which of it can be used.

        Whole numbers as they are stored where ``scaling`` is this raster's, otherwise real values.
        """
        names = [quantity] if self.has(quantity) else list(INDICES[quantity].bands)
        bands = [number for name in names if (number := self.band(name))]
        try:
            raw = self._read(bands, rows, spans)
            data = self._usable(raw, bands, rows, spans)
        except RasterioError as error:
            raise self._unreadable() from error
        real = self._real(raw)
        if len(bands) == 1 and scaling == self.scaling(quantity) != AS_IT_STANDS:
            return PixelValues(raw[0], data & real, data & ~real)
        scaled = self._stored_scaling.value(raw)
        line = self._line(quantity)
        if len(bands) == 1:
            return PixelValues(line.value(scaled[0]), data & real, data & ~real)
        index = INDICES[quantity]
        value = index.function(*scaled)
        real &= np.isfinite(value) & (np.abs(value) <= index.highest)
        return PixelValues(line.value(value), data & real, data & ~real)

    def _unreadable(self) -> SourceError:
        """The error of a raster whose pixels cannot be read."""
        return SourceError(unreadable(f"scenes {self.scene['scene']}: {self.scene['name']}"))

    def _real(self, raw: np.ndarray) -> np.ndarray:
        """Which of the stored numbers lie in the valid range, in every band.

        The range is compared as it is stored: one rounding less, and whole numbers stay whole.
        """
        ends = self.scene["lowest"], self.scene["highest"]
        low, high = map(self._stored_scaling.stored, ends)
        low, high = low - ROUNDING, high + ROUNDING
        if raw.dtype.kind in "iu":
            low, high = math.ceil(low), math.floor(high)
        return np.asarray(((raw >= low) & (raw <= high)).all(axis=0))


def side_by_side(
    read: ReadWindow, rows: tuple[int, int], spans: Spans, block_columns: int
) -> np.ndarray:
    """Spans of columns of some rows side by side, read with as few calls as no block is too many.

    Spans that lie less than a block apart are read together: the blocks are needed anyway.
    """
    parts, group = [], [spans[0]]
    for span in [*spans[1:], None]:
        if span is not None and span[0] - group[-1][1] < block_columns:
            group.append(span)
            continue
        left, right = group[0][0], group[-1][1]
        wide = read(Window(left, rows[0], right - left, rows[1] - rows[0]))
        parts += [wide[..., start - left : stop - left] for start, stop in group]
        group = [span] if span is not None else []
    return parts[0] if len(parts) == 1 else np.concatenate(parts, axis=-1)
