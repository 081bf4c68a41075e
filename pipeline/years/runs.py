"""Which runs are joined, and what each has: read one by one, so that a bad one costs itself."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.core.errors import Fault, PipelineError, SourceError, UsageError
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, united
from pipeline.write.field.field_geopackage import FIELD_PLAN
from pipeline.write.former_run import RECORD, read_manifest
from pipeline.write.geopackage import Stored, read_any_schema
from pipeline.write.stored.schema import SCHEMA
from pipeline.years.ground import areas

READ = (
    "property",
    "units",
    "ground_totals",
    "planned_work",
    "seed_areas",
    "record_book",
    "treatment_log",
    "fuel",
    "standing",
    "road",
    "road_years",
    "season_options",
    "season_plan",
    "community",
    "plant_cover",
    "grazing",
    "tasks",
    "photos",
    "zone_scenes",
)
"""Layers of a run that its years are made from."""


NO_RUNS = ("years.gpkg", "batch.gpkg", FIELD_PLAN)
"""GeoPackages that stand in run folders or beside them and do not hold a run."""


@dataclass(frozen=True, slots=True)
class SeasonRun:
    """A run that was read: its season, the day it is looked at from, and its layers.

    ``lacking`` are layers that an older schema did not have, or not as they could be read today.
    """

    path: Path
    season: int
    as_of: pd.Timestamp
    provenance: Mapping[str, Any]
    frames: Mapping[str, pd.DataFrame]
    lacking: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Name of the property."""
        return str(self.frames["property"]["name"].iloc[0])


@dataclass(frozen=True, slots=True)
class Failed:
    """A run that could not be read, with the reasons."""

    path: Path
    reasons: tuple[str, ...]


def found_runs(paths: Iterable[Path]) -> list[Path]:
    """GeoPackages of the runs that the paths stand for, each once. Raises UsageError.

    A path is a GeoPackage, a run folder, or a folder of either.
    """
    found: dict[Path, Path] = {}
    faults: list[Fault] = []
    for path in paths:
        own = list(_found(path))
        for package in own:
            found.setdefault(package.resolve(), package)
        if not own:
            what = "no run in it" if path.exists() else "nothing there"
            expected = "a run folder, its GeoPackage, or a folder of run folders"
            faults.append(Fault(str(path), what, expected, "look at the spelling"))
    if faults:
        raise UsageError(faults)
    return list(found.values())


def _found(path: Path) -> Iterator[Path]:
    """GeoPackages that one path stands for."""
    if path.is_file():
        yield path
    elif (path / RECORD).is_file():
        yield from _of_run_folder(path)
    elif path.is_dir():
        inside = sorted(p for p in path.iterdir() if not p.name.startswith("."))
        folders = [p for p in inside if (p / RECORD).is_file()]
        packages = [p for p in inside if p.suffix == ".gpkg" and p.name not in NO_RUNS]
        yield from (package for folder in folders for package in _of_run_folder(folder))
        yield from packages if not folders else ()


def _of_run_folder(folder: Path) -> Iterator[Path]:
    """The GeoPackage that a run wrote into its folder; none where it was only rendered.

    Where the record does not tell, all that are there are tried.
    """
    manifest = read_manifest(folder)
    names = (
        [p.name for p in sorted(folder.iterdir())] if manifest is None else manifest.sums_by_file
    )
    packages = [folder / n for n in names if n.endswith(".gpkg") and n not in NO_RUNS]
    yield from packages if packages or manifest is not None else [folder]


def read_runs(paths: Iterable[Path]) -> tuple[list[SeasonRun], list[SeasonRun], list[Failed]]:
    """Runs by their season, oldest first; those left out for a later look at it; those that failed.

    Raises UsageError where they are of several properties.
    """
    runs: list[SeasonRun] = []
    failed: list[Failed] = []
    for path in paths:
        try:
            runs.append(_read(path))
        except PipelineError as error:
            failed.append(Failed(path, tuple(map(str, error.faults))))
        except Exception as error:
            words = f"internal error ({type(error).__name__}: {error})"
            failed.append(Failed(path, (words,)))
    runs.sort(key=lambda run: (run.season, run.as_of, str(run.provenance["newest_source"])))
    newest = {run.season: run for run in runs}
    kept = list(newest.values())
    _refuse_other_properties(runs)
    return kept, [run for run in runs if newest[run.season] is not run], failed


def _read(path: Path) -> SeasonRun:
    """One run. Raises SourceError for a file that is none, of a newer schema or changed since."""
    stored = read_any_schema(path, only=READ)
    named = (set(stored.frames[name]["unit_id"]) for name in ("planned_work", "season_options"))
    if lost := set().union(*named) - set(stored.frames["units"]["unit_id"]):
        found, do = f"its plan names units that it has not: {sorted(lost)}", "make the run again"
        raise SourceError.of(str(path), found, "a file as the run wrote it", do)
    head = stored.frames["property"].iloc[0]
    season = int(head["season"])
    as_of = pd.Timestamp(season, 1, 1) if pd.isna(head["as_of"]) else pd.Timestamp(head["as_of"])
    frames = _frames(stored)
    older = stored.provenance.get("schema", 1) < SCHEMA
    lacking = tuple(sorted(name for name in READ if older and frames[name].empty))
    return SeasonRun(path, season, as_of, stored.provenance, frames, lacking)


def _frames(stored: Stored) -> dict[str, pd.DataFrame]:
    """Layers of a run; a log that was not kept as a book is one all the same."""
    frames = dict(stored.frames)
    if frames["record_book"].empty and len(frames["treatment_log"]):
        log, units = frames["treatment_log"], frames["units"].set_index("unit_id")
        gross = log["unit_id"].map(units["gross_ac"])
        frames["record_book"] = gpd.GeoDataFrame(
            log.assign(
                number=range(1, len(log) + 1),
                record_ac=log["acres_treated_ac"].fillna(gross),
                acres_from="whole_unit",
                left_out=None,
            ),
            geometry=gpd.GeoSeries(list(log["unit_id"].map(units["geometry"])), crs=units.crs),
        )
    return frames


def _refuse_other_properties(runs: list[SeasonRun]) -> None:
    """Raise UsageError where a run is of ground that the newest run has less than half of."""
    if len({run.name for run in runs}) < 2:
        return
    newest = runs[-1]
    ground = united(newest.frames["units"].geometry.to_numpy())
    crs = newest.frames["units"].crs
    faults = []
    for run in runs[:-1]:
        own = united(run.frames["units"].to_crs(crs).geometry.to_numpy())
        both, whole, other = area_ac(
            gpd.GeoSeries([areas(common(own, ground)), own, ground], crs=crs)
        )
        if run.name != newest.name and both < 0.5 * min(whole, other):
            found = f'is of "{run.name}", on other ground than "{newest.name}"'
            do = "give the run folders of one property"
            faults.append(Fault(str(run.path), found, "one property", do))
    if faults:
        raise UsageError(faults)


def in_crs(shapes: gpd.GeoSeries, crs: CRS) -> list[shapely.Geometry]:
    """Shapes in another reference system; none stays none."""
    return list(gpd.GeoSeries(shapes).to_crs(crs))
