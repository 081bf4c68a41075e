"""Kill runs, batches and resumes at random moments, fill the disk, change sources meanwhile.

Whatever happens, what stands is the former or the new run, whole; what the user put there stays;
and the next batch clears up what was left. ``python -m tests.hostile.kills --kills 200``.
"""

import argparse
import hashlib
import json
import multiprocessing
import os
import random
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import geopandas as gpd
import shapely

from tests.hostile.attempts import LOADED
from tests.made_runs import tree

PROPERTY = """
[property]
name = "{name}"
season = 2027
as_of = 2026-11-15
[sources.units]
path = "units.geojson"
columns = {{ unit_id = "UNIT" }}
[report]
paper = "{paper}"
"""
PAPERS = ("letter", "a4")
NAMES = ("North", "South")
KINDS = ("run", "batch", "resume", "pool")
BATCH_FILES = {"batch.json", "batch.gpkg", "batch.html"}


class Ground:
    """Two small properties, the folder they are run into, and how it looks in each version."""

    def __init__(self, folder):
        self.folder, self.out, self.scratch = folder, folder / "out", folder / "scratch"
        self.scratch.mkdir(parents=True)
        self.places = [f"{name.lower()}_2027" for name in NAMES]
        for name in NAMES:
            (folder / "places" / name).mkdir(parents=True)
            draw(folder / "places" / name / "units.geojson", 400)
        self.wanted, self.seconds = [], {}
        for version in (1, 0):
            self.turn(version)
            self.wanted.insert(0, self._whole_batch())
        for place in self.places:
            (self.out / place / "photo.jpg").write_bytes(b"mine")
        for kind in KINDS:
            started = time.monotonic()
            assert self.start(kind).join() is None
            self.seconds[kind] = time.monotonic() - started

    def _whole_batch(self):
        child = self.start("batch")
        child.join()
        assert child.exitcode == 0, self.said()
        return {place: tree(self.out / place) for place in self.places}

    def turn(self, version):
        """Have the property files of this version, with the time of that version."""
        for name in NAMES:
            path = self.folder / "places" / name / "property.toml"
            path.write_text(PROPERTY.format(name=name, paper=PAPERS[version]))
            os.utime(path, (1_700_000_000 + version, 1_700_000_000 + version))

    def start(self, kind):
        """Start a command in a process that has loaded the program already."""
        places = self.folder / "places"
        words = {
            "run": ["run", str(places / NAMES[0] / "property.toml")],
            "batch": ["batch", str(places), "--workers", "1"],
            "resume": ["batch", str(places), "--workers", "1", "--resume"],
            "pool": ["batch", str(places), "--workers", "2"],
        }[kind]
        words += ["--out", str(self.out)]
        server = multiprocessing.get_context("forkserver")
        server.set_forkserver_preload(LOADED)
        child = server.Process(target=obey, args=(words, self.scratch, self.folder / "said"))
        child.start()
        return child

    def said(self):
        return (self.folder / "said").read_text("utf-8", "replace")

    def faults(self):
        """What is wrong with what stands, whenever one looks."""
        for place in self.places:
            stands = {k: v for k, v in tree(self.out / place).items() if k != "photo.jpg"}
            if stands not in [version[place] for version in self.wanted]:
                yield f"{place} is neither the former nor the new run"
            kept = [*self.out.glob(f"{place}/photo.jpg"), *self.out.glob(f".{place}.*/photo.jpg")]
            if [path.read_bytes() for path in kept] != [b"mine"]:
                yield f"{place} has lost its photo"

    def faults_in_the_end(self, version):
        """What is wrong after a batch that was left alone: it clears up after all before it."""
        for _ in range(5):  # a worker whose batch was killed may need a moment to end
            child = self.start("resume")
            child.join()
            if child.exitcode == 0:
                break
            time.sleep(0.5)
        else:
            yield f"ends with {child.exitcode}: {self.said()}"
        yield from self.faults()
        for place in self.places:
            stands = tree(self.out / place)
            if stands != self.wanted[version][place] | {"photo.jpg": b"mine"}:
                yield f"{place} is not the new run with its photo"
        left = {path.name for path in self.out.iterdir()} - BATCH_FILES - set(self.places)
        left |= {path.name for path in self.scratch.iterdir()}
        if left:
            yield f"left behind: {sorted(left)}"


def draw(path, side):
    """A unit that is a square of this side [m], in a file of a fixed time."""
    frame = gpd.GeoDataFrame(
        {"UNIT": ["U1"]},
        geometry=[shapely.box(600_000, 4_430_000, 600_000 + side, 4_430_000 + side)],
        crs="EPSG:32614",
    )
    frame.to_file(path, engine="pyogrio")
    os.utime(path, (1_600_000_000, 1_600_000_000))


def obey(words, scratch, said):
    """Run a command, its streams in a file."""
    from pipeline.cli import main

    os.environ["TMPDIR"] = str(scratch)
    tempfile.tempdir = None
    handle = os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    for number in (1, 2):
        os.dup2(handle, number)
    sys.exit(main(words))


def killed(folder, count, seed, look_every=10):
    """Kill so many commands at random moments; what was found wrong, and how many fell at work."""
    chance, ground = random.Random(seed), Ground(folder)
    found, fell, version = [], 0, 0
    for number in range(1, count + 1):
        version = chance.choice((0, 1))
        ground.turn(version)
        kind = chance.choices(KINDS, (4, 3, 3, 1))[0]
        child = ground.start(kind)
        child.join(chance.uniform(0, ground.seconds[kind]))
        fell += child.is_alive()
        child.kill()
        child.join()
        found += [f"{number} {kind}: {fault}" for fault in ground.faults()]
        if number % look_every == 0 or number == count:
            found += [f"after {number}: {fault}" for fault in ground.faults_in_the_end(version)]
    return found, fell


def on_full_disks(folder, count):
    """Write into disks of so many sizes, from too small for anything to large enough."""
    ground, former, found, codes = Ground(folder), folder / "former", [], []
    ground.turn(1)
    ground.out.rename(former)
    needed = sum(path.stat().st_size for path in former.rglob("*") if path.is_file())
    ground.out.mkdir()
    for number in range(count):
        size = int(needed * (1.05 + 2.2 * number / count)) // 4096 * 4096
        disk = ["mount", "-t", "tmpfs", "-o", f"size={size}", "none", ground.out]
        subprocess.run(disk, check=True)
        try:
            shutil.copytree(former, ground.out, dirs_exist_ok=True)
            kind = ("run", "batch")[number % 2]
            child = ground.start(kind)
            child.join()
            codes.append(child.exitcode)
            found += [f"{size} {kind}: {fault}" for fault in ground.faults()]
            hidden = [path.name for path in ground.out.glob(".*")]
            found += [f"{size} {kind}: left {hidden}"] if hidden else []
            if child.exitcode not in (0, 1, 2, 3) or "Traceback" in ground.said():
                found.append(f"{size} {kind}: ends with {child.exitcode}: {ground.said()}")
            if child.exitcode and "cannot be written" not in ground.said():
                found.append(f"{size} {kind}: says {ground.said()}")
        finally:
            subprocess.run(["umount", ground.out], check=True)
    return found, codes


def with_changing_source(folder, count):
    """Run while a map is changed over and over: its acres and its checksum are of one state."""
    ground, found, codes = Ground(folder), [], []
    units, states = folder / "places" / NAMES[0] / "units.geojson", {}
    for side in (400, 500):
        draw(units, side)
        states[side] = units.read_bytes()
    for number in range(count):
        stop = threading.Event()
        writer = threading.Thread(target=alternate, args=(units, [*states.values()], stop, number))
        writer.start()
        child = ground.start("run")
        child.join()
        stop.set()
        writer.join()
        codes.append(child.exitcode)
        if child.exitcode not in (0, 2) or "Traceback" in ground.said():
            found.append(f"{number}: ends with {child.exitcode}: {ground.said()}")
        place = ground.out / ground.places[0]
        told = json.loads((place / "run.json").read_text())["sources"]
        (sum_told,) = {row["sha256"] for row in told if row["source"] == "units"}
        acres = gpd.read_file(place / "north.gpkg", layer="units")["gross_ac"].sum()
        side = round((acres * 4046.8564224) ** 0.5 / 10) * 10
        if hashlib.sha256(states[side]).hexdigest() != sum_told:
            found.append(f"{number}: acres of one state, checksum of another")
    return found, codes


def alternate(path, contents, stop, seed):
    """Write one content after the other into a file, at random times."""
    chance = random.Random(seed)
    while not stop.wait(chance.uniform(0, 1.5)):
        contents.reverse()
        path.write_bytes(contents[0])


def two_at_once(folder, count, seed):
    """Two batches into one folder: one of them, or one after the other, and nothing in between."""
    chance, ground, found, codes = random.Random(seed), Ground(folder), [], []
    for number in range(count):
        version = number % 2
        ground.turn(version)
        first = ground.start("batch")
        first.join(chance.uniform(0, ground.seconds["batch"]))
        second = ground.start("batch")
        for child in (first, second):
            child.join()
        codes.append((first.exitcode, second.exitcode))
        if sorted(codes[-1]) not in ([0, 0], [0, 2]):
            found.append(f"{number}: ends with {codes[-1]}: {ground.said()}")
        found += [f"{number}: {fault}" for fault in ground.faults_in_the_end(version)]
    return found, codes


def main():
    """Try all; ends with 1 where anything was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sizes", type=int, default=20, help="of disks; needs root")
    parser.add_argument("--others", type=int, default=10)
    told = parser.parse_args()
    everything = []
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        found, fell = killed(root / "kills", told.kills, told.seed)
        print(f"{told.kills} kills, {fell} of them at work: {len(found)} faults", flush=True)
        everything += found
        found, codes = on_full_disks(root / "full", told.sizes)
        print(f"{told.sizes} sizes of disk, ended with {codes}: {len(found)} faults", flush=True)
        everything += found
        found, codes = two_at_once(root / "two", told.others, told.seed)
        print(f"{told.others} pairs of batches, {codes}: {len(found)} faults", flush=True)
        everything += found
        found, codes = with_changing_source(root / "changed", told.others)
        print(f"{told.others} changing sources, ended with {codes}: {len(found)} faults")
        everything += found
    print("\n".join(everything))
    return bool(everything)


if __name__ == "__main__":
    sys.exit(main())
