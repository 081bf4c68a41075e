"""What one cell of a hand-edited table says: text in, a value or a complaint out. Never a guess."""

import re
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from pipeline.core.layer import Column
from pipeline.core.names import clean_name, hidden_characters, suggestion
from pipeline.core.section import FIRST_DAY, LAST_DAY

EMPTY_WORDS = frozenset({"", "-", "–", "—", "n/a", "na", "none", "null", "nan", "."})


LARGEST_WHOLE = 10**9


TRUE_WORDS = frozenset({"yes", "y", "true", "x", "1"})


FALSE_WORDS = frozenset({"no", "n", "false", "0"})


NUMBER = re.compile(r"^[+-]?(\d+\.?\d*|\.\d+)(e(-\d{1,3}|\+?\d{1,2}))?$", re.IGNORECASE | re.ASCII)


THOUSANDS = re.compile(r"^[+-]?\d{1,3}(,\d{3})+(\.\d+)?$")


POWER_OF_TEN = re.compile(r"^\d+(\.\d+)?E[+-]?\d+$", re.IGNORECASE)


ISO_DATE = re.compile(r"^(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?Z?)?$")


YEAR_FIRST_DATE = re.compile(r"^(\d{4})[/.](\d{1,2})[/.](\d{1,2})$")


COMPACT_DATE = re.compile(r"^(19|20)\d{6}$")


SLASH_DATE = re.compile(r"^(\d{1,2})[/.-](\d{1,2})[/.-](\d{2}|\d{4})$")


DAY_NUMBER = re.compile(r"^\d{5}(\.\d+)?$")


DAY_NUMBER_EPOCH = date(1899, 12, 30)  # of spreadsheet programs' 1900 date system


Value = str | int | float | bool | date | None


@dataclass(frozen=True, slots=True)
class Complaint:
    """Why a cell cannot be used as it stands, and what to write instead."""

    found: str
    expected: str
    do: str


def cell_value(
    text: str, column: Column, *, decimal_comma: bool = False, percent_told: bool = False
) -> Value | Complaint:
    """Value of a cell [in the column's unit], None where it is empty, or a complaint.

    ``decimal_comma`` is for tables with semicolons between their cells; ``percent_told`` says
    that the header itself calls the column's numbers percents.
    """
    plain = clean_name(text)
    if plain.casefold() in EMPTY_WORDS:
        if column.nullable:
            return None
        found = f'"{plain}" stands for an empty cell' if plain else "the cell is empty"
        return Complaint(found, _expected(column), "fill it in")
    if hidden := hidden_characters(plain):
        return Complaint(
            f"the cell holds hidden characters ({', '.join(hidden)})", "text that can be seen",
            "type it again",
        )  # fmt: skip
    if column.kind == "text":
        return _text(plain, column)
    if column.kind == "date":
        return date_in(plain)
    if column.kind == "flag":
        return _flag(plain)
    number = number_in(plain, column, decimal_comma=decimal_comma, percent_told=percent_told)
    if isinstance(number, Complaint):
        return number
    return _within_bounds(number, plain, column)


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
    """Yes or no."""
    if plain.casefold() in TRUE_WORDS | FALSE_WORDS:
        return plain.casefold() in TRUE_WORDS
    return Complaint(f'"{plain}"', "yes or no", "write one of them")


def number_in(
    plain: str, column: Column, *, decimal_comma: bool = False, percent_told: bool = False
) -> Decimal | Complaint:
    """Number that a cell's text stands for [in the column's unit], exact, or a complaint.

    A percent is written 92.5 or 92.5%; a bare number up to 1 could be either a percent or a
    fraction, so it is taken for a percent only where the header says so.
    """
    is_percent = column.name.endswith("_pct")
    text = plain.removesuffix("%").strip() if is_percent else plain
    text = text.removeprefix("$").strip() if "_usd" in f"_{column.name}" else text
    text = text.replace("\u2212", "-")
    if "," in text:
        if decimal_comma and text.count(",") == 1 and "." not in text:
            text = text.replace(",", ".")
        elif THOUSANDS.match(text) and not decimal_comma and not is_percent:
            text = text.replace(",", "")
        else:
            return Complaint(
                f'"{plain}": is the comma a decimal mark?', _expected(column),
                f'write {text.replace(",", ".")}, with a point',
            )  # fmt: skip
    if not NUMBER.match(text):
        return Complaint(f'"{plain}" is not a number', _expected(column), _how_to_write(column))
    number = Decimal(text)
    if is_percent and 0 < number <= 1 and not (percent_told or plain.endswith("%")):
        return Complaint(
            f'"{plain}" could be {number * 100:f} % or {number:f} %', "a percent that is sure",
            f"write {number * 100:f}% or {number:f}%",
        )  # fmt: skip
    return number


def _how_to_write(column: Column) -> str:
    """What to write instead of a number with a unit or words."""
    unit = f"; the unit is {column.unit}" if column.unit else ""
    return f"write the number alone{unit}, or leave the cell empty if it is unknown"


def _within_bounds(number: Decimal, plain: str, column: Column) -> int | float | Complaint:
    """The number as the column's type, if it lies within the column's bounds."""
    if column.lowest is not None and number < Decimal(repr(column.lowest)):
        return Complaint(
            f'"{plain}"', f"at least {column.lowest:g}", "check the number and its unit"
        )
    if column.highest is not None and number > Decimal(repr(column.highest)):
        return Complaint(
            f'"{plain}"', f"at most {column.highest:g}", "check the number and its unit"
        )
    if column.kind == "integer":
        if number != number.to_integral_value() or abs(number) > LARGEST_WHOLE:
            return Complaint(
                f'"{plain}"', f"a whole number of at most {LARGEST_WHOLE:,}", "mend the cell"
            )
        return int(number)
    return float(number)


def date_in(plain: str) -> date | Complaint:
    """Date that a cell's text stands for, or a complaint where it could be another one."""
    expected = "a date, year-month-day"
    if match := ISO_DATE.match(plain) or YEAR_FIRST_DATE.match(plain):
        try:
            day = date(*map(int, match.groups()))
        except ValueError:
            return Complaint(f'"{plain}" is no day of the calendar', expected, "mend the date")
        if FIRST_DAY <= day <= LAST_DAY:
            return day
        return Complaint(
            f'"{plain}"', f"a day from {FIRST_DAY} to {LAST_DAY}", "look for a slip in the year"
        )
    if COMPACT_DATE.match(plain):
        iso = f"{plain[:4]}-{plain[4:6]}-{plain[6:]}"
        return Complaint(f'"{plain}" is a number', expected, f"write {iso} if that is the day")
    if match := SLASH_DATE.match(plain):
        return Complaint(f'"{plain}" is ambiguous', expected, f"write {_readings(match.groups())}")
    if DAY_NUMBER.match(plain):
        day = DAY_NUMBER_EPOCH + timedelta(days=int(float(plain)))
        return Complaint(
            f'"{plain}" looks like a spreadsheet day number', expected,
            f"write {day} if that is the day",
        )  # fmt: skip
    return Complaint(f'"{plain}" is not a date', expected, "write it like 2026-07-20")


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
    if re.fullmatch(r"\d+\.0+", plain):
        return "looks like a whole number that a spreadsheet gave decimals"
    if re.fullmatch(r"\d{1,2}-(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)", plain):
        return "looks like a name that a spreadsheet turned into a date"
    return None
