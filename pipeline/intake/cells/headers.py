"""Which header of a hand-edited table or map is which of our columns.

Nothing is guessed: a header in another unit is complained of, with what to write instead.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from pipeline.core.errors import Fault
from pipeline.core.findings import Finding
from pipeline.core.layer import Column
from pipeline.core.names import folded, listed, nearest_name, suggestion
from pipeline.core.units import UNIT_BY_SUFFIX, unit_of

SHAPEFILE_NAME_LENGTH = 10
OTHER_UNIT = re.compile(
    r"ac|acres?|ha|hectares|sqft|m2|ft|feet|in|inch|inches|mi|m|meters|cm|mm|km"
    r"|lb|lbs|pounds|oz|kg|g|grams|lb_ac|kg_ha|seeds_per_kg|seeds_per_g|seeds_m2"
    r"|pct|percent|frac|fraction|share|usd|eur|per_lb|per_oz|per_kg|per_g|usd_per_kg"
    r"|f|c|deg|hours|days|months|years"
)
PERCENT_IN_HEADER = re.compile(r"%|pct|percent|per cent", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Match:
    """Header of each column that was found, what is wrong, and which headers are not used.

    ``by_unit`` are the columns whose header has the unit in other words (lbs for lb).
    """

    header_by_column: dict[str, str]
    faults: list[Fault] = field(default_factory=list)
    unused: list[str] = field(default_factory=list)
    by_unit: tuple[str, ...] = ()


def match_headers(
    name: str, headers: Sequence[str], columns: Sequence[Column], given: Mapping[str, str]
) -> Match:
    """Match headers with columns: as given, else by name, alias, or 10-character cut name.

    ``name`` is that of the file, ``given`` what the property file says of its columns: ours =
    theirs.
    """
    faults = list(_unknown_names(name, headers, columns, given))
    found = {
        ours: header
        for ours, theirs in given.items()
        if (header := header_meant(theirs, headers)) is not None
        and ours in {column.name for column in columns}
    }
    for column in columns:
        if column.name in given:
            continue
        spelled = {folded(spelling) for spelling in (column.name, *column.aliases)}
        fitting = [h for h in headers if folded(h) in spelled and h not in found.values()]
        if len(fitting) > 1:
            where, words = f"{name}: {column.name}", f"columns {listed(fitting)} all fit"
            do = f'say which: columns = {{ {column.name} = "…" }}'
            faults.append(Fault(where, words, "one of them", do))
        elif fitting:
            found[column.name] = fitting[0]
    by_unit = _with_unit_words(headers, columns, found, given)
    found |= by_unit
    unused = [h for h in headers if h not in found.values() and h.strip()]
    looked_for = [c for c in columns if c.name not in found and c.name not in given]
    for column in looked_for:
        faults += _missing(name, column, unused, list(found.values()))
    return Match(found, faults, unused, tuple(by_unit))


def _with_unit_words(
    headers: Sequence[str],
    columns: Sequence[Column],
    found: Mapping[str, str],
    given: Mapping[str, str],
) -> dict[str, str]:
    """Headers that say a column's name with its unit in other words, or that unit alone.

    A unit alone is taken only where one column has it: ``acres`` for ``acres_treated_ac``.
    """
    spelled = {h: _in_our_units(h) for h in headers if h not in found.values()}
    open_columns = [c for c in columns if c.unit and c.name not in found and c.name not in given]
    matched: dict[str, str] = {}
    for column in open_columns:
        suffix = next(s for s in _endings(column.name) if s in UNIT_BY_SUFFIX)
        alone = [c for c in columns if c.unit and c.name.endswith(f"_{suffix}")] == [column]
        wanted = {column.name, *([suffix] if alone else [])}
        fitting = [header for header, name in spelled.items() if name in wanted]
        if len(fitting) == 1:
            matched[column.name] = fitting[0]
    return matched


def _endings(name: str) -> list[str]:
    """Endings of a name at its underscores, the longest first."""
    parts = name.split("_")
    return ["_".join(parts[start:]) for start in range(len(parts))]


UNIT_SPELLINGS = {
    **dict.fromkeys(("acre", "acres"), "ac"),
    **dict.fromkeys(("lbs", "pound", "pounds", "#"), "lb"),
    **dict.fromkeys(("foot", "feet"), "ft"),
    **dict.fromkeys(("inch", "inches"), "in"),
    **dict.fromkeys(("mile", "miles"), "mi"),
    **dict.fromkeys(("gram", "grams"), "g"),
    **dict.fromkeys(("ounce", "ounces"), "oz"),
    **dict.fromkeys(("dollar", "dollars", "$"), "usd"),
    **dict.fromkeys(("percent", "%"), "pct"),
    **dict.fromkeys(("hour", "hrs"), "hours"),
    "day": "days",
}
"""Units as people write them over a column, and as they end our names."""


def _in_our_units(header: str) -> str:
    """A header as a name of ours would be written: ``Load (lbs/acre)`` is ``load_lb_ac``."""
    words = re.findall(r"[a-z0-9]+|[%$#]", header.casefold())
    first = next((n for n in range(len(words)) if {*words[n:]} <= UNIT_SPELLINGS.keys()), None)
    unit = [] if first is None else [UNIT_SPELLINGS[word] for word in words[first:]]
    return "_".join([*words[:first], *unit])


def read_as_findings(match: Match, role: str, name: str) -> Iterator[Finding]:
    """Notes on headers that were taken for a column because of their unit."""
    for column in match.by_unit:
        header = match.header_by_column[column]
        message = f'{name}: column "{header}" is read as {column}'
        yield Finding(severity="note", source=role, row=1, message=message, code="read_by_unit")


def _unknown_names(
    name: str, headers: Sequence[str], columns: Sequence[Column], given: Mapping[str, str]
) -> Iterator[Fault]:
    """Names in the property file that are neither a column of ours nor a header of the file."""
    names = [column.name for column in columns]
    for ours, theirs in given.items():
        where = f"{name}: columns: {ours}"
        if ours not in names:
            found = f'no column of ours is called "{ours}"'
            yield Fault(where, found, "one of ours on the left", suggestion(ours, names))
        elif header_meant(theirs, headers) is None:
            found = f'the file has no column "{theirs}"'
            yield Fault(where, found, "a column of the file", _near_header(theirs, headers))


def header_meant(theirs: str, headers: Sequence[str]) -> str | None:
    """The header meant by a name in the property file; shapefiles cut names to 10 characters."""
    if theirs in headers:
        return theirs
    cut_name = theirs[:SHAPEFILE_NAME_LENGTH].casefold()
    is_long = len(theirs) > SHAPEFILE_NAME_LENGTH
    same = [h for h in headers if folded(h) == folded(theirs)]
    fitting = same or [h for h in headers if is_long and h.casefold() == cut_name]
    return fitting[0] if len(fitting) == 1 else None


def _near_header(theirs: str, headers: Sequence[str]) -> str:
    """What to write instead of a header that the file does not have."""
    near = nearest_name(theirs, headers)
    known = f"the file has {listed(headers, 20) or 'no columns'}"
    return f'did you mean "{near}"? {known}' if near else known


def _missing(
    name: str, column: Column, unused: Sequence[str], used: Sequence[str]
) -> Iterator[Fault]:
    """A needed column that no header fits, or a header that gives it in another unit."""
    where = f"{name}: {column.name}"
    other = next((h for h in unused if in_another_unit(h, column)), None)
    if other is not None:
        yield Fault(
            where,
            f'column "{other}" is in another unit',
            expected=f"{column.name} ({column.unit})",
            do="convert the numbers and rename the column",
        )
    elif column.required:
        near = _near_header(column.name, unused or used)
        yield Fault(
            where,
            f'there is no column "{column.name}"',
            expected=column.meaning[:1].lower() + column.meaning[1:].rstrip(".?"),
            do=f'{near}; add it or say columns = {{ {column.name} = "…" }}',
        )


def in_another_unit(header: str, column: Column) -> bool:
    """Whether a header is a column's name with another unit at its end (kg instead of lb)."""
    unit = unit_of(column.name)
    plain = re.sub(r"[^a-z0-9]+", "_", header.casefold()).strip("_")
    if unit is None or column.dimensionless or plain == column.name:
        return False
    stems = {column.name.rsplit("_", n)[0] for n in (1, 2, 3)} - {""}
    return any(
        plain.startswith(f"{stem}_") and OTHER_UNIT.fullmatch(plain, len(stem) + 1)
        for stem in stems
    )


def percent_in_header(header: str) -> bool:
    """Whether a header itself says that its numbers are percents."""
    return PERCENT_IN_HEADER.search(header) is not None
