"""One table of how fast the program is, as ratios to plain ways of doing the same.

    python -m tests.benchmarks.table [--repeats 5] [--only WORD]

Prints Markdown: medians of repeated runs in which our way and the plain one take turns, so that a
machine that slows down slows down both. Processor time counts child processes too; the wall time
stands beside it, since waiting for a disk or for another process costs no processor.
"""

import argparse
import os
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from tests.benchmarks.cases import Case, every_case

HEADINGS = ("what", "ours, s", "plain way, s", "ratio", "ratio of wall time", "plain way")


def now() -> tuple[float, float]:
    """Processor time [s] of this process and its finished children, and wall time [s]."""
    used = os.times()
    return sum(used[:4]), time.perf_counter()


def raced(case: Case, repeats: int) -> list[str]:
    """One row of the table: medians of our way and of the plain one, taking turns."""
    spent: dict[str, list[tuple[float, float]]] = {"ours": [], "plain": []}
    for turn in range(repeats + 1):
        for name, way in (("ours", case.ours), ("plain", case.plain)):
            before = now()
            way()
            after = now()
            if turn or repeats == 1:  # the first turn warms up
                spent[name].append((after[0] - before[0], after[1] - before[1]))
    (cpu, wall), (plain_cpu, plain_wall) = (
        [statistics.median(kind) for kind in zip(*runs, strict=True)] for runs in spent.values()
    )
    # The clock of child processes ticks in hundredths of a second.
    ratio = cpu / max(plain_cpu, 0.01)
    figures = [f"{cpu:.2f}", f"{plain_cpu:.2f}", f"{ratio:.2f}", f"{wall / plain_wall:.2f}"]
    return [case.name, *figures, case.against]


def markdown(rows: Iterable[list[str]]) -> Iterable[str]:
    """The lines of a table, each as soon as its row is there."""
    yield f"| {' | '.join(HEADINGS)} |"
    yield "|---|" + "---:|" * (len(HEADINGS) - 2) + "---|"
    for row in rows:
        yield f"| {' | '.join(row)} |"


def machine() -> str:
    """What the table was measured on."""
    told = Path("/proc/cpuinfo")
    lines = told.read_text().splitlines() if told.exists() else []
    names = [line.split(": ", 1)[1] for line in lines if line.startswith("model name")]
    name = names[0] if names else platform.processor() or platform.machine()
    load = f"load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "load unknown"
    return (
        f"{name}, {os.cpu_count()} cores, {platform.system()}, Python "
        f"{platform.python_version()}, {load}, {date.today()}"
    )


def main(words: list[str]) -> None:
    """Race every case and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--only", default="", help="cases whose name holds this word")
    parser.add_argument("--tiny", action="store_true", help="sizes that say nothing of speed")
    told = parser.parse_args(words)
    print(f"Measured on {machine()} at the beginning:\n")
    with tempfile.TemporaryDirectory() as folder:
        cases = every_case(Path(folder), tiny=told.tiny)
        rows = (raced(case, told.repeats) for case in cases if told.only in case.name)
        for line in markdown(rows):
            print(line, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
