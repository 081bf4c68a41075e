"""Which header of a table is which of our columns."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pipeline.core.layer import Column
from pipeline.core.names import folded, listed, nearest_name, suggestion
from pipeline.core.units import unit_of

SHAPEFILE_NAME_LENGTH = 10


OTHER_UNITS = frozenset(
    {"ac", "acre", "acres", "ha", "hectares", "sqft", "m2", "ft", "feet", "in", "inch", "inches",
     "mi", "m", "meters", "cm", "mm", "km", "lb", "lbs", "pounds", "oz", "kg", "g", "grams",
     "pct", "percent", "frac", "fraction", "share", "usd", "eur", "f", "c", "deg", "hours", "days",
     "months", "years", "lb_ac", "kg_ha", "per_lb", "per_oz", "per_kg", "per_g", "usd_per_kg",
     "seeds_per_kg", "seeds_per_g", "seeds_m2"}
)  # fmt: skip


PERCENT_IN_HEADER = re.compile(r"%|pct|percent|per cent", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Match:
    """Header of each column that was found, what is wrong, and what is not used.

    ``wrong`` holds (header or column, found, expected, do).
    """

    header_by_column: dict[str, str]
    wrong: list[tuple[str, str, str, str]] = field(default_factory=list)
    unused: list[str] = field(default_factory=list)


def match_headers(
    headers: Sequence[str], columns: Sequence[Column], told: Mapping[str, str]
) -> Match:
    """Match headers with columns: as told, else by name, alias, or 10-character cut name."""
    wrong: list[tuple[str, str, str, str]] = []
    names = [column.name for column in columns]
    found: dict[str, str] = {}
    for ours, theirs in told.items():
        if ours not in names:
            wrong.append((f"columns: {ours}", f'no column of ours is called "{ours}"',
                          "one of ours on the left", suggestion(ours, names)))  # fmt: skip
        elif (header := _as_told(theirs, headers)) is not None:
            found[ours] = header
        else:
            wrong.append((f"columns: {ours}", f'the file has no column "{theirs}"',
                          "a column of the file", _suggested(theirs, headers)))  # fmt: skip
    for column in columns:
        if column.name in told:
            continue
        spelled = {folded(name) for name in (column.name, *column.aliases)}
        fitting = [h for h in headers if folded(h) in spelled and h not in found.values()]
        if len(fitting) > 1:
            wrong.append((column.name, f"columns {listed(fitting)} all fit", "one of them",
                          f'say which: columns = {{ {column.name} = "…" }}'))  # fmt: skip
        elif fitting:
            found[column.name] = fitting[0]
    unused = [h for h in headers if h not in found.values() and h.strip()]
    wrong += _missing(columns, found, unused, told)
    return Match(found, wrong, unused)


def _as_told(theirs: str, headers: Sequence[str]) -> str | None:
    """The header meant by a name in the property file; shapefiles cut names to 10 characters."""
    if theirs in headers:
        return theirs
    same = [h for h in headers if folded(h) == folded(theirs)]
    cut = [h for h in headers if len(theirs) > SHAPEFILE_NAME_LENGTH
           and h.casefold() == theirs[:SHAPEFILE_NAME_LENGTH].casefold()]  # fmt: skip
    fitting = same or cut
    return fitting[0] if len(fitting) == 1 else None


def _suggested(theirs: str, headers: Sequence[str]) -> str:
    """What to write instead of a header that the file does not have."""
    near = nearest_name(theirs, headers)
    known = f"the file has {listed(headers, 20) or 'no columns'}"
    return f'did you mean "{near}"? {known}' if near else known


def _missing(
    columns: Sequence[Column], found: Mapping[str, str], unused: Sequence[str],
    told: Mapping[str, str],
) -> list[tuple[str, str, str, str]]:  # fmt: skip
    """Needed columns that no header fits, and headers that say one of ours in another unit."""
    wrong = []
    for column in columns:
        if column.name in found or column.name in told:
            continue
        other = next((h for h in unused if in_another_unit(h, column)), None)
        if other is not None:
            wrong.append((column.name, f'column "{other}" is in another unit',
                          f"{column.name} ({column.unit})",
                          "convert the numbers and rename the column"))  # fmt: skip
        elif column.required:
            do = _suggested(column.name, unused or list(found.values()))
            wrong.append((column.name, f'there is no column "{column.name}"',
                          column.meaning.rstrip(".?").lower(),
                          f'{do}; add it or say columns = {{ {column.name} = "…" }}'))  # fmt: skip
    return wrong


def in_another_unit(header: str, column: Column) -> bool:
    """Whether a header is a column's name with another unit at its end (kg instead of lb)."""
    unit = unit_of(column.name)
    plain = re.sub(r"[^a-z0-9]+", "_", header.casefold()).strip("_")
    if unit is None or column.dimensionless or plain == column.name:
        return False
    stems = {column.name.rsplit("_", n)[0] for n in (1, 2, 3)} - {""}
    return any(
        plain.startswith(stem + "_") and plain[len(stem) + 1 :] in OTHER_UNITS for stem in stems
    )


def percent_in_header(header: str) -> bool:
    """Whether a header itself says that its numbers are percents."""
    return PERCENT_IN_HEADER.search(header) is not None
