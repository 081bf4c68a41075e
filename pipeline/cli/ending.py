"""What a command ends with: its result on standard output and its exit code."""

import argparse
from typing import TYPE_CHECKING

from pipeline.core.errors import OutputError

if TYPE_CHECKING:
    import pandas as pd

    from pipeline.runner import Finished

ALL_DONE, SOME_FAILED, AT_FAULT, INTERNAL, INTERRUPTED = 0, 1, 2, 3, 130

STOP_AND_ASK = 4
"""With --strict: all is written, and a conflict of the first kind stands."""

CAUTION = (
    "Planning arithmetic only: not a burn plan, and no permission to ignite. Permits, burn bans, "
    "the local fire authority and a qualified burn boss decide."
)


def put(text: str, *, done: str = "") -> None:
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


def verdict_of_run(options: argparse.Namespace, finished: "Finished") -> int:
    """Exit code once all is written: with --strict, what one must stop and ask for comes first."""
    from pipeline.pages.conflict_lines import stops

    frames = finished.run.frames
    if options.strict and len(stops(frames["conflicts"])):
        return STOP_AND_ASK
    return verdict(options, frames["findings"])


def verdict(options: argparse.Namespace, findings: "pd.DataFrame") -> int:
    """Exit code of a command that got through: with --strict, warnings count as failures."""
    warned = "warning" in set(findings["severity"])
    return SOME_FAILED if options.strict and warned else ALL_DONE
