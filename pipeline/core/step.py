"""A step of the pipeline: a function whose signature says all that it needs."""

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from pipeline.core.section import Section

Frames = Mapping[str, Any]
Settings = Mapping[type[Section], Section]


def layers_read(function: Callable[..., Any]) -> tuple[str, ...]:
    """Names of the layers that a function takes, in the order of its parameters."""
    return _signature(function)[0]


def sections_taken(function: Callable[..., Any]) -> dict[str, type[Section]]:
    """Section of settings that each parameter annotated with one takes, by the parameter's name."""
    return _signature(function)[1]


@cache
def _signature(
    function: Callable[..., Any],
) -> tuple[tuple[str, ...], dict[str, type[Section]]]:
    """Layers and sections that a function takes, in the order of its parameters."""
    parameters = inspect.signature(function).parameters
    sections = {
        name: parameter.annotation
        for name, parameter in parameters.items()
        if isinstance(parameter.annotation, type) and issubclass(parameter.annotation, Section)
    }
    return tuple(name for name in parameters if name not in sections), sections


def called(function: Callable[..., Any], frames: Frames, settings: Settings) -> Any:
    """The result of a function for the layers and sections that its signature names."""
    layers = {name: frames[name] for name in layers_read(function)}
    sections = {name: settings[section] for name, section in sections_taken(function).items()}
    return function(**layers, **sections)


@dataclass(frozen=True, slots=True)
class Step:
    """One row of the table of steps: the layer that is written, and the function that makes it.

    A parameter of the function that is annotated with a section of settings takes that section;
    every other one takes the layer of its name. ``of`` are layers without whose rows there is
    nothing to write: where all of them are empty, the function need not be called.
    """

    writes: str
    function: Callable[..., Any]
    of: tuple[str, ...] = ()

    @property
    def reads(self) -> tuple[str, ...]:
        """Names of the layers that the step reads."""
        return layers_read(self.function)

    @property
    def sections(self) -> dict[str, type[Section]]:
        """Sections of settings that the step takes, by the name of the parameter."""
        return sections_taken(self.function)

    def has_work(self, frames: Frames) -> bool:
        """Whether there is a row of what the step works on."""
        return not self.of or any(len(frames[name]) for name in self.of)

    def compute(self, frames: Frames, settings: Settings) -> Any:
        """What the step makes of the layers and settings of a run."""
        return called(self.function, frames, settings)
