"""All makers of hostile input, gathered from the files that hold them."""

from tests.hostile import costly, databases, maps, names, pictures, servers, tables
from tests.hostile.registry import MAKERS

FILES = (databases, maps, names, pictures, servers, tables, costly)

__all__ = ["FILES", "MAKERS"]
