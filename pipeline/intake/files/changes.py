"""Whether the sources of a run stood still while it read them."""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from pipeline.core.errors import Fault, SourceError
from pipeline.intake.files.checksums import States, file_states
from pipeline.intake.map_formats import FOLDER_SUFFIXES

PATH_KEYS = ("path", "extra")
"""Keys of the property file that hold the path of a source."""

BESIDE = {".shp": (".dbf", ".shx", ".prj", ".cpg")}
"""Files that are read with one of this ending: ESRI Shapefile Technical Description, page 2."""


def named_paths(told: object) -> Iterator[str]:
    """Every path that a section of a property file names, however deep."""
    if isinstance(told, Mapping):
        for key, value in told.items():
            if key in PATH_KEYS and isinstance(value, str):
                yield value
            else:
                yield from named_paths(value)
    elif isinstance(told, list | tuple):
        for value in told:
            yield from named_paths(value)


def states_of(paths: Iterable[Path]) -> dict[Path, States]:
    """How the files of each source stand now; what cannot be looked at has no state."""
    return {path: _states(path) for path in paths}


def _states(path: Path) -> States:
    """State of each file that a source is made of."""
    suffix = path.suffix.lower()
    beside = [path.with_suffix(other) for other in BESIDE.get(suffix, ())]
    try:
        is_folder = suffix in FOLDER_SUFFIXES and path.is_dir()
        parts = sorted(path.iterdir()) if is_folder else [path, *beside]
        return file_states(part for part in parts if part.is_file())
    except (OSError, ValueError):
        return ()


def refuse_changed(before: Mapping[Path, Any]) -> None:
    """Raise SourceError where a source no longer stands as it did: its figures may be of two."""
    found = "was changed while the run read it"
    faults = [
        Fault(str(path), found, "a file that stands still meanwhile", "run again once it is whole")
        for path, states in states_of(before).items()
        if states != before[path]
    ]
    if faults:
        raise SourceError(faults)
