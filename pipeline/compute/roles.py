"""What a file in a property's folder is likely to be: guessed from its geometry, name and columns.

A guess is only ever printed for a person to check; nothing is computed from it.
"""

import re
from dataclasses import dataclass
from datetime import date
from typing import Literal

from pipeline.layers import LAYERS
from pipeline.settings import table_names

Content = Literal["polygons", "lines", "points", "raster", "table"]

# Words of the trade and of land records, as parts of file names. Common practice, no source.
WORDS_BY_ROLE: dict[tuple[Content, str], str] = {
    ("polygons", "exclusions"): r"exclu|leave|wetland|pond|building|yard|avoid|no_?burn|no_?seed",
    ("polygons", "breaks"): r"till|crop|break|bare|mown|lake|water",
    ("polygons", "burned_areas"): r"burned|burn_?scar|fire_?hist|partial",
    ("polygons", "units"): r"unit|field|pasture|paddock|parcel|bound",
    ("lines", "breaks"): r"road|trail|lane|track|creek|stream|river|ditch|fence|break|line",
}
KIND_WORDS = ("road", "trail", "lane", "creek", "stream", "river", "ditch", "fence", "pond",
              "tilled", "crop", "track", "lake")  # fmt: skip
ID_WORDS = r"^(unit_?(id|no|nr|name)?|id|name|field(_?id)?|pasture|paddock)$"
DATE_IN_NAME = re.compile(r"(?<!\d)(20\d\d)[-_]?([01]\d)[-_]?([0-3]\d)(?!\d)")


@dataclass(frozen=True, slots=True)
class FoundFile:
    """A file as a look at it shows: no value of it is used.

    ``unique_columns`` are the columns whose values are all there and all different.
    """

    path: str
    content: Content
    columns: tuple[str, ...] = ()
    unique_columns: tuple[str, ...] = ()
    rows: int = 0
    has_crs: bool = True
    layer: str | None = None


def likely_role(found: FoundFile) -> str | None:
    """Name of the source that a file looks like, None when it looks like none of them."""
    if found.content == "raster":
        return "scenes"
    if found.content == "table":
        return _likely_table(found.columns)
    name = f"{found.path} {found.layer or ''}".lower()
    for (content, role), words in WORDS_BY_ROLE.items():
        if content == found.content and re.search(words, name):
            return role
    return None


def _likely_table(columns: tuple[str, ...]) -> str | None:
    """The table whose columns fit best; all that it needs must be there."""
    given = {re.sub(r"[^a-z0-9]+", "_", c.strip().lower()) for c in columns}
    fits = []
    for name in table_names():
        declared = LAYERS[name].columns
        spelled = [{c.name, *c.aliases} for c in declared]
        needed = [s for c, s in zip(declared, spelled, strict=True) if c.required]
        if all(given & s for s in needed):
            fits.append((sum(bool(given & s) for s in spelled), name))
    return max(fits)[1] if fits else None


def likely_id_column(found: FoundFile) -> str | None:
    """Column that tells the units apart: its values differ and its name says so."""
    named = [c for c in found.unique_columns if re.match(ID_WORDS, c.lower())]
    return next(iter([*named, *found.unique_columns]), None)


def likely_break_kind(found: FoundFile) -> str:
    """Kind of an existing break, from the name of its file."""
    name = found.path.lower()
    return next((word for word in KIND_WORDS if word in name), "break")


def date_in_name(name: str) -> date | None:
    """Date written as year, month, day in a file name; None where there is none or several."""
    days = set()
    for year, month, day in DATE_IN_NAME.findall(name):
        try:
            days.add(date(int(year), int(month), int(day)))
        except ValueError:
            continue
    return days.pop() if len(days) == 1 else None
