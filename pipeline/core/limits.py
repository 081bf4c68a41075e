"""The most that is read of a file, each limit with its unit and why it is there.

They keep a broken or hostile file from taking all of a computer's memory or an hour of its time:
what passes them is read within 2 GB. All are judgments of this program, without a source, and far
beyond what one property needs. They are asked before a file is read as far as it tells its size
beforehand, and else while it is read.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: its name, the most that is read, in which unit, and why."""

    name: str
    most: int
    unit: str
    why: str

    def __str__(self) -> str:
        """The limit in words, as a fault expects it."""
        if self.unit != "bytes":
            return f"at most {self.most:,} {self.unit}"
        in_mb = f"{self.most / 1e6:g} MB"
        return f"at most {f'{self.most / 1e9:g} GB' if self.most >= 1e9 else in_mb}"


PROPERTY_FILE = Limit(
    "property file", 2_000_000, "bytes", "a property file of 200 units has some 50,000"
)
KEY_PARTS = Limit(
    "key", 20, "names with points between", "a reader of TOML goes one deeper for each"
)
NUMBER_DIGITS = Limit(
    "number", 100, "digits", "reading longer ones takes the square of their length"
)
MAP_FILE = Limit(
    "map file", 4_000_000_000, "bytes", "GeoPackages are copied, and all rows of a layer are held"
)
TEXT_MAP = Limit(
    "GeoJSON, KML or GPX",
    100_000_000,
    "bytes",
    "text is held whole, and takes eight times its size while it is taken apart",
)
MAP_ROWS = Limit("rows of a map", 200_000, "rows", "each is looked at by itself")
MAP_CORNERS = Limit(
    "corners of a map", 2_000_000, "corners", "a mile of outline with a corner each foot has 5,280"
)
ZIP_FILES = Limit("files in a zip", 10_000, "files", "a zip of one map has some ten")
ZIP_UNPACKED = Limit("zip, unpacked", 2_000_000_000, "bytes", "it is unpacked to disk first")
ZIP_RATIO = Limit(
    "zip, against its packed size",
    1000,
    "times its packed size",
    "no map is packed as tightly; smaller is free",
)
TABLE_FILE = Limit("table", 100_000_000, "bytes", "it is held whole")
TABLE_ROWS = Limit("rows of a table or sheet", 200_000, "rows", "blank ones are counted")
TABLE_CELLS = Limit("cells of a table or sheet", 2_000_000, "cells", "blank ones are counted")
WORKBOOK_UNPACKED = Limit("workbook, unpacked", 150_000_000, "bytes", "it is held whole")
PICTURE_PIXELS = Limit(
    "pixels of a picture around the units",
    400_000_000,
    "pixels",
    "each is held against the outline of its unit; a property of 2 km each way in pixels of 0.1 m",
)
CHANGE_MAP = Limit(
    "raster of a change",
    400_000_000,
    "pixels",
    "it is made in memory; a property of 200 km each way in pixels of 10 m; else left out",
)
PICTURE_BLOCK = Limit(
    "block of a picture", 500_000_000, "bytes", "a block is unpacked whole to read a pixel of it"
)

LIMITS: tuple[Limit, ...] = tuple(one for one in list(globals().values()) if isinstance(one, Limit))
"""All of them, in the order of this file."""
