"""How a batch of made properties goes: pool against loop, what it adds, broken ones, a killed one.

Each property has 15 units of forty acres and two pictures. Prints ratios measured in this run::

    python -m tests.benchmarks.bench_batch --properties 40
"""

import argparse
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import numpy as np
import rasterio
import shapely

from pipeline.batch.batch import plan_batch
from pipeline.batch.job import Job, Outcome, do_job
from pipeline.batch.summary import gather_batch, write_batch

SIDE_M, COLUMNS, ROWS = 402.336, 5, 3


UTM = "EPSG:32614"


HEAD = """
[property]
name = "Made Place {number}"
season = 2027
as_of = 2026-11-15

[sources]
units = {{ path = "units.geojson", columns = {{ unit_id = "UNIT" }} }}
treatments = {{ path = "treatments.csv" }}
scenes = [
    {{ path = "ndvi_2025.tif", date = 2025-07-20, kind = "ndvi" }},
    {{ path = "ndvi_2026.tif", date = 2026-07-22, kind = "ndvi" }},
]

[[burns]]
block = "West"
units = ["U0", "U1"]
wind_from_deg = 225
fuel_height_ft = 4.0

[[comparisons]]
name = "April burn"
before = 2025-07-20
after = 2026-07-22
burned = ["U0", "U1"]
reference = ["U2", "U3", "U4", "U5", "U6"]
"""


def write_property(folder: Path, number: int) -> Path:
    """A property of 15 units with two pictures; the path of its property file."""
    folder.mkdir(parents=True)
    left, bottom = 600_000 + 5_000 * number, 4_430_000
    corners = [
        (left + c * SIDE_M, bottom + r * SIDE_M) for r in range(ROWS) for c in range(COLUMNS)
    ]
    shapes = [shapely.box(x, y, x + SIDE_M, y + SIDE_M) for x, y in corners]
    names = [f"U{n}" for n in range(len(shapes))]
    frame = gpd.GeoDataFrame({"UNIT": names}, geometry=shapes, crs=UTM)
    frame.to_file(folder / "units.geojson", engine="pyogrio")
    (folder / "treatments.csv").write_text(
        "unit_id,start,kind\nU0,2026-04-14,burn\nU1,2026-04-14,burn\n"
    )
    random = np.random.default_rng(number)
    profile = {
        "driver": "GTiff",
        "width": 220,
        "height": 140,
        "count": 1,
        "dtype": "float32",
        "crs": UTM,
        "transform": rasterio.Affine(10, 0, left - 50, 0, -10, bottom + 1_300),
    }
    for year, level in ((2025, 0.5), (2026, 0.6)):
        values = level + 0.02 * random.standard_normal((140, 220))
        with rasterio.open(folder / f"ndvi_{year}.tif", "w", **profile) as raster:
            raster.write(values.astype("float32"), 1)
    (folder / "property.toml").write_text(HEAD.format(number=number))
    return folder / "property.toml"


def _replaced(old: str, new: str):
    def change(folder: Path) -> None:
        path = folder / "property.toml"
        path.write_text(path.read_text().replace(old, new, 1))

    return change


def _overwritten(name: str, content: bytes):
    return lambda folder: (folder / name).write_bytes(content)


BREAKS = {
    "unknown key": (_replaced("[property]", "[seeed]\n[property]"), "seeed"),
    "not TOML": (_replaced("[property]", "[property"), "property.toml"),
    "no season": (_replaced("season = 2027\n", ""), "season"),
    "no such file": (_replaced("ndvi_2025.tif", "ndvi_2052.tif"), "ndvi_2052.tif"),
    "no such column": (_replaced('"UNIT"', '"NAME"'), "NAME"),
    "no such unit": (_replaced('"U1"]', '"V1"]'), "V1"),
    "map cut short": (_overwritten("units.geojson", b'{"type": "Feature'), "units.geojson"),
    "picture cut short": (_overwritten("ndvi_2026.tif", b"II*\0"), "ndvi_2026.tif"),
    "table without its columns": (_overwritten("treatments.csv", b"a,b\n1,2\n"), "treatments.csv"),
    "map is gone": (lambda folder: (folder / "units.geojson").unlink(), "units.geojson"),
}
"""Ten ways to break a property, each with a word that must be in its reasons."""


def run_all(root: Path, out: Path, workers: int) -> float:
    """Seconds that a batch takes from its plan to its files."""
    started = time.perf_counter()
    plan = plan_batch([root], out=out, workers=workers)
    batch = gather_batch(plan.outcomes(), out)
    write_batch(batch)
    assert batch.states["failed"] == 0, [o.reasons for o in batch.outcomes]
    return time.perf_counter() - started


def loop_overhead(root: Path, out: Path) -> tuple[float, float]:
    """Seconds of a batch in this process, and those of its jobs alone, measured in one run."""
    started = time.perf_counter()
    plan = plan_batch([root], out=out, workers=1)
    outcomes = [do_job(job) for job in plan.jobs]
    write_batch(gather_batch(outcomes, out))
    return time.perf_counter() - started, sum(outcome.seconds for outcome in outcomes)


def broken_as_expected(root: Path, out: Path, broken: dict[str, str]) -> int:
    """Properties written beside the broken ones, each of which must fail for its own reason."""
    plan = plan_batch([root], out=out)
    batch = gather_batch(plan.outcomes(), out)
    for outcome in batch.outcomes:
        word = broken.get(outcome.job.property_file.parent.name)
        assert (outcome.state == "failed") == (word is not None), outcome
        assert word is None or word in " ".join(outcome.reasons), (word, outcome.reasons)
    return batch.states["written"]


def break_some(root: Path, share: float) -> dict[str, str]:
    """Break a share of the properties, one after the other in each of the ten ways."""
    folders = sorted(path for path in root.iterdir() if path.is_dir())
    ways = list(BREAKS.values())
    count = max(1, round(share * len(folders)))
    words = {}
    for number, folder in enumerate(folders[:: len(folders) // count][:count]):
        change, words[folder.name] = ways[number % len(ways)]
        change(folder)
    return words


def resumed_after_kill(root: Path, out: Path, after: int) -> tuple[int, int]:
    """Properties kept and written by --resume, after a batch was killed when some stood."""
    command = [sys.executable, "-m", "pipeline", "batch", str(root), "--out", str(out)]
    with subprocess.Popen([*command, "--workers", "2"], stderr=subprocess.DEVNULL) as process:
        while len(list(out.glob("*/run.json"))) < after and process.poll() is None:
            time.sleep(0.05)
        process.send_signal(signal.SIGKILL)
    time.sleep(1)
    standing = len(list(out.glob("[!.]*/run.json")))
    subprocess.run([*command, "--resume", "--quiet"], check=True, stdout=subprocess.DEVNULL)
    told = json.loads((out / "batch.json").read_text())["totals"]
    assert told["kept"] == standing, (told, standing)
    assert not list(out.glob(".*")), "something half written was left"
    return told["kept"], told["written"]


def gathering(outcome: Outcome, out: Path, count: int) -> float:
    """Seconds of processor a property of making the files of a batch of so many alike."""
    alike = [
        replace(
            outcome,
            job=replace(outcome.job, number=number),
            figures={
                name: frame.assign(property=f"Made Place {number}")
                for name, frame in outcome.figures.items()
            },
        )
        for number in range(count)
    ]
    started = time.process_time()
    write_batch(gather_batch(alike, out))
    return (time.process_time() - started) / count


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--properties", type=int, default=40)
    parser.add_argument("--gathered", type=int, nargs="*", default=[50, 200, 2_000])
    told = parser.parse_args()
    count = told.properties
    with tempfile.TemporaryDirectory() as name:
        root, out = Path(name) / "places", Path(name) / "out"
        for number in range(count):
            write_property(root / f"p{number:03}", number)
        print(f"{count} properties, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
        one = do_job(Job(1, root / "p000" / "property.toml", out / "warm"))
        for many in told.gathered:
            spent = 1000 * gathering(one, out / "gathered", many)
            print(f"files of a batch of {many}: {spent:.1f} ms a property")
        whole, jobs = loop_overhead(root, out / "loop")
        extra = 1000 * (whole - jobs) / count
        print(f"loop {whole:.1f} s, {jobs / count:.2f} s a property, {extra:.0f} ms more each")
        pool = run_all(root, out / "pool", 2)
        print(f"pool of two {pool:.1f} s, {pool / whole:.2f} of the loop")
        kept, written = resumed_after_kill(root, out / "killed", count // 2)
        print(f"killed and resumed: {kept} kept, {written} written")
        shutil.rmtree(out)
        broken = break_some(root, 0.05 if count >= 20 else 0.5)
        written = broken_as_expected(root, out / "broken", broken)
        print(f"{len(broken)} broken, for the reasons expected; {written} written")


if __name__ == "__main__":
    main()
