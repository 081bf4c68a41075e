"""A batch from end to end: what is in it, its outcomes one by one, and its files."""

from collections.abc import Generator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from pipeline.batch.job import Job, Outcome
from pipeline.batch.pool import outcomes, worker_count
from pipeline.batch.property_list import listed_properties, places_of
from pipeline.batch.summary import refuse_unless_batch
from pipeline.core.errors import UsageError


@dataclass(frozen=True, slots=True)
class Plan:
    """The jobs of a batch, the folder that all of it goes into, and how many work on it.

    With a ``scheduler`` these are workers of a cluster, which all see the folder ``root``. A
    property that takes longer than ``limit_minutes`` is given up.
    """

    jobs: tuple[Job, ...]
    out: Path
    workers: int
    scheduler: str | None = None
    root: Path | None = None
    limit_minutes: float | None = None

    def outcomes(self, lock: Path | None = None) -> Generator[Outcome, None, None]:
        """Outcome of each job as it comes; workers of a cluster know the batch by its lock."""
        if self.scheduler is None or lock is None:
            return outcomes(self.jobs, self.workers, limit_minutes=self.limit_minutes)
        from pipeline.batch.cluster import cluster_outcomes, shared_root

        root = shared_root(self.jobs, self.root)
        return cluster_outcomes(self.jobs, self.scheduler, root, lock, most=self.workers)


def plan_batch(
    paths: list[Path],
    *,
    out: Path | None = None,
    workers: int | None = None,
    allowed: tuple[Path, ...] = (),
    resume: bool = False,
    scheduler: str | None = None,
    root: Path | None = None,
    limit_minutes: float | None = None,
) -> Plan:
    """What a batch is to do. Raises PipelineError before anything is computed.

    Without ``out`` all goes into the folder "out" in the first of the paths, or beside it.
    """
    if scheduler is not None and find_spec("distributed") is None:
        found, do = "Dask is not installed", "pip install 'swardline[cluster]'"
        raise UsageError.of("--scheduler", found, "the library distributed", do)
    if root is not None and scheduler is None:
        do = "say --scheduler too, or leave --root out"
        raise UsageError.of("--root", "no --scheduler", "the cluster that shares it", do)
    if limit_minutes is not None and scheduler is not None:
        expected, do = "workers of this machine, which can be stopped", "leave one of both out"
        raise UsageError.of("--limit-minutes", "--scheduler too", expected, do)
    listed = listed_properties(paths)
    first = paths[0].resolve()
    place = out if out is not None else (first if first.is_dir() else first.parent) / "out"
    folders = places_of(listed, place)
    refuse_unless_batch(place)
    jobs = tuple(
        Job(number, item.path, place, allowed, resume, item.row, folder)
        for number, (item, folder) in enumerate(zip(listed, folders, strict=True), 1)
    )
    count = worker_count(workers, len(jobs)) if scheduler is None else workers or len(jobs)
    return Plan(jobs, place, count, scheduler, root, limit_minutes)
