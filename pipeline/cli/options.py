"""Options that several commands share. Each function makes a parent of their parsers."""

import argparse
import math
from pathlib import Path
from typing import TypeAlias

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
"""Where a command puts its own parser."""


def speech() -> argparse.ArgumentParser:
    """How much is said, in which form, and what counts as a failure: every command has these."""
    parser = argparse.ArgumentParser(add_help=False)
    parser.add_argument(
        "--quiet",
        action="store_true",
        help="say only what went wrong, and each conflict to stop and ask for",
    )
    parser.add_argument("--verbose", action="store_true", help="say more")
    parser.add_argument(
        "--strict",
        action="store_true",
        help="exit 1 when there are warnings; run, render: exit 4 when a conflict to stop and "
        "ask for stands (files are written all the same)",
    )
    parser.add_argument(
        "--log-format", choices=("text", "json"), default="text", help="form of what is said"
    )
    return parser


def reach() -> argparse.ArgumentParser:
    """Which folders beside its own a property file may read from."""
    parser = argparse.ArgumentParser(add_help=False)
    parser.add_argument(
        "--allow",
        type=Path,
        action="append",
        default=[],
        metavar="FOLDER",
        help="a further folder that the property file may read from (may be repeated)",
    )
    return parser


def source() -> argparse.ArgumentParser:
    """One property file, and how its findings are told."""
    parser = argparse.ArgumentParser(add_help=False, parents=[reach()])
    parser.add_argument(
        "property_file", type=Path, metavar="PROPERTY.toml", help="the property file"
    )
    parser.add_argument(
        "--all-findings",
        action="store_true",
        help="say each warning and note in full, not one line a cause",
    )
    return parser


def tells_each(options: argparse.Namespace) -> bool:
    """Whether each finding is said by itself: asked for, or read by a program."""
    return options.all_findings or options.log_format == "json"


def count(text: str) -> int:
    """A whole number from 1, of workers."""
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text}: give a whole number from 1")
    return int(text)


def minutes(text: str) -> float:
    """A number of minutes above 0."""
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not 0 < number < math.inf:
        raise argparse.ArgumentTypeError(f"{text}: give a number of minutes above 0")
    return number
