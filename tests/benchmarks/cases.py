"""What is raced: each case does one job in our way and in a plain one, on the same made input.

The plain way is the one that the first example of a library, or a first script, would take. Each
case does the whole of what it says, so that the two are no more alike than they are told to be.
"""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.run import Run
from pipeline.ground.acreage import measure_units
from pipeline.ground.edge_graph import edge_graph
from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.runner import compute_layers, read_property
from pipeline.write.geopackage import write_layers
from pipeline.write.pages import packet_pdf, write_packet
from tests.benchmarks import bench_batch, bench_edges, bench_greenness, bench_seed_orders
from tests.four_forties import write_four_forties

PROJECT = Path(__file__).parents[2]


SAMPLE = PROJECT / "sample_geo" / "larkspindle_prairie.toml"


STAMP = "2026-11-15T00:00:00.000Z"


@dataclass(frozen=True)
class Case:
    """One job: what it is called, our way, the plain way, and what that is."""

    name: str
    ours: Callable[[], object]
    plain: Callable[[], object]
    against: str


def every_case(folder: Path, *, tiny: bool = False) -> Iterator[Case]:
    """All cases, made one after the other in a folder; ``tiny`` ones say nothing of speed."""
    quick = (exclusions, edges, layers, pictures, seed)
    for make in quick if tiny else (start_up, small_property, *quick, packet, batch):
        yield from make(folder, tiny=tiny)


def python(*words: str) -> None:
    """Run a Python of its own."""
    subprocess.run([sys.executable, *words], check=True, capture_output=True, cwd=PROJECT)


def start_up(folder: Path, *, tiny: bool = False) -> Iterator[Case]:
    """The program's help, which loads nothing that it does not need."""
    yield Case(
        "start: --help",
        partial(python, "-m", "pipeline", "--help"),
        partial(python, "-c", "import geopandas, rasterio"),
        "import geopandas, rasterio",
    )


@cache
def forties(folder: Path) -> Path:
    """Property file of four units in a folder."""
    write_four_forties(folder)
    return folder / "four.toml"


def small_property(folder: Path, *, tiny: bool = False) -> Iterator[Case]:
    """A whole run of four units, with the start of the program."""
    words = ["-m", "pipeline", "run", str(forties(folder)), "--out", str(folder / "out")]
    yield Case(
        "property of 4 units, whole run",
        partial(python, *words, "--quiet"),
        partial(python, "-c", "import geopandas, rasterio, fiona, pydantic"),
        "import of the libraries alone",
    )


def exclusions(folder: Path, *, tiny: bool) -> Iterator[Case]:
    """Acres of units, less what is left out of burning and of seeding."""
    side, chance = (5 if tiny else 60), np.random.default_rng(7)
    corners = 400.0 * np.array([(x, y) for x in range(side) for y in range(side)])
    units = gpd.GeoDataFrame(
        {"unit_id": [f"U{n}" for n in range(len(corners))], "name": None, "cover": None},
        geometry=[shapely.box(x, y, x + 400, y + 400) for x, y in corners],
        crs="EPSG:5070",
    )
    ponds = shapely.points(chance.uniform(0, 400 * side, (2 * len(units), 2)))
    left_out = gpd.GeoDataFrame(
        {"applies_to": ["both"] * len(ponds)}, geometry=shapely.buffer(ponds, 30), crs=units.crs
    )

    def plain() -> None:
        united = gpd.GeoDataFrame(geometry=[left_out.union_all()], crs=units.crs)
        for _ in ("burn", "seed"):
            gpd.overlay(units, united, how="difference").to_crs("EPSG:6933").area.sum()

    name = f"acres of {len(units):,} units less {len(left_out):,} exclusions"
    yield Case(name, lambda: measure_units(units, left_out), plain, "geopandas.overlay")


def edges(folder: Path, *, tiny: bool) -> Iterator[Case]:
    """Lines between units that were drawn one by one and miss each other by up to 1.5 m."""
    shapes = bench_edges.made_property(9 if tiny else 200, 300 if tiny else 12_000)
    shapes = shapes[np.argsort(-shapely.area(shapes))]
    slop_m = bench_edges.SLOP_M

    def plain() -> None:
        reach = shapely.buffer(shapes, slop_m)
        for number, shape in enumerate(shapes):
            for other in reach[:number]:
                shape.boundary.intersection(other)

    name = f"firebreaks: edges between {len(shapes)} units"
    yield Case(name, lambda: edge_graph(shapes, slop_m), plain, "each outline against each other's")


@cache
def run_of(path: Path) -> Run:
    """Layers of a property, computed once."""
    told, intake = read_property(path)
    return Run("made", compute_layers(intake, told, lambda *_: None), intake.crs, STAMP)


def layers(folder: Path, *, tiny: bool) -> Iterator[Case]:
    """A GeoPackage of all layers of a property."""
    run = run_of(forties(folder) if tiny else SAMPLE)
    written = {
        name: layer
        for name, layer in LAYERS.items()
        if not layer.internal and len(run.frames[name])
    }
    frames = {name: run.frames[name] for name in written}
    ours_in, plain_in = folder / "ours.gpkg", folder / "plain.gpkg"

    def ours() -> None:
        ours_in.unlink(missing_ok=True)
        write_layers(frames, written, run.crs, ours_in, STAMP)

    def plain() -> None:
        plain_in.unlink(missing_ok=True)
        for name, frame in frames.items():
            pyogrio.write_dataframe(frame, plain_in, layer=name)

    yield Case(f"GeoPackage of {len(written)} layers", ours, plain, "pyogrio, layer by layer")


def pictures(folder: Path, *, tiny: bool) -> Iterator[Case]:
    """Greenness of zones on two dates, and its change on pixels that both have."""
    size, count = (512, 12) if tiny else (4096, 500)
    zones = bench_greenness.chosen(bench_greenness.fields(size, 5), "scattered", count, size, 5)
    case = bench_greenness.Case(bench_greenness.write_pair(folder, size, 5), zones)
    name = f"greenness of {len(zones)} zones, two dates"
    ours = partial(bench_greenness.ours, case)
    yield Case(
        name, ours, partial(bench_greenness.decode, case), "reading their blocks and no more"
    )
    exact, stats = bench_greenness.plain_exactextract, bench_greenness.plain_rasterstats
    yield Case(name, ours, partial(exact, case), "exactextract, once a date")
    yield Case(name, ours, partial(stats, case), "rasterstats, once a date")


def seed(folder: Path, *, tiny: bool) -> Iterator[Case]:
    """Rates, lots and order of areas that are sown with mixes."""
    size = (20, 4, 20) if tiny else (500, 60, 600)
    frames, crs = bench_seed_orders.tables(*size, lines_in_a_mix=10 if tiny else 50)

    def ours() -> None:
        bench_seed_orders.walk(dict(frames), crs)

    def plain() -> float:
        on_hand, species = frames["seed_lots"].copy(), frames["species"]
        total = 0.0
        units, mixes = frames["units"], frames["mixes"]
        for _, area in frames["seedings"].iterrows():
            acres = units[units["unit_id"] == area["unit_id"]]["seedable_ac"].iloc[0]
            for _, line in mixes[mixes["mix"] == area["mix"]].iterrows():
                named = line["species"]
                per_lb = species[species["species"] == named]["seeds_per_lb"].iloc[0]
                need = line["seeds_sqft"] * 43_560 / per_lb * acres
                for lot, row in on_hand[on_hand["species"] == named].iterrows():
                    pure = row["purity_pct"] * row["total_viable_pct"] / 1e4
                    taken = min(need, row["on_hand_bulk_lb"] * pure)
                    on_hand.loc[lot, "on_hand_bulk_lb"] -= taken / pure
                    need, total = need - taken, total + taken
        return total

    name = f"seed of {size[1]} areas, {size[2]} lots, all its tables"
    yield Case(name, ours, plain, "plain loop, pounds by lot alone")


def packet(folder: Path, *, tiny: bool = False) -> Iterator[Case]:
    """The crew's sheets as a PDF."""
    run = run_of(SAMPLE)
    pages = json.dumps(packet_pages(run.frames, paper=run.paper, stamp=run.stamp))
    yield Case(
        "packet of the sample",
        lambda: write_packet(run, folder / "packet.pdf"),
        lambda: packet_pdf(pages),
        "typst alone, its pages at hand",
    )


def batch(folder: Path, *, tiny: bool = False) -> Iterator[Case]:
    """Many properties in two processes."""
    root = folder / "places"
    for number in range(6):
        bench_batch.write_property(root / f"p{number:03}", number)
    yield Case(
        "batch of 6 properties, pool of two",
        lambda: bench_batch.run_all(root, folder / "pool", 2),
        lambda: bench_batch.run_all(root, folder / "loop", 1),
        "one after the other",
    )
