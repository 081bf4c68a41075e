"""``years``: the runs of one property over its years, joined."""

import argparse
import logging
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline import terminal
from pipeline.cli import options as shared
from pipeline.cli.ending import ALL_DONE, CAUTION, INTERNAL, SOME_FAILED, put

if TYPE_CHECKING:
    from pipeline.years.join import Years

log = logging.getLogger("swardline")


def years(options: argparse.Namespace) -> int:
    """``swardline years``: read all runs, hold plans against logs, write the files."""
    from pipeline.years.join import join_years
    from pipeline.years.runs import found_runs
    from pipeline.years.summary import refuse_unless_years, write_years

    packages = found_runs(options.path)
    out = options.out if options.out is not None else _place(options.path[0])
    refuse_unless_years(out)
    joined = join_years(packages, out)
    for failed in joined.failed:
        for reason in failed.reasons:
            log.error(f"failed: {reason}")
    if not joined.runs:
        return INTERNAL
    written = write_years(joined)
    terminal.tell_years(log, joined)
    log.info(f"wrote {', '.join(path.name for path in written)}")
    log.warning(CAUTION)
    put(str(out), done=f"the years are written, in {out}")
    return _verdict(options, joined)


def _place(first: Path) -> Path:
    """Where the files go: into the folder of run folders, or beside the run folder or file."""
    resolved = first.resolve()
    is_run = resolved.is_file() or (resolved / "run.json").is_file()
    of_run = resolved.is_file() and (resolved.parent / "run.json").is_file()
    return resolved.parent.parent if of_run else resolved.parent if is_run else resolved


def _verdict(options: argparse.Namespace, joined: "Years") -> int:
    """Exit code: what could not be read comes first, then with --strict what is to be looked at."""
    noted = options.strict and len(joined.tables["notes"]) > 0
    return SOME_FAILED if joined.failed or noted else ALL_DONE


def add_years(commands: shared.Commands) -> None:
    """The command line of ``years``."""
    parser = commands.add_parser(
        "years",
        parents=[shared.speech()],
        help="join the runs of one property over its seasons: planned against done",
        epilog="example: swardline years out",
    )
    parser.add_argument(
        "path",
        type=Path,
        nargs="+",
        metavar="PATH",
        help="run folders, their GeoPackages, or a folder of them, of one property",
    )
    parser.add_argument(
        "--out",
        type=Path,
        help="where the files go (default: the folder that the run folders stand in)",
    )
    parser.set_defaults(command=years)
