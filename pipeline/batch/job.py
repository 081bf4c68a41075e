"""One property of a batch: run, kept or failed, and told in a record that passes between processes.

A job is paths in and figures out, and opens all that it reads by itself: no open file ever passes
from one process to another. *Source*: GDAL, "Multi-threading": a dataset may not be shared.
"""

import logging
import os
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

import pandas as pd

from pipeline.batch.figures import READ, property_figures
from pipeline.core.errors import PipelineError, SourceError, one_line
from pipeline.runner import Prepared, prepare_property, run_prepared
from pipeline.write.geopackage import read_geopackage
from pipeline.write.record import stands_as_recorded

State = Literal["written", "kept", "failed"]
"""What became of a property: computed and written, found as it would be written, or neither."""


log = logging.getLogger("swardline")


@dataclass(frozen=True, slots=True)
class Job:
    """A property file and where its run folder goes; ``row`` of a table names it, if one does.

    ``place`` is the name of the run folder, None where the property's own name is not known yet.
    """

    number: int
    property_file: Path
    out: Path
    allowed: tuple[Path, ...] = ()
    resume: bool = False
    row: str | None = None
    place: str | None = None

    @property
    def told_as(self) -> str:
        """The property file as it is told to a person."""
        return f"{self.property_file} ({self.row})" if self.row else str(self.property_file)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a property: with reasons where it failed, and its figures where not.

    ``said`` is what the run would have said by itself, level and words; ``trace`` is where a
    fault of the program stands in the code.
    """

    job: Job
    state: State
    reasons: tuple[str, ...] = ()
    said: tuple[tuple[int, str], ...] = ()
    trace: str = ""
    seconds: float = 0.0
    folder: Path | None = None
    figures: dict[str, pd.DataFrame] = field(default_factory=dict)


Work = Callable[[Job], Outcome]
"""Does a job; a function of a module, so that a worker can find it."""


def do_job(job: Job) -> Outcome:
    """Run one property; whatever is wrong with it is told in the outcome and ends nothing else."""
    started = time.perf_counter()
    with _listening() as said:
        try:
            state, folder, figures = _done(job)
            told: dict[str, object] = {"folder": folder, "figures": figures}
        except PipelineError as error:
            state, told = "failed", {"reasons": tuple(map(str, error.faults))}
        except Exception as error:
            words = f"internal error ({type(error).__name__}: {error}); report what --verbose says"
            trace = traceback.format_exc()
            state, told = "failed", {"reasons": (one_line(words),), "trace": trace}
    seconds = time.perf_counter() - started
    return Outcome(job, state, said=tuple(said), seconds=seconds, **told)  # type: ignore[arg-type]


def _done(job: Job) -> tuple[State, Path, dict[str, pd.DataFrame]]:
    """Run one property, or keep what stands there of it: which of both, where, and its figures."""
    prepared = prepare_property(
        job.property_file, out=job.out, allowed=job.allowed, place=job.place
    )
    kept = _kept_figures(prepared) if job.resume else None
    if kept is not None:
        return "kept", prepared.place, kept
    finished = run_prepared(prepared, lambda _name, _done, _total: None)
    return "written", prepared.place, property_figures(finished.run.frames)


def _kept_figures(prepared: Prepared) -> dict[str, pd.DataFrame] | None:
    """Figures of the run that stands, if it is of the same inputs; None where it is not."""
    if not stands_as_recorded(prepared.place, prepared.inputs):
        return None
    try:
        stored = read_geopackage(prepared.place / f"{prepared.slug}.gpkg", only=READ)
    except SourceError:
        return None
    return property_figures(stored.frames)


class _Listener(logging.Handler):
    """Takes what is said, so that the process which speaks to the person can say it."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[tuple[int, str]] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep level and words of a record."""
        self.said.append((record.levelno, record.getMessage()))


@contextmanager
def _listening() -> Iterator[list[tuple[int, str]]]:
    """Keep what the program says meanwhile, in place of saying it."""
    listener, handlers = _Listener(), log.handlers[:]
    log.handlers[:] = [listener]
    try:
        yield listener.said
    finally:
        log.handlers[:] = handlers


def lost(job: Job) -> Outcome:
    """Outcome of a job whose process was ended by the system, also when it was alone."""
    found = "the system ended the process that worked on it, twice"
    do = "close other programs, or look at its pictures, and start the batch with --resume"
    return Outcome(job, "failed", reasons=(f"{found}; expected enough memory for it; {do}",))


def overdue(job: Job, seconds: float) -> Outcome:
    """Outcome of a job that was given up after so many seconds."""
    found = "it took longer than --limit-minutes allows"
    do = "look at the size of its maps and pictures, or give it more time, with --resume"
    return Outcome(job, "failed", reasons=(f"{found}; expected less; {do}",), seconds=seconds)


def forsaken(job: Job) -> Outcome:
    """Outcome of a job that no worker of a cluster was left for."""
    found = "no worker of the cluster was left to work on it"
    do = "look at scheduler and workers, and start the batch with --resume"
    return Outcome(job, "failed", reasons=(f"{found}; expected one or more; {do}",))


def cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
