"""What can go wrong and be mended by a person: one small tree.

Everything else that is raised is a fault of the program, not of its user.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self


def one_line(text: str) -> str:
    """Text with a blank for each control character, so that it stays in its line."""
    return "".join(c if c.isprintable() else " " for c in text)


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing to mend, told in one line: *where: found; expected; do*.

    ``mend`` is a line of the section [mend], key and value, that would mend it, None where none
    can.
    """

    where: str
    found: str
    expected: str
    do: str
    mend: tuple[str, str] | None = None

    def __str__(self) -> str:
        """One line; control characters of hostile names cannot break out of it."""
        return one_line(f"{self.where}: {self.found}; expected {self.expected}; {self.do}")


class PipelineError(Exception):
    """Something the user can mend. Carries every fault found, not just the first."""

    def __init__(self, faults: Fault | Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = (
            (faults,) if isinstance(faults, Fault) else tuple(dict.fromkeys(faults))
        )
        super().__init__("\n".join(map(str, self.faults)))

    @classmethod
    def of(cls, where: str, found: str, expected: str, do: str) -> Self:
        """The error that a single fault makes."""
        return cls(Fault(where, found, expected, do))


class PropertyFileError(PipelineError):
    """The property file cannot be read as one."""


class SourceError(PipelineError):
    """A source named in the property file is missing, unreadable or contradicts itself."""


class OutputError(PipelineError):
    """The run folder cannot be written where it was asked for."""


class UsageError(PipelineError):
    """What was typed asks for something that is not there."""
