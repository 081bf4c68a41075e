"""Jobs in worker processes: a worker that is killed costs its own job and no other."""

import gc
import multiprocessing
import os
import signal
import threading
import time
from collections import deque
from collections.abc import Generator, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection, wait
from multiprocessing.context import ForkServerContext, SpawnContext
from multiprocessing.process import BaseProcess
from types import FrameType

from pipeline.batch.job import Job, Outcome, Work, cores, do_job, lost, overdue

FEWEST_PER_WORKER = 3
"""Properties that a worker must have before it is worth its start: that takes about as long as a
small property."""


def worker_count(asked: int | None, jobs: int) -> int:
    """Workers for so many jobs: as asked for, else one a core as far as each has enough to do."""
    if asked is not None:
        return max(1, min(asked, jobs))
    return max(1, min(cores(), jobs // FEWEST_PER_WORKER))


def outcomes(
    jobs: Iterable[Job], workers: int, work: Work = do_job, *, limit_minutes: float | None = None
) -> Generator[Outcome, None, None]:
    """Outcome of each job as it comes: in this process with one worker, else from several.

    ``work`` is a function of a module, so that a worker can find it. A job that takes longer than
    ``limit_minutes`` is given up; since only a process can be stopped, one worker is one, too.
    """
    if workers == 1 and limit_minutes is None:
        yield from map(work, jobs)
        return
    fallen = yield from _worked_off(jobs, workers, work, limit_minutes)
    for job in fallen:
        # Alone, it is known whether the job itself was the cause.
        if (yield from _worked_off([job], 1, work, limit_minutes)):
            yield lost(job)


@dataclass(eq=False, slots=True)
class _Worker:
    """A process, the pipe to it, and the job it works on since a moment of the clock [s]."""

    process: BaseProcess
    pipe: Connection
    job: Job
    since_s: float

    def outcome(self) -> Outcome | None:
        """What it tells of its job; None where it was killed before it told."""
        try:
            outcome: Outcome = self.pipe.recv()
        except (EOFError, OSError):
            return None
        return outcome


def _worked_off(
    jobs: Iterable[Job], most: int, work: Work, limit_minutes: float | None
) -> Generator[Outcome, None, list[Job]]:
    """Work jobs off on so many workers; returns those whose worker was killed.

    However it ends, it leaves no process behind.
    """
    waiting, fallen = deque(jobs), list[Job]()
    busy, idle = list[_Worker](), list[_Worker]()
    others = set(multiprocessing.active_children())
    try:
        while waiting or busy:
            while waiting and len(busy) < most:
                busy.append(_handed_out(waiting.popleft(), idle, work))
            for worker in _heard(busy, limit_minutes):
                busy.remove(worker)
                if (outcome := worker.outcome()) is not None:
                    idle.append(worker)
                    yield outcome
                else:
                    fallen.append(worker.job)
            for worker in _late(busy, limit_minutes):
                busy.remove(worker)
                _end([worker.process])
                yield overdue(worker.job, time.monotonic() - worker.since_s)
    finally:
        _end(list(set(multiprocessing.active_children()) - others))
    return fallen


def _handed_out(job: Job, idle: list[_Worker], work: Work) -> _Worker:
    """The worker that took a job: one that has none, else a new one."""
    while idle:
        worker = idle.pop()
        with suppress(OSError):  # One that was killed while it had nothing to do takes none.
            worker.pipe.send(job)
            return replace(worker, job=job, since_s=time.monotonic())
    context = _context()
    here, there = context.Pipe()
    process = context.Process(target=_serve, args=(there, work))
    process.start()
    there.close()
    with suppress(OSError):  # One that fell at once is found so when it is heard.
        here.send(job)
    return _Worker(process, here, job, time.monotonic())


def _heard(busy: Sequence[_Worker], limit_minutes: float | None) -> list[_Worker]:
    """Workers that told of their job or fell, none where the time of one is over before."""
    left_s = None
    if limit_minutes is not None:
        first_s = min(worker.since_s for worker in busy)
        left_s = max(0.0, first_s + limit_minutes * 60 - time.monotonic())
    ready = wait([worker.pipe for worker in busy], left_s)
    return [worker for worker in busy if worker.pipe in ready]


def _late(busy: Sequence[_Worker], limit_minutes: float | None) -> list[_Worker]:
    """Workers whose time is over and who have nothing to tell."""
    if limit_minutes is None:
        return []
    begun_s = time.monotonic() - limit_minutes * 60
    return [worker for worker in busy if worker.since_s <= begun_s and not worker.pipe.poll()]


GRACE_SECONDS = 20.0
"""Time that workers have to clear up when they are told to stop."""


def _end(processes: Sequence[BaseProcess]) -> None:
    """Tell processes to stop, and kill those that do not: one in a long sum of a library is deaf.

    So it is also when a person, tired of waiting, interrupts again.
    """
    try:
        for process in processes:
            process.terminate()
        over_s = time.monotonic() + GRACE_SECONDS
        for process in processes:
            process.join(max(0.0, over_s - time.monotonic()))
    finally:
        for process in processes:
            process.kill()


def _context() -> ForkServerContext | SpawnContext:
    """How workers are started: never as a fork of this process, whose open files they would share.

    Where the system can, they are forks of a helper that has the imports and nothing else.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["pipeline.batch.job"])
    return context


STOPPED = 130
"""Exit code of a worker that was told to stop."""


def _serve(pipe: Connection, work: Work) -> None:
    """Do one job after the other; when told to stop, the half-written folder goes before the end.

    A worker stops when the process that hands out the jobs tells it to or ends, and not by a key
    typed to it.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_stop_with_parent, daemon=True).start()
    gc.freeze()  # What is loaded stays: no look for garbage goes through it.
    with suppress(KeyboardInterrupt, EOFError, BrokenPipeError):
        signal.signal(signal.SIGTERM, _stop)
        while True:
            pipe.send(work(pipe.recv()))
    os._exit(STOPPED)


def _stop(_number: int, _frame: FrameType | None) -> None:
    """Leave the job, so that it clears up; a second signal would break into that."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    raise KeyboardInterrupt


def _stop_with_parent() -> None:
    """End when the process that hands out the jobs was killed; nobody would take the outcome."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(STOPPED)
