"""Jobs in worker processes: a worker that is killed costs its own job and no other."""

import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Generator, Iterable, Iterator, Sized
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing.context import BaseContext
from types import FrameType

from pipeline.batch.job import Job, Outcome, Work, cores, do_job, lost

FEWEST_PER_WORKER = 3
"""Properties that a worker must have before it is worth its start: that takes about as long as a
small property."""


def worker_count(asked: int | None, jobs: int) -> int:
    """Workers for so many jobs: as asked for, else one a core as far as each has enough to do."""
    if asked is not None:
        return max(1, min(asked, jobs))
    return max(1, min(cores(), jobs // FEWEST_PER_WORKER))


def outcomes(
    jobs: Iterable[Job], workers: int, work: Work = do_job
) -> Generator[Outcome, None, None]:
    """Outcome of each job as it comes: in this process with one worker, else in a pool.

    ``work`` is a function of a module, so that a worker can find it.
    """
    if workers == 1:
        yield from map(work, jobs)
        return
    waiting = deque(jobs)
    while waiting:
        fallen = yield from _until_broken(waiting, workers, work)
        for job in fallen:
            # Alone, it is known whether the job itself was the cause.
            if (yield from _until_broken(deque([job]), 1, work)):
                yield lost(job)


def _until_broken(
    waiting: deque[Job], workers: int, work: Work
) -> Generator[Outcome, None, list[Job]]:
    """Work jobs off until all are done or a worker is killed; returns those then in work.

    No more jobs are handed out than there are workers, so that none is suspected for nothing.
    """
    running: dict[Future[Outcome], Job] = {}
    fallen: list[Job] = []
    with _pool(workers, running) as pool:
        while running or (waiting and not fallen):
            while waiting and not fallen and len(running) < workers:
                try:
                    running[pool.submit(_work, work, waiting[0])] = waiting[0]
                except BrokenProcessPool:
                    break  # A worker fell while it had no job; those of the others end now, too.
                waiting.popleft()
            if not running:
                break
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                job = running.pop(future)
                if isinstance(future.exception(), BrokenProcessPool):
                    fallen.append(job)
                else:
                    yield future.result()
    return fallen


@contextmanager
def _pool(workers: int, running: Sized) -> Iterator[ProcessPoolExecutor]:
    """A pool that leaves no process behind; where jobs are still in work, they are told to stop."""
    others = set(multiprocessing.active_children())
    pool = ProcessPoolExecutor(workers, _context(), initializer=_start_worker)
    try:
        yield pool
    finally:
        if len(running):
            for process in set(multiprocessing.active_children()) - others:
                process.terminate()
        pool.shutdown(wait=True, cancel_futures=True)


def _context() -> BaseContext:
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


GRACE_SECONDS = 20.0
"""Time that a worker has to clear up when it is told to stop."""


_in_work, _stopping = threading.Event(), threading.Event()


def _work(work: Work, job: Job) -> Outcome:
    """One job in a worker; when told to stop, its half-written folder is gone before it ends."""
    try:
        _in_work.set()
        return work(job)
    finally:
        _in_work.clear()
        if _stopping.is_set():
            os._exit(STOPPED)


def _start_worker() -> None:
    """A worker stops when this process tells it to or ends, and not by a key typed to it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _stop)
    threading.Thread(target=_stop_with_parent, daemon=True).start()


def _stop(_number: int, _frame: FrameType | None) -> None:
    """Leave the job, so that it clears up; a second signal would break into that.

    Whatever library may swallow the interruption, the worker ends when its time is over.
    """
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    _stopping.set()
    if not _in_work.is_set():
        os._exit(STOPPED)
    end = threading.Timer(GRACE_SECONDS, os._exit, (STOPPED,))
    end.daemon = True
    end.start()
    raise KeyboardInterrupt


def _stop_with_parent() -> None:
    """End when the process that hands out the jobs was killed; nobody would take the outcome."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(STOPPED)
