"""What a look at a file shows: its columns, its ground, its bands. No value of it is used."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
import shapely

Content = Literal["polygons", "lines", "points", "raster", "table", "unread"]

GUID = re.compile(r"(?i)^\{?[0-9a-f]{8}(-?[0-9a-f]{4}){3}-?[0-9a-f]{12}\}?$")
DATE = re.compile(r"^(\d{4}[-/]\d{1,2}[-/]\d{1,2}|\d{1,2}/\d{1,2}/\d{2,4})([ T].*)?$")
DATE_IN_NAME = re.compile(r"(?<!\d)(20\d\d)[-_]?([01]\d)[-_]?([0-3]\d)(?!\d)")
WORD = re.compile(r"[^\W\d_]+")
CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")

SAMPLES = 12
ACREAGE_WITHIN = 0.05
"""An acreage is told by its values: half of them are this near to the measured acres."""


@dataclass(frozen=True, slots=True)
class ColumnLook:
    """One column: how many rows fill it, how many different values, and what they look like.

    ``samples`` are the first different values, ``numbers`` the lowest and highest where all are
    numbers, ``whole`` says that none of these has a fraction.
    """

    name: str
    filled: int = 0
    distinct: int = 0
    samples: tuple[str, ...] = ()
    numbers: tuple[float, float] | None = None
    whole: bool = False
    is_acreage: bool = False

    @property
    def looks(self) -> str:
        """What the values look like, in a word or two."""
        if not self.filled:
            return "blank"
        if self.is_acreage:
            return "acres"
        for pattern, words in ((GUID, "machine-made ids"), (DATE, "dates")):
            if all(map(pattern.match, self.samples)):
                return words
        if self.numbers is None:
            return "text"
        return "whole numbers" if self.whole else "numbers with a fraction"


@dataclass(frozen=True, slots=True)
class RasterLook:
    """The bands of a raster: their descriptions, and the values of a small sample.

    ``is_scaled`` says that the file itself gives a scale; ``has_fractions`` that it holds decimal
    numbers; ``is_colored`` that it holds bytes of red, green and blue, as the file calls them.
    """

    descriptions: tuple[str, ...]
    has_fractions: bool
    is_scaled: bool
    lowest: float
    highest: float
    is_colored: bool = False


@dataclass(frozen=True, slots=True)
class FoundFile:
    """A file, or one layer of it, as a look at it shows.

    ``ground`` is what its polygons cover and ``extent`` the rectangle around all of its shapes,
    both on a map of equal areas [m]; ``changed`` the time of the file's last change in seconds;
    ``note`` says why a file could not be looked at.
    """

    path: str
    content: Content
    columns: tuple[ColumnLook, ...] = ()
    rows: int = 0
    has_crs: bool = True
    layer: str | None = None
    ground: shapely.Geometry | None = None
    extent: shapely.Geometry | None = None
    changed: float = 0.0
    raster: RasterLook | None = None
    note: str = ""

    @property
    def name(self) -> str:
        """Path and layer as a person finds them."""
        return f"{self.path}, {self.layer}" if self.layer else self.path

    def whole_columns(self) -> list[ColumnLook]:
        """Columns filled in every row with values that all differ."""
        return [c for c in self.columns if 0 < c.filled == c.distinct == self.rows]


def words_of(text: str) -> list[str]:
    """Whole words of a name, in small letters and in the singular.

    A name is split where a letter is followed by anything else, and at a capital after a small
    letter: ``CountyRoads_2`` holds county and road, ``watershed`` only watershed.
    """
    return [_singular(word.lower()) for word in WORD.findall(CAMEL.sub(" ", text))]


def _singular(word: str) -> str:
    """A word without the ending of the plural."""
    if word.endswith("ies") and len(word) > 4:
        return f"{word[:-3]}y"
    if word.endswith(("ches", "shes", "sses", "xes")):
        return word[:-2]
    return word[:-1] if word.endswith("s") and not word.endswith("ss") and len(word) > 3 else word


def date_in_name(name: str) -> date | None:
    """Date written as year, month, day in a file name; None where there is none or several."""
    days = set()
    for year, month, day in DATE_IN_NAME.findall(name):
        try:
            days.add(date(int(year), int(month), int(day)))
        except ValueError:
            continue
    return days.pop() if len(days) == 1 else None


def column_look(
    name: str, values: Iterable[str], measured_ac: np.ndarray | None = None
) -> ColumnLook:
    """Look at the values of a column, given as text; ``measured_ac`` are the acres of its rows."""
    texts = [value.strip() for value in values]
    filled = [text for text in texts if text]
    different = tuple(dict.fromkeys(filled))
    try:
        numbers = np.array([float(text) for text in filled])
    except ValueError:
        numbers = np.array([])
    if not len(numbers) or not np.isfinite(numbers).all():
        return ColumnLook(name, len(filled), len(different), different[:SAMPLES])
    return ColumnLook(
        name,
        len(filled),
        len(different),
        different[:SAMPLES],
        (float(numbers.min()), float(numbers.max())),
        bool((numbers == np.floor(numbers)).all()),
        measured_ac is not None and _is_acreage(texts, measured_ac),
    )


def _is_acreage(texts: Sequence[str], measured_ac: np.ndarray) -> bool:
    """Whether the numbers of a column are the acres of the shapes beside them."""
    stated_ac = np.array([float(text or "nan") for text in texts])
    told = np.isfinite(stated_ac) & (measured_ac > 0)
    if not told.any():
        return False
    apart = np.abs(stated_ac[told] / measured_ac[told] - 1.0)
    return bool(np.median(apart) <= ACREAGE_WITHIN)
