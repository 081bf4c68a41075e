"""Which property files a batch is made of: files, folders of them, or a table that lists them."""

import csv
import io
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.core.errors import Fault, UsageError
from pipeline.intake.safety import decoded
from pipeline.runner import place_name, slug_of

COLUMN = "property_file"
"""Column of a table of properties that holds their files, counted from the table's own folder."""


@dataclass(frozen=True, slots=True)
class Listed:
    """A property file, and the row of the table that names it; None where no table does."""

    path: Path
    row: str | None = None


def listed_properties(paths: Iterable[Path]) -> list[Listed]:
    """Property files of the paths given, each once, in their order. Raises UsageError.

    A file that a table names and that is not there is listed all the same: it costs its own row.
    """
    listed: dict[Path, Listed] = {}
    faults: list[Fault] = []
    for path in paths:
        try:
            found = _found(path)
        except UsageError as error:
            faults += error.faults
            continue
        for item in found:
            listed.setdefault(item.path.resolve(), item)
    if faults:
        raise UsageError(faults)
    return list(listed.values())


def _found(path: Path) -> list[Listed]:
    """Property files that one path stands for."""
    if path.is_dir():
        inside = _in_folder(path)
        folders = sorted(p for p in path.iterdir() if p.is_dir() and not p.name.startswith("."))
        found = inside or [file for folder in folders for file in _in_folder(folder)]
        if not found:
            expected = "property.toml or another .toml with [sources], there or one folder down"
            raise UsageError.of(str(path), "no property file in it", expected, "name the files")
        return list(map(Listed, found))
    if not path.is_file():
        expected = "a property file, a folder of them or a table"
        raise UsageError.of(str(path), "no file there", expected, "look at the spelling")
    return _in_table(path) if path.suffix.lower() == ".csv" else [Listed(path)]


def _in_folder(folder: Path) -> list[Path]:
    """Property files of a folder; one that cannot be read is taken for one by its words."""
    files = sorted(path for path in folder.glob("*.toml") if path.is_file())
    return [path for path in files if path.name == "property.toml" or _has_sources(path)]


def _has_sources(path: Path) -> bool:
    told = told_in(path)
    return "sources" in told if told is not None else b"[sources" in path.read_bytes()


def told_in(path: Path) -> dict[str, Any] | None:
    """What a property file tells, unchecked; None where it cannot be read."""
    try:
        return tomllib.loads(decoded(path.read_bytes())[0])
    except (OSError, ValueError, RecursionError):
        return None


def _in_table(table: Path) -> list[Listed]:
    """Property files that a table names; its other columns are its user's own."""
    try:
        text, _ = decoded(table.read_bytes())
        rows = list(csv.reader(io.StringIO(text, newline="")))
    except (OSError, ValueError, csv.Error) as error:
        found = f"cannot be read as a table ({error})"
        raise UsageError.of(str(table), found, "a CSV file", "save it anew as CSV") from error
    header = [name.strip().lower() for name in rows[0]] if rows else []
    if COLUMN not in header:
        found = f"its columns are {', '.join(header) or 'none'}"
        raise UsageError.of(str(table), found, f"a column {COLUMN}", "name the column so")
    place = header.index(COLUMN)
    cells = [(n, row[place].strip()) for n, row in enumerate(rows[1:], 1) if len(row) > place]
    named = [Listed(table.parent / cell, f"{table.name}, row {n}") for n, cell in cells if cell]
    if not named:
        raise UsageError.of(str(table), "names no property file", "a row a property", "fill it")
    return named


def places_of(listed: Sequence[Listed], out: Path) -> list[str | None]:
    """Name of the run folder of each property; None where its file does not tell.

    Those of one name get the name of their parent folder added, and of the folders above it as far
    as they are needed to tell them apart. Raises UsageError where nothing tells them apart.
    """
    places = [_place(item.path) for item in listed]
    numbers: dict[str, list[int]] = {}
    for number, place in enumerate(places):
        if place is not None:
            numbers.setdefault(place, []).append(number)
    for place, several in numbers.items():
        if len(several) > 1:
            apart = _told_apart(place, [listed[number].path for number in several])
            for number, name in zip(several, apart, strict=True):
                places[number] = name
    _refuse_shared(listed, places, out)
    return places


def _told_apart(place: str, paths: Sequence[Path]) -> list[str]:
    """Names of the run folders of properties of one name, by the folders that they stand in."""
    folders = [path.resolve().parent.parts for path in paths]
    for count in range(1, max(map(len, folders)) + 1):
        names = ["_".join([place, *map(slug_of, parts[-count:])]) for parts in folders]
        if len(set(names)) == len(names):
            return names
    return [place] * len(paths)


def _refuse_shared(listed: Sequence[Listed], places: Sequence[str | None], out: Path) -> None:
    """Raise UsageError for each two properties that would be written into one run folder."""
    first_by_place: dict[str, Listed] = {}
    faults = []
    for item, place in zip(listed, places, strict=True):
        if place is None:
            continue
        first = first_by_place.setdefault(place, item)
        if first is not item:
            found = f"{first.path} and {item.path} would both be written there"
            do = "name the properties apart, or give one a batch with another --out"
            faults.append(Fault(str(out / place), found, "one property a run folder", do))
    if faults:
        raise UsageError(faults)


def _place(path: Path) -> str | None:
    """Name of the run folder that a property file asks for; None where it does not tell."""
    head = (told_in(path) or {}).get("property")
    if not isinstance(head, dict):
        return None
    name, season = head.get("name"), head.get("season")
    return place_name(name, season) if isinstance(name, str) and type(season) is int else None
