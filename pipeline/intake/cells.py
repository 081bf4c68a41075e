"""What headers and cells of a hand-edited table say: text in, a value or a complaint out.

Nothing is guessed: a header in another unit, a date that could be two days and a percent that
could be a fraction are complained of, with what to write instead.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from pipeline.core.errors import Fault
from pipeline.core.layer import Column
from pipeline.core.names import (
    clean_name,
    folded,
    hidden_characters,
    listed,
    nearest_name,
    suggestion,
)
from pipeline.core.section import FIRST_DAY, LAST_DAY
from pipeline.core.units import unit_of

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
    """Header of each column that was found, what is wrong, and which headers are not used."""

    header_by_column: dict[str, str]
    faults: list[Fault] = field(default_factory=list)
    unused: list[str] = field(default_factory=list)


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
    unused = [h for h in headers if h not in found.values() and h.strip()]
    looked_for = [c for c in columns if c.name not in found and c.name not in given]
    for column in looked_for:
        faults += _missing(name, column, unused, list(found.values()))
    return Match(found, faults, unused)


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


A_DATE = "a date, year-month-day"
LARGEST_WHOLE = 10**9
EMPTY_WORDS = frozenset({"", "-", "–", "—", "n/a", "na", "none", "null", "nan", "."})
TRUE_WORDS = frozenset({"yes", "y", "true", "x", "1"})
FALSE_WORDS = frozenset({"no", "n", "false", "0"})

TRACE_WORDS = frozenset({"trace", "tr", "tr."})
TRACE_PCT = "0.05"
"""Most that a trace may be [%]. *Source*: ISTA Rules, components below 0.05 percent are reported
as a trace; from memory, to be checked."""

UNDER = re.compile(r"^(?:<|less than|under)\s*(?=[\d.])", re.IGNORECASE)
POINTS_BY_THREE = re.compile(r"^[+-]?[1-9]\d{0,2}(\.\d{3})+$")
NUMBER = re.compile(r"^[+-]?(\d+\.?\d*|\.\d+)(e(-\d{1,3}|\+?\d{1,2}))?$", re.IGNORECASE | re.ASCII)
THOUSANDS = re.compile(r"^[+-]?\d{1,3}(,\d{3})+(\.\d+)?$")
POWER_OF_TEN = re.compile(r"^\d+(\.\d+)?E[+-]?\d+$", re.IGNORECASE)
WHOLE_WITH_DECIMALS = re.compile(r"^\d+\.0+$")
DAY_AND_MONTH = re.compile(r"^\d{1,2}-(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)$")

ISO_DATE = re.compile(r"^(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?Z?)?$")
YEAR_FIRST_DATE = re.compile(r"^(\d{4})[/.](\d{1,2})[/.](\d{1,2})$")
COMPACT_DATE = re.compile(r"^(19|20)\d{6}$")
SLASH_DATE = re.compile(r"^(\d{1,2})[/.-](\d{1,2})[/.-](\d{2}|\d{4})$")
FULL_MONTHS = (
    *("january", "february", "march", "april", "may", "june", "july"),
    *("august", "september", "october", "november", "december"),
)
MONTHS = tuple(name[:3] for name in FULL_MONTHS)
TESTED = re.compile(r"^(?:date of test|test date|tested|test)\s*:?\s*", re.IGNORECASE)
MONTH_FIRST = re.compile(r"^(\d{1,2}|[a-z]{3,9})\.?[\s/.,-]+'?(\d{4}|\d{2})$", re.IGNORECASE)
YEAR_FIRST_MONTH = re.compile(r"^(\d{4})[\s/.-]+(\d{1,2}|[a-z]{3,9})\.?$", re.IGNORECASE)
FULL_MONTH_DAY = re.compile(r"^([a-z]{3,9})\.?\s+\d{1,2},?\s+(\d{4})$", re.IGNORECASE)
DAY_NUMBER = re.compile(r"^\d{5}(\.\d+)?$")
DAY_NUMBER_EPOCH = date(1899, 12, 30)  # of spreadsheet programs' 1900 date system

Value = str | int | float | bool | date | None


@dataclass(frozen=True, slots=True)
class Complaint:
    """Why a cell cannot be used as it stands, and what to write instead."""

    found: str
    expected: str
    do: str

    def fault(self, where: str) -> Fault:
        """The fault of a cell that stands at a place."""
        return Fault(where, self.found, self.expected, self.do)


def cell_value(
    text: str, column: Column, *, decimal_comma: bool = False, in_percent: bool = False
) -> Value | Complaint:
    """Value of a cell [in the column's unit], None where it is empty, or a complaint.

    ``decimal_comma`` is for tables with semicolons between their cells; ``in_percent`` says that
    the header itself calls the column's numbers percents.
    """
    plain = clean_name(text)
    said = column.none_is_said and plain.casefold() == "none"
    if plain.casefold() in EMPTY_WORDS and not said:
        if column.nullable:
            return None
        found = f'"{plain}" stands for an empty cell' if plain else "the cell is empty"
        return Complaint(found, _expected(column), "fill it in")
    if hidden := hidden_characters(plain):
        found = f"the cell holds hidden characters ({', '.join(hidden)})"
        return Complaint(found, "text that can be seen", "type it again")
    if column.kind == "text":
        return _text(plain, column)
    if column.kind == "date":
        month = month_in(plain) if column.month_counts else None
        return month or date_in(plain)
    if column.kind == "flag":
        return _flag(plain)
    number = number_in(plain, column, decimal_comma=decimal_comma, in_percent=in_percent)
    return number if isinstance(number, Complaint) else _within_bounds(number, plain, column)


def _expected(column: Column) -> str:
    """What belongs in a cell of a column, in words."""
    if column.choices:
        return f"one of {', '.join(column.choices)}"
    if column.kind == "date":
        return "a date, year-month-day"
    if column.kind == "flag":
        return "yes or no"
    if column.kind == "text":
        return "a text"
    return f"a number ({column.unit})" if column.unit else "a number"


def _text(plain: str, column: Column) -> str | Complaint:
    """A text, one of the choices where the column has them (in any case of letters)."""
    if not column.choices:
        return plain
    by_fold = {choice.casefold().replace("_", " "): choice for choice in column.choices}
    choice = by_fold.get(plain.casefold().replace("_", " "))
    if choice is None:
        return Complaint(f'"{plain}"', _expected(column), suggestion(plain, column.choices))
    return choice


def _flag(plain: str) -> bool | Complaint:
    """The yes or no that a cell says, or a complaint."""
    if plain.casefold() in TRUE_WORDS | FALSE_WORDS:
        return plain.casefold() in TRUE_WORDS
    return Complaint(f'"{plain}"', "yes or no", "write one of them")


def number_in(
    plain: str, column: Column, *, decimal_comma: bool = False, in_percent: bool = False
) -> Decimal | Complaint:
    """Number that a cell's text stands for [in the column's unit], exact, or a complaint.

    A percent is written 92.5 or 92.5%; a bare number up to 1 could be either a percent or a
    fraction, so it is taken for a percent only where the header says so, or where the column is
    of small parts (weed seed). There ``<0.01`` and ``trace`` count as the most they may be.
    """
    is_percent = column.name.endswith("_pct")
    text = plain.removesuffix("%").strip() if is_percent else plain
    if column.small_part:
        text = TRACE_PCT if text.casefold() in TRACE_WORDS else UNDER.sub("", text)
    text = text.removeprefix("$").strip() if "_usd" in f"_{column.name}" else text
    text = text.replace("\u2212", "-")
    if "," in text:
        if decimal_comma and text.count(",") == 1 and "." not in text:
            text = text.replace(",", ".")
        elif THOUSANDS.match(text) and not decimal_comma and not is_percent:
            text = text.replace(",", "")
        else:
            do = f"write {text.replace(',', '.')}, with a point"
            return Complaint(f'"{plain}": is the comma a decimal mark?', _expected(column), do)
    if decimal_comma and POINTS_BY_THREE.match(plain):
        found = f'"{plain}": is the point a decimal mark?'
        do = f"write {plain.replace('.', ',')} or {plain.replace('.', '')}"
        return Complaint(found, _expected(column), do)
    if not NUMBER.match(text):
        return Complaint(f'"{plain}" is not a number', _expected(column), _how_to_write(column))
    number = Decimal(text)
    is_sure = in_percent or column.small_part or plain.endswith("%")
    if is_percent and 0 < number <= 1 and not is_sure:
        as_percent, as_fraction = f"{number:f}", f"{number * 100:f}"
        found = f'"{plain}" could be {as_fraction} % or {as_percent} %'
        do = f"write {as_fraction}% or {as_percent}%"
        return Complaint(found, "a percent that is sure", do)
    return number


def _how_to_write(column: Column) -> str:
    """What to write instead of a number with a unit or words."""
    unit = f"; the unit is {column.unit}" if column.unit else ""
    return f"write the number alone{unit}, or leave the cell empty if it is unknown"


def _within_bounds(number: Decimal, plain: str, column: Column) -> int | float | Complaint:
    """The number as the column's type, if it lies within the column's bounds."""
    found, do = f'"{plain}"', "check the number and its unit"
    if column.lowest is not None and number < Decimal(repr(column.lowest)):
        return Complaint(found, f"at least {column.lowest:g}", do)
    if column.highest is not None and number > Decimal(repr(column.highest)):
        return Complaint(found, f"at most {column.highest:g}", do)
    if column.kind == "integer":
        if number != number.to_integral_value() or abs(number) > LARGEST_WHOLE:
            return Complaint(found, f"a whole number of at most {LARGEST_WHOLE:,}", "mend the cell")
        return int(number)
    return float(number)


def date_in(plain: str) -> date | Complaint:
    """Date that a cell's text stands for, or a complaint where it could be another one."""
    if match := ISO_DATE.match(plain) or YEAR_FIRST_DATE.match(plain):
        try:
            day = date(*map(int, match.groups()))
        except ValueError:
            return Complaint(f'"{plain}" is no day of the calendar', A_DATE, "mend the date")
        if FIRST_DAY <= day <= LAST_DAY:
            return day
        expected = f"a day from {FIRST_DAY} to {LAST_DAY}"
        return Complaint(f'"{plain}"', expected, "look for a slip in the year")
    if COMPACT_DATE.match(plain):
        found = "is a number"
        do = f"write {plain[:4]}-{plain[4:6]}-{plain[6:]} if that is the day"
    elif match := SLASH_DATE.match(plain):
        found, do = "is ambiguous", f"write {_readings(match.groups())}"
    elif DAY_NUMBER.match(plain):
        day = DAY_NUMBER_EPOCH + timedelta(days=int(float(plain)))
        found, do = "looks like a spreadsheet day number", f"write {day} if that is the day"
    else:
        found, do = "is not a date", "write it like 2026-07-20"
    return Complaint(f'"{plain}" {found}', A_DATE, do)


def month_in(plain: str) -> date | None:
    """First day of the month that a tag names, None where it names a day or could be two months.

    Seed law asks for month and year: 08/2026, Aug-26, August 2026, 2026-08. Two numbers of two
    digits are month and year where the second cannot be a month, as in 03/25; 10-11 stays open.
    """
    text = TESTED.sub("", plain)
    if match := MONTH_FIRST.match(text) or FULL_MONTH_DAY.match(text):
        month, year = match.groups()
    elif match := YEAR_FIRST_MONTH.match(text):
        year, month = match.groups()
    elif text != plain and (match := ISO_DATE.match(text)):
        year, month = match.group(1), match.group(2)
    else:
        return None
    number = int(month) if month.isdecimal() else _month_number(month)
    is_open = month.isdecimal() and len(year) == 2 and int(year) <= 12
    day = date(int(year) + (2000 if len(year) == 2 else 0), number, 1) if 0 < number < 13 else None
    return day if day is not None and FIRST_DAY <= day <= LAST_DAY and not is_open else None


def _month_number(word: str) -> int:
    """Number of the month of a word or its first letters, 0 for any other word."""
    names = (*FULL_MONTHS, "sept")
    fits = word.casefold() in names or word.casefold() in MONTHS
    return MONTHS.index(word.casefold()[:3]) + 1 if fits else 0


def _readings(parts: tuple[str, ...]) -> str:
    """The days that a date with slashes can stand for."""
    first, second, year = (int(part) for part in parts)
    year += 2000 if len(parts[2]) == 2 else 0
    readings = []
    for month, day in ((first, second), (second, first)):
        try:
            readings.append(date(year, month, day).isoformat())
        except ValueError:
            continue
    return " or ".join(dict.fromkeys(readings)) or "year-month-day"


def spoiled_name(plain: str) -> str | None:
    """What a spreadsheet seems to have done to a name, None where it looks untouched."""
    if POWER_OF_TEN.match(plain):
        return "looks like a name that a spreadsheet turned into a power of ten"
    if WHOLE_WITH_DECIMALS.match(plain):
        return "looks like a whole number that a spreadsheet gave decimals"
    if DAY_AND_MONTH.match(plain):
        return "looks like a name that a spreadsheet turned into a date"
    return None
