"""A batch from end to end: what is in it, its outcomes one by one, and its files."""

from collections.abc import Generator
from dataclasses import dataclass
from pathlib import Path

from pipeline.batch.job import Job, Outcome
from pipeline.batch.pool import outcomes, worker_count
from pipeline.batch.property_list import listed_properties, refuse_shared_places
from pipeline.batch.summary import refuse_unless_batch


@dataclass(frozen=True, slots=True)
class Plan:
    """The jobs of a batch, the folder that all of it goes into, and how many work on it."""

    jobs: tuple[Job, ...]
    out: Path
    workers: int

    def outcomes(self) -> Generator[Outcome, None, None]:
        """Outcome of each job as it comes."""
        return outcomes(self.jobs, self.workers)


def plan_batch(
    paths: list[Path],
    *,
    out: Path | None = None,
    workers: int | None = None,
    allowed: tuple[Path, ...] = (),
    resume: bool = False,
) -> Plan:
    """What a batch is to do. Raises PipelineError before anything is computed.

    Without ``out`` all goes into the folder "out" in the first of the paths, or beside it.
    """
    listed = listed_properties(paths)
    first = paths[0].resolve()
    place = out if out is not None else (first if first.is_dir() else first.parent) / "out"
    refuse_shared_places(listed, place)
    refuse_unless_batch(place)
    jobs = tuple(
        Job(number, item.path, place, allowed, resume, item.row)
        for number, item in enumerate(listed, 1)
    )
    return Plan(jobs, place, worker_count(workers, len(jobs)))
