"""Jobs on the workers of an existing Dask cluster: none is lost, and none is told of twice.

A worker has one job at a time, so that when it falls it is known what it was at; that job is tried
once more, on another. Workers that come later are looked at and taken on.
"""

import logging
import os
import secrets
import time
import warnings
from collections import deque
from collections.abc import Generator, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from pkgutil import resolve_name

from distributed import CancelledError, Client, Future, wait

from pipeline import __version__
from pipeline.batch import cluster_worker
from pipeline.batch.cluster_worker import ROOT_VARIABLE, Introduction, versions
from pipeline.batch.job import Job, Outcome, Work, do_job, forsaken, lost
from pipeline.core.errors import Fault, UsageError, one_line

ANSWER_SECONDS = 30.0
"""Time in which a scheduler must answer."""

PATIENCE_SECONDS = 60.0
"""Time that a batch waits for workers when none is left; a nanny starts one anew in seconds."""

LOOK_SECONDS = 1.0
"""Time after which it is looked again which workers there are."""

TRIES = 2
"""How often a job is begun."""

log = logging.getLogger("swardline")


@dataclass(frozen=True, slots=True)
class Shared:
    """The folder that all of a cluster see, and the lock of the batch in it, with its words."""

    root: Path
    lock: Path
    words: str


@dataclass(frozen=True, slots=True)
class Task:
    """A job in work: on which worker, and the how-manyth time."""

    job: Job
    worker: str
    tries: int


@dataclass(slots=True)
class Crew:
    """The workers of a cluster that may be given work, and those that may not."""

    client: Client
    shared: Shared
    do: Work
    fit: dict[str, Introduction] = field(default_factory=dict)
    unfit: set[str] = field(default_factory=set)

    def look(self) -> list[Fault]:
        """Look which workers there are, and at those that are new; what is wrong with these."""
        there = set(self.client.nthreads())
        self.fit = {worker: told for worker, told in self.fit.items() if worker in there}
        self.unfit &= there
        new = sorted(there - set(self.fit) - self.unfit)
        return self._enlist(new) if new else []

    def _enlist(self, new: Sequence[str]) -> list[Fault]:
        """Take on new workers, as far as they are fit; what is wrong with the others."""
        faults = []
        for worker, told in self._introductions(new).items():
            wrong = list(_wrong(worker, told, self.shared))
            faults += wrong
            if wrong or not isinstance(told, Introduction):
                self.unfit.add(worker)
            else:
                self.fit[worker] = told
        taken = [worker for worker in new if worker in self.fit]
        if taken:
            self.client.run(cluster_worker.settle, workers=taken, on_error="ignore")
        return faults

    def _introductions(self, new: Sequence[str]) -> dict[str, object]:
        """What each new worker says of itself; another version, or what kept it from saying so.

        The version is asked for by a function of Python's own, which is there whatever else is.
        """
        version = "pipeline:__version__"
        told = dict(self.client.run(resolve_name, version, workers=list(new), on_error="return"))
        able = [worker for worker, own in told.items() if own == __version__]
        way = os.path.relpath(self.shared.lock, self.shared.root)
        if able:
            told |= self.client.run(
                cluster_worker.introduce,
                str(self.shared.root),
                way,
                self.shared.words,
                workers=able,
                on_error="return",
            )
        return told

    def forget(self, worker: str) -> None:
        """Look at a worker anew, since there is another process at its address."""
        self.fit.pop(worker, None)

    def dismiss(self) -> None:
        """Leave the workers as they were."""
        if self.fit:
            self.client.run(cluster_worker.leave, workers=list(self.fit), on_error="ignore")


def _wrong(worker: str, told: object, shared: Shared) -> Iterator[Fault]:
    """Why a worker is not fit: each library of another version, or that it sees another folder."""
    where = f"worker {worker}"
    do = "install the same versions on all workers, and start them anew"
    if not isinstance(told, Introduction):
        said = f"swardline {told}" if isinstance(told, str) else f"no swardline ({_first(told)})"
        yield Fault(where, said, f"swardline {__version__}", do)
        return
    for name, own in versions().items():
        theirs = told.versions.get(name)
        if theirs != own:
            yield Fault(where, f"{name} {theirs}", f"{name} {own}", do)
    if not told.sees_lock:
        expected = f"the folder that stands here as {shared.root}, with this batch in it"
        mount = f"share it, say --root, or set {ROOT_VARIABLE} of the worker to its path there"
        yield Fault(where, f"does not see it at {told.root}", expected, mount)


def _first(error: object) -> str:
    """First line of what an error says."""
    return one_line((str(error).splitlines() or [type(error).__name__])[0])


def shared_root(jobs: Sequence[Job], root: Path | None) -> Path:
    """The folder that all paths of the jobs lie in, as given or the deepest. Raises UsageError."""
    paths = {
        Path(os.path.abspath(path))
        for job in jobs
        for path in (job.property_file.parent, job.out, *job.allowed)
    }
    try:
        common = Path(os.path.abspath(root) if root else os.path.commonpath(paths))
    except ValueError as error:
        found = "the properties lie on several drives"
        raise UsageError.of("--root", found, "one shared folder", "move them there") from error
    outside = sorted(str(path) for path in paths if not path.is_relative_to(common))
    expected, do = f"a folder below {common}", "move it there, or say a --root that holds all"
    if outside:
        raise UsageError([Fault(path, "lies outside --root", expected, do) for path in outside])
    return common


def cluster_outcomes(
    jobs: Sequence[Job],
    scheduler: str,
    root: Path,
    lock: Path,
    *,
    most: int | None = None,
    do: Work = do_job,
) -> Generator[Outcome, None, None]:
    """Outcome of each job as it comes, from the workers of the cluster at an address.

    ``root`` is the folder that all see, ``lock`` the file of this batch in it, and ``most`` how
    many workers are used at a time. Raises UsageError before any job where a worker is not fit.
    """
    shared = Shared(root, Path(os.path.abspath(lock)), secrets.token_hex())
    lock.write_text(shared.words, "utf-8")
    with _connected(scheduler) as client:
        crew = Crew(client, shared, do)
        faults = crew.look()
        if faults:
            raise UsageError(faults)
        if not crew.fit:
            start = f"start some: dask worker {scheduler} --nthreads 1"
            where = f"--scheduler {scheduler}"
            raise UsageError.of(where, "it has no workers", "one or more", start)
        log.info(f"{len(crew.fit)} workers of {scheduler} share {root}")
        yield from _worked_off(crew, jobs, most or len(jobs))


@contextmanager
def _connected(scheduler: str) -> Iterator[Client]:
    """A connection to a scheduler. Raises UsageError where none answers."""
    # What these say of lost connections and other versions is told in a line of our own.
    for name in [*logging.root.manager.loggerDict]:
        if name.startswith("distributed"):
            logging.getLogger(name).setLevel(logging.CRITICAL)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            client = Client(scheduler, timeout=ANSWER_SECONDS, set_as_default=False)
    except (OSError, ValueError) as error:
        found, do = f"no scheduler answers there ({_first(error)})", "start it, or mend the address"
        expected = "the address of a Dask scheduler, as tcp://10.0.0.5:8786"
        raise UsageError.of(f"--scheduler {scheduler}", found, expected, do) from error
    try:
        yield client
    finally:
        client.close(timeout=ANSWER_SECONDS)


def _worked_off(crew: Crew, jobs: Iterable[Job], most: int) -> Generator[Outcome, None, None]:
    """Outcome of each job as it comes; a job whose worker falls is begun once more."""
    waiting = deque((job, 1) for job in jobs)
    running: dict[Future, Task] = {}
    seen = time.monotonic()
    try:
        while waiting or running:
            if _looked(crew):
                seen = time.monotonic()
            elif crew.client.status == "closed" or time.monotonic() - seen > PATIENCE_SECONDS:
                yield from (forsaken(job) for job in [*_ended(running), *(j for j, _ in waiting)])
                return
            if crew.client.status == "running":
                _hand_out(crew, waiting, running, most)
            for task, outcome in _done(crew, running):
                if outcome is not None:
                    yield outcome
                elif task.tries < TRIES:
                    log.warning(f"{task.job.told_as} is begun once more: {task.worker} fell")
                    waiting.appendleft((task.job, task.tries + 1))
                else:
                    yield lost(task.job)
    finally:
        _ended(running)
        with suppress(Exception):
            crew.dismiss()


def _looked(crew: Crew) -> bool:
    """Look which workers there are; whether there are any that may be given work."""
    if crew.client.status != "running":
        return False
    try:
        faults = crew.look()
    except (OSError, RuntimeError, CancelledError) as error:
        log.debug(f"the scheduler does not answer ({_first(error)})")
        return False
    for fault in faults:
        log.warning(f"{fault}; it gets no work")
    return bool(crew.fit)


def _ended(running: dict[Future, Task]) -> list[Job]:
    """Jobs in work, which nobody waits for any more; a worker still ends the one it is at."""
    for future in running:
        future.cancel()
    jobs = [task.job for task in running.values()]
    running.clear()
    return jobs


def _hand_out(
    crew: Crew, waiting: deque[tuple[Job, int]], running: dict[Future, Task], most: int
) -> None:
    """Give each worker that has nothing to do a job."""
    busy = {task.worker for task in running.values()}
    root = crew.shared.root
    for worker, told in crew.fit.items():
        if waiting and worker not in busy and len(running) < most:
            job, tries = waiting.popleft()
            sent = cluster_worker.moved(job, lambda path: Path(os.path.relpath(path, root)))
            future = crew.client.submit(
                cluster_worker.work,
                sent,
                told.root,
                told.process,
                crew.do,
                workers=[worker],
                allow_other_workers=False,
                pure=False,
            )
            running[future] = Task(job, worker, tries)


def _done(crew: Crew, running: dict[Future, Task]) -> Iterator[tuple[Task, Outcome | None]]:
    """Tasks that have ended, with their outcome; None where the worker fell."""
    if not running:
        time.sleep(LOOK_SECONDS / 10)
        return
    with crew.client.as_current(), suppress(TimeoutError, CancelledError):
        wait(list(running), timeout=LOOK_SECONDS, return_when="FIRST_COMPLETED")
    for future, task in list(running.items()):
        if future.done():
            try:
                outcome = future.result(timeout=ANSWER_SECONDS)
            except Exception as error:
                log.debug(_first(error))
                outcome = None
        elif task.worker in crew.fit:
            continue
        else:
            outcome = None
        del running[future]
        future.cancel()
        if outcome is None:
            crew.forget(task.worker)
            yield task, None
        else:
            root = crew.shared.root
            folder = root / outcome.folder if outcome.folder is not None else None
            yield task, replace(outcome, job=task.job, folder=folder)
