"""Fixtures that several test files share."""

import subprocess
import sys
import tarfile
from pathlib import Path

import geopandas as gpd
import pytest

PROJECT = Path(__file__).parent.parent


@pytest.fixture(scope="session")
def block_groups(request, tmp_path_factory):
    """Census block groups with published areas, out of pyshp's source distribution."""
    folder = Path(request.config.cache.mkdir("pyshp_sdist"))
    if not list(folder.glob("pyshp-*.tar.gz")):
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps"]
        command += ["--no-binary", ":all:", "--dest", str(folder), "pyshp==3.1.6"]
        fetched = subprocess.run(command, capture_output=True, text=True, check=False)
        if fetched.returncode:
            pytest.skip("pip cannot fetch pyshp's source distribution here")
    target = tmp_path_factory.mktemp("pyshp")
    with tarfile.open(next(folder.glob("pyshp-*.tar.gz"))) as archive:
        archive.extractall(target, filter="data")
    return gpd.read_file(next(target.rglob("blockgroups.shp"))).set_crs(4269)
