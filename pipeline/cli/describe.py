"""``describe``: what there is, and the setting, column or step that a word names."""

import argparse

from pipeline.cli import options as shared
from pipeline.cli.ending import ALL_DONE, put


def describe(options: argparse.Namespace) -> int:
    """``swardline describe``: what there is, from the declarations themselves."""
    from pipeline.reference import TOPICS, describe_word

    word = " ".join(options.word)
    if word and word not in TOPICS:
        put(describe_word(word))
        return ALL_DONE
    for topic in [word] if word else ["steps", "settings", "layers"]:
        put(TOPICS[topic]())
    return ALL_DONE


def add_describe(commands: shared.Commands) -> None:
    """The command line of ``describe``."""
    parser = commands.add_parser(
        "describe",
        parents=[shared.speech()],
        help="find a setting, column, layer or step by a word, or list them all",
        epilog="example: swardline describe mow width",
    )
    parser.add_argument(
        "word",
        nargs="*",
        metavar="WORD",
        help="a word to look for; or what to list: steps, settings, layers (all three when left "
        "out), limits, the most that is read of a file, years, what swardline years writes, or "
        "schema, the JSON Schema of the property file",
    )
    parser.set_defaults(command=describe)
