"""Zone statistics of two rasters against the decode of the same blocks, and against others.

    python tests/benchmarks/bench_greenness.py --size 10000 --zones scattered --count 500

Prints medians of interleaved runs as ratios to the one-thread decode of exactly the blocks that
the zones touch: our zone sums, exactextract fed in the plain way (two calls with a GeoDataFrame),
and rasterstats. Peak memory is that of a process of its own, over its imports. Nothing is judged
when the machine is busy (wall time of the decode far above its processor time).
"""

import argparse
import json
import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
import warnings
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import rasterio
import shapely
from rasterio.windows import Window

from pipeline.greenness.zone_pixels import change_moments
from pipeline.intake.rasters.raster_file import RASTER_OPTIONS
from pipeline.pictures.mosaics import open_mosaics

CRS, LEFT, TOP, PIXEL, BLOCK, SECTION_M = "EPSG:32615", 300000, 4700000, 10.0, 512, 1609.344
NODATA = -32768
OCTAVES = ((8, 900), (60, 700), (400, 400))


def fields(size: int, seed: int) -> np.ndarray:
    """Polygons like fields: mile sections split at random, 19 vertices, jittered, with gaps."""
    chance = np.random.default_rng(seed)
    boxes = []
    across = math.ceil(size * PIXEL / SECTION_M)
    for row in range(across):
        for column in range(across):
            boxes += _split(chance, LEFT + column * SECTION_M, TOP - (row + 1) * SECTION_M)
    shapes = []
    for x0, y0, x1, y1 in boxes:
        ring = np.array(shapely.box(x0, y0, x1, y1).buffer(-4).exterior.coords)[:-1]
        fine = shapely.segmentize(shapely.Polygon(ring), (x1 - x0 + y1 - y0) / 8)
        points = np.array(fine.exterior.coords)[:-1]
        shapes.append(shapely.Polygon(points + chance.normal(0, 2, points.shape).clip(-3, 3)))
    frame = np.array(shapes)
    extent = shapely.box(LEFT, TOP - size * PIXEL, LEFT + size * PIXEL, TOP)
    return frame[shapely.within(frame, extent)]


def _split(chance, x: float, y: float) -> list[tuple[float, float, float, float]]:
    """One section cut in two again and again, along its longer side."""
    done, todo = [], [(x, y, x + SECTION_M, y + SECTION_M)]
    while todo:
        x0, y0, x1, y1 = todo.pop()
        if (x1 - x0) * (y1 - y0) < chance.uniform(40_000, 400_000):
            done.append((x0, y0, x1, y1))
            continue
        cut = chance.uniform(0.35, 0.65)
        if x1 - x0 > y1 - y0:
            middle = x0 + cut * (x1 - x0)
            todo += [(x0, y0, middle, y1), (middle, y0, x1, y1)]
        else:
            middle = y0 + cut * (y1 - y0)
            todo += [(x0, y0, x1, middle), (x0, middle, x1, y1)]
    return done


def chosen(zones: np.ndarray, layout: str, count: int, size: int, seed: int) -> np.ndarray:
    """So many zones: a compact block of them, scattered ones, or all; in shuffled order."""
    chance = np.random.default_rng(seed + 1)
    if layout == "scattered":
        zones = zones[chance.permutation(len(zones))[:count]]
    elif layout == "compact":
        middle = shapely.Point(LEFT + size * PIXEL / 2, TOP - size * PIXEL / 2)
        zones = zones[np.argsort(shapely.distance(zones, middle))[:count]]
    return zones[chance.permutation(len(zones))]


def write_pair(folder: Path, size: int, seed: int) -> list[Path]:
    """Two dates of NDVI as int16 with zstd, smooth noise in three octaves, fine noise, holes."""
    paths = [folder / f"{name}_{size}.tif" for name in ("before", "after")]
    if all(path.exists() for path in paths):
        return paths
    chance = np.random.default_rng(seed)
    base = sum(amplitude * _smooth(chance, size, cells) for cells, amplitude in OCTAVES)
    profile = {
        "driver": "GTiff",
        "dtype": "int16",
        "count": 1,
        "width": size,
        "height": size,
        "crs": CRS,
        "transform": rasterio.Affine(PIXEL, 0, LEFT, 0, -PIXEL, TOP),
        "nodata": NODATA,
        "tiled": True,
        "blockxsize": BLOCK,
        "blockysize": BLOCK,
        "compress": "zstd",
        "predictor": 2,
    }
    for number, path in enumerate(paths):
        with rasterio.open(path, "w", **profile) as raster:
            raster.scales = [0.0001]
            for top in range(0, size, BLOCK):
                rows = slice(top, min(top + BLOCK, size))
                noise = chance.normal(0, 100, (rows.stop - top, size))
                array = (5000 + number * 400 + base[rows] + noise).clip(-2000, 10000)
                array[base[rows] > 1900] = NODATA
                raster.write(array.astype("int16"), 1, window=Window(0, top, size, len(array)))
    return paths


def _smooth(chance, size: int, cells: int) -> np.ndarray:
    """Noise that varies over size/cells pixels, by linear interpolation."""
    cells = min(cells, size // 4)
    grid = chance.normal(0, 1, (cells + 2, cells + 2)).astype("float32")
    at = np.arange(size, dtype="float32") * cells / size
    low, part = at.astype(int), at % 1
    rows = grid[low] * (1 - part)[:, None] + grid[low + 1] * part[:, None]
    return rows[:, low] * (1 - part) + rows[:, low + 1] * part


@dataclass
class Case:
    """What every competitor gets."""

    paths: list[Path]
    zones: np.ndarray

    def blocks(self) -> list[Window]:
        """Blocks that the bounds of zones touch, in the order of the file."""
        touched = set()
        for left, bottom, right, top in shapely.bounds(self.zones):
            columns = range(
                int((left - LEFT) / PIXEL) // BLOCK, int((right - LEFT) / PIXEL) // BLOCK + 1
            )
            rows = range(
                int((TOP - top) / PIXEL) // BLOCK, int((TOP - bottom) / PIXEL) // BLOCK + 1
            )
            touched |= {(row, column) for row in rows for column in columns}
        return [Window(c * BLOCK, r * BLOCK, BLOCK, BLOCK) for r, c in sorted(touched)]


def decode(case: Case) -> int:
    """Read the blocks of both rasters and do nothing with them: the floor."""
    blocks, pixels = case.blocks(), 0
    with rasterio.Env(**RASTER_OPTIONS):
        for path in case.paths:
            with rasterio.open(path) as raster:
                for block in blocks:
                    pixels += raster.read(1, window=block).size
    return pixels


def ours(case: Case) -> np.ndarray:
    """Jointly usable pixels of each zone; mean and spread come with them."""
    with ExitStack() as stack:
        mosaics = [stack.enter_context(open_mosaics(scene(p), NO_PRESETS)) for p in case.paths]
        (old,), (new,) = mosaics
        return change_moments((old, new), case.zones, old.grid)[1].count


NO_PRESETS = pd.DataFrame(columns=["preset", "rule", "number"])


def scene(path: Path) -> pd.DataFrame:
    """Row of the layer ``scenes`` as the intake would make it."""
    return pd.DataFrame(
        [
            {
                "scene": 1,
                "path": str(path),
                "variable": None,
                "name": path.name,
                "sensor": None,
                "ndvi_band": 1,
                "scale": 0.0001,
                "offset": 0.0,
                "lowest": -1.0,
                "highest": 1.0,
                "zero_is_fill": False,
                "line_scale": 1.0,
                "product_fill": None,
                "line_offset": 0.0,
                "mask_path": None,
                "mask_preset": None,
                "mask_nodata_is_clear": False,
                "drop_bits": None,
                "keep_values": None,
            }
        ]
    )


def plain_exactextract(case: Case) -> np.ndarray:
    """As its first example has it: a file, a GeoDataFrame, once a date."""
    from exactextract import exact_extract

    frame = gpd.GeoDataFrame(geometry=list(case.zones), crs=CRS)
    told = [
        exact_extract(str(p), frame, ["count", "mean", "stdev"], output="pandas")
        for p in case.paths
    ]
    return told[0]["count"].to_numpy()


def plain_rasterstats(case: Case) -> np.ndarray:
    """As its first example has it, once a date."""
    from rasterstats import zonal_stats

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        told = [
            zonal_stats(case.zones.tolist(), str(p), stats=["count", "mean", "std"])
            for p in case.paths
        ]
    return np.array([row["count"] for row in told[0]])


COMPETITORS = {
    "decode": decode,
    "ours": ours,
    "exactextract": plain_exactextract,
    "rasterstats": plain_rasterstats,
}


def raced(case: Case, names: list[str], repeats: int) -> dict[str, list[tuple[float, float]]]:
    """Wall and processor time [s] of each competitor, taking turns."""
    times: dict[str, list[tuple[float, float]]] = {name: [] for name in names}
    for _ in range(repeats):
        for name in names:
            wall, cpu = time.perf_counter(), time.process_time()
            COMPETITORS[name](case)
            times[name].append((time.perf_counter() - wall, time.process_time() - cpu))
    return times


def memory_mib(name: str) -> float:
    """Memory of this process [MiB]: ``VmRSS`` now, ``VmHWM`` at its largest. (Linux only.)"""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith(name):
            return int(line.split()[1]) / 1024
    return math.nan


def main() -> None:
    """Race, and print one line of JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--size", type=int, default=512)
    parser.add_argument("--zones", choices=("compact", "scattered", "all"), default="compact")
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--against", nargs="*", default=["exactextract"], choices=list(COMPETITORS))
    parser.add_argument(
        "--folder", type=Path, default=Path(tempfile.gettempdir()) / "bench_greenness"
    )
    parser.add_argument("--memory", action="store_true", help="only ours, in this process")
    told = parser.parse_args()
    told.folder.mkdir(parents=True, exist_ok=True)
    case = Case(
        write_pair(told.folder, told.size, 5),
        chosen(fields(told.size, 5), told.zones, told.count, told.size, 5),
    )
    if told.memory:
        ours(Case(case.paths, case.zones[:1]))
        Path("/proc/self/clear_refs").write_text("5")  # forget the largest memory so far
        before = memory_mib("VmRSS")
        ours(case)
        print(json.dumps({"peak_mib_over_imports": round(memory_mib("VmHWM") - before, 1)}))
        return
    names = ["decode", "ours", *told.against]
    raced(case, names[:2], 1)
    times = raced(case, names, told.repeats)
    middle = {name: statistics.median(wall for wall, _ in runs) for name, runs in times.items()}
    work = {name: statistics.median(cpu for _, cpu in runs) for name, runs in times.items()}
    busy = max(wall / cpu for wall, cpu in times["decode"])
    command = [sys.executable, __file__, *sys.argv[1:], "--memory"]
    memory = json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
    print(
        json.dumps(
            {
                "zones": len(case.zones),
                "megapixels_decoded": round(decode(case) / 1e6, 1),
                "floor_s": round(middle["decode"], 4),
                "ratio_to_floor": {n: round(t / middle["decode"], 2) for n, t in middle.items()},
                "processor_ratio": {n: round(t / work["decode"], 2) for n, t in work.items()},
                "spread": {
                    n: [round(min(w for w, _ in r), 4), round(max(w for w, _ in r), 4)]
                    for n, r in times.items()
                },
                "machine_busy": busy > 1.2,
                "load": os.getloadavg()[0],
                **memory,
                "versions": {"numpy": np.__version__, "rasterio": rasterio.__version__},
            }
        )
    )


if __name__ == "__main__":
    main()
