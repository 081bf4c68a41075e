"""Which column of a found map is the unit's name, its cover, its acres, a width or a kind."""

from collections.abc import Iterable

from pipeline.core.names import listed
from pipeline.intake.survey.file_look import ColumnLook, FoundFile, words_of

# Words in the names of columns. Common practice, no source.
NAME_WORDS = ("unit", "name", "pasture", "paddock", "field", "block", "tract", "label")
ID_WORDS = ("id", "no", "nr", "num", "number", "code", "objectid", "fid")
COVER_WORDS = ("cover", "landcover", "vegetation", "veg", "habitat", "community")
ACRE_WORDS = ("acre", "acreage", "ac")
MEASURE_WORDS = frozenset(
    ("area", "acre", "acreage", "hectare", "ha", "length", "leng", "perimeter", "width", "year")
)
FEET = ("ft", "feet", "foot")
APPLIES_TO = frozenset({"burn", "seed", "both"})
NO_NAME = ("blank", "acres", "machine-made ids", "dates", "numbers with a fraction")
"""What the name of a unit never looks like."""

MOST_FEET = 5280.0


def named_column(found: FoundFile, words: Iterable[str]) -> str | None:
    """The first column filled in every row whose name holds one of these words, sooner ones first.

    A column of numbers is none of these.
    """
    for word in words:
        for column in found.columns:
            if word in words_of(column.name) and column.numbers is None and is_full(column, found):
                return column.name
    return None


def is_full(column: ColumnLook, found: FoundFile) -> bool:
    """Whether every row fills a column."""
    return 0 < column.filled == found.rows


def text_values(found: FoundFile, name: str) -> tuple[str, ...]:
    """The different values of a column, none where there are more than were kept."""
    column = next(c for c in found.columns if c.name == name)
    return column.samples if column.distinct == len(column.samples) else ()


GUESSED_COLUMNS = (("name", ("name", "label")), ("cover", COVER_WORDS), ("owner", ("owner",)))
"""Our columns of units beside their names, and the words that a header for them may hold."""


def unit_columns(found: FoundFile) -> tuple[dict[str, str], str]:
    """Columns of the units, ours = theirs, and what is said where none names every unit.

    The nearest to one stands in, for what it lacks can be mended.
    """
    whole = _unit_id(found)
    unit_id = whole or _nearly_unit_id(found)
    columns = {"unit_id": unit_id} if unit_id else {}
    for ours, words in GUESSED_COLUMNS:
        others = [c for c in found.columns if c.name not in columns.values()]
        if ours == "name":
            others = [c for c in others if 2 * c.distinct > c.filled]
        theirs = _worded(others, words)
        if theirs is not None:
            columns[ours] = theirs
    acres = [c.name for c in found.columns if c.is_acreage and {*ACRE_WORDS} & {*words_of(c.name)}]
    if acres:
        columns["stated_ac"] = acres[0]
    return columns, "" if whole else _nearest_names(found)


def _worded(columns: Iterable[ColumnLook], words: Iterable[str]) -> str | None:
    """The first column of text, with anything in it, whose name holds one of the words."""
    texts = [c for c in columns if c.filled and c.looks == "text"]
    return next((c.name for word in words for c in texts if word in words_of(c.name)), None)


def _could_name(column: ColumnLook) -> bool:
    """Whether a column may hold names, from its values and the words over it."""
    measures = column.numbers is not None and MEASURE_WORDS & {*words_of(column.name)}
    return column.looks not in NO_NAME and not measures


def _unit_id(found: FoundFile) -> str | None:
    """The column that tells the units apart: values all there and all different.

    One whose name says so comes first, then one of numbers or codes, then any text. A fraction,
    an acreage, a day or a machine-made id is nobody's name of a unit.
    """
    fit = [c for c in found.whole_columns() if _could_name(c)]
    texts = [c for c in fit if c.looks == "text"]
    ranked = [
        *(c for word in NAME_WORDS for c in fit if word in words_of(c.name)),
        *(c for c in fit if {*ID_WORDS} & {*words_of(c.name)}),
        *texts,
    ]
    return ranked[0].name if ranked else None


def _nearly_unit_id(found: FoundFile) -> str | None:
    """A column of names that is blank in some rows or repeats, mostly filled and mostly different.

    Where names repeat much, the column is rather one that rows are to be joined by.
    """
    near = [
        c
        for c in found.columns
        if c.looks == "text"
        and _could_name(c)
        and 2 * c.filled >= found.rows
        and 2 * c.distinct > c.filled
    ]
    return next((c.name for word in NAME_WORDS for c in near if word in words_of(c.name)), None)


def _nearest_names(found: FoundFile) -> str:
    """What the columns lack that come nearest to naming the units."""
    near = [
        f"{c.name} ({found.rows - c.filled} rows blank, {c.filled - c.distinct} repeated)"
        for c in found.columns
        if c.filled and _could_name(c) and {*NAME_WORDS, *ID_WORDS} & {*words_of(c.name)}
    ]
    made = [c.name for c in found.whole_columns() if c.looks == "machine-made ids"]
    if made:
        return f'"{made[0]}" would do for a first look, though nobody can read its ids'
    if not near:
        return 'no column could be a name; write names = "row" under [mend]'
    numbered = 'write names = "numbered" under [mend] where one repeats'
    return f"no column has a different name in every row; nearest: {listed(near, 3)}; {numbered}"


def exclusion_columns(found: FoundFile) -> dict[str, str]:
    """Columns of ground left out: its kind, and of what it is left out where values say so."""
    columns = {}
    kind = named_column(found, ("kind", "type", "name"))
    if kind:
        columns["kind"] = kind
    for column in found.columns:
        said = {value.lower() for value in column.samples}
        if said and said <= APPLIES_TO and is_full(column, found):
            columns["applies_to"] = column.name
    return columns


def break_columns(found: FoundFile) -> dict[str, str]:
    """Columns of breaks: their kind, and their width where its header says feet."""
    columns = {}
    kind = named_column(found, ("kind", "type"))
    if kind:
        columns["kind"] = kind
    for column in found.columns:
        words, span = words_of(column.name), column.numbers
        if (
            "width" in words
            and {*FEET} & {*words}
            and span
            and 0 <= span[0] <= span[1] <= MOST_FEET
        ):
            columns["width_ft"] = column.name
    return columns
