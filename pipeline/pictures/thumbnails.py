"""Photos made small: upright, without anything of the file but its pixels."""

import warnings
from collections.abc import Callable

import numpy as np
from rasterio import Env
from rasterio.enums import Resampling
from rasterio.errors import NotGeoreferencedWarning, RasterioError
from rasterio.io import DatasetReader, MemoryFile

from pipeline.intake.photo_files import LARGEST_BYTES, PHOTO_OPTIONS, opened_photo

QUALITY = 72

UPRIGHT: dict[str, Callable[[np.ndarray], np.ndarray]] = {
    "2": lambda a: a[:, :, ::-1],
    "3": lambda a: a[:, ::-1, ::-1],
    "4": lambda a: a[:, ::-1, :],
    "5": lambda a: a.transpose(0, 2, 1),
    "6": lambda a: a.transpose(0, 2, 1)[:, :, ::-1],
    "7": lambda a: a.transpose(0, 2, 1)[:, ::-1, ::-1],
    "8": lambda a: a.transpose(0, 2, 1)[:, ::-1, :],
}
"""What turns a stored picture upright, by its tag of orientation.

*Source*: TIFF 6.0 and Exif 2.3, tag 274: which side of the picture the first row and column are.
"""


def thumbnail(path: str, most_pixels: int) -> tuple[int, int, bytes] | None:
    """Width, height and JPEG of a photo made small; None where its pixels cannot be read."""
    try:
        with open(path, "rb") as file:
            content = file.read(LARGEST_BYTES + 1)
        if len(content) > LARGEST_BYTES:
            return None
        with opened_photo(content) as photo:
            bands = _small(photo, most_pixels)
            turn = UPRIGHT.get(photo.tags().get("EXIF_Orientation", "1"))
    except (RasterioError, OSError, ValueError, MemoryError):
        return None
    upright = np.ascontiguousarray(bands if turn is None else turn(bands))
    return upright.shape[2], upright.shape[1], jpeg(upright, QUALITY)


def _small(photo: DatasetReader, most_pixels: int) -> np.ndarray:
    """One or three bands of bytes, their longer side as asked or less; clear ground is white."""
    shrink = max(1.0, max(photo.width, photo.height) / most_pixels)
    shape = tuple(max(1, round(side / shrink)) for side in (photo.height, photo.width))
    paletted = photo.count == 1 and photo.colorinterp[0].name == "palette"
    way = Resampling.nearest if paletted else Resampling.average
    read = photo.read(out_shape=(photo.count, *shape), resampling=way)
    if read.dtype != np.uint8:
        read = (read.astype("float64") / 257).round().astype(np.uint8)
    if paletted:
        colors = np.zeros((256, 4), np.uint8)
        for number, color in photo.colormap(1).items():
            colors[number] = color
        read = np.moveaxis(colors[read[0]], -1, 0)
    if photo.count in (2, 4) or paletted:
        clear = read[-1].astype("float64") / 255
        return np.round(read[:-1] * clear + 255 * (1 - clear)).astype(np.uint8)
    return read[:3] if photo.count >= 3 else read[:1]


def jpeg(bands: np.ndarray, quality: int) -> bytes:
    """One or three bands of bytes as JPEG."""
    count, height, width = bands.shape
    profile = {"driver": "JPEG", "count": count, "dtype": "uint8", "QUALITY": quality}
    with warnings.catch_warnings(), Env(**PHOTO_OPTIONS), MemoryFile() as memory:
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        with memory.open(width=width, height=height, **profile) as picture:
            picture.write(bands)
        return bytes(memory.getbuffer())
