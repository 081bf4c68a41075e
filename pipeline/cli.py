"""The commands. The only place that prints and the only one that decides on an exit code.

What a script may read goes to standard output; everything said to a person goes to standard
error. Nothing heavy is imported until a command needs it, so that ``--help`` answers at once.
"""

import argparse
import logging
import sys
import tempfile
import traceback
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline import __version__, batch_terminal, terminal
from pipeline.core.errors import OutputError, PipelineError, one_line
from pipeline.core.names import as_text

if TYPE_CHECKING:
    from pipeline.batch.summary import Batch
    from pipeline.runner import Finished

ALL_DONE, SOME_FAILED, AT_FAULT, INTERNAL, INTERRUPTED = 0, 1, 2, 3, 130

STOP_AND_ASK = 4
"""With --strict: all is written, and a conflict of the first kind stands."""

CAUTION = (
    "Planning arithmetic only: not a burn plan, and no permission to ignite. Permits, burn bans, "
    "the local fire authority and a qualified burn boss decide."
)

log = logging.getLogger("swardline")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; its exit code."""
    terminal.open_closed_streams()
    options = _parser().parse_args(argv)
    terminal.speak_utf8()
    terminal.set_up_log(quiet=options.quiet, verbose=options.verbose, form=options.log_format)
    try:
        return int(options.command(options))
    except PipelineError as error:
        for fault in error.faults:
            log.error(str(fault))
        return AT_FAULT
    except KeyboardInterrupt:
        log.error("interrupted; nothing was written")
        return INTERRUPTED
    except MemoryError:
        log.error(
            "memory: there is not enough for the sources; expected maps of one property; cut the "
            "largest to the property, or close other programs; no file was written"
        )
        return AT_FAULT
    except BrokenPipeError:
        # The reader of our output has gone (``swardline describe | head``): not a fault.
        sys.stderr.close()
        return ALL_DONE
    except OSError as error:
        log.debug(traceback.format_exc())
        place = error.filename or tempfile.gettempdir()
        found = f"{place}: the system says: {error.strerror or type(error).__name__}"
        log.error(one_line(f"{found}; expected room and rights there; no file was written"))
        return AT_FAULT
    except Exception as error:
        log.debug(traceback.format_exc())
        log.error(
            f"internal error ({type(error).__name__}: {error}); no file was written; "
            "run again with --verbose and report what it says"
        )
        return INTERNAL


def _put(text: str, *, done: str = "") -> None:
    """Print what a script may read; ``done`` is what is done already, should that fail.

    A reader that has gone away is no fault; a full disk behind standard output is one.
    """
    try:
        print(text, flush=True)
    except BrokenPipeError:
        raise
    except OSError as error:
        words = "; ".join(filter(None, [f"cannot be written to ({error.strerror})", done]))
        raise OutputError.of("standard output", words, "a place with room", "free some") from error


def _run(options: argparse.Namespace) -> int:
    """``swardline run``: the main job."""
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
    terminal.tell_run(log, finished, each=_tells_each(options))
    log.warning(CAUTION)
    _put(str(finished.folder), done=f"the run is written, in {finished.folder}")
    return _verdict_of_run(options, finished)


def _batch(options: argparse.Namespace) -> int:
    """``swardline batch``: many properties; none of them ends the others."""
    from pipeline.batch.batch import plan_batch
    from pipeline.batch.summary import gather_batch, write_batch

    plan = plan_batch(
        options.path,
        out=options.out,
        workers=options.workers,
        allowed=tuple(options.allow),
        resume=options.resume,
    )
    shown = not options.quiet and options.log_format == "text"
    done = []
    try:
        with (
            batch_terminal.progress(log, len(plan.jobs), shown=shown) as tell,
            closing(plan.outcomes()) as outcomes,
        ):
            for outcome in outcomes:
                done.append(outcome)
                tell(outcome)
    except KeyboardInterrupt:
        whole = sum(outcome.state != "failed" for outcome in done)
        log.error(
            f"interrupted; {whole} of {len(plan.jobs)} properties stand whole in {plan.out}; "
            "go on with --resume"
        )
        return INTERRUPTED
    batch = gather_batch(done, plan.out)
    written = write_batch(batch)
    batch_terminal.tell_batch(log, batch)
    log.info(f"wrote {', '.join(path.name for path in written)}")
    log.warning(CAUTION)
    _put(str(plan.out), done=f"the batch is written, in {plan.out}")
    return _verdict_of_batch(options, batch)


def _verdict_of_batch(options: argparse.Namespace, batch: "Batch") -> int:
    """Exit code of a batch: what failed comes before what --strict asks."""
    failed = batch.states["failed"]
    if failed:
        return INTERNAL if failed == len(batch.outcomes) else SOME_FAILED
    if options.strict and batch.total("stop_and_ask"):
        return STOP_AND_ASK
    return SOME_FAILED if options.strict and batch.total("warnings") else ALL_DONE


def _check(options: argparse.Namespace) -> int:
    """``swardline check``: read and validate, compute nothing, write nothing."""
    from pipeline.runner import intake_findings, read_property

    _, intake = read_property(options.property_file, tuple(options.allow))
    findings, by_cause = intake_findings(intake)
    terminal.tell_sources(log, intake)
    terminal.tell_findings(log, findings, by_cause, each=_tells_each(options))
    log.info("all sources can be used")
    return _verdict(options, findings)


def _start(options: argparse.Namespace) -> int:
    """``swardline start``: a property file to begin with, printed, or saved where asked for."""
    from datetime import date

    from pipeline.draft import checked_draft, save_draft
    from pipeline.pages.starter import season_after, starter_file

    name = as_text(options.folder.resolve().name).replace("_", " ").title()
    draft, passes = checked_draft(options.folder, name, season_after(date.today()))
    text = starter_file(draft)
    target = options.folder / "property.toml"
    if options.save:
        save_draft(text, target)
        _put(str(target), done=f"the draft is saved as {target}")
    else:
        _put(text.rstrip("\n"))
    terminal.tell_draft(log, draft, columns=options.explain)
    verdict = "passes check" if passes else "does not pass check yet: see the end of it"
    saved = "it is saved as" if options.save else "save it as"
    log.info(f"looked at {len(draft.placements)} files; the draft {verdict}; {saved} {target}")
    return ALL_DONE


def _render(options: argparse.Namespace) -> int:
    """``swardline render``: report, packet and sheets again from a finished GeoPackage."""
    from pipeline.runner import render_geopackage

    finished = render_geopackage(options.geopackage, out=options.out)
    conflicts = finished.run.frames["conflicts"]
    terminal.tell_conflicts(log, conflicts, every=options.log_format == "json")
    for path in finished.written:
        log.info(f"wrote {path.name}")
    log.warning(CAUTION)
    _put(str(finished.folder), done=f"the files are written, in {finished.folder}")
    return _verdict_of_run(options, finished)


def _describe(options: argparse.Namespace) -> int:
    """``swardline describe``: what there is, from the declarations themselves."""
    from pipeline.reference import TOPICS, describe_word

    word = " ".join(options.word)
    if word and word not in TOPICS:
        _put(describe_word(word))
        return ALL_DONE
    for topic in [word] if word else ["steps", "settings", "layers"]:
        _put(TOPICS[topic]())
    return ALL_DONE


def _tells_each(options: argparse.Namespace) -> bool:
    """Whether each finding is said by itself: asked for, or read by a program."""
    return options.all_findings or options.log_format == "json"


def _verdict_of_run(options: argparse.Namespace, finished: "Finished") -> int:
    """Exit code once all is written: with --strict, what one must stop and ask for comes first."""
    from pipeline.pages.conflict_lines import stops

    frames = finished.run.frames
    if options.strict and len(stops(frames["conflicts"])):
        return STOP_AND_ASK
    return _verdict(options, frames["findings"])


def _verdict(options: argparse.Namespace, findings: object) -> int:
    """Exit code of a command that got through: with --strict, warnings count as failures."""
    warned = "warning" in set(findings["severity"])  # type: ignore[index]
    return SOME_FAILED if options.strict and warned else ALL_DONE


def _parser() -> argparse.ArgumentParser:
    """The command line: five words that a practitioner can guess."""
    parser = argparse.ArgumentParser(
        prog="swardline",
        description="From a folder of pasture maps and field notes to acres, firebreaks and mow "
        "lines, seed orders and the answer of each unit to the fire.",
        epilog=CAUTION,
    )
    parser.add_argument("--version", action="version", version=f"swardline {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    shared = argparse.ArgumentParser(add_help=False)
    shared.add_argument(
        "--quiet",
        action="store_true",
        help="say only what went wrong, and each conflict to stop and ask for",
    )
    shared.add_argument("--verbose", action="store_true", help="say more")
    shared.add_argument(
        "--strict",
        action="store_true",
        help="exit 1 when there are warnings; run, render: exit 4 when a conflict to stop and "
        "ask for stands (files are written all the same)",
    )
    shared.add_argument(
        "--log-format", choices=("text", "json"), default="text", help="form of what is said"
    )

    allow = argparse.ArgumentParser(add_help=False)
    allow.add_argument(
        "--allow",
        type=Path,
        action="append",
        default=[],
        metavar="FOLDER",
        help="a further folder that the property file may read from (may be repeated)",
    )
    source = argparse.ArgumentParser(add_help=False, parents=[allow])
    source.add_argument(
        "property_file", type=Path, metavar="PROPERTY.toml", help="the property file"
    )
    source.add_argument(
        "--all-findings",
        action="store_true",
        help="say each warning and note in full, not one line a cause",
    )

    run = commands.add_parser(
        "run",
        parents=[shared, source],
        help="compute everything that the sources allow and write the run folder",
        epilog="example: swardline run my_folder/property.toml --out seasons",
    )
    run.add_argument(
        "--out",
        type=Path,
        help='where the run folder goes (default: "out" beside the property file)',
    )
    run.set_defaults(command=_run)

    _add_batch(commands, shared, allow)

    check = commands.add_parser(
        "check",
        parents=[shared, source],
        help="read and validate everything, write nothing",
        epilog="example: swardline check my_folder/property.toml --strict",
    )
    check.set_defaults(command=_check)

    start = commands.add_parser(
        "start",
        parents=[shared],
        help="print a property file to begin with for a folder of maps",
        epilog="example: swardline start my_folder > my_folder/property.toml",
    )
    start.add_argument("folder", type=Path, metavar="FOLDER", help="the folder to look at")
    start.add_argument(
        "--save", action="store_true", help="write FOLDER/property.toml instead of printing"
    )
    start.add_argument(
        "--explain", action="store_true", help="say what every column looks like, too"
    )
    start.set_defaults(command=_start)

    render = commands.add_parser(
        "render",
        parents=[shared],
        help="make report, packet and sheets again from a GeoPackage",
        epilog="example: swardline render out/my_place_2027/my_place.gpkg",
    )
    render.add_argument(
        "geopackage", type=Path, metavar="GPKG", help="the GeoPackage out of a run folder"
    )
    render.add_argument(
        "--out", type=Path, help="where the folder goes (default: beside the run folder)"
    )
    render.set_defaults(command=_render)

    describe = commands.add_parser(
        "describe",
        parents=[shared],
        help="find a setting, column, layer or step by a word, or list them all",
        epilog="example: swardline describe mow width",
    )
    describe.add_argument(
        "word",
        nargs="*",
        metavar="WORD",
        help="a word to look for; or what to list: steps, settings, layers (all three when left "
        "out), limits, the most that is read of a file, or schema, the JSON Schema of the "
        "property file",
    )
    describe.set_defaults(command=_describe)
    return parser


def _add_batch(
    commands: "argparse._SubParsersAction[argparse.ArgumentParser]",
    *parents: argparse.ArgumentParser,
) -> None:
    """The command line of ``batch``."""
    batch = commands.add_parser(
        "batch",
        parents=parents,
        help="run many properties and tell where to look first",
        epilog="example: swardline batch properties --out seasons --resume",
    )
    batch.add_argument(
        "path",
        type=Path,
        nargs="+",
        metavar="PATH",
        help="property files, folders of them, or a CSV table with a column property_file",
    )
    batch.add_argument(
        "--out",
        type=Path,
        help='where everything goes (default: "out" in the first path, or beside it)',
    )
    batch.add_argument(
        "--workers",
        type=_count,
        metavar="N",
        help="properties worked on at a time (default: as many as there are cores)",
    )
    batch.add_argument(
        "--resume",
        action="store_true",
        help="leave what would come out as it stands: same sources, settings and versions",
    )
    batch.set_defaults(command=_batch)


def _count(text: str) -> int:
    """A number of workers."""
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text}: give a whole number from 1")
    return int(text)
