"""The table of steps: the whole pipeline at a glance.

One row writes one layer. A step's function gets the layers it reads, in order, and then its own
settings section if it has one; it returns a frame. Rows stand in running order: each reads only
what a source gave or a row above wrote. A source that was not given arrives as an empty frame.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from pipeline.compute import acreage, findings


@dataclass(frozen=True, slots=True)
class Step:
    """One row of the table. ``writes`` and ``reads`` are layer names, ``settings`` a section."""

    writes: str
    function: Callable[..., Any]
    reads: tuple[str, ...]
    settings: str | None = None


STEPS: tuple[Step, ...] = (
    Step("units", acreage.measure_units, ("drawn_units", "exclusions")),
    Step("acreage_findings", acreage.find_acreage, ("units", "drawn_units"), "acreage"),
    Step("findings", findings.gather_findings, ("intake_findings", "acreage_findings")),
)
