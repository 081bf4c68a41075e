"""A property file to begin with, from what lies in a folder."""

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from pipeline.core.layer import Layer
from pipeline.intake.folder_survey import (
    FoundFile,
    date_in_name,
    likely_break_kind,
    likely_id_column,
    likely_role,
)

HEAD = """\
# A property file to begin with, made from what lies in this folder. Every role below is a guess
# from a file's name, geometry and columns: check each one, then run
#     swardline check THIS_FILE.toml
# A line that starts with # is a comment. "swardline describe settings" lists what can be set.

[property]
name = {name}
season = {season}    # calendar year of the season being prepared
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


def starter_file(
    name: str, season: int, files: Sequence[FoundFile], tables: Mapping[str, Layer]
) -> str:
    """Text of a commented property file for the files of a folder.

    The likeliest units come first: of several candidates the one with the most rows, since a
    property has one units layer.
    """
    roles = [(likely_role(found, tables), found) for found in files]
    candidates = [f for role, f in roles if role == "units"] or [
        f for role, f in roles if f.content == "polygons" and role is None
    ]
    units = max(candidates, key=lambda f: (f.rows, f.path), default=None)
    heights = next((f for role, f in roles if role == "elevation"), None)
    roles = [(None if r == "elevation" and f is not heights else r, f) for r, f in roles]
    parts = [HEAD.format(name=_quoted(name), season=season), _units_part(units)]
    parts += [_part(role, f) for role, f in roles if f is not units and role not in (None, "units")]
    unused = [f for role, f in roles if f is not units and role in (None, "units")]
    return "".join([*parts, _unused_part(unused), TAIL])


def _units_part(units: FoundFile | None) -> str:
    """The entry of the units source."""
    if units is None:
        return NO_UNITS
    unit_id = likely_id_column(units)
    lines = [f"columns = {{ unit_id = {_quoted(unit_id or '…')} }}"]
    if unit_id is None:
        lines.append("# no column has a different value in every row: which one names the unit?")
    return _entry("[sources.units]", units, lines, note=f"{units.rows} polygons")


def _part(role: str | None, found: FoundFile) -> str:
    """The entry of any other source."""
    if role == "breaks":
        lines = [f"kind = {_quoted(likely_break_kind(found))}", "# width_ft = 16"]
        return _entry("[[sources.breaks]]", found, lines, note=f"{found.rows} {found.content}")
    if role == "elevation":
        lines = ['# height_unit = "m"    # "m", "ft" or "us-ft": look it up, it is not guessed']
        return _entry("[sources.elevation]", found, lines, note="raster of heights")
    if role == "scenes":
        day = date_in_name(found.path)
        lines = [f"date = {day}" if day else "# date = 2026-07-20   # not told by the file's name"]
        lines += _kind_of_scene(found)
        return _entry("[[sources.scenes]]", found, lines, note=f"raster, {found.rows} bands")
    return _entry(f"[sources.{role}]", found, [], note=f"columns {', '.join(found.columns)}")


def _kind_of_scene(found: FoundFile) -> list[str]:
    """What a raster holds: NDVI where it has one band, else reflectance."""
    if found.rows <= 1:
        return ['kind = "ndvi"', "# scale = 0.0001    # where the file holds whole numbers"]
    return ['kind = "reflectance"', "bands = { red = 1, nir = 2 }    # look the numbers up"]


def _entry(heading: str, found: FoundFile, lines: Iterable[str], *, note: str) -> str:
    """One source with its path and what has to be said of it."""
    said = [f"# {note}", heading, f"path = {_quoted(found.path)}"]
    if found.layer is not None:
        said.append(f"layer = {_quoted(found.layer)}")
    if not found.has_crs:
        said.append('# crs = "EPSG:…"    # the file does not say in which system its numbers are')
    return "\n" + "\n".join([*said, *lines]) + "\n"


def _unused_part(files: Sequence[FoundFile]) -> str:
    """Comment lines on files that were found and that no source could be guessed for."""
    if not files:
        return ""
    names = "".join(f"#   {_plain(f.path)} ({f.content})\n" for f in files)
    return f"\n# Found in the folder and not placed:\n{names}"


def _quoted(text: str) -> str:
    """Text as a TOML string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _plain(text: str) -> str:
    """Text that cannot leave its comment line."""
    return "".join(c if c.isprintable() else " " for c in text)


def season_after(today: date) -> int:
    """Season that is being prepared on a day: from July on, next year's."""
    return today.year + (today.month >= 7)
