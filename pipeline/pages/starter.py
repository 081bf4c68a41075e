"""A property file to begin with, from what lies in a folder."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from pipeline.intake.survey.placing import SEVERAL, Placement

HEAD = """\
# A property file to begin with, made from a look at this folder. What is sure stands as lines;
# what is not stands behind #, with the reason: take the # away where it is right. Then run
#     swardline check THIS_FILE.toml
# "swardline describe WORD" finds a setting by a word.

[property]
name = {name}
season = {season}    # calendar year of the season being prepared
# state = "…"        # whose seed law, noxious weeds and nesting season count
# region = "…"       # whose green-up and seeding factors are used
"""


MEND = """
# Where the map of the units wants mending: nothing is changed unless you say so here.
# [mend]
# names = "numbered"        # or "row"; or names_from = ["…", "…"]; or dissolve = "…"
# specks = "drop"           # or "keep": units under specks_below_ac = 0.01
# duplicates = "keep_first"
# in_holdings = "clip"      # a unit inside another: its ground is taken out of the other
"""

TAIL = """
# Units that burn together this season. Nothing here is a permission to ignite.
# [[burns]]
# block = "North"
# units = ["…", "…"]
# wind_from_deg = 225       # direction the planned wind comes FROM
# fuel_height_ft = 4.0

# What is sown where.
# [[seedings]]
# area = "North seeding"
# units = ["…"]
# mix = "…"
# method = "drill"          # drill | broadcast | overseed

# Burned units against unburned ones, between two scenes.
# [[comparisons]]
# name = "Spring burn"
# before = 2025-07-20
# after = 2026-07-22
# burned = ["…"]
# reference = ["…", "…", "…"]
"""


NO_UNITS = """
# No polygons were found that could be the units: name them.
[sources.units]
path = "…"
columns = { unit_id = "…" }
"""

ALWAYS_ASKED = (
    "[property] name, season, state, region",
    "[[burns]], [[seedings]], [[comparisons]]: what you plan; the examples above",
)


@dataclass(frozen=True, slots=True)
class Draft:
    """What a property file to begin with is made of.

    ``refused`` holds what ``check`` said against an entry, by its position among ``placements``.
    ``mend`` are the lines of [mend] that its refusals of the units offer; they stand as comments
    until somebody takes them up, as ``is_mended`` says.
    """

    name: str
    season: int
    placements: Sequence[Placement]
    refused: Mapping[int, Sequence[str]]
    mend: Mapping[str, str] = field(default_factory=dict)
    is_mended: bool = False

    def kept(self, number: int) -> bool:
        """Whether an entry stands as lines; the units always do, since all is measured on them."""
        placement = self.placements[number]
        return placement.is_used and (placement.are_units or number not in self.refused)


def starter_file(draft: Draft) -> str:
    """Text of a commented property file: units first, then the other sources, then the rest."""
    numbers = range(len(draft.placements))
    units = [n for n in numbers if draft.placements[n].are_units]
    kept = [n for n in numbers if draft.kept(n) and n not in units]
    doubtful = [n for n in numbers if draft.placements[n].guess.role and n not in (*units, *kept)]
    parts = [HEAD.format(name=quoted(draft.name), season=draft.season)]
    parts += [_entry(draft, n) for n in units] or [NO_UNITS]
    parts += [_offered(draft)] if draft.mend else []
    parts += [_entry(draft, n) for n in (*kept, *doubtful)]
    parts += [_unplaced(draft), "" if draft.mend else MEND, TAIL]
    return "".join([*parts, _asked(draft, [*units, *kept, *doubtful])])


def _offered(draft: Draft) -> str:
    """The lines of [mend] that would mend the units, below them."""
    mark = "" if draft.is_mended else "# "
    lines = [f"{key} = {quoted(value)}" for key, value in draft.mend.items()]
    told = "# Take the # away from these lines, and the map is mended so and passes check:"
    return "\n" + "\n".join([told, *(f"{mark}{line}" for line in ("[mend]", *lines))]) + "\n"


def _heading(placement: Placement) -> str:
    """Heading of the entry of a source; of units that are only part of them, one of several."""
    role = placement.guess.role
    is_one = role not in SEVERAL and "prefix" not in placement.guess.settings
    return f"[sources.{role}]" if is_one else f"[[sources.{role}]]"


def _entry(draft: Draft, number: int) -> str:
    """One source with its path and what has to be said of it, a comment where it is not sure."""
    found, guess = draft.placements[number].found, draft.placements[number].guess
    counted = {"raster": "bands", "table": "rows"}.get(found.content, found.content)
    notes = [f"{found.rows} {counted}: {guess.reason}"]
    notes += [f"check says: {line}" for line in draft.refused.get(number, ())]
    lines = [_heading(draft.placements[number]), f"path = {quoted(found.path)}"]
    if found.layer is not None:
        part = "sheet" if found.content == "table" else "layer"
        lines.append(f"{part} = {quoted(found.layer)}")
    lines += [f"{key} = {toml_value(value)}" for key, value in guess.settings.items()]
    if guess.columns:
        lines.append(f"columns = {toml_value(guess.columns)}")
    asked = [f"# {ask}" for ask in _asks(draft, number)]
    if not draft.kept(number):
        lines = [f"# {line}" for line in lines]
    return (
        "\n"
        + "\n".join([*(f"# {plain(note)}" for note in notes), *lines, *map(plain, asked)])
        + "\n"
    )


def _asks(draft: Draft, number: int) -> list[str]:
    """What only a person can fill in for a source."""
    found, guess = draft.placements[number].found, draft.placements[number].guess
    if found.has_crs or found.content == "table":
        return list(guess.asks)
    return [*guess.asks, 'crs = "EPSG:…": the file does not say in which system its numbers are']


def _unplaced(draft: Draft) -> str:
    """Comment lines on files that no source could be guessed for."""
    rest = [p for p in draft.placements if p.guess.role is None]
    if not rest:
        return ""
    names = "".join(f"#   {plain(f'{p.found.name}: {p.guess.reason}')}\n" for p in rest)
    return f"\n# Found in the folder and not placed:\n{names}"


def _asked(draft: Draft, numbers: Sequence[int]) -> str:
    """The list of what only a person can fill in, at the end."""
    lines = [*ALWAYS_ASKED]
    if not any(p.are_units for p in draft.placements):
        lines.append("[sources.units] path and columns: which file holds the units")
    for number in numbers:
        placement = draft.placements[number]
        place = f"{_heading(placement)} {placement.found.name}"
        lines += [f"{place}: {ask}" for ask in _asks(draft, number)]
        if number in draft.refused:
            lines.append(f"{place}: what check says above it")
        elif placement.are_units and placement.guess.sure != "yes":
            lines.append(f"{place}: are these the units, and all of them?")
        elif not placement.is_used:
            lines.append(f"{place}: is it that? Take the # away")
    if draft.mend:
        lines.append("[mend], below the units: take the # away where it is right")
    listed = "".join(f"#   {plain(line)}\n" for line in lines)
    return f"\n# What only you can fill in:\n{listed}"


def toml_value(value: object) -> str:
    """A value as TOML writes it; a mapping in one line."""
    if isinstance(value, Mapping):
        inner = ", ".join(f"{key} = {toml_value(one)}" for key, one in value.items())
        return f"{{ {inner} }}"
    return quoted(value) if isinstance(value, str) else str(value)


def quoted(text: str) -> str:
    """Text as a TOML string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def plain(text: str) -> str:
    """Text that cannot leave its comment line."""
    return "".join(c if c.isprintable() else " " for c in text)


def season_after(today: date) -> int:
    """Season that is being prepared on a day: from July on, next year's."""
    return today.year + (today.month >= 7)
