"""Work of made jobs, which a worker imports: named for what it does."""

import os
import signal
import time

from pipeline.batch.job import Outcome


def do(job):
    """Done at once; a job named deadly kills its process, as a system out of memory does."""
    if job.property_file.name == "deadly":
        os.kill(os.getpid(), signal.SIGKILL)
    with (job.out / "log.txt").open("a") as log:
        log.write(f"{job.number}\n")
    return Outcome(job, "written")


def do_slowly(job):
    """Leaves a file that says it is in work, and takes it away however it ends."""
    part = job.out / f"{job.number}.part"
    part.write_text(str(os.getpid()))
    try:
        time.sleep(600)
    finally:
        part.unlink()
    return Outcome(job, "written")


def do_deafly(job):
    """As slow, and hears no signal, as a process in a long sum of a library that is not Python."""
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGTERM})
    return do_slowly(job)


def do_or_linger(job):
    """Done at once; a job named slow takes too long."""
    return do_slowly(job) if job.property_file.name == "slow" else do(job)


def environment(names):
    """What the environment of a worker says."""
    return [os.environ.get(name) for name in names]
