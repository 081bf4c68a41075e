"""``start``: a property file to begin with, from a look at a folder."""

import argparse
import logging
from pathlib import Path

from pipeline import terminal
from pipeline.cli import options as shared
from pipeline.cli.ending import ALL_DONE, put
from pipeline.core.names import as_text

log = logging.getLogger("swardline")


def start(options: argparse.Namespace) -> int:
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
        put(str(target), done=f"the draft is saved as {target}")
    else:
        put(text.rstrip("\n"))
    terminal.tell_draft(log, draft, columns=options.explain)
    verdict = "passes check" if passes else "does not pass check yet: see the end of it"
    saved = "it is saved as" if options.save else "save it as"
    log.info(f"looked at {len(draft.placements)} files; the draft {verdict}; {saved} {target}")
    return ALL_DONE


def add_start(commands: shared.Commands) -> None:
    """The command line of ``start``."""
    parser = commands.add_parser(
        "start",
        parents=[shared.speech()],
        help="print a property file to begin with for a folder of maps",
        epilog="example: swardline start my_folder > my_folder/property.toml",
    )
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="the folder to look at")
    parser.add_argument(
        "--save", action="store_true", help="write FOLDER/property.toml instead of printing"
    )
    parser.add_argument(
        "--explain", action="store_true", help="say what every column looks like, too"
    )
    parser.set_defaults(command=start)
