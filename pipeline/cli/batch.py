"""``batch``: many properties, none of which ends the others."""

import argparse
import logging
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline import batch_terminal
from pipeline.cli import options as shared
from pipeline.cli.ending import (
    ALL_DONE,
    CAUTION,
    INTERNAL,
    INTERRUPTED,
    SOME_FAILED,
    STOP_AND_ASK,
    put,
)

if TYPE_CHECKING:
    from pipeline.batch.job import Outcome
    from pipeline.batch.summary import Batch

log = logging.getLogger("swardline")


def batch(options: argparse.Namespace) -> int:
    """``swardline batch``: many properties; none of them ends the others."""
    from pipeline.batch.batch import plan_batch
    from pipeline.batch.summary import gather_batch, only_batch, write_batch

    plan = plan_batch(
        options.path,
        out=options.out,
        workers=options.workers,
        allowed=tuple(options.allow),
        resume=options.resume,
        scheduler=options.scheduler,
        root=options.root,
        limit_minutes=options.limit_minutes,
    )
    shown = not options.quiet and options.log_format == "text"
    done: list[Outcome] = []
    with only_batch(plan.out) as lock:
        try:
            with (
                batch_terminal.progress(log, len(plan.jobs), shown=shown) as tell,
                closing(plan.outcomes(lock)) as outcomes,
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
    put(str(plan.out), done=f"the batch is written, in {plan.out}")
    return verdict_of_batch(options, batch)


def verdict_of_batch(options: argparse.Namespace, batch: "Batch") -> int:
    """Exit code of a batch: what failed comes before what --strict asks."""
    failed = batch.states["failed"]
    if failed:
        return INTERNAL if failed == len(batch.outcomes) else SOME_FAILED
    if options.strict and batch.total("stop_and_ask"):
        return STOP_AND_ASK
    return SOME_FAILED if options.strict and batch.total("warnings") else ALL_DONE


def add_batch(commands: shared.Commands) -> None:
    """The command line of ``batch``."""
    parser = commands.add_parser(
        "batch",
        parents=[shared.speech(), shared.reach()],
        help="run many properties and tell where to look first",
        epilog="example: swardline batch properties --out seasons --resume",
    )
    parser.add_argument(
        "path",
        type=Path,
        nargs="+",
        metavar="PATH",
        help="property files, folders of them, or a CSV table with a column property_file",
    )
    parser.add_argument(
        "--out",
        type=Path,
        help='where everything goes (default: "out" in the first path, or beside it)',
    )
    parser.add_argument(
        "--workers",
        type=shared.count,
        metavar="N",
        help="properties worked on at a time (default: as many as there are cores)",
    )
    parser.add_argument(
        "--limit-minutes",
        type=shared.minutes,
        metavar="N",
        help="give a property up that takes longer, and go on with the others",
    )
    parser.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="work on the workers of this Dask cluster, as tcp://10.0.0.5:8786",
    )
    parser.add_argument(
        "--root",
        type=Path,
        metavar="FOLDER",
        help="the folder that all workers of the cluster see; all paths lie in it "
        "(default: the deepest that holds the properties and --out)",
    )
    parser.add_argument(
        "--resume",
        action="store_true",
        help="leave what would come out as it stands: same sources, settings and versions",
    )
    parser.set_defaults(command=batch)
