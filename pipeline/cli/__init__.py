"""The commands, a file each. The only room that prints and that decides on an exit code.

What a script may read goes to standard output; everything said to a person goes to standard
error. Nothing heavy is imported until a command needs it, so that ``--help`` answers at once.
"""

import argparse
import logging
import sys
import tempfile
import traceback
from collections.abc import Sequence

from pipeline import __version__, terminal
from pipeline.cli.batch import add_batch
from pipeline.cli.describe import add_describe
from pipeline.cli.ending import ALL_DONE, AT_FAULT, CAUTION, INTERNAL, INTERRUPTED
from pipeline.cli.run import add_check, add_render, add_run
from pipeline.cli.start import add_start
from pipeline.cli.years import add_years
from pipeline.core.errors import PipelineError, one_line

COMMANDS = (add_run, add_batch, add_years, add_check, add_start, add_render, add_describe)
"""In the order in which ``--help`` tells them."""

log = logging.getLogger("swardline")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; its exit code."""
    terminal.open_closed_streams()
    options = command_line().parse_args(argv)
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


def command_line() -> argparse.ArgumentParser:
    """The command line: words that a practitioner can guess."""
    parser = argparse.ArgumentParser(
        prog="swardline",
        description="From a folder of pasture maps and field notes to acres, firebreaks and mow "
        "lines, seed orders and the answer of each unit to the fire.",
        epilog=CAUTION,
    )
    parser.add_argument("--version", action="version", version=f"swardline {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    for add in COMMANDS:
        add(commands)
    return parser
