"""One raster shared by many properties: what a property costs of it, by the raster's size.

Each size of raster holds the same pixels in the same places, tiled and with smaller copies, as a
cloud-optimized GeoTIFF; the rest of it is not stored. Properties lie apart in it and are run in a
process of their own, which tells the most memory it took and what it read. Prints one line a size::

    python -m tests.benchmarks.bench_shared_raster --properties 4
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import rasterio
from rasterio.windows import Window

from tests.benchmarks.bench_batch import UTM, write_property

PIXEL_M, STEP_M = 10, 5_000
YEARS = {2025: 5_000, 2026: 6_000}


def write_mosaic(
    path: Path, side: int, level: int, properties: int, smaller: tuple[int, ...] = (4, 16, 64)
) -> None:
    """A square raster with data around each property and nothing elsewhere."""
    left, top = 600_000 - 5_000, 4_430_000 + 10_000
    random = np.random.default_rng(level)
    profile = {
        "driver": "GTiff",
        "width": side,
        "height": side,
        "count": 1,
        "dtype": "int16",
        "nodata": -32768,
        "crs": UTM,
        "transform": rasterio.Affine(PIXEL_M, 0, left, 0, -PIXEL_M, top),
        "tiled": True,
        "blockxsize": 512,
        "blockysize": 512,
        "compress": "deflate",
        "sparse_ok": True,
    }
    with rasterio.open(path, "w", **profile) as raster:
        for number in range(properties):
            column = (600_000 + STEP_M * number - 500 - left) // PIXEL_M
            row = (top - 4_430_000 - 1_800) // PIXEL_M
            values = level + 200 * random.standard_normal((230, 330))
            raster.write(values.astype("int16"), 1, window=Window(column, row, 330, 230))
    if smaller:
        with rasterio.open(path, "r+") as raster:
            raster.build_overviews(list(smaller))


def share(folder: Path, root: Path) -> None:
    """Have a property read the shared rasters in the place of its own."""
    told = folder / "property.toml"
    text = told.read_text()
    for year in YEARS:
        (folder / f"ndvi_{year}.tif").unlink()
        text = text.replace(f'"ndvi_{year}.tif"', f'"{root}/mosaic_{year}.tif"')
    told.write_text(text.replace('kind = "ndvi" }', 'kind = "ndvi", scale = 0.0001 }'))


def bytes_read() -> int:
    """Bytes that this process has asked the system for, from a disk or not (Linux, proc(5))."""
    return int(Path("/proc/self/io").read_text().split()[1])


ONE = """
import sys, time
from pathlib import Path
from pipeline.batch.batch import plan_batch
from pipeline.batch.job import do_job
from tests.benchmarks.bench_shared_raster import bytes_read

root = Path(sys.argv[1])
jobs = plan_batch([root / "places"], out=root / "out", allowed=(root,)).jobs
spent, read = [], []
for job in jobs:
    first, started = bytes_read(), time.process_time()
    outcome = do_job(job)
    assert outcome.state == "written", outcome.reasons
    spent.append(time.process_time() - started)
    read.append(bytes_read() - first)
# Not ru_maxrss, which begins with that of the process which started this one.
peak = int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]) / 1024
print(spent[-1], read[-1] / 2**20, peak)
"""


def measured(root: Path) -> tuple[float, float, float]:
    """Seconds of processor and MiB read of the last property, and the most MiB of memory."""
    command = [sys.executable, "-c", ONE, str(root)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    seconds, read_mib, peak_mib = map(float, done.stdout.split())
    return seconds, read_mib, peak_mib


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--properties", type=int, default=4)
    parser.add_argument("--sides", type=int, nargs="+", default=[5_000, 20_000, 40_000])
    told = parser.parse_args()
    print(f"{told.properties} properties, load {os.getloadavg()[0]:.1f}")
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        for number in range(told.properties):
            share(write_property(root / "places" / f"p{number}", number).parent, root)
        for side in told.sides:
            for year, level in YEARS.items():
                write_mosaic(root / f"mosaic_{year}.tif", side, level, told.properties)
            seconds, read_mib, peak_mib = measured(root)
            print(
                f"{side:6} pixels a side: {seconds:.2f} s, {read_mib:.1f} MiB read, "
                f"at most {peak_mib:.0f} MiB of memory"
            )
            shutil.rmtree(root / "out")


if __name__ == "__main__":
    main()
