"""On which line of a TOML file each key stands."""

import re
from collections.abc import Iterator

KeyPath = tuple[str | int, ...]

KEY = r"""(?:"(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)"""
DOTTED_KEY = rf"{KEY}(?:\s*\.\s*{KEY})*"
HEADING = re.compile(rf"\s*(\[\[?)\s*({DOTTED_KEY})\s*\]\]?")
ENTRY = re.compile(rf"\s*({DOTTED_KEY})\s*=")
STRING_OR_BRACKET = re.compile(
    r'"""(?:[^\\]|\\.)*?(?:"""|\Z)|'
    r"'{3}.*?(?:'{3}|\Z)|"
    r'"(?:[^"\\\n]|\\.)*"|'
    r"'[^'\n]*'|#[^\n]*|[\[\]{}]",
    re.DOTALL,
)
LONG_QUOTES = ('"' * 3, "'" * 3)
INNER_ENTRY = re.compile(rf"(?:^|[{{,])\s*({DOTTED_KEY})\s*=")


def key_lines(text: str) -> dict[KeyPath, int]:
    """Line [counted from 1] of every heading and key; entries of ``[[x]]`` are numbered from 0.

    The text must be valid TOML. A key inside an inline table is found where it is written.
    """
    lines: dict[KeyPath, int] = {}
    counts: dict[KeyPath, int] = {}
    section: KeyPath = ()
    for number, statement in _statements(text):
        if heading := HEADING.match(statement):
            section = _section(_parts(heading[2]), heading[1] == "[[", counts)
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
    pending, first, depth = "", 1, 0
    for number, line in enumerate(text.splitlines(keepends=True), 1):
        if not pending:
            first = number
        pending += line
        depth = _open_brackets(pending)
        if depth == 0:
            yield first, pending
            pending = ""
    if pending:
        yield first, pending


def _open_brackets(statement: str) -> int:
    """Brackets still open at the end of a statement; a string still open counts as one."""
    depth = 0
    for token in STRING_OR_BRACKET.findall(statement):
        if token in ("[", "{"):
            depth += 1
        elif token in ("]", "}"):
            depth -= 1
        elif token[:3] in LONG_QUOTES and not (len(token) >= 6 and token.endswith(token[:3])):
            return 1
    return max(depth, 0)


def _parts(dotted: str) -> tuple[str, ...]:
    """Names of a dotted key, without their quotes."""
    return tuple(part.strip("\"'") for part in re.findall(KEY, dotted))


def _section(parts: tuple[str, ...], repeated: bool, counts: dict[KeyPath, int]) -> KeyPath:
    """Path of a heading; where a table is one of several, with its number after its name."""
    path: KeyPath = ()
    for position, part in enumerate(parts):
        path = (*path, part)
        if repeated and position == len(parts) - 1:
            counts[path] = counts.get(path, 0) + 1
        if path in counts:
            path = (*path, counts[path] - 1)
    return path
