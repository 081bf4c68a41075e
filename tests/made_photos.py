"""Small photos made for tests: JPEG and PNG by GDAL, the camera's tags put in by hand."""

import struct
import warnings

import numpy as np
import rasterio
from rasterio.errors import NotGeoreferencedWarning
from rasterio.io import MemoryFile

# Exif 2.3 (CIPA DC-008) and TIFF 6.0: tags and types.
ORIENTATION, EXIF_POINTER, TAKEN = 0x0112, 0x8769, 0x9003
SHORT, LONG, ASCII = 3, 4, 2


def picture(width=60, height=40, bands=3):
    """A picture whose upper left quarter is bright and the rest dark."""
    pixels = np.full((bands, height, width), 30, np.uint8)
    pixels[:, : height // 2, : width // 2] = 220
    return pixels


def encoded(pixels, driver="JPEG", colors=None, **options):
    """The bytes of a picture as a file of the format."""
    count, height, width = pixels.shape
    with warnings.catch_warnings(), rasterio.Env(GDAL_PAM_ENABLED="NO"), MemoryFile() as memory:
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        profile = {"driver": driver, "count": count, "dtype": pixels.dtype, **options}
        with memory.open(width=width, height=height, **profile) as file:
            file.write(pixels)
            if colors:
                file.write_colormap(1, colors)
        return bytes(memory.getbuffer())


def with_tags(jpeg, *, taken=None, orientation=1):
    """A JPEG with the camera's tags: the moment, as cameras write it, and which side is up."""
    moment = (taken or "").encode() + b"\0"
    entries = 2 if taken else 1
    inner_at = 8 + 2 + 12 * entries + 4
    first = struct.pack("<H", entries)
    first += struct.pack("<HHIHH", ORIENTATION, SHORT, 1, orientation, 0)
    if taken:
        first += struct.pack("<HHII", EXIF_POINTER, LONG, 1, inner_at)
    first += struct.pack("<I", 0)
    inner = b""
    if taken:
        inner = struct.pack("<HHHII", 1, TAKEN, ASCII, len(moment), inner_at + 18)
        inner += struct.pack("<I", 0) + moment
    block = b"Exif\0\0II*\0" + struct.pack("<I", 8) + first + inner
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(block) + 2) + block + jpeg[2:]


JPEG = encoded(picture())
