"""How large what is read may be: every limit of the program's sources, in one place.

They are far beyond what one property needs, and keep a run below 2 GB of memory and a minute. What
is larger is refused in a line that says what it has and what it may have.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limit:
    """The most of something that is read: a number, its unit, and a sentence on what it is."""

    name: str
    most: int
    unit: str
    meaning: str

    def __str__(self) -> str:
        """The limit as a fault tells it."""
        return f"at most {self.most:,} {self.unit}"


MAP = Limit("map file", 500_000_000, "bytes", "A map file that is not text, or a zip.")
TEXT_MAP = Limit("text map", 100_000_000, "bytes", "A map file of text: GeoJSON, KML, GPX.")
UNPACKED = Limit("unpacked zip", 500_000_000, "bytes", "All files of a zip, unpacked.")
ZIP_MEMBERS = Limit("files in a zip", 10_000, "files", "Files that a zip may hold.")
SWELLING = Limit(
    "packing",
    1000,
    "times its packed size",
    "How many times larger a zip may become when it is unpacked, from 10 MB on.",
)
CORNERS = Limit(
    "corners of a map", 2_000_000, "corners", "Corners of all shapes of one layer together."
)
SHAPE_PARTS = Limit(
    "parts of a unit", 500, "parts", "Separate pieces of ground that one unit may consist of."
)
TABLE = Limit("table file", 50_000_000, "bytes", "A table as text, or a workbook as it is stored.")
ROWS = Limit("rows of a table", 200_000, "rows", "Rows of a table, blank ones counted.")
COLUMNS = Limit("columns of a table", 1000, "columns", "Cells that one row of a table may hold.")
SHEET = Limit("unpacked workbook", 200_000_000, "bytes", "All parts of a workbook, unpacked.")

LIMITS = (
    MAP,
    TEXT_MAP,
    UNPACKED,
    ZIP_MEMBERS,
    SWELLING,
    CORNERS,
    SHAPE_PARTS,
    TABLE,
    ROWS,
    COLUMNS,
    SHEET,
)
"""All of them, in the order in which they are described."""
