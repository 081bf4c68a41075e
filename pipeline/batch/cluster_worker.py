"""What a worker of a Dask cluster does for a batch: it says what it is, and works jobs off.

Paths that come to it count from a folder that all of the cluster see, each maybe under a path of
its own.
"""

import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from distributed import Worker, WorkerPlugin, get_worker

from pipeline.batch.job import Job, Outcome
from pipeline.write.record import program_record

ROOT_VARIABLE = "SWARDLINE_ROOT"
"""Variable of a worker's environment with its own path of the shared folder."""

ALSO_COMPARED = ("distributed", "fiona", "icalendar", "openpyxl", "pydantic", "typst", "xlsxwriter")
"""Libraries that files depend on and the record of a run does not name."""

ABSENT = "not installed"

GDAL_SETTINGS = {"GDAL_CACHEMAX": "64", "GDAL_NUM_THREADS": "1"}
"""MB of decoded blocks, and threads, of each GDAL in a worker that shares its machine."""


@dataclass(frozen=True, slots=True)
class Introduction:
    """What a worker says of itself.

    ``process`` is another after a restart at the same address; ``root`` is its own path of the
    shared folder, and ``sees_lock`` whether the lock of the batch is there, with its own words.
    """

    process: str
    versions: dict[str, str]
    root: str
    sees_lock: bool


def versions() -> dict[str, str]:
    """Versions of the program and of every library that its files depend on."""
    return program_record() | {name: _version(name) for name in ALSO_COMPARED}


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return ABSENT


class GdalSettings(WorkerPlugin):
    """Settings of GDAL in a worker as long as the batch lasts."""

    name = "swardline"

    def setup(self, worker: Worker) -> None:
        """Set them in the environment, where every GDAL of the process looks them up."""
        self.former = {name: os.environ.get(name) for name in GDAL_SETTINGS}
        os.environ.update(GDAL_SETTINGS)

    def teardown(self, worker: Worker) -> None:
        """Leave the environment as it was."""
        for name, value in self.former.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def introduce(root: str, lock: str, words: str, dask_worker: Worker) -> Introduction:
    """What this worker is; ``lock`` is the way from the shared folder to the lock of the batch."""
    own = os.environ.get(ROOT_VARIABLE) or root
    try:
        sees_lock = Path(own, lock).read_text("utf-8") == words
    except (OSError, ValueError):
        sees_lock = False
    return Introduction(dask_worker.id, versions(), own, sees_lock)


async def settle(dask_worker: Worker) -> None:
    """Take the settings of GDAL."""
    await dask_worker.plugin_add(GdalSettings())


async def leave(dask_worker: Worker) -> None:
    """Give the settings of GDAL back."""
    await dask_worker.plugin_remove(GdalSettings.name)


def work(job: Job, root: str, process: str, do: Callable[[Job], Outcome]) -> Outcome | None:
    """Do one job, its paths counted from ``root``; None where another process is meant.

    So a job whose worker was killed is not begun again unasked, at the same address.
    """
    if get_worker().id != process:
        return None
    outcome = do(placed(job, Path(root)))
    folder = outcome.folder
    way = Path(os.path.relpath(folder, root)) if folder is not None else None
    return replace(outcome, job=job, folder=way)


def placed(job: Job, root: Path) -> Job:
    """A job whose paths count from the shared folder, with whole paths."""
    return moved(job, lambda path: root / path)


def moved(job: Job, move: Callable[[Path], Path]) -> Job:
    """A job with each of its paths replaced."""
    return replace(
        job,
        property_file=move(job.property_file),
        out=move(job.out),
        allowed=tuple(map(move, job.allowed)),
    )
