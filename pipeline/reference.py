"""The reference pages, made from the declarations themselves: ``swardline describe``."""

import inspect
import json
import re
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, get_args, get_origin

from pipeline.catalog import CAUSES, LAYERS, PropertyFile, settings_sections
from pipeline.core.errors import UsageError
from pipeline.core.layer import Column, Layer
from pipeline.core.limits import LIMITS
from pipeline.core.names import suggestion
from pipeline.core.section import Section
from pipeline.core.units import unit_of
from pipeline.intake.settings import SceneMask, SceneSource, Sources, table_names

WIDTH = 96


def _paragraph(text: str, indent: int) -> str:
    """Text wrapped to the page, every line indented."""
    blank = " " * indent
    return textwrap.fill(text, WIDTH, initial_indent=blank, subsequent_indent=blank)


def describe_steps() -> str:
    """Every step in running order, from its signature: what it writes, reads and is set by."""
    lines = ["STEPS, in running order", ""]
    for entry in _steps():
        lines += [*entry.lines, ""]
    return "\n".join([*lines, data_flow()])


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that is described: where it stands, its name, and its lines."""

    place: str
    name: str
    lines: tuple[str, ...]


def _steps() -> Iterator[Entry]:
    from pipeline.steps import STEPS

    names = {section: name for name, section in settings_sections().items()}
    for step in STEPS:
        doc = (step.function.__doc__ or "").splitlines()[0]
        settings = [f"[{names[section]}]" for section in step.sections.values()]
        lines = (
            f"{step.writes}  ({step.function.__module__}.{step.function.__name__})",
            _paragraph(doc, 4),
            _paragraph(f"reads {', '.join(step.reads)}", 4),
            *([f"    settings {', '.join(settings)}"] if settings else []),
        )
        yield Entry("step", step.writes, lines)


def data_flow() -> str:
    """The steps subject by subject, each with the layers it reads and where these come from."""
    from pipeline.steps import STEPS

    maker = {step.writes: step.function.__module__.split(".")[1] for step in STEPS}
    width = max(len(step.writes) for step in STEPS)
    lines = [
        "DATA FLOW: what each step writes <- what it reads. A source has no mark, a layer of",
        "the same subject stands in brackets, one of another subject after its name.",
    ]
    for subject in dict.fromkeys(maker.values()):
        lines += ["", subject]
        for step in STEPS:
            if maker[step.writes] == subject:
                reads = [_origin(name, subject, maker) for name in step.reads]
                head = f"  {step.writes:<{width}} <- "
                wrapped = textwrap.fill(", ".join(reads), WIDTH - len(head), break_on_hyphens=False)
                lines.append(head + wrapped.replace("\n", "\n" + " " * len(head)))
    return "\n".join(lines)


def _origin(layer: str, subject: str, maker: Mapping[str, str]) -> str:
    """A layer's name with its origin, as the drawing marks it."""
    if layer not in maker:
        return layer
    return f"({layer})" if maker[layer] == subject else f"{maker[layer]}:{layer}"


def describe_settings() -> str:
    """Every setting: default, unit, bounds, meaning and source."""
    lines = ["SETTINGS, each with its default", ""]
    place = ""
    for entry in _settings():
        if entry.place != place:
            place = entry.place
            lines += [place, ""]
        lines += [*entry.lines, ""]
    return "\n".join(lines)


def _settings() -> Iterator[Entry]:
    for name, section in settings_sections().items():
        for setting, field in section.model_fields.items():
            extra: Any = field.json_schema_extra or {}
            unit = None if extra.get("dimensionless") else unit_of(setting)
            bounds = ", ".join(
                f"{word} {getattr(rule, sign)}"
                for rule in field.metadata
                for sign, word in BOUND_WORDS.items()
                if getattr(rule, sign, None) is not None
            )
            about = "; ".join(filter(None, [unit, bounds]))
            lines = (
                f"{setting} = {_toml(field.default)}",
                *([_paragraph(about, 4)] if about else []),
                _paragraph(str(field.description), 4),
                _paragraph(f"Source: {extra['source']}.", 4),
            )
            yield Entry(f"[{name}]", setting, lines)


def _pictures() -> Iterator[Entry]:
    """What may be said of a picture, and of the quality raster beside it."""
    for place, section in PICTURE_SECTIONS.items():
        yield Entry(place, place.strip("[]").split(".")[-1], (str(section.__doc__),))
        for name, field in section.model_fields.items():
            start = f"{name} = …" if field.is_required() else f"{name} = {_toml(field.default)}"
            yield Entry(place, name, (start, _paragraph(str(field.description), 4)))


PICTURE_SECTIONS: dict[str, type[Section]] = {
    "[[sources.scenes]]": SceneSource,
    "[sources.scenes.mask]": SceneMask,
}


def _sources() -> Iterator[Entry]:
    """Keys of every other source, with what kind of file it takes."""
    for source, field in Sources.model_fields.items():
        made_of, several = _section_in(field.annotation)
        place = f"[[sources.{source}]]" if several else f"[sources.{source}]"
        if made_of is None or place in PICTURE_SECTIONS:
            continue
        about = _paragraph(inspect.cleandoc(str(made_of.__doc__)).split("\n\n")[0], 4)
        yield Entry(place, source, (about,))
        for name, key in made_of.model_fields.items():
            start = f"{name} = …" if key.is_required() else f"{name} = {_toml(key.default)}"
            told = [_paragraph(key.description, 4)] if key.description else []
            yield Entry(place, name, (start, *told, about))


def _section_in(annotation: object) -> tuple[type[Section] | None, bool]:
    """Section within an annotation such as a tuple of them, and whether there may be several."""
    if isinstance(annotation, type) and issubclass(annotation, Section):
        return annotation, False
    several = get_origin(annotation) is tuple
    for part in get_args(annotation):
        found, inner = _section_in(part)
        if found:
            return found, several or inner
    return None, several


def _findings() -> Iterator[Entry]:
    """Causes of findings: what is told when several are found, and what to do about them."""
    for cause in CAUSES:
        lines = (_paragraph(cause.told(2), 4), _paragraph(f"To do: {cause.do}.", 4))
        yield Entry("finding", cause.code, lines)


NO_NEIGHBORS = ("step", "finding")
"""Places whose entries have nothing to do with each other."""


BOUND_WORDS = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}


def _toml(value: object) -> str:
    """A default as it would be written in a property file."""
    if value is None:
        return "(not given)"
    return json.dumps(value, default=str)


def describe_layers() -> str:
    """Every written layer with its columns: heading, meaning, choices, kind and unit."""
    written = (layer for layer in LAYERS.values() if not layer.internal)
    lines = ["LAYERS AND TABLES of the GeoPackage", "", *_layer_lines(written)]
    lines += ["TABLES THAT ARE READ (CSV; ? marks a column that may be left out)", ""]
    for name in table_names():
        lines += [name, _paragraph(LAYERS[name].meaning, 4)]
        lines += [*(_column_line(c, mark_optional=True) for c in LAYERS[name].columns), ""]
    return "\n".join(lines)


def _layer_lines(layers: Iterable[Layer]) -> Iterator[str]:
    """Each layer with its columns."""
    for layer in layers:
        yield f"{layer.name} ({layer.geometry or 'table'})"
        yield _paragraph(layer.meaning, 4)
        yield from map(_column_line, layer.columns)
        yield ""


def describe_years() -> str:
    """Every layer of the GeoPackage that ``swardline years`` writes."""
    from pipeline.years.layers import LAYERS as YEARS_LAYERS

    about = (
        "The runs of one property over its seasons, joined: what was planned against what later "
        "logs tell was done, and each piece of ground through the years. Its files are years.html, "
        "years.gpkg, years.csv (its table unit_years) and years.json."
    )
    lines = ["swardline years PATH…", "", _paragraph(about, 4), ""]
    return "\n".join(
        [*lines, "LAYERS AND TABLES of years.gpkg", "", *_layer_lines(YEARS_LAYERS.values())]
    )


def _column_line(column: Column, *, mark_optional: bool = False) -> str:
    """A column's name with its heading, meaning, choices, kind and unit beside it."""
    name = column.name + ("?" if mark_optional and not column.required else "")
    about = ", ".join(filter(None, [column.kind, column.unit]))
    heading = f"“{column.heading}”: " if column.heading else ""
    choices = f" One of: {', '.join(column.choices)}." if column.choices else ""
    text = f"{name:<26} {heading}{column.meaning}{choices} ({about})"
    return textwrap.fill(text, WIDTH, initial_indent="    ", subsequent_indent=" " * 31)


def _columns() -> Iterator[Entry]:
    read = set(table_names())
    for layer in LAYERS.values():
        if layer.internal and layer.name not in read:
            continue
        place = f"layer {layer.name}" if layer.geometry else f"table {layer.name}"
        if layer.name in read:
            place += " (read)"
        yield Entry(place, layer.name, (_paragraph(layer.meaning, 4),))
        for column in layer.columns:
            line = _column_line(column, mark_optional=layer.name in read)
            yield Entry(place, column.name, (line,))


def describe_limits() -> str:
    """The most that is read of a file, each limit with why it is there."""
    lines = ["LIMITS: the most that is read of a file; what goes beyond one is refused", ""]
    return "\n".join([*lines, *(line for entry in _limits() for line in entry.lines)])


def _limits() -> Iterator[Entry]:
    for limit in LIMITS:
        yield Entry("limit", limit.name, (_paragraph(f"{limit.name}: {limit} ({limit.why})", 4),))


MOST_FOUND = 12


def describe_word(word: str) -> str:
    """All that has the words in its name, else in its text, each with the names of its neighbors.

    Blanks, hyphens and underscores are the same. Raises UsageError where nothing has it.
    """
    entries = _entries()
    asked = _plain(word)
    found = [e for e in entries if _has(e.name, asked)]
    found = sorted(found, key=lambda e: (_plain(e.name) != asked, len(e.name)))
    found = found or [e for e in entries if _has(" ".join(e.lines), asked)]
    if not asked or not found:
        names = sorted({entry.name for entry in entries})
        do = suggestion(word, names) if asked else "give a word"
        expected = "a word of a setting, source, column, layer, step, limit or finding"
        raise UsageError.of("swardline describe", f'nothing has the word "{word}"', expected, do)
    lines = []
    for entry in found[:MOST_FOUND]:
        beside = [e.name for e in entries if e.place == entry.place and e.name != entry.name]
        lines += [f"{entry.place}: {entry.name}", *entry.lines]
        if entry.place not in NO_NEIGHBORS and beside:
            lines.append(_paragraph(f"beside it: {', '.join(beside)}", 4))
        lines.append("")
    if len(found) > MOST_FOUND:
        more = ", ".join(dict.fromkeys(e.name for e in found[MOST_FOUND:]))
        lines.append(_paragraph(f"{len(found) - MOST_FOUND} more: {more}", 0))
    return "\n".join(lines).rstrip()


@cache
def _entries() -> tuple[Entry, ...]:
    """Everything that can be asked for by a word."""
    return (
        *_settings(),
        *_pictures(),
        *_sources(),
        *_columns(),
        *_steps(),
        *_limits(),
        *_findings(),
    )


def _has(text: str, asked: str) -> bool:
    """Whether all the words asked for are in a text."""
    plain = _plain(text)
    return all(word in plain for word in asked.split())


def _plain(text: str) -> str:
    """A text to be compared: small letters, one blank between words, no marks."""
    return re.sub(r"[\s_-]+", " ", text).strip().lower()


def property_file_schema() -> str:
    """JSON Schema of the property file, for editors that complete and check while typing."""
    return json.dumps(PropertyFile.model_json_schema(), indent=2, default=str, ensure_ascii=False)


TOPICS: dict[str, Callable[[], str]] = {
    "steps": describe_steps,
    "settings": describe_settings,
    "layers": describe_layers,
    "limits": describe_limits,
    "years": describe_years,
    "schema": property_file_schema,
}
