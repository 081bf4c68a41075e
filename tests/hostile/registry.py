"""The list of makers of hostile input.

A maker gets an empty folder and the address of a server that must not hear of it, fills the folder,
and tells what to run there.
"""

from tests.hostile.attempts import Room

MAKERS = {}


def maker(make):
    """Put a maker into the list under its name."""
    MAKERS[make.__name__] = make
    return make


def with_room(name, make, **room):
    """Put a maker into the list that has less room than a file system, or other surroundings."""

    def made(folder, url):
        return make(folder, url)

    made.room = Room(**room)
    MAKERS[name] = made
