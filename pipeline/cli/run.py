"""The commands on one property: ``run``, ``check`` and ``render``."""

import argparse
import logging
from pathlib import Path

from pipeline import terminal
from pipeline.cli import options as shared
from pipeline.cli.ending import CAUTION, put, verdict, verdict_of_run
from pipeline.cli.loading import loading
from pipeline.cli.options import tells_each

log = logging.getLogger("swardline")


def run(options: argparse.Namespace) -> int:
    """``swardline run``: the main job."""
    with loading():
        from pipeline.runner import run_property

    with terminal.progress(shown=not options.quiet and options.log_format == "text") as progress:
        finished = run_property(
            options.property_file,
            out=options.out,
            allowed=tuple(options.allow),
            progress=progress,
        )
    conflicts = finished.run.frames["conflicts"]
    terminal.tell_conflicts(log, conflicts, every=options.log_format == "json")
    terminal.tell_run(log, finished, each=tells_each(options))
    log.warning(CAUTION)
    put(str(finished.folder), done=f"the run is written, in {finished.folder}")
    return verdict_of_run(options, finished)


def check(options: argparse.Namespace) -> int:
    """``swardline check``: read and validate, compute nothing, write nothing."""
    with loading():
        from pipeline.runner import intake_findings, read_property

    _, intake = read_property(options.property_file, tuple(options.allow))
    findings, by_cause = intake_findings(intake)
    terminal.tell_sources(log, intake)
    terminal.tell_findings(log, findings, by_cause, each=tells_each(options))
    log.info("all sources can be used")
    return verdict(options, findings)


def render(options: argparse.Namespace) -> int:
    """``swardline render``: report, packet and sheets again from a finished GeoPackage."""
    with loading():
        from pipeline.runner import render_geopackage

    finished = render_geopackage(options.geopackage, out=options.out)
    conflicts = finished.run.frames["conflicts"]
    terminal.tell_conflicts(log, conflicts, every=options.log_format == "json")
    for path in finished.written:
        log.info(f"wrote {path.name}")
    log.warning(CAUTION)
    put(str(finished.folder), done=f"the files are written, in {finished.folder}")
    return verdict_of_run(options, finished)


def add_run(commands: shared.Commands) -> None:
    """The command line of ``run``."""
    parser = commands.add_parser(
        "run",
        parents=[shared.speech(), shared.source()],
        help="compute everything that the sources allow and write the run folder",
        epilog="example: swardline run my_folder/property.toml --out seasons",
    )
    parser.add_argument(
        "--out",
        type=Path,
        help='where the run folder goes (default: "out" beside the property file)',
    )
    parser.set_defaults(command=run)


def add_check(commands: shared.Commands) -> None:
    """The command line of ``check``."""
    parser = commands.add_parser(
        "check",
        parents=[shared.speech(), shared.source()],
        help="read and validate everything, write nothing",
        epilog="example: swardline check my_folder/property.toml --strict",
    )
    parser.set_defaults(command=check)


def add_render(commands: shared.Commands) -> None:
    """The command line of ``render``."""
    parser = commands.add_parser(
        "render",
        parents=[shared.speech()],
        help="make report, packet and sheets again from a GeoPackage",
        epilog="example: swardline render out/my_place_2027/my_place.gpkg",
    )
    parser.add_argument(
        "geopackage", type=Path, metavar="GPKG", help="the GeoPackage out of a run folder"
    )
    parser.add_argument(
        "--out", type=Path, help="where the folder goes (default: beside the run folder)"
    )
    parser.set_defaults(command=render)
