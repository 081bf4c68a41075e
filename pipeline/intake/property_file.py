"""Read the property file, and tell every fault of it with its line."""

import codecs
import re
import tomllib
import unicodedata
from collections.abc import Iterator
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from pipeline.core.errors import Fault, PropertyFileError
from pipeline.core.limits import KEY_PARTS, NUMBER_DIGITS, PROPERTY_FILE
from pipeline.core.names import hidden_characters, listed, suggestion
from pipeline.intake.settings import PropertyHead

KeyPath = tuple[str | int, ...]
Property = TypeVar("Property", bound=PropertyHead)


KEY = r"""(?:"(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)"""
DOTTED_KEY = rf"{KEY}(?:\s*\.\s*{KEY})*"
HEADING = re.compile(rf"\s*(\[\[?)\s*({DOTTED_KEY})\s*\]\]?")
ENTRY = re.compile(rf"\s*({DOTTED_KEY})\s*=")
STRING_BRACKET_OR_END = re.compile(
    r'"""(?:[^\\]|\\.)*?(?:"""|\Z)|'
    r"'{3}.*?(?:'{3}|\Z)|"
    r'"(?:[^"\\\n]|\\.)*"|'
    r"'[^'\n]*'|#[^\n]*|[\[\]{}\n]",
    re.DOTALL,
)
INNER_ENTRY = re.compile(rf"(?:^|[{{,])\s*({DOTTED_KEY})\s*=")


def key_lines(text: str) -> dict[KeyPath, int]:
    """Line [counted from 1] of every heading and key; entries of ``[[x]]`` are numbered from 0.

    The text must be valid TOML. A key inside an inline table is found where it is written.
    """
    lines: dict[KeyPath, int] = {}
    number_by_heading: dict[KeyPath, int] = {}
    section: KeyPath = ()
    for number, statement in _statements(text):
        if heading := HEADING.match(statement):
            section = _section(_parts(heading[2]), heading[1] == "[[", number_by_heading)
            lines.setdefault(section, number)
            for length in range(1, len(section)):
                lines.setdefault(section[:length], number)
        elif entry := ENTRY.match(statement):
            key = (*section, *_parts(entry[1]))
            for length in range(len(section) + 1, len(key) + 1):
                lines.setdefault(key[:length], number)
            value = statement[entry.end() :]
            if value.lstrip().startswith("{"):
                for inner in INNER_ENTRY.finditer(value):
                    offset = statement.count("\n", 0, entry.end() + inner.start(1))
                    lines.setdefault((*key, *_parts(inner[1])), number + offset)
    return lines


def line_of(path: KeyPath, lines: dict[KeyPath, int]) -> int | None:
    """Line of a key, or of the nearest heading or key above it that is written in the file."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return None


def _statements(text: str) -> Iterator[tuple[int, str]]:
    """Headings and entries with their line; an entry over several lines is one statement."""
    begin, first, line, depth = 0, 1, 1, 0
    for match in STRING_BRACKET_OR_END.finditer(text):
        token = match[0]
        line += token.count("\n")
        depth = max(depth + {"[": 1, "{": 1, "]": -1, "}": -1}.get(token, 0), 0)
        if token == "\n" and depth == 0:
            yield first, text[begin : match.end()]
            begin, first = match.end(), line
    if begin < len(text):
        yield first, text[begin:]


def _parts(dotted: str) -> tuple[str, ...]:
    """Names of a dotted key, without their quotes."""
    return tuple(part.strip("\"'") for part in re.findall(KEY, dotted))


def _section(
    parts: tuple[str, ...], repeated: bool, number_by_heading: dict[KeyPath, int]
) -> KeyPath:
    """Path of a heading; where a table is one of several, with its number after its name."""
    path: KeyPath = ()
    for position, part in enumerate(parts):
        path = (*path, part)
        if repeated and position == len(parts) - 1:
            number_by_heading[path] = number_by_heading.get(path, 0) + 1
        if path in number_by_heading:
            path = (*path, number_by_heading[path] - 1)
    return path


UTF_16_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
DEEP_KEY = re.compile(rf"^\s*\[*\s*(?:{KEY}\s*\.\s*){{{KEY_PARTS.most}}}", re.MULTILINE)
LONG_NUMBER = re.compile(rf"=\s*[+-]?\d[\d_]{{{NUMBER_DIGITS.most - 1}}}")

MOVED = {
    ("firebreaks", "slop_ft"): "[acreage]",
    ("firebreaks", "near_miss_ft"): "[acreage]",
    ("firebreaks", "mow_width_ft"): "[mowing]",
    ("seed", "state"): "[property]",
    ("seed", "region"): "[property]",
    ("fuel", "state"): "[property]",
    ("fuel", "region"): "[property]",
}
"""Settings that stood in another section once, and where they stand now."""

RENAMED = {
    ("greenness", "mid_first_day"): "midsummer_first_day",
    ("greenness", "mid_last_day"): "midsummer_last_day",
    ("seed", "drill_rows"): "catch_rows",
}
"""Settings that had another name once, and the name they have now."""


def read_property_file(path: Path, model: type[Property]) -> Property:
    """The property file as a ``model``, checked.

    Raises PropertyFileError with every fault, each with its line.
    """
    text = _text_of(path)
    tables = _parsed(text, path)
    lines = key_lines(text)
    faults = [
        Fault(
            _where(path, key, lines, model),
            f"the text holds hidden characters ({', '.join(hidden)})",
            expected="characters that can be seen",
            do="type it again",
        )
        for key, value in _texts(tables)
        if (hidden := hidden_characters(value))
    ]
    try:
        read = model.model_validate(_frozen(tables), strict=True)
    except ValidationError as error:
        found = [one for one in error.errors(include_url=False) if not _is_echo(one)]
        wrong = [_as_in_the_file(one, tables) for one in found]
        faults += [_fault(one, _where(path, one["loc"], lines, model), model) for one in wrong]
    if faults:
        raise PropertyFileError(sorted(faults, key=_line_number))
    return read


def _is_echo(error: Any) -> bool:
    """Whether a list is called too short only because one of its entries is at fault."""
    return error["type"] == "too_short" and len(error["input"]) >= error["ctx"]["min_length"]


def _as_in_the_file(error: Any, tables: dict[str, Any]) -> Any:
    """The checker's error with its place as it is written: one table of units has no number."""
    loc = error["loc"]
    if loc[:3] == ("sources", "units", 0) and isinstance(tables["sources"]["units"], dict):
        return {**error, "loc": (*loc[:2], *loc[3:])}
    return error


def _text_of(path: Path) -> str:
    """Text of the property file. Raises PropertyFileError where it cannot be read as text."""
    refused = partial(PropertyFileError.of, str(path))
    expected = "a property file (TOML text)"
    try:
        if not path.is_file():
            raise FileNotFoundError
        content = path.read_bytes() if path.stat().st_size <= PROPERTY_FILE.most else None
    except FileNotFoundError:
        raise refused("no such file", expected, "check the path") from None
    except OSError as error:
        found = f"cannot be read ({error.strerror})"
        raise refused(found, expected, "check its rights") from error
    if content is None:
        raise refused("larger than 2 MB", str(PROPERTY_FILE), "is this the right file?")
    encoding = "utf-16" if content.startswith(UTF_16_MARKS) else "utf-8-sig"
    try:
        return content.decode(encoding)
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        found, do = "a character that is not UTF-8", "save the file again with encoding UTF-8"
        raise PropertyFileError.of(f"{path}:{line}", found, "text saved as UTF-8", do) from error


def _parsed(text: str, path: Path) -> dict[str, Any]:
    """Tables of the property file. Raises PropertyFileError where the text is not TOML."""
    for pattern, found, expected in (
        (DEEP_KEY, "a key of too many parts", str(KEY_PARTS)),
        (LONG_NUMBER, "a number of a hundred digits or more", str(NUMBER_DIGITS)),
    ):
        if match := pattern.search(text):
            line = text.count("\n", 0, match.end()) + 1
            raise PropertyFileError.of(f"{path}:{line}", found, expected, "mend this line")
    try:
        return tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        what, _, place = str(error).partition(" (at ")
        line = int("".join(filter(str.isdigit, place.partition(",")[0])) or text.count("\n") + 1)
        found, expected = (
            f"{what[:1].lower()}{what[1:]}",
            'lines like name = "value" below [headings]',
        )
        do = "mend this line; text stands in quotes, numbers and dates do not"
        raise PropertyFileError.of(f"{path}:{line}", found, expected, do) from error
    except RecursionError as error:
        found, do = "brackets nested too deep", "check the brackets"
        raise PropertyFileError.of(str(path), found, "a property file", do) from error


def _texts(value: object, path: KeyPath = ()) -> Iterator[tuple[KeyPath, str]]:
    """Every key and text of the file with its place."""
    if isinstance(value, str):
        yield path, value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield (*path, key), key
            yield from _texts(inner, (*path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _texts(inner, (*path, number))


def _frozen(value: Any) -> Any:
    """The file's tables with lists as tuples and texts in Unicode's composed form."""
    if isinstance(value, dict):
        return {key: _frozen(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return tuple(map(_frozen, value))
    return unicodedata.normalize("NFC", value) if isinstance(value, str) else value


def _where(path: Path, key: KeyPath, lines: dict[KeyPath, int], model: type[PropertyHead]) -> str:
    """File, line and key: ``place.toml:8: [[burns]] 2nd, units``."""
    line = line_of(key, lines)
    return f"{path.name}{f':{line}' if line else ''}: {key_words(key, model)}"


def _line_number(fault: Fault) -> int:
    """Line that a fault speaks of, for telling them in the order of the file."""
    digits = fault.where.split(": ")[0].rpartition(":")[2]
    return int(digits) if digits.isdigit() else 0


def key_words(key: KeyPath, model: type[PropertyHead]) -> str:
    """A key as a person finds it: ``[sources.units] path``, ``[[burns]] number 2, block``."""
    numbers = [position for position, part in enumerate(key) if isinstance(part, int)]
    numbered = [p for p in numbers if p in (1, 2) and key[0] in ("sources", *_table_lists(model))]
    if numbered:
        first = numbered[0]
        head = f"[[{'.'.join(map(str, key[:first]))}]] number {int(key[first]) + 1}"
        rest = key[first + 1 :]
    else:
        depth = min(len(key) - 1, 2 if key and key[0] == "sources" else 1) or len(key)
        head, rest = f"[{'.'.join(map(str, key[:depth]))}]", key[depth:]
    words = [f"entry {part + 1}" if isinstance(part, int) else part for part in rest]
    return f"{head}{',' if numbered and words else ''} {' '.join(words)}".strip()


def _table_lists(model: type[PropertyHead]) -> list[str]:
    """Names of the ``[[...]]`` tables of the property file."""
    return [
        name
        for name, field in model.model_fields.items()
        if field.annotation and get_args(field.annotation) and field.default == ()
    ]


def _fault(error: Any, where: str, model: type[PropertyHead]) -> Fault:
    """One fault in plain words, from the checker's kind of error."""
    fault = partial(Fault, where)
    kind, value, bounds, loc = error["type"], error["input"], error.get("ctx", {}), error["loc"]
    key = str(loc[-1]) if loc else "file"
    found = _as_written(value) if key.isdigit() else f"{key} = {_as_written(value)}"
    if kind == "extra_forbidden" and loc in MOVED:
        found, new = f'"{key}" stands in another section now', MOVED[loc]
        return fault(found, f"it under {new}", f"move the line to {new}")
    if kind == "extra_forbidden" and loc in RENAMED:
        new = RENAMED[loc]
        return fault(f'"{key}" has another name now', f"{new} = …", f"write {new} instead")
    if kind == "extra_forbidden":
        do = suggestion(key, known_keys(loc[:-1], model))
        return fault(f'unknown key "{key}"', "a known key", do)
    if kind == "missing":
        inner = known_keys(loc, model)
        heading = f"add [{'.'.join(map(str, loc))}] with {listed(inner, 3)}"
        do = heading if inner else f"add {key} = …"
        return fault(f'"{key}" is not there', f"a value for {key}", do)
    if kind == "value_error":
        return fault(_as_written(value), str(bounds["error"]), "mend the entry")
    if kind == "literal_error":
        choices = [c.strip(" '") for c in bounds["expected"].replace(" or ", ",").split(",")]
        return fault(found, f"one of {', '.join(choices)}", suggestion(str(value), choices))
    return fault(found, *_expectation(kind, bounds, value))


BOUND_BY_KIND = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "less than"),
    "less_than_equal": ("le", "at most"),
}
EXPECTED_BY_KIND = {
    ("date",): ("a date like 2026-07-20, without quotes", "write year-month-day"),
    ("int",): ("a whole number without quotes", "mend the number"),
    ("float", "finite"): ("a number without quotes and without its unit", "mend the number"),
    ("bool",): ("true or false", "write one of them, without quotes"),
    ("tuple", "list", "missing_argument", "unexpected_positional"): (
        'a list like ["a", "b"]',
        "put it in brackets",
    ),
    ("model", "dict"): (
        "a table of its own with a [heading]",
        "see: swardline describe settings",
    ),
}
"""What was expected and what to do, by how the checker's kind of error begins."""


def _expectation(kind: str, bounds: dict[str, Any], value: object) -> tuple[str, str]:
    """What a value of the wrong kind should have been, and what to do."""
    if kind in BOUND_BY_KIND:
        name, words = BOUND_BY_KIND[kind]
        if isinstance(value, date):
            return f"{words} {bounds[name]}", "look for a slip in the year"
        return f"{words} {bounds[name]:g}", "check the number and its unit"
    if kind in ("string_too_short", "too_short"):
        return "something between the quotes or brackets", "fill it in"
    if kind in ("string_too_long", "too_long"):
        return f"at most {bounds['max_length']} characters or entries", "shorten it"
    if kind == "string_type":
        return "text in quotes", f'write "{value}"' if isinstance(value, int | float) else "mend it"
    for beginnings, expected_and_do in EXPECTED_BY_KIND.items():
        if kind.startswith(beginnings):
            return expected_and_do
    return "a value as the reference describes", "see: swardline describe settings"


def _as_written(value: object) -> str:
    """A value as it stands in the file, cut where it is long."""
    if isinstance(value, dict):
        text = "{ " + ", ".join(f"{k} = {_as_written(v)}" for k, v in value.items()) + " }"
    elif isinstance(value, list | tuple):
        text = f"[{', '.join(map(_as_written, value))}]"
    elif isinstance(value, bool):
        text = str(value).lower()
    else:
        text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "…"


def known_keys(path: KeyPath, property_model: type[PropertyHead]) -> list[str]:
    """Keys that may stand at a place of the property file."""
    model: Any = property_model
    for part in path:
        if isinstance(part, str):
            model = _model_in(model.model_fields[part].annotation)
            if model is None:
                return []
    return list(model.model_fields)


def _model_in(annotation: object) -> type[BaseModel] | None:
    """The section class inside an annotation such as ``tuple[Burn, ...]`` or ``Source | None``."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((m for inner in get_args(annotation) if (m := _model_in(inner))), None)
