"""Deliberate faults: does a test fail on each of them?

Run by hand: ``python tests/mutate.py [WORD ...]`` puts one fault at a time into a copy of the
package, runs the tests that should catch it, and prints which faults live through them; it ends
with 1 where one does. Words choose the faults whose subject or description holds one of them.

The faults stand in ``tests/SUBJECT/faults.toml``: what it is, the file, the text that is found
there exactly once and what is put in its place, and the tests.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
COPIED = (
    "pipeline",
    "tests",
    "config",
    "sample_geo",
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
)


@dataclass(frozen=True)
class Fault:
    """One deliberate fault. ``find`` stands exactly once in ``file``."""

    subject: str
    what: str
    file: str
    find: str
    put: str
    tests: tuple[str, ...]


def all_faults() -> list[Fault]:
    """Every fault on the list, by subject."""
    faults = []
    for path in sorted((PROJECT / "tests").glob("*/faults.toml")):
        rows = tomllib.loads(path.read_text(encoding="utf-8"))["fault"]
        faults += [Fault(path.parent.name, **row | {"tests": tuple(row["tests"])}) for row in rows]
    return faults


def is_caught(fault: Fault, copy: Path) -> bool:
    """Whether the tests fail with the fault in a copy of the project."""
    path = copy / fault.file
    sound = path.read_text(encoding="utf-8")
    if sound.count(fault.find) != 1:
        raise SystemExit(f"{fault.subject}: {fault.what}: not found exactly once in {fault.file}")
    path.write_text(sound.replace(fault.find, fault.put), encoding="utf-8")
    try:
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-x",
            "-q",
            "-p",
            "no:cacheprovider",
            *fault.tests,
        ]
        place = os.environ | {"PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
        ended = subprocess.run(command, cwd=copy, env=place, capture_output=True, check=False)
    finally:
        path.write_text(sound, encoding="utf-8")
    if ended.returncode not in (0, 1, 2):
        raise SystemExit(f"{fault.subject}: {fault.what}: its tests did not run\n{ended.stdout!r}")
    return ended.returncode != 0


def tried(faults: list[Fault], workers: int) -> list[tuple[Fault, bool]]:
    """Each fault with whether it was caught; every worker has a copy of its own."""
    with tempfile.TemporaryDirectory() as folder:

        def share(number: int) -> list[tuple[Fault, bool]]:
            copy = Path(folder) / str(number)
            for name in COPIED:
                there = PROJECT / name
                if there.is_dir():
                    skipped = shutil.ignore_patterns("__pycache__", "out")
                    shutil.copytree(there, copy / name, ignore=skipped)
                else:
                    shutil.copy(there, copy / name)
            results = []
            for fault in faults[number::workers]:
                caught = is_caught(fault, copy)
                print(
                    f"{'caught' if caught else 'LIVES '}  {fault.subject}: {fault.what}", flush=True
                )
                results.append((fault, caught))
            return results

        with ThreadPoolExecutor(workers) as pool:
            return [row for rows in pool.map(share, range(workers)) for row in rows]


def main(words: list[str]) -> int:
    """Try the faults chosen; 1 where one lives."""
    parser = argparse.ArgumentParser(description="Try deliberate faults against the tests.")
    parser.add_argument("words", nargs="*", help="subjects or words of the faults to try")
    parser.add_argument("--workers", type=int, default=2, help="faults tried at the same time")
    parser.add_argument("--list", action="store_true", help="only list the faults")
    told = parser.parse_args(words)
    chosen = [
        fault
        for fault in all_faults()
        if not told.words or any(word in f"{fault.subject} {fault.what}" for word in told.words)
    ]
    if told.list:
        print("\n".join(f"{fault.subject}: {fault.what}" for fault in chosen))
        return 0
    results = tried(chosen, min(told.workers, max(len(chosen), 1)))
    living = [fault for fault, caught in results if not caught]
    print(f"{len(results) - len(living)} of {len(results)} faults caught")
    return int(bool(living))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
