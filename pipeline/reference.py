"""The reference pages, made from the declarations themselves: ``swardline describe``."""

import json
import textwrap
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from pipeline.catalog import LAYERS, PropertyFile, settings_sections
from pipeline.core.layer import Column
from pipeline.core.units import unit_of
from pipeline.intake.settings import table_names

WIDTH = 96


def _paragraph(text: str, indent: int) -> str:
    """Text wrapped to the page, every line indented."""
    blank = " " * indent
    return textwrap.fill(text, WIDTH, initial_indent=blank, subsequent_indent=blank)


def describe_steps() -> str:
    """Every step in running order, from its signature: what it writes, reads and is set by."""
    from pipeline.steps import STEPS

    names = {section: name for name, section in settings_sections().items()}
    lines = ["STEPS, in running order", ""]
    for step in STEPS:
        doc = (step.function.__doc__ or "").splitlines()[0]
        settings = [f"[{names[section]}]" for section in step.sections.values()]
        lines += [
            f"{step.writes}  ({step.function.__module__}.{step.function.__name__})",
            _paragraph(doc, 4),
            _paragraph(f"reads {', '.join(step.reads)}", 4),
            *([f"    settings {', '.join(settings)}"] if settings else []),
            "",
        ]
    return "\n".join([*lines, data_flow()])


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
    for name, section in settings_sections().items():
        lines += [f"[{name}]", ""]
        for setting, field in section.model_fields.items():
            extra: Any = field.json_schema_extra or {}
            unit = None if extra.get("dimensionless") else unit_of(setting)
            bounds = ", ".join(
                f"{word} {getattr(rule, sign)}"
                for rule in field.metadata
                for sign, word in BOUND_WORDS.items()
                if getattr(rule, sign, None) is not None
            )
            lines += [
                f"{setting} = {_toml(field.default)}",
                _paragraph("; ".join(filter(None, [unit, bounds])), 4),
                _paragraph(str(field.description), 4),
                _paragraph(f"Source: {extra['source']}.", 4),
                "",
            ]
    return "\n".join(line for line in lines if line.strip() or not line)


BOUND_WORDS = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}


def _toml(value: object) -> str:
    """A default as it would be written in a property file."""
    if value is None:
        return "(not given)"
    return json.dumps(value, default=str)


def describe_layers() -> str:
    """Every written layer with its columns: heading, meaning, choices, kind and unit."""
    lines = ["LAYERS AND TABLES of the GeoPackage", ""]
    for layer in LAYERS.values():
        if not layer.internal:
            lines += [f"{layer.name} ({layer.geometry or 'table'})", _paragraph(layer.meaning, 4)]
            lines += [*_column_lines(layer.columns), ""]
    lines += ["TABLES THAT ARE READ (CSV; ? marks a column that may be left out)", ""]
    for name in table_names():
        lines += [name, _paragraph(LAYERS[name].meaning, 4)]
        lines += [*_column_lines(LAYERS[name].columns, mark_optional=True), ""]
    return "\n".join(lines)


def _column_lines(columns: Iterable[Column], *, mark_optional: bool = False) -> list[str]:
    """One line a column, the meaning beside the name."""
    lines = []
    for column in columns:
        name = column.name + ("?" if mark_optional and not column.required else "")
        about = ", ".join(filter(None, [column.kind, column.unit]))
        heading = f"“{column.heading}”: " if column.heading else ""
        choices = f" One of: {', '.join(column.choices)}." if column.choices else ""
        text = f"{name:<26} {heading}{column.meaning}{choices} ({about})"
        lines.append(textwrap.fill(text, WIDTH, initial_indent="    ", subsequent_indent=" " * 31))
    return lines


def property_file_schema() -> str:
    """JSON Schema of the property file, for editors that complete and check while typing."""
    return json.dumps(PropertyFile.model_json_schema(), indent=2, default=str, ensure_ascii=False)


TOPICS: dict[str, Callable[[], str]] = {
    "steps": describe_steps,
    "settings": describe_settings,
    "layers": describe_layers,
    "schema": property_file_schema,
}
