"""Dates as people write them: read where they can mean one day only, else complained of."""

import re
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Literal

from pipeline.core.section import FIRST_DAY, LAST_DAY
from pipeline.intake.cells.complaints import Complaint

A_DATE = "a date, year-month-day"
ISO_DATE = re.compile(r"^(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?Z?)?$")
YEAR_FIRST_DATE = re.compile(r"^(\d{4})[/.](\d{1,2})[/.](\d{1,2})$")
COMPACT_DATE = re.compile(r"^(19|20)\d{6}$")
SLASH_DATE = re.compile(r"^(\d{1,2})[/.-](\d{1,2})[/.-](\d{2}|\d{4})$")
SPELLED_DATE = re.compile(
    r"^(?:(?P<day>\d{1,2})[\s.-]+)?(?P<month>[a-z]{3,9})\.?[\s.-]+"
    r"(?:(?P<later_day>\d{1,2}),?[\s.-]+)?(?P<year>\d{4})$",
    re.IGNORECASE,
)
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

DateOrder = Literal["month_first", "day_first"]
"""How a date of three numbers that ends with its year is written."""


def order_shown(texts: Sequence[str]) -> DateOrder | None:
    """Order of the dates of a column where one of them can be read one way only.

    A number of 13 or more is a day: 6/25/2025 shows that months stand first. Where the column
    shows both orders, or none, it is not known.
    """
    parts = [match.groups() for text in texts if (match := SLASH_DATE.match(text.strip()))]
    day_second = any(int(second) > 12 for _, second, _ in parts)
    day_first = any(int(first) > 12 for first, _, _ in parts)
    if day_second == day_first:
        return None
    return "month_first" if day_second else "day_first"


def date_in(plain: str, order: DateOrder | None = None) -> date | Complaint:
    """Date that a cell's text stands for, or a complaint where it could be another one.

    ``order`` is how the dates of its column are written, None where that is not known.
    """
    if match := ISO_DATE.match(plain) or YEAR_FIRST_DATE.match(plain):
        return _day_or_complaint(plain, *map(int, match.groups()))
    if COMPACT_DATE.match(plain):
        found = "is a number"
        do = f"write {plain[:4]}-{plain[4:6]}-{plain[6:]} if that is the day"
    elif match := _spelled(plain):
        day_text, month = match["day"] or match["later_day"], _month_number(match["month"])
        return _day_or_complaint(plain, int(match["year"]), month, int(day_text))
    elif match := SLASH_DATE.match(plain):
        if order is not None:
            first, second, year = map(int, match.groups())
            month, day_number = (first, second) if order == "month_first" else (second, first)
            full_year = year + (2000 if len(match[3]) == 2 else 0)
            return _day_or_complaint(plain, full_year, month, day_number)
        readings = _readings(match.groups())
        say = 'say date_order = "month_first" or "day_first" beside its path'
        found, do = "is ambiguous", f"write {readings}, or {say}"
    elif DAY_NUMBER.match(plain):
        day = DAY_NUMBER_EPOCH + timedelta(days=int(float(plain)))
        found, do = "looks like a spreadsheet day number", f"write {day} if that is the day"
    else:
        found, do = "is not a date", "write it like 2026-07-20"
    return Complaint(f'"{plain}" {found}', A_DATE, do)


def _spelled(plain: str) -> re.Match[str] | None:
    """The parts of a date with its month as a word and one day: July 20, 2026 or 20-Jul-2026."""
    match = SPELLED_DATE.match(plain)
    if match is None or (match["day"] is None) == (match["later_day"] is None):
        return None
    return match if _month_number(match["month"]) else None


def _day_or_complaint(plain: str, year: int, month: int, day: int) -> date | Complaint:
    """A day of the calendar, or the complaint that a text names none or one of another age."""
    try:
        result = date(year, month, day)
    except ValueError:
        return Complaint(f'"{plain}" is no day of the calendar', A_DATE, "mend the date")
    if FIRST_DAY <= result <= LAST_DAY:
        return result
    expected = f"a day from {FIRST_DAY} to {LAST_DAY}"
    return Complaint(f'"{plain}"', expected, "look for a slip in the year")


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
