"""A property file to begin with that has gone through its own check."""

from dataclasses import replace
from pathlib import Path

from pipeline.catalog import LAYERS
from pipeline.core.errors import Fault, OutputError, PipelineError
from pipeline.intake.files.scratch import scratch_folder
from pipeline.intake.settings import table_names
from pipeline.intake.survey.folder_survey import survey
from pipeline.intake.survey.placing import Placement, placed
from pipeline.pages.starter import Draft, starter_file
from pipeline.runner import read_property

FIRST = ("units", "treatments", "mixes")
"""Sources that others refer to: they are checked before those."""

MOST_TOLD = 5


def checked_draft(folder: Path, name: str, season: int) -> tuple[Draft, bool]:
    """The draft for a folder, and whether it passes its own check. Nothing is written there.

    An entry that check refuses becomes a comment with the refusal above it. Refusals are told
    apart by what an entry adds to those of the entries before it. Where lines of [mend] would mend
    the units, they are offered, and the other entries are checked against the units so mended.
    """
    tables = {table: LAYERS[table] for table in table_names()}
    placements = placed(survey(folder), tables)
    draft = Draft(name, season, placements, {})
    if not any(placement.are_units for placement in placements):
        return draft, False
    if not _faults(draft, folder):
        return draft, True
    used = [n for n, placement in enumerate(placements) if placement.is_used]
    numbers = sorted(used, key=lambda n: _order(placements[n]))
    units = [n for n in numbers if placements[n].are_units]
    others = [n for n in numbers if n not in units]
    draft = replace(draft, refused={n: ["not checked"] for n in others})
    known = _faults(draft, folder)
    draft, left = _with_mends(draft, known, folder)
    for number in others:
        fewer = {n: said for n, said in draft.refused.items() if n != number}
        tried = replace(draft, refused=fewer)
        new = [fault for fault in _faults(tried, folder) if fault not in left]
        draft = replace(draft, refused={**fewer, number: _cut(new)}) if new else tried
    said = list(dict.fromkeys([*left, *known]))
    if said:
        draft = replace(draft, refused={**draft.refused, units[0]: _cut(said)})
    return replace(draft, is_mended=False), not known


def _with_mends(draft: Draft, known: list[Fault], folder: Path) -> tuple[Draft, list[Fault]]:
    """The draft with the lines of [mend] that its refusals offer, and what check says of it then.

    One mend may bring another to light. A mend that another line of its key rules out is not made.
    """
    left = known
    while offered := dict(f.mend for f in left if f.mend and f.mend[0] not in draft.mend):
        draft = replace(draft, mend={**draft.mend, **offered}, is_mended=True)
        left = _faults(draft, folder)
    return draft, left


def _order(placement: Placement) -> int:
    """Order of checking: what others refer to first."""
    role = placement.guess.role
    return FIRST.index(role) if role in FIRST else len(FIRST)


def _cut(faults: list[Fault]) -> list[str]:
    """The first few faults, and how many more there are."""
    more = len(faults) - MOST_TOLD
    return [*map(str, faults[:MOST_TOLD]), *([f"and {more} more of that kind"] if more > 0 else [])]


def _faults(draft: Draft, folder: Path) -> list[Fault]:
    """What check says against a draft, with the folder as its home."""
    with scratch_folder() as scratch:
        path = scratch / "property.toml"
        path.write_text(starter_file(draft), encoding="utf-8")
        try:
            read_property(path, home=folder)
        except PipelineError as error:
            return list(error.faults)
    return []


def save_draft(text: str, target: Path) -> None:
    """Write the draft into its folder. Raises OutputError where a file of that name is there."""
    try:
        with target.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        do = "rename the old one, or leave --save out"
        raise OutputError.of(str(target), "is there already", "no such file", do) from error
    except OSError as error:
        found, do = f"cannot be written ({error.strerror})", "leave --save out"
        raise OutputError.of(str(target), found, "a folder that can be written to", do) from error
