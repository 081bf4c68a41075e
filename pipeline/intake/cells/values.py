"""What cells of a hand-edited table say: text in, a value or a complaint out.

Nothing is guessed: a number with a comma and a percent that could be a fraction are complained of,
with what to write instead.
"""

import re
from decimal import Decimal

from pipeline.core.layer import Column
from pipeline.core.names import clean_name, hidden_characters, suggestion
from pipeline.intake.cells.complaints import Complaint, Value
from pipeline.intake.cells.dates import DateOrder, date_in, month_in

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


def cell_value(
    text: str,
    column: Column,
    *,
    decimal_comma: bool = False,
    in_percent: bool = False,
    date_order: DateOrder | None = None,
) -> Value | Complaint:
    """Value of a cell [in the column's unit], None where it is empty, or a complaint.

    ``decimal_comma`` is for tables with semicolons between their cells; ``in_percent`` says that
    the header itself calls the column's numbers percents; ``date_order`` is how the column's dates
    are written, where that is known.
    """
    plain = clean_name(text)
    said = column.none_is_said and plain.casefold() == "none"
    if plain.casefold() in EMPTY_WORDS and not said:
        if column.nullable:
            return None
        found = f'"{plain}" stands for an empty cell' if plain else "the cell is empty"
        return Complaint(found, _expected(column), "fill it in", is_empty=True)
    if hidden := hidden_characters(plain):
        found = f"the cell holds hidden characters ({', '.join(hidden)})"
        return Complaint(found, "text that can be seen", "type it again")
    if column.kind == "text":
        return _text(plain, column)
    if column.kind == "date":
        month = month_in(plain) if column.month_counts else None
        return month or date_in(plain, date_order)
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


def spoiled_name(plain: str) -> str | None:
    """What a spreadsheet seems to have done to a name, None where it looks untouched."""
    if POWER_OF_TEN.match(plain):
        return "looks like a name that a spreadsheet turned into a power of ten"
    if WHOLE_WITH_DECIMALS.match(plain):
        return "looks like a whole number that a spreadsheet gave decimals"
    if DAY_AND_MONTH.match(plain):
        return "looks like a name that a spreadsheet turned into a date"
    return None
