"""One run: read the sources, walk the table of steps, hand the layers to the writers."""

import os
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline.catalog import CAUSES, LAYERS, PropertyFile, chosen_settings, told_by_cause
from pipeline.core.findings import gather_findings
from pipeline.core.layer import conform, empty
from pipeline.core.run import Run
from pipeline.core.step import Frames, Settings, Step
from pipeline.faults import source_faults
from pipeline.intake.files.changes import named_paths, refuse_changed, states_of
from pipeline.intake.files.checksums import States
from pipeline.intake.files.scratch import clear_scratch
from pipeline.intake.property_file import read_property_file
from pipeline.intake.safety import portable
from pipeline.intake.sources import Intake, read_sources
from pipeline.outputs import OUTPUTS, RENDERED, Output, write_outputs
from pipeline.steps import STEPS
from pipeline.write.former_run import Owner
from pipeline.write.geopackage import read_geopackage
from pipeline.write.record import (
    inputs_record,
    newest_source_stamp,
    settings_rows,
    write_run_record,
)
from pipeline.write.run_folder import check_place, run_folder

Progress = Callable[[str, int, int], None]
"""Called with what is being done, and how much of how much is done."""


@dataclass(frozen=True, slots=True)
class Finished:
    """What a run left behind."""

    folder: Path
    run: Run
    written: tuple[Path, ...]


MADE_AT_THE_END = {"settings", "sources", "findings", "findings_by_cause"}
"""The layers that every run has and no step writes."""


ARRIVING = {
    name: layer
    for name, layer in LAYERS.items()
    if name not in {step.writes for step in STEPS} | MADE_AT_THE_END
}
"""The layers that sources and lists of the property file fill."""


def slug_of(name: str) -> str:
    """Property's name as the name of a folder and file: lower-case letters, digits, underscores."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "_", plain.lower()).strip("_")[:60] or "property"


def read_property(
    path: Path, allowed: tuple[Path, ...] = (), *, home: Path | None = None
) -> tuple[PropertyFile, Intake]:
    """The property file and all its sources, checked. Raises PipelineError with every fault.

    ``home`` is the folder that paths count from: the property file's own where none is given.
    """
    property_file = read_property_file(path, PropertyFile)
    faults = partial(source_faults, property_file=property_file)
    folder = path.resolve().parent if home is None else home.resolve()
    intake = read_sources(property_file, ARRIVING, faults, folder, allowed)
    if property_file.property.as_of is None:
        newest = newest_source_stamp(path, (str(folder / s) for s in named_sources(intake)))
        intake.frames["property"]["as_of"] = pd.Timestamp(newest[:10])
    return property_file, intake


def named_sources(intake: Intake) -> "pd.Series[str]":
    """Paths of the files that the property file names, as it writes them."""
    sources = intake.frames["sources"]
    return sources.loc[sources["origin"] == "property_file", "path"]


def compute_layers(
    intake: Intake, property_file: PropertyFile, progress: Progress
) -> "dict[str, pd.DataFrame]":
    """Every layer of the run: what the sources gave, and what each step made of it."""
    frames = dict(intake.frames)
    frames["settings"] = conform(settings_rows(property_file), LAYERS["settings"])
    settings = chosen_settings(property_file)
    for number, step in enumerate(STEPS):
        progress(step.writes, number, len(STEPS))
        frames[step.writes] = step_layer(step, frames, settings, intake.crs)
    found = [frames[name] for name in LAYERS if name.endswith("_findings")]
    frames["findings"] = gathered(found, intake)
    frames["findings_by_cause"] = told_by_cause(frames["findings"], frames)
    progress("done", len(STEPS), len(STEPS))
    return frames


def step_layer(step: Step, frames: Frames, settings: Settings, crs: object) -> "pd.DataFrame":
    """The layer that a step writes, as it is declared; without a row where there is no work."""
    layer = LAYERS[step.writes]
    of_layer = crs if layer.geometry else None
    if not step.has_work(frames):
        return empty(layer, of_layer)
    return conform(step.compute(frames, settings), layer, of_layer)


def gathered(found: "list[pd.DataFrame]", intake: Intake) -> "pd.DataFrame":
    """Layer ``findings`` of those of the steps, with the units of their amounts."""
    return conform(gather_findings(found, CAUSES), LAYERS["findings"], intake.crs)


def intake_findings(intake: Intake) -> "tuple[pd.DataFrame, pd.DataFrame]":
    """What was found in reading the sources: each finding, and the same by cause."""
    findings = gathered([intake.frames["intake_findings"]], intake)
    return findings, told_by_cause(findings, {})


def render_geopackage(path: Path, *, out: Path | None) -> Finished:
    """The files of a run made again from its GeoPackage: into a folder of their own, whole."""
    stored = read_geopackage(path)
    run = Run(
        slug=stored.provenance["slug"],
        frames=stored.frames,
        crs=stored.crs,
        stamp=stored.provenance["newest_source"],
    )
    parent = out if out is not None else path.resolve().parent.parent
    place, owner = f"{run.slug}_{run.season}_rendered", Owner(run.name)
    check_place(parent / place, owner, needed=[path])
    return _written(run, parent / place, owner, RENDERED)


@dataclass(frozen=True, slots=True)
class Prepared:
    """A property that is read and may be written where it is to go; nothing is computed yet."""

    property_file: PropertyFile
    intake: Intake
    place: Path
    owner: Owner
    stamp: str
    inputs: dict[str, Any]
    states: dict[Path, States]

    @property
    def slug(self) -> str:
        """Name of its files."""
        return slug_of(self.property_file.property.name)


def prepare_property(
    path: Path, *, out: Path | None, allowed: tuple[Path, ...], place: str | None = None
) -> Prepared:
    """Read a property file and its sources, and look whether its run folder may be written.

    ``place`` is the name of the run folder where it is not made of the property's own name.
    """
    clear_scratch()
    states = _states(path)
    property_file, intake = read_property(path, allowed)
    head, home = property_file.property, path.resolve().parent
    sources = named_sources(intake)
    parent = out if out is not None else home / "out"
    final = parent / (place or place_name(head.name, head.season))
    owner = Owner(head.name, _way(path, parent))
    check_place(final, owner, needed=[path, *allowed, *(home / s for s in sources)])
    stamp = newest_source_stamp(path, sources)
    settings = conform(settings_rows(property_file), LAYERS["settings"])
    inputs = inputs_record(path, stamp, settings, intake.frames["sources"])
    return Prepared(property_file, intake, final, owner, stamp, inputs, states)


def _states(path: Path) -> dict[Path, States]:
    """How the property file and the sources it names stand before they are read."""
    before = states_of([path])
    sources = read_property_file(path, PropertyFile).sources.model_dump()
    home = path.resolve().parent
    return before | states_of(home / portable(name) for name in named_paths(sources))


def place_name(name: str, season: int) -> str:
    """Name of the run folder of a property and season."""
    return f"{slug_of(name)}_{season}"


def run_property(
    path: Path, *, out: Path | None, allowed: tuple[Path, ...], progress: Progress
) -> Finished:
    """The main job: from a property file to a run folder, whole or not at all."""
    return run_prepared(prepare_property(path, out=out, allowed=allowed), progress)


def run_prepared(prepared: Prepared, progress: Progress) -> Finished:
    """Compute and write a property that is read, whole or not at all."""
    run = Run(
        slug=prepared.slug,
        frames=compute_layers(prepared.intake, prepared.property_file, progress),
        crs=prepared.intake.crs,
        stamp=prepared.stamp,
    )
    refuse_changed(prepared.states)
    return _written(run, prepared.place, prepared.owner, OUTPUTS, prepared.inputs)


def _way(path: Path, folder: Path) -> str | None:
    """Way from a folder to a file, which stays when both move together; None between drives."""
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:
        return None


def _written(
    run: Run,
    place: Path,
    owner: Owner,
    outputs: tuple[Output, ...],
    inputs: dict[str, Any] | None = None,
) -> Finished:
    """Write a run into a folder of its own, with the record that tells what is in it."""
    with run_folder(place.parent, place.name, owner) as folder:
        written = write_outputs(run, folder, outputs)
        write_run_record(run, written, folder, owner, inputs)
    return Finished(place, run, tuple(place / path.name for path in written))
